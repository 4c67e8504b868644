//! A run with a hand-made answer: what is printed, what is written, and the exit code.

use std::io::{self, Write};
use std::path::Path;

use eaves::answer::Assessment;
use eaves::error::{Error, Result};
use eaves::profile::Profile;
use eaves::request::{AssessRequest, Request};
use eaves::run::{DEMO_AREA, Engine, Exit, run};

use crate::report_fixture::{decided, profile, straddling};
use crate::request::Site;

/// Answers with a hand-made assessment; drawing can be made to fail.
struct Fixed {
    assessment: Assessment,
    can_draw: bool,
}

impl Engine for Fixed {
    fn assess(&self, request: &AssessRequest) -> Result<Assessment> {
        assert!(request.area.is_file() && request.layers.is_dir());
        Ok(self.assessment.clone())
    }

    fn svg(&self, _: &Assessment) -> Result<String> {
        Ok("<svg/>".into())
    }

    fn png(&self, svg: &str) -> Result<Vec<u8>> {
        if self.can_draw {
            Ok(svg.len().to_string().into_bytes())
        } else {
            Err(Error::new("no picture", "none"))
        }
    }

    fn inspect(&self, _: &Path, json: bool) -> Result<(String, bool)> {
        Ok((format!("json {json}\n"), json))
    }

    fn profiles(&self) -> Result<Vec<Profile>> {
        Ok(vec![profile()])
    }

    fn demo(&self) -> &'static [(&'static str, &'static [u8])] {
        &[(DEMO_AREA, b"{}")]
    }
}

fn fixed(assessment: Assessment) -> Fixed {
    Fixed {
        assessment,
        can_draw: true,
    }
}

fn request(site: &Site, options: &[&str]) -> Request {
    let mut all = vec!["@area.geojson", "--layers", "@layers"];
    all.extend(options);
    Request::Assess(Box::new(site.resolve(&all).unwrap()))
}

#[test]
fn the_exit_code_tells_whether_every_question_was_answered() {
    let site = Site::new();
    let exit = |assessment| run(&request(&site, &[]), &fixed(assessment), &mut Vec::new()).unwrap();
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
    run(&request(&site, &options), &fixed(decided()), &mut out).unwrap();
    let page = String::from_utf8(out).unwrap();
    assert_eq!(
        page.lines()
            .filter(|line| line.starts_with("Wrote "))
            .count(),
        3
    );
    assert_eq!(std::fs::read_to_string(site.path("a.png")).unwrap(), "6");
    assert_eq!(
        std::fs::read_to_string(site.path("b.svg")).unwrap(),
        "<svg/>"
    );
    let json = std::fs::read_to_string(site.path("c.json")).unwrap();
    assert_eq!(json, eaves::report::json::json(&decided()).unwrap());
}

#[test]
fn a_failure_leaves_no_file_and_prints_nothing() {
    let site = Site::new();
    let engine = Fixed {
        assessment: decided(),
        can_draw: false,
    };
    let mut out = Vec::new();
    let options = [
        "--figure", "@b.svg", "--figure", "@a.png", "--json", "@c.json",
    ];
    let error = run(&request(&site, &options), &engine, &mut out).unwrap_err();
    assert_eq!(error.cause(), "no picture");
    assert!(out.is_empty());
    assert_eq!(std::fs::read_dir(site.path("")).unwrap().count(), 2);

    let mut broken = decided();
    broken.shielding[0].uncovered_m2 = f64::NAN;
    let options = ["--figure", "@b.svg", "--json", "@c.json"];
    assert!(run(&request(&site, &options), &fixed(broken), &mut out).is_err());
    assert_eq!(std::fs::read_dir(site.path("")).unwrap().count(), 2);
}

#[test]
fn the_demo_leaves_its_report_figure_and_answer() {
    let site = Site::new();
    let folder = site.path("new/demo");
    let mut out = Vec::new();
    let demo = |out_folder| Request::Demo { out: out_folder };
    run(&demo(Some(folder.clone())), &fixed(decided()), &mut out).unwrap();
    let page = String::from_utf8(out).unwrap();
    let report = std::fs::read_to_string(folder.join("report.txt")).unwrap();
    assert!(page.starts_with(&report));
    for name in ["figure.png", "figure.svg", "assessment.json"] {
        assert!(folder.join(name).is_file(), "{name}");
    }
    let mut out = Vec::new();
    run(&demo(None), &fixed(decided()), &mut out).unwrap();
    assert_eq!(String::from_utf8(out).unwrap(), report);
}

#[test]
fn inspect_and_profiles_print_what_they_are_given() {
    let inspect = |json| Request::Inspect {
        layers: "layers".into(),
        json,
    };
    let mut out = Vec::new();
    assert_eq!(
        run(&inspect(true), &fixed(decided()), &mut out).unwrap(),
        Exit::Answered
    );
    assert_eq!(
        run(&inspect(false), &fixed(decided()), &mut out).unwrap(),
        Exit::Undecided
    );
    assert_eq!(out, b"json true\njson false\n");
    let mut out = Vec::new();
    run(&Request::Profiles, &fixed(decided()), &mut out).unwrap();
    assert_eq!(
        String::from_utf8(out).unwrap(),
        eaves::report::profiles::listing(&[profile()])
    );
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
    let into = |kind| run(&request(&site, &[]), &fixed(decided()), &mut Failing(kind));
    assert_eq!(into(io::ErrorKind::BrokenPipe).unwrap(), Exit::Answered);
    let error = into(io::ErrorKind::StorageFull).unwrap_err().to_string();
    assert!(
        error.starts_with("standard output cannot be written"),
        "{error}"
    );
}
