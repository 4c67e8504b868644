//! Resolved requests: paths checked before anything runs, with their exact messages.

use std::path::{Path, PathBuf};

use eaves::cli;
use eaves::cli::figure::SheetArgs;
use eaves::error::Result;
use eaves::request::outputs::{FigureFormat, Prepared, put_in_place};
use eaves::request::{AssessRequest, Request};
use eaves::sheet::{FigureKind, Orientation, Paper};
use jiff::civil::date;

/// A folder with an area file and a layers folder, removed at the end of a test.
pub struct Site {
    folder: tempfile::TempDir,
}

impl Site {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("area.geojson"), "{}").unwrap();
        std::fs::create_dir(folder.path().join("layers")).unwrap();
        std::fs::write(folder.path().join("layers/structures.json"), "{}").unwrap();
        Self { folder }
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Resolves `assess` with options in which `@` stands for the folder.
    pub fn resolve(&self, options: &[&str]) -> Result<AssessRequest> {
        let mut arguments = vec!["eaves", "assess"];
        arguments.extend(options);
        let base = format!("{}/", self.folder.path().display());
        let arguments: Vec<String> = arguments.iter().map(|it| it.replace('@', &base)).collect();
        match Request::resolve(cli::parse(arguments).unwrap(), date(2026, 7, 1))? {
            Request::Assess(request) => Ok(*request),
            other => panic!("{other:?}"),
        }
    }

    fn refusal(&self, options: &[&str]) -> String {
        let mut all = vec!["@area.geojson", "--layers", "@layers"];
        all.extend(options);
        self.refusal_of(&all)
    }

    fn refusal_of(&self, options: &[&str]) -> String {
        let error = self.resolve(options).unwrap_err().to_string();
        let base = self.folder.path().canonicalize().unwrap();
        error
            .replace(&format!("{}/", base.display()), "@")
            .replace(&format!("{}/", self.folder.path().display()), "@")
            .replace(&format!("{}", self.folder.path().display()), "@")
    }
}

#[test]
fn a_request_has_every_default_filled_in() {
    let site = Site::new();
    let request = site
        .resolve(&[
            "@area.geojson",
            "--layers",
            "@layers",
            "--figure",
            "@a.PNG",
            "--figure",
            "location=@b.svg",
            "--json",
            "@c.json",
        ])
        .unwrap();
    assert_eq!(request.date, date(2026, 7, 1));
    let figures: Vec<_> = request
        .outputs
        .figures
        .iter()
        .map(|it| (it.kind, it.format))
        .collect();
    assert_eq!(
        figures,
        [
            (FigureKind::Site, FigureFormat::Png),
            (FigureKind::Location, FigureFormat::Svg)
        ]
    );
    assert_eq!(request.sheet, SheetArgs::default());
    assert_eq!(request.outputs.paths().count(), 3);
    assert_eq!(request.search_radius.m(), 18_520.0);
}

#[test]
fn inputs_of_the_wrong_kind_are_refused() {
    let site = Site::new();
    assert_eq!(
        site.refusal_of(&["@none.geojson", "--layers", "@layers"]),
        "@none.geojson: does not exist; give the GeoJSON file of the operating area"
    );
    assert_eq!(
        site.refusal_of(&["@layers", "--layers", "@layers"]),
        "@layers: is a folder; give the GeoJSON file of the operating area"
    );
    assert_eq!(
        site.refusal_of(&["@area.geojson", "--layers", "@area.geojson"]),
        "@area.geojson: is not a folder; give the folder that holds the layers"
    );
    assert_eq!(
        site.refusal_of(&["@area.geojson", "--layers", "@nowhere"]),
        "@nowhere: does not exist; give the folder that holds the layers"
    );
}

#[test]
fn outputs_that_cannot_be_written_are_refused_before_the_run() {
    let site = Site::new();
    for (options, message) in [
        (
            vec!["--figure", "@a.gif"],
            "@a.gif: is not a kind of figure that eaves draws; end the name of --figure in .png, .svg or .pdf",
        ),
        (
            vec!["--figure", "@png"],
            "@png: is not a kind of figure that eaves draws; end the name of --figure in .png, .svg or .pdf",
        ),
        (
            vec!["--figure", "@no/a.png"],
            "@no: is a folder that does not exist; make it first",
        ),
        (
            vec!["--json", "@layers"],
            "@layers: is a folder; give a file to write",
        ),
        (
            vec!["--json", "@.."],
            "@..: is not the name of a file; give a file to write",
        ),
        (
            vec!["--json", "@area.geojson/x.json"],
            "@area.geojson: is not a folder; give a folder to write into",
        ),
        (
            vec!["--json", "/dev/null"],
            "/dev/null: is not an ordinary file; give an ordinary file to write",
        ),
        (
            vec!["--figure", "@a.png", "--json", "@./a.png"],
            "@./a.png: is given for two outputs; give each its own file",
        ),
        (
            vec!["--figure", "@a.png", "--figure", "@a.png"],
            "@a.png: is given for two outputs; give each its own file",
        ),
    ] {
        assert_eq!(site.refusal(&options), message);
    }
}

#[test]
fn an_output_never_replaces_an_input() {
    let site = Site::new();
    assert_eq!(
        site.refusal(&["--json", "@area.geojson"]),
        "@area.geojson: is an input of this run and would be replaced; write to another file"
    );
    let theirs = "lies in the layers folder, was not written by eaves, and would be replaced; write to another file";
    assert_eq!(
        site.refusal(&["--json", "@layers/structures.json"]),
        format!("@layers/structures.json: {theirs}")
    );
    std::fs::write(site.path("rules.toml"), "").unwrap();
    assert_eq!(
        site.refusal(&["--profile", "@rules.toml", "--json", "@rules.toml"]),
        "@rules.toml: is an input of this run and would be replaced; write to another file"
    );
    // What eaves itself wrote there before may be replaced.
    let own = "{\n  \"format\": \"eaves-assessment/1\"\n}\n";
    std::fs::write(site.path("layers/out.json"), own).unwrap();
    let mut options = vec![
        "@area.geojson",
        "--layers",
        "@layers",
        "--json",
        "@layers/out.json",
    ];
    assert!(site.resolve(&options).is_ok());
    options[4] = "@layers/new.json";
    assert!(site.resolve(&options).is_ok());
}

#[cfg(unix)]
#[test]
fn a_link_to_an_input_is_that_input() {
    let site = Site::new();
    std::os::unix::fs::symlink(site.path("area.geojson"), site.path("link.json")).unwrap();
    assert!(
        site.refusal(&["--json", "@link.json"])
            .contains("is an input of this run")
    );
}

#[test]
fn a_demo_folder_that_is_a_file_is_refused() {
    let site = Site::new();
    let file = site.path("area.geojson");
    let typed = cli::parse([
        Path::new("eaves").as_os_str(),
        "demo".as_ref(),
        "--out".as_ref(),
        file.as_os_str(),
    ]);
    let error = Request::resolve(typed.unwrap(), date(2026, 7, 1)).unwrap_err();
    assert_eq!(error.cause(), "is a file");
}

fn prepared(path: PathBuf, text: &str) -> Prepared {
    Prepared {
        path,
        bytes: text.into(),
    }
}

#[test]
fn files_are_replaced_whole_and_nothing_is_left_over() {
    let site = Site::new();
    std::fs::write(site.path("a"), "an older and longer text").unwrap();
    put_in_place(&[
        prepared(site.path("a"), "new"),
        prepared(site.path("b"), "two"),
    ])
    .unwrap();
    assert_eq!(std::fs::read_to_string(site.path("a")).unwrap(), "new");
    assert_eq!(std::fs::read_to_string(site.path("b")).unwrap(), "two");
    assert_eq!(std::fs::read_dir(site.path("")).unwrap().count(), 4);
}

#[test]
fn where_one_file_fails_none_is_changed() {
    let site = Site::new();
    std::fs::write(site.path("a"), "old").unwrap();
    let error = put_in_place(&[
        prepared(site.path("a"), "new"),
        prepared(site.path("gone/b"), "two"),
    ])
    .unwrap_err()
    .to_string();
    assert!(error.contains("gone/b: cannot be written"), "{error}");
    assert_eq!(std::fs::read_to_string(site.path("a")).unwrap(), "old");
    assert_eq!(std::fs::read_dir(site.path("")).unwrap().count(), 3);
}

/// A folder that came to stand in the place of a file is found only when the file is put there.
#[test]
fn where_one_file_cannot_be_put_in_place_the_others_are_taken_back() {
    let site = Site::new();
    std::fs::write(site.path("a"), "old").unwrap();
    std::fs::create_dir(site.path("b")).unwrap();
    std::fs::write(site.path("b/inside"), "kept").unwrap();
    let error = put_in_place(&[
        prepared(site.path("a"), "new"),
        prepared(site.path("c"), "new"),
        prepared(site.path("b"), "two"),
    ])
    .unwrap_err()
    .to_string();
    assert!(error.contains("b: cannot be written"), "{error}");
    assert_eq!(std::fs::read_to_string(site.path("a")).unwrap(), "old");
    assert_eq!(
        std::fs::read_to_string(site.path("b/inside")).unwrap(),
        "kept"
    );
    // The area, the layers, a and b.
    assert_eq!(std::fs::read_dir(site.path("")).unwrap().count(), 4);
}

#[cfg(unix)]
#[test]
fn files_can_be_read_as_any_file_a_program_makes() {
    use std::os::unix::fs::PermissionsExt;
    let site = Site::new();
    std::fs::write(site.path("usual"), "").unwrap();
    put_in_place(&[prepared(site.path("ours"), "x")]).unwrap();
    let mode = |name| {
        std::fs::metadata(site.path(name))
            .unwrap()
            .permissions()
            .mode()
    };
    assert_eq!(mode("ours"), mode("usual"));
}

#[test]
fn the_sheet_of_figures_is_as_typed() {
    let site = Site::new();
    let mut typed = vec!["@area.geojson", "--layers", "@layers"];
    typed.extend("--paper a3 --orientation portrait --dpi 150 --figure-number 2.1".split(' '));
    typed.extend([
        "--figure-version",
        "B",
        "--applicant",
        "A. N. Other",
        "--title",
        "Roof",
    ]);
    assert_eq!(
        site.resolve(&typed).unwrap().sheet,
        SheetArgs {
            paper: Paper::A3,
            orientation: Orientation::Portrait,
            dpi: 150,
            title: Some("Roof".into()),
            figure_number: Some("2.1".into()),
            figure_version: Some("B".into()),
            applicant: Some("A. N. Other".into()),
            background: None,
            background_credit: None,
        }
    );
    for (option, value, part) in [
        (
            "--figure",
            "plan=a.png",
            "\"plan\" is not a kind of figure; write location=FILE",
        ),
        ("--figure", "site=", "no file is named"),
        ("--paper", "a5", "[possible values: a4, a3, letter]"),
        (
            "--orientation",
            "up",
            "[possible values: landscape, portrait]",
        ),
        ("--dpi", "10000", "10000 is not in 50..=1200"),
    ] {
        let refused = cli::parse(["eaves", "assess", "a", "--layers", "b", option, value]);
        assert!(
            matches!(&refused, Err(cli::NoCommand::Refused(text)) if text.contains(part)),
            "{refused:?}"
        );
    }
    let odd = cli::parse([
        "eaves",
        "assess",
        "a",
        "--layers",
        "b",
        "--figure",
        "./x=y.png",
    ]);
    assert!(odd.is_ok(), "{odd:?}");
}

#[test]
fn what_a_figure_shows_besides_is_asked_for_by_name() {
    use eaves::cli::Drawn;
    let site = Site::new();
    let plain = site.resolve(&["@area.geojson", "--layers", "@layers"]);
    assert!(plain.unwrap().draw.is_empty());
    let asked = site.resolve(&["@area.geojson", "--layers", "@layers", "--draw", "zones"]);
    assert_eq!(asked.unwrap().draw, [Drawn::Zones]);
    let all = [Drawn::Zones, Drawn::Airspace, Drawn::Surfaces];
    for typed in [
        &["--draw", "zones,airspace,surfaces"][..],
        &[
            "--draw", "zones", "--draw", "airspace", "--draw", "surfaces",
        ],
    ] {
        let words = [&["@area.geojson", "--layers", "@layers"], typed].concat();
        assert_eq!(site.resolve(&words).unwrap().draw, all);
    }
    let refused = eaves::cli::parse(["eaves", "assess", "a", "--layers", "b", "--draw", "clouds"]);
    assert!(matches!(
        refused,
        Err(eaves::cli::NoCommand::Refused(text)) if text.contains("clouds") && text.contains("zones")
    ));
}

#[test]
fn shielding_planes_are_asked_for_with_a_table() {
    let site = Site::new();
    let args = [
        "@area.geojson",
        "--layers",
        "@layers",
        "--surfaces",
        "annex14-2018",
    ];
    assert!(!site.resolve(&args).unwrap().shielding_planes);
    let asked = [&args[..], &["--shielding-planes"]].concat();
    assert!(site.resolve(&asked).unwrap().shielding_planes);
    let refused = eaves::cli::parse([
        "eaves",
        "assess",
        "a",
        "--layers",
        "b",
        "--shielding-planes",
    ]);
    assert!(matches!(
        refused,
        Err(eaves::cli::NoCommand::Refused(text)) if text.contains("--surfaces")
    ));
}
