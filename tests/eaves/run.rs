//! Runs: what is printed, what is written, and the exit code, from hand-made answers and the demo.

use std::io::{self, Write};

use eaves::answer::Assessment;
use eaves::error::Result;
use eaves::figure::FigureOptions;
use eaves::request::Request;
use eaves::request::outputs::Outputs;
use eaves::run::{Exit, deliver, run};

use crate::figure_busy;
use crate::report_fixture::{decided, straddling};
use crate::request::Site;

fn outputs(site: &Site, options: &[&str]) -> Outputs {
    let mut all = vec!["@area.geojson", "--layers", "@layers"];
    all.extend(options);
    site.resolve(&all).unwrap().outputs
}

fn delivered(
    site: &Site,
    assessment: &Assessment,
    options: &[&str],
    out: &mut dyn Write,
) -> Result<Exit> {
    deliver(
        assessment,
        &outputs(site, options),
        &FigureOptions::default(),
        None,
        None,
        out,
    )
}

#[test]
fn the_exit_code_tells_whether_every_question_was_answered() {
    let site = Site::new();
    let exit =
        |assessment: Assessment| delivered(&site, &assessment, &[], &mut Vec::new()).unwrap();
    assert_eq!(exit(decided()), Exit::Answered);
    assert_eq!(exit(straddling()), Exit::Undecided);
    let mut conditional = decided();
    conditional.ceiling.conditions.push("consent".into());
    assert_eq!(exit(conditional), Exit::Undecided);
    assert_eq!(
        [Exit::Answered, Exit::Undecided, Exit::CouldNotRun].map(Exit::code),
        [0, 1, 2]
    );
}

#[test]
fn outputs_come_from_the_same_answer_and_are_named() {
    let site = Site::new();
    let options = [
        "--figure", "@a.png", "--figure", "@b.svg", "--json", "@c.json",
    ];
    let mut out = Vec::new();
    delivered(&site, &decided(), &options, &mut out).unwrap();
    let page = String::from_utf8(out).unwrap();
    assert_eq!(
        page.lines()
            .filter(|line| line.starts_with("Wrote "))
            .count(),
        3
    );
    let png = std::fs::read(site.path("a.png")).unwrap();
    assert!(png.starts_with(b"\x89PNG"));
    let kind = eaves::figure::FigureKind::Site;
    let scene = eaves::figure::resolve(&decided(), kind, &FigureOptions::default()).unwrap();
    assert_eq!(eaves::figure::png(&scene, 300).unwrap(), png);
    let svg = std::fs::read_to_string(site.path("b.svg")).unwrap();
    assert_eq!(eaves::figure::svg(&scene).unwrap(), svg);
    let json = std::fs::read_to_string(site.path("c.json")).unwrap();
    assert_eq!(json, eaves::report::json::json(&decided()).unwrap());
}

/// A key that a sheet has no room for goes on to a second file, which is named; the name may not be
/// that of another output, and then nothing is written.
#[test]
fn a_second_sheet_is_a_file_beside_the_first() {
    let site = Site::new();
    let busy = figure_busy::even();
    let mut out = Vec::new();
    let options = [
        "--figure", "@a.png", "--figure", "@a.svg", "--figure", "@a.pdf",
    ];
    delivered(&site, &busy, &options, &mut out).unwrap();
    let page = String::from_utf8(out).unwrap();
    let written: Vec<&str> = page
        .lines()
        .filter_map(|line| line.strip_prefix("Wrote "))
        .filter_map(|path| path.rsplit('/').next())
        .collect();
    assert_eq!(written, ["a.png", "a-2.png", "a.svg", "a-2.svg", "a.pdf"]);
    let kind = eaves::figure::FigureKind::Site;
    let scene = eaves::figure::resolve(&busy, kind, &FigureOptions::default()).unwrap();
    let second = std::fs::read(site.path("a-2.png")).unwrap();
    assert_eq!(
        eaves::figure::png(&scene.key_sheets[0], 300).unwrap(),
        second
    );

    let site = Site::new();
    let options = ["--figure", "@b.svg", "--figure", "location=@b-2.svg"];
    let error = delivered(&site, &busy, &options, &mut Vec::new()).unwrap_err();
    assert!(
        error.cause().contains("a further sheet of a figure"),
        "{error}"
    );
    assert!(!site.path("b.svg").exists() && !site.path("b-2.svg").exists());
}

#[test]
fn a_failure_leaves_no_file_and_prints_nothing() {
    let site = Site::new();
    let mut out = Vec::new();
    let mut broken = decided();
    broken.shielding[0].uncovered_m2 = f64::NAN;
    let options = ["--figure", "@b.svg", "--json", "@c.json"];
    let error = delivered(&site, &broken, &options, &mut out).unwrap_err();
    assert_eq!(error.cause(), "shielding.uncovered_m2 of the answer is NaN");
    assert!(out.is_empty());
    assert_eq!(std::fs::read_dir(site.path("")).unwrap().count(), 2);
}

/// The demo as committed beside its layers: what `.ci/demo` leaves.
#[test]
fn the_demo_is_as_expected() {
    let site = Site::new();
    let folder = site.path("new/demo");
    let mut out = Vec::new();
    let demo = |out_folder| Request::Demo { out: out_folder };
    assert_eq!(
        run(&demo(Some(folder.clone())), &mut out).unwrap(),
        Exit::Undecided
    );
    let page = String::from_utf8(out).unwrap();
    let report = std::fs::read_to_string(folder.join("report.txt")).unwrap();
    assert!(page.starts_with(&report));
    let expected = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-layers/expected");
    for name in [
        "report.txt",
        "assessment.json",
        "runway-end-report.txt",
        "runway-end-assessment.json",
    ] {
        let made = std::fs::read_to_string(folder.join(name)).unwrap();
        let wanted = std::fs::read_to_string(expected.join(name)).unwrap();
        crate::report::same_text(
            &made,
            &wanted,
            &format!("demo-layers/expected/{name}; a wanted change: .ci/demo demo-layers/expected"),
        );
    }
    for name in [
        "location.png",
        "site.svg",
        "site.pdf",
        "location.svg",
        "runway-end-location.svg",
    ] {
        assert!(folder.join(name).is_file(), "{name}");
    }
    let mut out = Vec::new();
    run(&demo(None), &mut out).unwrap();
    let second = std::fs::read_to_string(folder.join("runway-end-report.txt")).unwrap();
    assert_eq!(
        String::from_utf8(out).unwrap(),
        format!("{report}\n{second}")
    );
}

#[test]
fn profiles_are_listed_with_every_value() {
    let mut out = Vec::new();
    assert_eq!(run(&Request::Profiles, &mut out).unwrap(), Exit::Answered);
    let text = String::from_utf8(out).unwrap();
    for (name, _) in eaves::profile::built_in() {
        assert!(text.contains(name), "{name}");
    }
}

/// A writer that fails in one way.
struct Failing(io::ErrorKind);

impl Write for Failing {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(self.0.into())
    }

    fn flush(&mut self) -> io::Result<()> {
        Err(self.0.into())
    }
}

#[test]
fn a_broken_pipe_is_no_failure_but_a_full_disk_is() {
    let site = Site::new();
    let into = |kind| delivered(&site, &decided(), &[], &mut Failing(kind));
    assert_eq!(into(io::ErrorKind::BrokenPipe).unwrap(), Exit::Answered);
    let error = into(io::ErrorKind::StorageFull).unwrap_err().to_string();
    assert!(
        error.starts_with("standard output cannot be written"),
        "{error}"
    );
}
