//! From SVG text to PNG bytes, with resvg and the shipped font.
//!
//! Not here: any drawing of our own; the PNG is the SVG.

use std::sync::Arc;

use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{Options, Tree, fontdb};

use super::{LARGEST_SIDE_PX, font};
use crate::error::{Error, Result};

/// An SVG document as a PNG file of the same size in pixels, on no background of its own.
///
/// Text is drawn with the shipped font only; system fonts are never read.
///
/// # Errors
/// When the text is not SVG, or is larger than [`LARGEST_SIDE_PX`] on a side.
pub fn png(svg: &str) -> Result<Vec<u8>> {
    let mut fonts = fontdb::Database::new();
    fonts.load_font_data(font::REGULAR.to_vec());
    fonts.load_font_data(font::BOLD.to_vec());
    let options = Options {
        font_family: font::FAMILY.to_owned(),
        fontdb: Arc::new(fonts),
        ..Options::default()
    };
    let tree = Tree::from_str(svg, &options).map_err(|cause| {
        Error::new(
            format!("the figure is not valid SVG: {cause}"),
            "draw it again with eaves",
        )
    })?;
    let size = tree.size().to_int_size();
    if size.width().max(size.height()) > LARGEST_SIDE_PX {
        return Err(super::too_large(size.width(), size.height()));
    }
    let mut pixels = Pixmap::new(size.width(), size.height())
        .ok_or_else(|| super::too_large(size.width(), size.height()))?;
    resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
    pixels.encode_png().map_err(|cause| {
        Error::new(
            format!("the PNG cannot be encoded: {cause}"),
            "write the figure as SVG",
        )
    })
}
