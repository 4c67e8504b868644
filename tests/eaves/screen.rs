//! Screenings from end to end, as processes: the same bytes however the work is cut, and after any
//! interruption.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Duration;

use eaves::demo;

/// A folder with the layers of the demo.
pub struct Place(tempfile::TempDir);

impl Place {
    pub fn new() -> Self {
        let place = Self(tempfile::tempdir().unwrap());
        std::fs::create_dir(place.path("layers")).unwrap();
        for (name, bytes) in demo::UNDER_THE_LINE.layers {
            std::fs::write(place.path("layers").join(name), bytes).unwrap();
        }
        place
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    pub fn write(&self, name: &str, text: impl AsRef<[u8]>) {
        std::fs::write(self.path(name), text).unwrap();
    }

    pub fn read(&self, name: &str) -> Vec<u8> {
        std::fs::read(self.path(name)).unwrap_or_else(|why| panic!("{name}: {why}"))
    }

    pub fn text(&self, name: &str) -> String {
        String::from_utf8(self.read(name)).unwrap()
    }

    pub fn command(&self, line: &str) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_eaves"));
        command.current_dir(self.0.path()).args(line.split(' '));
        command
    }

    pub fn run(&self, line: &str) -> Output {
        self.command(line).output().unwrap()
    }

    /// Runs to the end and gives what was printed.
    pub fn page(&self, line: &str, code: i32) -> String {
        let done = self.run(line);
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        assert_eq!(done.status.code(), Some(code), "{line}: {said}");
        String::from_utf8(done.stdout).unwrap()
    }

    /// Runs to the end; the exit code must be that of the rows: 0 where each is answered, else 1.
    pub fn rows(&self, line: &str, out: &str) {
        let done = self.run(line);
        let said = String::from_utf8_lossy(&done.stderr).into_owned();
        let is_open = self
            .text(&format!("{out}/rows.csv"))
            .lines()
            .filter_map(|row| row.split(',').nth(3))
            .any(|status| status != "answered" && status != "status");
        assert_eq!(
            done.status.code(),
            Some(i32::from(is_open)),
            "{line}: {said}"
        );
    }

    /// Runs and gives the one line that refuses it.
    pub fn refusal(&self, line: &str) -> String {
        let done = self.run(line);
        let said = String::from_utf8(done.stderr).unwrap();
        assert_eq!(done.status.code(), Some(2), "{line}: {said}");
        assert!(done.stdout.is_empty());
        assert_eq!(said.lines().count(), 1, "{said}");
        said.trim_end().to_owned()
    }
}

const OPTIONS: &str = "--date 2026-07-01 --height 40m --radius 60m";

/// Points about the demo's site, with lines, outlines and sites that are none among them.
pub fn sites(count: usize) -> String {
    let mut text = String::new();
    for index in 0..count {
        let lon = 149.664 + 0.0004 * (index % 23) as f64;
        let lat = -30.839 + 0.0005 * (index / 23) as f64;
        let geometry = match index % 10 {
            3 => format!(
                "{{\"type\":\"LineString\",\"coordinates\":[[{lon},{lat}],[{},{lat}]]}}",
                lon + 0.001
            ),
            5 => format!(
                "{{\"type\":\"Polygon\",\"coordinates\":[[[{lon},{lat}],[{},{lat}],[{lon},{}],[{lon},{lat}]]]}}",
                lon + 0.001,
                lat + 0.001
            ),
            7 => "null".to_owned(),
            _ => format!("{{\"type\":\"Point\",\"coordinates\":[{lon},{lat}]}}"),
        };
        let id = match index % 10 {
            1 => format!("=1+{index}"),
            2 => format!("two\\nlines, \\\"{index}\\\""),
            _ => format!("site-{index}"),
        };
        text.push_str(&format!(
            "{{\"type\":\"Feature\",\"id\":\"{id}\",\"properties\":{{\"width_m\":30}},\"geometry\":{geometry}}}\n"
        ));
    }
    text
}

fn line(out: &str, more: &str) -> String {
    let line = format!("screen sites.ndjson --layers layers --out {out} {OPTIONS} --quiet {more}");
    line.trim_end().to_owned()
}

const FILES: [&str; 8] = [
    "rows.csv",
    "rows.geojson",
    "rows.gpkg",
    "rows.fgb",
    "rows.parquet",
    "summary.txt",
    "summary.json",
    "run.json",
];

const FORMATS: &str = "--format geojson,gpkg,fgb,parquet";

fn check_same(place: &Place, a: &str, b: &str) {
    for file in FILES {
        let same = place.read(&format!("{a}/{file}")) == place.read(&format!("{b}/{file}"));
        assert!(same, "{file} differs between {a} and {b}");
    }
}

#[test]
fn one_thread_and_two_and_parts_give_the_same_bytes() {
    let place = Place::new();
    place.write("sites.ndjson", sites(70));
    place.page(&line("one", &format!("--threads 1 {FORMATS}")), 1);
    place.page(&line("two", &format!("--threads 2 {FORMATS}")), 1);
    check_same(&place, "one", "two");
    let mut concatenated = Vec::new();
    for index in 1..=3 {
        place.page(
            &line(&format!("part{index}"), &format!("--part {index}/3")),
            1,
        );
        concatenated.extend(place.read(&format!("part{index}/rows.csv")));
    }
    assert!(concatenated == place.read("one/rows.csv"));
    place.page(
        &line("joined", &format!("{FORMATS} --join part3 part1 part2")),
        1,
    );
    check_same(&place, "one", "joined");
    // More parts than sites: some have no row, and still concatenate.
    place.write("few.ndjson", sites(2));
    let few = |out: &str, more: &str| line(out, more).replace("sites.ndjson", "few.ndjson");
    place.rows(&few("few", ""), "few");
    let mut concatenated = Vec::new();
    for index in 1..=5 {
        let out = format!("few{index}");
        place.rows(&few(&out, &format!("--part {index}/5")), &out);
        concatenated.extend(place.read(&format!("few{index}/rows.csv")));
    }
    assert!(concatenated == place.read("few/rows.csv"));
    place.rows(
        &few("few-joined", "--join few1 few2 few3 few4 few5"),
        "few-joined",
    );
    assert!(place.read("few-joined/rows.csv") == place.read("few/rows.csv"));
}

#[test]
fn parts_that_do_not_belong_together_are_not_joined() {
    let place = Place::new();
    place.write("sites.ndjson", sites(6));
    for index in 1..=2 {
        let out = format!("part{index}");
        place.rows(&line(&out, &format!("--part {index}/2")), &out);
    }
    let refused = |more: &str| place.refusal(&line("joined", more));
    assert_eq!(
        refused("--join part1"),
        "eaves: the part with row 4 is missing; give every part once"
    );
    assert_eq!(
        refused("--join part1 part2 part2"),
        "eaves: part2: row 4 is in two parts; give every part once"
    );
    assert_eq!(
        refused("--tolerance 1m --join part1 part2")
            .split(": ")
            .nth(1),
        Some("part1")
    );
    std::fs::remove_file(place.path("part2/rows.csv")).unwrap();
    assert_eq!(
        refused("--join part1 part2"),
        "eaves: part2: is not finished: it has no rows.csv; run the part to its end with the same \
         command"
    );
    std::fs::create_dir(place.path("other")).unwrap();
    assert_eq!(
        refused("--join part1 other"),
        "eaves: other: has no run.json; give the folders that --part runs wrote"
    );
}

/// Killed at random moments many times, a run comes to the same bytes as one that was not.
#[test]
fn a_run_killed_at_any_moment_goes_on_to_the_same_bytes() {
    let place = Place::new();
    place.write("sites.ndjson", sites(400));
    place.page(&line("whole", FORMATS), 1);
    let killed = line("killed", FORMATS);
    let mut random = 0x2545_f491_4f6c_dd1du64;
    let mut kills = 0;
    let mut stood = 0;
    for attempt in 0..40 {
        let mut child = place
            .command(&killed)
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        // xorshift64 (Marsaglia 2003); later attempts wait longer, so that it comes to an end.
        random ^= random << 13;
        random ^= random >> 7;
        random ^= random << 17;
        std::thread::sleep(Duration::from_millis(random % (60 + 40 * attempt)));
        let ended = child.try_wait().unwrap();
        child.kill().unwrap();
        child.wait().unwrap();
        if ended.is_some() {
            break;
        }
        kills += 1;
        let partial = place.path("killed/rows.csv.partial");
        let now = std::fs::metadata(partial).map_or(0, |found| found.len());
        stood = stood.max(now);
    }
    place.page(&killed, 1);
    assert!(kills > 0);
    println!("killed {kills} times; at most {stood} bytes stood");
    check_same(&place, "whole", "killed");
}

/// Whatever the last bytes are, whole rows stand and the rest is answered again.
#[test]
fn rows_cut_anywhere_go_on_to_the_same_bytes() {
    use eaves::screen::log::{Expected, RowLog};
    let place = Place::new();
    place.write("sites.ndjson", sites(12));
    place.page(&line("whole", ""), 1);
    let rows = place.read("whole/rows.csv");
    let header = rows.iter().position(|byte| *byte == b'\n').unwrap() + 1;
    let columns = String::from_utf8_lossy(&rows[..header])
        .matches(',')
        .count()
        + 1;
    let caution = eaves::screen::columns::CAUTION;
    let ends: Vec<usize> = String::from_utf8_lossy(&rows)
        .match_indices(&format!("{caution}\n"))
        .map(|(at, found)| at + found.len())
        .collect();
    assert_eq!(ends.len(), 12);
    let expected = Expected {
        header: Some(&rows[..header]),
        columns,
        first: 1,
        rows: 12,
    };
    std::fs::create_dir(place.path("cut")).unwrap();
    for cut in 0..=rows.len() {
        place.write("cut/rows.csv.partial", &rows[..cut]);
        let (mut log, standing) = RowLog::open(&place.path("cut"), &expected).unwrap();
        let whole = ends.iter().filter(|end| **end <= cut).count();
        assert_eq!(standing, whole as u64, "cut at {cut}");
        let from = ends[..whole].last().copied().unwrap_or(header);
        log.append(&rows[from..]).unwrap();
        log.finish().unwrap();
        assert!(place.read("cut/rows.csv") == rows, "cut at {cut}");
    }
    // Rubbish behind whole rows, as a power cut may leave it, is cut off too.
    for rubbish in ["\0\0\0\0", "5,x\n", "\"", "4,a,b\n5,"] {
        let mut text = rows[..ends[2]].to_vec();
        text.extend(rubbish.as_bytes());
        place.write("cut/rows.csv.partial", &text);
        let (_, standing) = RowLog::open(&place.path("cut"), &expected).unwrap();
        assert_eq!(standing, 3, "{rubbish:?}");
        assert_eq!(place.read("cut/rows.csv.partial").len(), ends[2]);
    }
    // Some of these as whole runs.
    for cut in [
        0,
        1,
        header,
        ends[3] - 1,
        ends[3],
        ends[3] + 9,
        rows.len() - 1,
    ] {
        let _ = std::fs::remove_dir_all(place.path("again"));
        std::fs::create_dir(place.path("again")).unwrap();
        place.write("again/run.json", place.read("whole/run.json"));
        place.write("again/rows.csv.partial", &rows[..cut]);
        place.page(&line("again", ""), 1);
        assert!(place.read("again/rows.csv") == rows, "cut at {cut}");
        assert!(!place.path("again/rows.csv.partial").exists());
    }
}

#[test]
fn a_run_asked_to_stop_says_how_to_go_on() {
    let place = Place::new();
    place.write("sites.ndjson", sites(3_000));
    let command = line("stopped", "");
    let child = place
        .command(&command)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let partial = place.path("stopped/rows.csv.partial");
    while std::fs::metadata(&partial).map_or(0, |found| found.len()) < 1_000 {
        std::thread::sleep(Duration::from_millis(5));
    }
    let killed = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status()
        .unwrap();
    assert!(killed.success());
    let done = child.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(2));
    let page = String::from_utf8(done.stdout).unwrap();
    assert!(page.starts_with("Stopped after "), "{page}");
    assert!(
        page.contains(" of 3000 rows. They stand in stopped; the same command goes on from here.")
    );
    assert!(partial.exists() && !place.path("stopped/rows.csv").exists());
}

#[test]
fn only_the_same_screening_is_gone_on_with() {
    let place = Place::new();
    place.write("sites.ndjson", sites(4));
    place.page(&line("out", ""), 1);
    let before = place.read("out/rows.csv");
    let refused = |more: &str| {
        let said = place.refusal(&line("out", more));
        let start = "eaves: out: holds another screening: ";
        let end = "; put it back as it was to go on, or choose another folder";
        assert!(said.starts_with(start) && said.ends_with(end), "{said}");
        said[start.len()..said.len() - end.len()].to_owned()
    };
    assert_eq!(refused("--tolerance 1m"), "--tolerance is 1m, was 0.1m");
    assert_eq!(refused("--reach 50m"), "--reach is 50m, was not given");
    assert_eq!(refused("--part 1/2"), "part 1/2 asked for, was all rows");
    assert!(refused("--profile australia").contains("--profile is australia, was plain"));
    std::fs::write(place.path("layers/structures.geojson"), "{}").unwrap();
    assert_eq!(refused(""), "the layer file structures.geojson changed");
    std::fs::remove_file(place.path("layers/structures.geojson")).unwrap();
    assert_eq!(refused(""), "the layer file structures.geojson has gone");
    for (name, bytes) in demo::UNDER_THE_LINE.layers {
        std::fs::write(place.path("layers").join(name), bytes).unwrap();
    }
    place.write("sites.ndjson", sites(5));
    assert_eq!(refused(""), "the sites of sites.ndjson changed");
    place.write("sites.ndjson", sites(4));
    // The same again makes what is asked for anew from the rows that stand.
    let page = place.page(&line("out", "--format geojson --rank distance_m:lowest"), 1);
    assert!(page.contains("RANKING by distance_m, lowest first"));
    assert!(place.path("out/rows.geojson").exists());
    assert!(place.read("out/rows.csv") == before);
    // Without a date it keeps that of the folder.
    place.page(&line("out", "").replace("--date 2026-07-01 ", ""), 1);
}

#[test]
fn slips_of_a_new_user() {
    let place = Place::new();
    place.write("sites.ndjson", sites(4));
    place.write("empty.csv", "");
    place.write("header.csv", "id,lon,lat\n");
    std::fs::create_dir(place.path("full")).unwrap();
    place.write("full/notes.txt", "mine");
    let refused = |line: &str| place.refusal(line);
    assert_eq!(
        refused("screen layers --layers layers --out o"),
        "eaves: layers: is a folder; give the file of the sites"
    );
    assert_eq!(
        refused("screen sites.ndjson --layers sites.ndjson --out o"),
        "eaves: sites.ndjson: is not a folder; give the folder that holds the layers"
    );
    assert_eq!(
        refused("screen empty.csv --layers layers --out o"),
        "eaves: empty.csv: is empty; export it again"
    );
    assert_eq!(
        refused("screen header.csv --layers layers --out o"),
        "eaves: header.csv: holds no site; export it again"
    );
    assert_eq!(
        refused("screen sites.ndjson --layers layers --out full"),
        "eaves: full: holds other files: notes.txt; choose a new or empty folder"
    );
    assert_eq!(
        refused("screen sites.ndjson --layers layers --out full/notes.txt"),
        "eaves: full/notes.txt: is a file; --out needs a folder"
    );
    assert!(
        refused("screen sites.ndjson --layers layers --out o --rank hight").starts_with(
            "eaves: --rank: there is no column \"hight\"; rank by one of row, lon_deg"
        )
    );
    assert_eq!(
        refused("screen sites.ndjson --layers layers --out o --rank zone"),
        refused("screen sites.ndjson --layers layers --out o --rank zone:lowest")
    );
    assert!(
        refused("screen sites.ndjson --layers layers --out o --rank distance_m:least")
            .contains("\"least\" is no order; write COLUMN:highest or COLUMN:lowest")
    );
    assert!(
        refused("screen sites.ndjson --layers layers --out o --part 3/2 --date 2026-07-01")
            .contains("is not one of 1 to N")
    );
    assert!(
        refused("screen sites.ndjson --layers layers --out o --part 1/2")
            .contains("--date <YYYY-MM-DD>")
    );
    assert_eq!(
        refused("screen sites.ndjson --layers layers --out o --height 40m,40m"),
        "eaves: --height has a value twice; give each value once"
    );
    assert!(
        refused("screen sites.ndjson --layers layers --out o --radius 50").contains("has no unit")
    );
    assert!(!place.path("o").exists());
}

#[test]
fn outputs_that_cannot_be_written_stop_the_run_in_one_line() {
    let place = Place::new();
    place.write("sites.ndjson", sites(4));
    assert!(
        place
            .refusal(&line("/proc/nowhere", ""))
            .starts_with("eaves: /proc/nowhere: cannot be written (")
    );
    // Without permissions, unless the one who runs this has them all.
    use std::os::unix::fs::PermissionsExt;
    std::fs::create_dir(place.path("closed")).unwrap();
    let closed = std::fs::Permissions::from_mode(0o555);
    std::fs::set_permissions(place.path("closed"), closed).unwrap();
    if std::fs::write(place.path("closed/probe"), "").is_err() {
        assert!(
            place
                .refusal(&line("closed", ""))
                .contains("cannot be written")
        );
    }
}

/// Every reason that a site itself can give, each a row with its code, none the end of the run.
#[test]
fn bad_sites_are_rows_with_their_reason() {
    let place = Place::new();
    let shape =
        |text: &str| format!("{{\"type\":\"Feature\",\"properties\":{{}},\"geometry\":{text}}}\n");
    let outline = |corners: &str| {
        shape(&format!(
            "{{\"type\":\"Polygon\",\"coordinates\":[[{corners}]]}}"
        ))
    };
    let cases = [
        ("{\n".to_owned(), "site_unreadable"),
        (shape("null"), "site_without_geometry"),
        (
            shape(
                "{\"type\":\"GeometryCollection\",\"geometries\":[{\"type\":\"Point\",\"coordinates\":[149,-30]}]}",
            ),
            "site_is_no_area",
        ),
        (
            shape("{\"type\":\"LineString\",\"coordinates\":[[149.6,-30.8],[149.7,-30.8]]}"),
            "site_without_size",
        ),
        (
            shape("{\"type\":\"Point\",\"coordinates\":[149,89.9999]}"),
            "site_near_pole",
        ),
        (
            outline("[149,-30],[151,-30],[151,-29],[149,-30]"),
            "site_too_wide",
        ),
        (
            outline("[149,-30],[149.01,-29.99],[149.01,-30],[149,-29.99],[149,-30]"),
            "site_outline_invalid",
        ),
    ];
    let mut text = String::new();
    for (site, _) in &cases {
        text.push_str(site);
    }
    text.push_str(&outline(
        "[149.671,-30.836],[149.672,-30.836],[149.672,-30.835],[149.671,-30.836]",
    ));
    place.write("sites.ndjson", text);
    let page = place.page(&line("out", ""), 1);
    let mut rows = csv::Reader::from_path(place.path("out/rows.csv")).unwrap();
    let names = rows.headers().unwrap().clone();
    let column = |name: &str| names.iter().position(|it| it == name).unwrap();
    let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), cases.len() + 1);
    for (index, (_, reason)) in cases.iter().enumerate() {
        let row = &rows[index];
        assert_eq!(&row[column("row")], (index + 1).to_string());
        assert_eq!(&row[column("status")], "not_answered");
        assert_eq!(
            row[column("reasons")],
            format!("not_answered {reason}"),
            "{index}"
        );
        assert!(!row[column("error")].is_empty() && row[column("ceiling_m_agl")].is_empty());
        assert!(page.contains(&format!("1 site {reason}:")), "{page}");
    }
    assert_ne!(&rows[cases.len()][column("status")], "not_answered");
}

/// Text that a spreadsheet would run is made harmless in the table and left as it is elsewhere.
#[test]
fn no_cell_is_a_formula_and_no_identifier_is_lost() {
    use eaves::screen::columns::{Cell, Column, Kind};
    use eaves::screen::table::{Writer, plain};
    let columns = [Column {
        name: "id".into(),
        kind: Kind::Text,
    }];
    let hostile = [
        "=1+1",
        "+cmd",
        "-2+3",
        "@SUM(A1)",
        "\t=1",
        "'=1",
        "''=1",
        "\u{ff1d}1",
        "\r\n=1",
    ];
    let plain_ones = ["-12.5", "+5", "a=b", "'quoted'", "", "x\ny", "a\"b,c", "-"];
    for text in hostile.into_iter().chain(plain_ones) {
        let mut writer = Writer::default();
        writer.row(&columns, &[Cell::Text(text.into())]).unwrap();
        let bytes = writer.into_bytes().unwrap();
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .from_reader(bytes.as_slice());
        let written = reader.records().next().unwrap().unwrap()[0].to_owned();
        assert_eq!(plain(&written), text, "{written:?}");
        if hostile.contains(&text) {
            assert!(written.starts_with('\''), "{written:?}");
        }
        if plain_ones.contains(&text) && text != "-" {
            assert_eq!(written, text);
        }
    }
    let place = Place::new();
    place.write("sites.ndjson", sites(4));
    place.page(&line("out", "--format geojson"), 1);
    assert!(place.text("out/rows.csv").contains(",'=1+1,"));
    let json: serde_json::Value = serde_json::from_slice(&place.read("out/rows.geojson")).unwrap();
    assert_eq!(json["features"][1]["properties"]["id"], "=1+1");
    assert_eq!(json["features"][2]["properties"]["id"], "two\nlines, \"2\"");
}

#[test]
fn identifiers_are_compared_through_any_number_of_runs() {
    use eaves::screen::sorted::{Identifiers, Repeated};
    for room in [1, 2, 7, 1_000] {
        let mut ids = Identifiers::with_room_for(room);
        for (number, id) in ["a", "b", "a", "c", "b", "a", "d"].iter().enumerate() {
            ids.add(Identifiers::hash(id), number as u64 + 1).unwrap();
        }
        let repeated = ids.repeated(2).unwrap();
        assert_eq!(
            repeated,
            Repeated {
                count: 3,
                first: vec![(3, 1), (5, 2)]
            },
            "{room}"
        );
    }
}

#[test]
fn progress_is_said_in_plain_words() {
    use eaves::screen::progress::line;
    let said = |done, of, before, seconds| {
        line("screening", done, of, before, Duration::from_secs(seconds))
    };
    assert_eq!(
        said(12_400, Some(200_000), 0, 2),
        "screening: 12 400 of 200 000 sites (6.2 %), 6 200 a second, 31 s left"
    );
    assert_eq!(
        said(150, Some(1_000_000), 50, 10),
        "screening: 150 of 1 000 000 sites (0.0 %), 10.0 a second, 1 d 3 h left"
    );
    assert_eq!(said(7, None, 0, 0), "screening: 7 sites, 7 000 a second");
    assert_eq!(
        said(0, Some(5), 0, 0),
        "screening: 0 of 5 sites (0.0 %), 0.0 a second"
    );
}

/// Each column and each code stands in the data dictionary.
#[test]
fn columns_and_codes_are_documented() {
    use eaves::batch::{Case, NotScreened, Reason};
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let dictionary = std::fs::read_to_string(root.join("docs/screening.md")).unwrap();
    let columns = eaves::screen::columns::Columns::of(&[Case::default()]);
    for name in columns.names() {
        assert!(
            dictionary.contains(&format!("| `{name}` |")),
            "column {name}"
        );
    }
    for reason in Reason::ALL {
        let row = format!("| `{}` | {} |", reason.code(), reason.words());
        assert!(dictionary.contains(&row), "{row}");
    }
    for it in NotScreened::ALL {
        assert!(
            dictionary.contains(&format!("| `{}` | {} |", it.code(), it.words())),
            "{}",
            it.code()
        );
    }
}
