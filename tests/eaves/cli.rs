//! Arguments as typed: what is understood, what is refused and in which words.

use std::process::{Command as Process, Stdio};

use eaves::cli::{self, AssessArgs, Command, NoCommand, length};
use eaves::obstacle::Sag;
use proptest::prelude::*;

fn assess(options: &[&str]) -> Result<AssessArgs, String> {
    let mut arguments = vec!["eaves", "assess", "area.geojson", "--layers", "layers"];
    arguments.extend(options);
    match cli::parse(arguments) {
        Ok(typed) => match typed.command {
            Command::Assess(args) => Ok(*args),
            other => panic!("{other:?}"),
        },
        Err(NoCommand::Refused(why)) => Err(why),
        Err(NoCommand::Told(text)) => panic!("{text}"),
    }
}

fn refusal(options: &[&str]) -> String {
    let why = assess(options).unwrap_err();
    assert_eq!(why.lines().count(), 1, "{why}");
    why
}

#[test]
fn defaults_are_as_documented() {
    let typed = assess(&[]).unwrap();
    assert_eq!(typed.profile, "plain");
    assert_eq!(typed.search_radius.m(), 18_520.0);
    assert_eq!(typed.tolerance.m(), 0.1);
    assert!(typed.height.is_none() && typed.sag.is_none() && typed.date.is_none());
    assert!(!typed.estimate_line_heights && typed.figure.is_empty());
}

// 1 ft = 0.3048 m and 1 NM = 1 852 m exactly.
#[test]
fn lengths_are_understood_with_their_unit() {
    for (text, metres) in [
        ("50m", 50.0),
        ("50 m", 50.0),
        (" 164ft ", 164.0 * 0.3048),
        ("164FT", 164.0 * 0.3048),
        ("10NM", 18_520.0),
        ("10nm", 18_520.0),
        ("1.5km", 1_500.0),
        (".5km", 500.0),
        ("+3m", 3.0),
    ] {
        assert_eq!(
            length::positive(text).map(|it| it.m()),
            Ok(metres),
            "{text}"
        );
    }
    assert_eq!(length::signed("-430.5m").map(|it| it.m()), Ok(-430.5));
}

#[test]
fn lengths_that_may_mean_two_things_are_refused() {
    let how = "write a number with m, km, ft or NM, such as 50m or 164ft";
    for (text, why) in [
        ("50", format!("has no unit; {how}")),
        ("", format!("is not a number with a unit; {how}")),
        ("m", format!("is not a number with a unit; {how}")),
        ("nan", format!("is not a number with a unit; {how}")),
        ("NaNm", format!("is not a number with a unit; {how}")),
        ("infm", format!("is not a number with a unit; {how}")),
        ("1e3m", format!("has a unit that is not understood; {how}")),
        ("50M", format!("has a unit that is not understood; {how}")),
        ("50 mi", format!("has a unit that is not understood; {how}")),
        ("5 0m", format!("has a unit that is not understood; {how}")),
        (
            "50,5m",
            format!("has a comma in its number; write a decimal point: {how}"),
        ),
        (
            "1,234m",
            format!("has a comma in its number; write a decimal point: {how}"),
        ),
        ("1.2.3m", format!("does not begin with a number; {how}")),
        ("--5m", format!("does not begin with a number; {how}")),
        ("-5m", "is negative; write 0m or more".into()),
        ("-0m", "is negative; write 0m or more".into()),
        ("0m", "is 0; write a length greater than 0".into()),
        (
            "99999999999m",
            "is longer than any distance on Earth; check the number and its unit".into(),
        ),
    ] {
        assert_eq!(length::positive(text).map(|it| it.m()), Err(why), "{text}");
    }
    let endless = format!("{}m", "9".repeat(400));
    assert!(length::positive(&endless).is_err());
}

proptest! {
    #[test]
    fn no_text_panics_or_gives_a_length_without_a_unit(text in ".{0,12}") {
        if length::signed(&text).is_ok() {
            prop_assert!(text.trim_end().ends_with(|c: char| c.is_ascii_alphabetic()));
        }
    }
}

#[test]
fn messages_are_one_line_and_name_the_option() {
    assert_eq!(
        refusal(&["--height", "50"]),
        "invalid value '50' for '--height <LENGTH>': has no unit; write a number with m, km, ft or \
         NM, such as 50m or 164ft; see `eaves --help`"
    );
    assert_eq!(
        refusal(&["--heigth", "50m"]),
        "unexpected argument '--heigth' found; tip: a similar argument exists: '--height'; see \
         `eaves --help`"
    );
    assert_eq!(
        refusal(&["--height", "-5m"]),
        "invalid value '-5m' for '--height <LENGTH>': is negative; write 0m or more; see \
         `eaves --help`"
    );
    assert!(refusal(&["--height", "20km"]).contains("is above 10 000 m"));
    assert!(refusal(&["--tolerance", "0.01mm"]).contains("a unit that is not understood"));
    assert!(refusal(&["--tolerance", "20m"]).contains("is not from 0.001m to 10m"));
    assert!(refusal(&["--search-radius", "600km"]).contains("is above 500 km"));
    assert!(refusal(&["--ground-accuracy", "2km"]).contains("is above 1 000 m"));
    assert!(refusal(&["--site-elevation", "9001m"]).contains("from -500 m to 9 000 m"));
    assert!(
        refusal(&["--height", "50m", "--height", "60m"]).contains("cannot be used multiple times")
    );
}

#[test]
fn no_command_and_unknown_commands_are_refused() {
    let refused = |arguments: &[&str]| match cli::parse(arguments) {
        Err(NoCommand::Refused(why)) => why,
        other => panic!("{other:?}"),
    };
    assert_eq!(
        refused(&["eaves"]),
        "no command was given; use assess, screen, inspect, demo or profiles, or see `eaves --help`"
    );
    assert!(refused(&["eaves", "asess"]).contains("a similar subcommand exists: 'assess'"));
    assert_eq!(
        refused(&["eaves", "assess"]),
        "the following required arguments were not provided: --layers <DIR> <AREA>; see `eaves --help`"
    );
}

#[test]
fn elevations_may_be_negative_and_accuracies_zero() {
    let typed = assess(&["--site-elevation", "-430m", "--ground-accuracy", "0m"]).unwrap();
    assert_eq!(typed.site_elevation.unwrap().m(), -430.0);
    assert_eq!(typed.ground_accuracy.unwrap().m(), 0.0);
}

#[test]
fn sag_is_a_share_or_a_length_and_never_nothing() {
    assert_eq!(
        assess(&["--sag", "2%"]).unwrap().sag,
        Some(Sag::ShareOfSpan(0.02))
    );
    assert_eq!(
        assess(&["--sag", "6.5m"]).unwrap().sag,
        Some(Sag::Metres(6.5))
    );
    for bad in ["0%", "100%", "nan%", "-2%", "%", "+2%", "1e0%"] {
        assert!(
            refusal(&["--sag", bad]).contains("is not a share of the span above 0%"),
            "{bad}"
        );
    }
    assert!(refusal(&["--sag", "0m"]).contains("is 0; write a length greater than 0"));
    assert!(refusal(&["--sag", "2"]).contains("has no unit"));
}

#[test]
fn dates_are_days_of_the_calendar() {
    let date = assess(&["--date", "2028-02-29"]).unwrap().date.unwrap();
    assert_eq!(date.to_string(), "2028-02-29");
    assert!(refusal(&["--date", "2026-02-29"]).contains("is not a day of the calendar"));
    for bad in [
        "2026-2-9",
        "20260209",
        "2026-02-09T00:00",
        "tomorrow",
        "２０２６-02-09",
    ] {
        assert!(
            refusal(&["--date", bad]).contains("write it as YYYY-MM-DD"),
            "{bad}"
        );
    }
}

#[test]
fn help_has_examples_units_and_exit_codes() {
    let Err(NoCommand::Told(help)) = cli::parse(["eaves", "--help"]) else {
        panic!("no help")
    };
    for word in [
        "eaves assess area.geojson --layers layers",
        "Exit code",
        "inspect",
        "demo",
        "profiles",
    ] {
        assert!(help.contains(word), "{word} in {help}");
    }
    let Err(NoCommand::Told(help)) = cli::parse(["eaves", "assess", "--help"]) else {
        panic!("no help")
    };
    for word in [
        "[default: plain]",
        "[default: 10NM]",
        "[default: 0.1m]",
        "today in UTC",
        "50m or 164ft",
    ] {
        assert!(help.contains(word), "{word} in {help}");
    }
    for forbidden in ["safe", "approved", "compliant", "cleared"] {
        assert!(!help.to_lowercase().contains(forbidden));
    }
}

fn eaves() -> Process {
    Process::new(env!("CARGO_BIN_EXE_eaves"))
}

#[test]
fn the_process_exits_with_2_and_says_so_on_standard_error() {
    let done = eaves()
        .args(["assess", "a", "--layers", "b", "--height", "50"])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert!(done.stdout.is_empty());
    let words = String::from_utf8(done.stderr).unwrap();
    assert!(
        words.starts_with("eaves: invalid value '50'") && words.lines().count() == 1,
        "{words}"
    );
    let done = eaves()
        .args(["inspect", "no-such\u{1b}[2Jfolder"])
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert_eq!(
        String::from_utf8(done.stderr).unwrap(),
        "eaves: no-such\\u{1b}[2Jfolder: does not exist; give the folder that holds the layers\n"
    );
}

#[test]
fn help_and_version_exit_with_0_on_standard_output() {
    let done = eaves().arg("--version").output().unwrap();
    assert_eq!(done.status.code(), Some(0));
    assert_eq!(
        done.stdout,
        format!("eaves {}\n", env!("CARGO_PKG_VERSION")).into_bytes()
    );
}

#[test]
fn a_reader_that_goes_away_is_no_failure() {
    let mut process = eaves()
        .arg("--help")
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(process.stdout.take());
    let done = process.wait_with_output().unwrap();
    assert_eq!(done.status.code(), Some(0));
    assert!(
        done.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_standard_output_is_a_failure() {
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let done = eaves().arg("--help").stdout(full).output().unwrap();
    assert_eq!(done.status.code(), Some(2));
    assert!(
        String::from_utf8(done.stderr)
            .unwrap()
            .starts_with("eaves: standard output cannot be written")
    );
}

#[cfg(unix)]
#[test]
fn arguments_that_are_not_text_do_not_panic() {
    use std::os::unix::ffi::OsStrExt;
    let bytes = std::ffi::OsStr::from_bytes(b"\xff\xfe");
    let done = eaves().arg("inspect").arg(bytes).output().unwrap();
    assert_eq!(done.status.code(), Some(2));
    let done = eaves()
        .args(["assess", "a", "--layers", "b", "--profile"])
        .arg(bytes)
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(2));
}
