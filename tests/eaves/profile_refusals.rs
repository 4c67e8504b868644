//! Rule profiles that are refused, each with its exact message.

use eaves::profile::{load, parse};

use crate::profile::{as_json, changed, schema, text_of};

fn refusal(text: &str) -> String {
    parse("own", "own.toml", text).unwrap_err().to_string()
}

#[test]
fn an_unknown_name_is_answered_with_the_known_ones() {
    let known = "known are plain, australia, canada, european-union, new-zealand, united-kingdom, \
                 united-states; a file is given by a path that ends in .toml";
    assert_eq!(
        load("new-zeeland").unwrap_err().to_string(),
        format!(
            "there is no rule profile named \"new-zeeland\"; did you mean new-zealand? {known}"
        )
    );
    assert_eq!(
        load("xyzzy").unwrap_err().to_string(),
        format!("there is no rule profile named \"xyzzy\"; {known}")
    );
    assert_eq!(
        load("").unwrap_err().to_string(),
        format!("there is no rule profile named \"\"; {known}")
    );
}

#[test]
fn files_that_are_no_profile_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let refused = |path: &str| {
        load(path)
            .unwrap_err()
            .to_string()
            .replace(dir.path().to_str().unwrap(), "DIR")
    };
    assert_eq!(
        refused(&at("none.toml")),
        "DIR/none.toml: the rule profile cannot be read: No such file or directory (os error 2); \
         check the path, or name a built-in profile"
    );
    std::fs::create_dir(at("folder.toml")).unwrap();
    assert_eq!(
        refused(&at("folder.toml")),
        "DIR/folder.toml: is a folder, not a rule profile; name a TOML file"
    );
    std::fs::write(at("latin1.toml"), b"title = \"\xe9\"").unwrap();
    assert_eq!(
        refused(&at("latin1.toml")),
        "DIR/latin1.toml: is not UTF-8 text; save the rule profile as UTF-8"
    );
    std::fs::write(at("long.toml"), vec![b'#'; 1_000_001]).unwrap();
    assert_eq!(
        refused(&at("long.toml")),
        "DIR/long.toml: is longer than 1000000 bytes; name a rule profile in TOML"
    );
    std::fs::write(at("empty.toml"), "").unwrap();
    assert_eq!(
        refused(&at("empty.toml")),
        "DIR/empty.toml: line 1: missing field `title`; \
         correct the rule profile after layers/schema/profile.json"
    );
}

#[test]
fn wrong_keys_and_forms_name_the_line() {
    let remedy = "correct the rule profile after layers/schema/profile.json";
    for (from, to, cause) in [
        (
            "title = \"Plain",
            "titel = \"Plain",
            "line 3: unknown field `titel`, expected one of `title`, `caution`, `reference`, \
             `conditions`, `rings`, `zones`, `height`, `twilight`",
        ),
        (
            "mark = \"common_practice\"",
            "mark = \"sure\"",
            "line 16: unknown variant `sure`, expected one of `seen`, `from_memory`, \
             `common_practice`",
        ),
        (
            "unit = \"NM\"",
            "unit = \"nm\"",
            "line 13: unknown variant `nm`, expected one of `m`, `ft`, `km`, `NM`",
        ),
        (
            "reference = \"reference_point\"",
            "reference = \"middle\"",
            "line 5: unknown variant `middle`, expected one of `reference_point`, `runway_end`, \
             `movement_area`, `boundary`",
        ),
        (
            "value = 1\n",
            "value = \"1\"\n",
            "line 12: invalid type: string \"1\", expected f64",
        ),
        ("value = 1\n", "", "line 11: missing field `value`"),
        (
            "value = 1\n",
            "value = 1\nvalue = 1\n",
            "line 13: duplicate key",
        ),
        (
            "value = 1\n",
            "value = \n",
            "line 12: string values must be quoted, expected literal string",
        ),
    ] {
        assert_eq!(
            refusal(&changed(from, to)),
            format!("own.toml: {cause}; {remedy}")
        );
    }
}

#[test]
fn values_out_of_range_name_the_key() {
    for (from, to, message) in [
        (
            "value = 100\n",
            "value = 0\n",
            "own.toml: key height.lowest[0].shield.reach.value: 0 m is out of range; \
             state a value above 0, at most 5000 m",
        ),
        (
            "value = 100\n",
            "value = 5000.1\n",
            "own.toml: key height.lowest[0].shield.reach.value: 5000.1 m is out of range; \
             state a value above 0, at most 5000 m",
        ),
        (
            "value = 100\n",
            "value = nan\n",
            "own.toml: key height.lowest[0].shield.reach.value: NaN is not a finite number; \
             state a number",
        ),
        (
            "value = 120\n",
            "value = -120\n",
            "own.toml: key height.lowest[1].cap.height.value: -120 m is out of range; \
             state a value above 0, at most 100000 m",
        ),
        (
            "value = 10\n",
            "value = inf\n",
            "own.toml: key height.lowest[0].shield.margin.value: inf is not a finite number; \
             state a number",
        ),
        (
            "value = 10\n",
            "value = -100001\n",
            "own.toml: key height.lowest[0].shield.margin.value: -100001 m is out of range; \
             state a value from -100000 to 100000 m",
        ),
        (
            "value = 5\n",
            "value = 54\n",
            "own.toml: key rings[3].radius.value: 54 NM is out of range; \
             state a value above 0, at most 100000 m",
        ),
        (
            "citation = \"common practice, no source\"",
            "citation = \" \"",
            "own.toml: key rings[0].radius.citation: is empty; \
             state it, or write \"not stated\"",
        ),
        (
            "title = \"Plain shielding, common practice\"",
            "title = \"a\\nb\"",
            "own.toml: key title: holds a line break or another control character; \
             write it on one line",
        ),
    ] {
        assert_eq!(refusal(&changed(from, to)), message);
    }
    let schema = schema();
    for (from, to) in [
        ("value = 100\n", "value = 0\n"),
        ("\"NM\"", "\"nm\""),
        ("title =", "titel ="),
    ] {
        assert!(
            !schema.is_valid(&as_json(&changed(from, to))),
            "schema accepts {to:?}"
        );
    }
    // The longest reach itself is allowed: the limit includes its edge.
    assert!(
        parse(
            "own",
            "own.toml",
            &changed("value = 100\n", "value = 5000\n")
        )
        .is_ok()
    );
}

#[test]
fn an_expression_has_bounded_size_and_one_kind_for_each_term() {
    let head =
        "title = \"t\"\ncaution = \"c\"\nreference = \"boundary\"\nconditions = []\nrings = []\n";
    let cap = "{ cap = { title = \"t\", height = { value = 1, unit = \"m\", citation = \"c\", \
               edition = \"e\", mark = \"seen\" } } }";
    let nested = |depth: usize| {
        format!(
            "{head}height = {}{cap}{}",
            "{ lowest = [".repeat(depth),
            "] }".repeat(depth)
        )
    };
    assert!(parse("own", "own.toml", &nested(7)).is_ok());
    assert_eq!(
        refusal(&nested(8)),
        format!(
            "own.toml: key height{}: lowest and highest are nested too deep; nest at most 8 deep",
            ".lowest[0]".repeat(8)
        )
    );
    assert!(
        refusal(&nested(50_000)).contains("recurse"),
        "deep nesting is refused"
    );
    let wide = |count: usize| {
        format!(
            "{head}height = {{ highest = [{}] }}",
            vec![cap; count].join(", ")
        )
    };
    assert!(parse("own", "own.toml", &wide(63)).is_ok());
    assert_eq!(
        refusal(&wide(64)),
        "own.toml: key height.highest[63]: the profile has too many terms; state at most 64"
    );
    assert_eq!(
        refusal(&wide(0)),
        "own.toml: key height.highest: is an empty list; state at least one term"
    );
    let two = format!("{head}height = {{ lowest = [{cap}], highest = [{cap}] }}");
    assert_eq!(
        refusal(&two),
        "own.toml: line 6: wanted exactly 1 element, more than 1 element; \
         correct the rule profile after layers/schema/profile.json"
    );
    let ring = "{ about = \"boundary\", radius = { value = 1, unit = \"m\", citation = \"c\", \
                edition = \"e\", mark = \"seen\" } }";
    let rings = head.replace(
        "rings = []",
        &format!("rings = [{}]", vec![ring; 33].join(", ")),
    );
    assert_eq!(
        refusal(&format!("{rings}height = {cap}")),
        "own.toml: key rings: 33 rings are too many; state at most 32"
    );
}

proptest::proptest! {
    /// No text makes the reader panic, and a changed byte of a good profile is either a profile
    /// whose numbers keep their limits or an error on one line.
    #[test]
    fn any_change_is_read_or_refused_on_one_line(at in 0usize..3000, byte in 0u8..128) {
        let mut bytes = text_of("european-union").into_bytes();
        let at = at % bytes.len();
        bytes[at] = byte;
        if let Ok(text) = String::from_utf8(bytes) {
            match parse("own", "own.toml", &text) {
                Ok(profile) => {
                    let reach = profile.widest_reach().m();
                    proptest::prop_assert!(reach > 0.0 && reach <= 5000.0);
                }
                Err(error) => proptest::prop_assert!(!error.to_string().contains('\n')),
            }
        }
    }
}

/// The twilight of a rule: whole minutes in bounds, cited.
#[test]
fn twilight_that_no_rule_counts_is_refused() {
    let with = |minutes: &str, citation: &str| {
        let more = format!(
            "[twilight]\nminutes = {minutes}\ncitation = \"{citation}\"\nedition = \"2020\"\nmark = \"seen\"\n"
        );
        parse("own", "own.toml", &format!("{}\n{more}", text_of("plain")))
    };
    assert_eq!(with("30", "Rule 1").unwrap().twilight.unwrap().minutes, 30);
    for (minutes, citation, why) in [
        (
            "0",
            "Rule 1",
            "own.toml: key twilight.minutes: 0 is not from 1 to 180; state the minutes before sunrise and after sunset",
        ),
        (
            "1800",
            "Rule 1",
            "own.toml: key twilight.minutes: 1800 is not from 1 to 180; state the minutes before sunrise and after sunset",
        ),
        (
            "30",
            " ",
            "own.toml: key twilight.citation: is empty; state it, or write \"not stated\"",
        ),
    ] {
        assert_eq!(with(minutes, citation).unwrap_err().to_string(), why);
    }
    assert!(with("-30", "Rule 1").is_err());
    assert!(with("30.5", "Rule 1").is_err());
}
