//! GDAL's messages: kept from the screen, and kept for whoever asks.
//!
//! Not here: what is made of them (see [`crate::error`]).

use std::cell::RefCell;

use gdal::errors::CplErrType;

use crate::error::first_line;

/// Keeps GDAL from printing; its errors come back as values, or are kept for [`failure`].
pub fn silence() {
    static ONCE: std::sync::Once = std::sync::Once::new();
    ONCE.call_once(|| {
        gdal::config::set_error_handler(|class, _, message| {
            if matches!(class, CplErrType::Failure | CplErrType::Fatal) {
                FAILURE.set(Some(message.to_owned()));
            }
        });
    });
}

thread_local! {
    static FAILURE: RefCell<Option<String>> = const { RefCell::new(None) };
}

/// The last failure that GDAL reported in this thread since it was last asked: its iterators stop
/// at a damaged feature as at the end of the file.
pub fn failure() -> Option<String> {
    FAILURE.take()
}

/// GDAL's reason in one line, without its names of functions and without the path.
#[must_use]
pub fn reason(error: &gdal::errors::GdalError) -> String {
    let text = match error {
        gdal::errors::GdalError::CplError { msg, .. }
        | gdal::errors::GdalError::NullPointer { msg, .. } => msg.clone(),
        other => other.to_string(),
    };
    first_line(&text)
}
