//! What a program without GDAL and PROJ refuses: noted, and nothing left by a run that noted it.
//!
//! That program itself is compared with this one in `.ci/lean`.

use std::path::Path;

use eaves::read::elsewhere::{REFUSED, Refused, needs};
use eaves::read::{ReadOptions, layers};
use eaves::request::outputs::Prepared;
use eaves::run::leave;

#[test]
fn the_first_refusal_is_noted_and_given_back() {
    let refused = Refused::nothing_yet();
    assert!(refused.none().is_ok());
    let terrain = needs("terrain is read with GDAL").in_file("dem.tif");
    let table = needs("its format is read with GDAL").in_file("masts.csv");
    assert_eq!(refused.note(terrain.clone()), terrain);
    assert_eq!(refused.note(table.clone()), table);
    assert_eq!(refused.first(), Some(&terrain));
    assert_eq!(refused.none(), Err(terrain));
}

#[test]
fn a_refusal_says_the_file_what_it_needs_and_what_to_do() {
    let error = needs("terrain is read with GDAL").in_file("dem.tif");
    assert_eq!(
        error.to_string(),
        "dem.tif: terrain is read with GDAL, which this program is built without; put the program \
         eaves beside it"
    );
}

/// Whoever lost the error on the way: a run that was refused something writes and prints nothing.
#[test]
fn a_run_that_was_refused_something_leaves_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.json");
    let files = [Prepared {
        path: path.clone(),
        bytes: b"{}".to_vec(),
    }];
    let refused = Refused::nothing_yet();
    let error = refused.note(needs("terrain is read with GDAL"));
    let mut out = Vec::new();
    let left = leave(&files, "page\n".to_owned(), &refused, &mut out);
    assert_eq!(left, Err(error));
    assert!(out.is_empty());
    assert_eq!(folder.path().read_dir().unwrap().count(), 0);

    let refused = Refused::nothing_yet();
    leave(&files, "page\n".to_owned(), &refused, &mut out).unwrap();
    let page = String::from_utf8(out).unwrap();
    assert_eq!(page, format!("page\n\nWrote {}\n", path.display()));
    assert_eq!(std::fs::read(&path).unwrap(), b"{}");
}

/// With GDAL and PROJ nothing is refused: neither terrain nor a projected layer.
#[test]
fn the_whole_program_refuses_nothing() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers");
    let read = layers(&demo, &ReadOptions::default()).unwrap();
    assert!(read.terrain.is_some());
    assert_eq!(REFUSED.first(), None);
}
