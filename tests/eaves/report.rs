//! The page, the JSON form and the listing: their rules, and golden copies.
//!
//! `EAVES_ACCEPT=1 cargo test` accepts new goldens.

use std::path::Path;

use eaves::answer::{Assessment, BudgetLine, BudgetStep, Undetermined, WishState, ZoneState};
use eaves::frame::LonLat;
use eaves::report::{budget, json, number, page, profiles, text};
use eaves::units::{Altitude, Height, Metres};
use proptest::prelude::*;

use crate::report_fixture::{bare, decided, pair, place, profile, straddling};

fn golden(name: &str, text: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/golden")
        .join(name);
    if std::env::var_os("EAVES_ACCEPT").is_some_and(|word| word == "1") {
        std::fs::write(&path, text).unwrap();
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    same_text(
        text,
        &kept,
        &format!("{}; EAVES_ACCEPT=1 accepts it", path.display()),
    );
}

/// Fails with the first line that differs, not with both texts in full.
pub fn same_text(made: &str, wanted: &str, what: &str) {
    if made == wanted {
        return;
    }
    let mut lines = made.lines().zip(wanted.lines()).enumerate();
    match lines.find(|(_, (made, wanted))| made != wanted) {
        Some((number, (made, wanted))) => panic!(
            "line {} differs from {what}\n  made:   {made}\n  wanted: {wanted}",
            number + 1
        ),
        None => panic!(
            "{} lines instead of {} in {what}",
            made.lines().count(),
            wanted.lines().count()
        ),
    }
}

fn pages() -> Vec<String> {
    [straddling(), decided(), bare()]
        .iter()
        .map(page::page)
        .collect()
}

#[test]
fn pages_equal_their_goldens() {
    golden("page-straddling.txt", &page::page(&straddling()));
    golden("page-decided.txt", &page::page(&decided()));
    golden("page-bare.txt", &page::page(&bare()));
    golden("profiles.txt", &profiles::listing(&[profile()]));
    golden("assessment.json", &json::json(&straddling()).unwrap());
}

#[test]
fn no_output_says_what_only_the_authority_may_say() {
    let mut outputs = pages();
    outputs.push(profiles::listing(&[profile()]));
    outputs.push(json::json(&straddling()).unwrap());
    for output in outputs {
        let words = output.to_lowercase();
        for forbidden in ["safe", "approved", "compliant", "cleared"] {
            assert!(!words.contains(forbidden), "{forbidden} in\n{output}");
        }
    }
}

#[test]
fn no_line_is_wider_than_the_page_or_ends_in_a_space() {
    for page in pages() {
        for line in page.lines() {
            assert!(line.chars().count() <= text::WIDTH, "{line}");
            assert_eq!(line, line.trim_end());
        }
    }
}

#[test]
fn the_answer_comes_before_its_reasons() {
    let page = page::page(&straddling());
    let order = [
        "Area ",
        "CEILING",
        "Height budget, metres AMSL",
        "Height budget, metres above ground",
        "WISH",
        "SHIELDING",
        "AERODROMES",
        "NOT ASSESSED",
        "CAUTIONS",
        "RULE VALUES",
        "LAYERS AND SOURCES",
        "CAUTION\n",
    ];
    let places: Vec<usize> = order
        .iter()
        .map(|word| page.find(word).expect(word))
        .collect();
    assert!(places.is_sorted(), "{places:?}");
}

// The worked contrast of the height budget (common practice, no source).
#[test]
fn the_ceiling_is_printed_in_metres_and_feet_above_ground_and_amsl() {
    assert!(page::page(&decided()).contains(
        "CEILING 36.5 m (119 ft) above ground · 340.5 m (1 117 ft) AMSL\n  for the whole operating area\n"
    ));
}

#[test]
fn an_undetermined_ceiling_says_why_and_gives_the_part_that_is_determined() {
    let page = page::page(&straddling());
    assert!(page.contains("CEILING UNDETERMINED for the whole operating area\n"));
    // 1.251 % goes up, 800.4 m² goes up.
    assert!(page.contains("1.3 % of the area (801 m²) is out of reach of every shield"));
    assert!(page.contains(
        "Where it is determined: 36.5 m (119 ft) above ground · 340.5 m\n    (1 117 ft) AMSL\n"
    ));
    assert!(page.contains("depends on what eaves cannot check:\n  - The obstacle owner agrees"));
    assert!(!page.contains("CEILING 0"), "0 is not an answer");
}

#[test]
fn every_reason_for_undetermined_is_worded() {
    let mut assessment = bare();
    assessment.ceiling.undetermined = vec![
        Undetermined::NoShield,
        Undetermined::GroundUnknown { share: 0.000_01 },
        Undetermined::FloorUnknown {
            volumes: vec!["ZZ1 (BY NOTAM)".into()],
        },
        Undetermined::NotCertified,
    ];
    let page = page::page(&assessment);
    assert!(page.contains("- the floor of airspace is not known: ZZ1 (BY NOTAM)\n"));
    assert!(page.contains("- no obstacle within reach can be a shield\n"));
    assert!(page.contains("- the terrain has no data under <0.1 % of the area\n"));
    assert!(page.contains("could certify a bound that is of use"));
    assert!(page.contains("No part of the area has a determined ceiling."));
}

// The international foot is 0.3048 m exactly; 50 m is 164.04 ft.
#[test]
fn heights_go_down_to_the_printed_digit() {
    let height = |m: f64| number::height(Height::of(m)).replace('\u{a0}', " ");
    assert_eq!(height(50.0), "50.0 m (164 ft)");
    assert_eq!(height(39.99), "39.9 m (131 ft)");
    assert_eq!(height(121.92), "121.9 m (400 ft)");
    assert_eq!(height(-0.01), "−0.1 m (−1 ft)");
    let altitude = number::altitude(Altitude::of(1351.29)).replace('\u{a0}', " ");
    assert_eq!(altitude, "1 351.2 m (4 433 ft)");
}

// The international nautical mile is 1 852 m exactly.
#[test]
fn distances_and_margins_go_down() {
    let nm = |m: f64| number::nautical_miles(Metres::of(m)).replace('\u{a0}', " ");
    assert_eq!(nm(5556.0), "3.00 NM");
    assert_eq!(nm(5555.99), "2.99 NM");
    let margin = |m: f64| number::margin(Metres::of(m)).replace('\u{a0}', " ");
    assert_eq!(margin(3651.9), "+3 651 m");
    assert_eq!(margin(-52.1), "−53 m");
    assert_eq!(margin(0.4), "0 m");
    assert_eq!(margin(-0.4), "−1 m");
}

#[test]
fn a_share_is_nothing_or_all_only_when_it_is() {
    let shown = |text: String| text.replace('\u{a0}', " ");
    assert_eq!(shown(number::share_down(0.0)), "0 %");
    assert_eq!(shown(number::share_down(1.0)), "100 %");
    assert_eq!(shown(number::share_down(0.37)), "37.0 %");
    assert_eq!(shown(number::share_down(0.999_99)), ">99.9 %");
    assert_eq!(shown(number::share_down(0.998_99)), "99.8 %");
    assert_eq!(shown(number::share_down(0.999)), "99.9 %");
    assert_eq!(shown(number::share_up(0.001)), "0.1 %");
    assert_eq!(shown(number::share_down(0.000_01)), "<0.1 %");
    assert_eq!(shown(number::share_up(0.000_01)), "<0.1 %");
    assert_eq!(shown(number::share_up(0.999_99)), ">99.9 %");
    assert_eq!(shown(number::share_up(0.37)), "37.0 %");
    assert_eq!(shown(number::share_up(0.370_01)), "37.1 %");
    assert_eq!(shown(number::partial_share_down(0.0)), "<0.1 %");
    assert_eq!(shown(number::partial_share_down(1.0)), ">99.9 %");
    assert_eq!(shown(number::share_down(f64::NAN)), "undetermined");
}

#[test]
fn a_ring_that_straddles_never_prints_nothing_or_all() {
    let mut assessment = straddling();
    for share in [0.0, 1.0] {
        for ring in &mut assessment.aerodromes[0].rings {
            ring.state = ZoneState::Straddles;
            ring.share_inside = Some(share);
        }
        for line in page::page(&assessment)
            .lines()
            .filter(|line| line.contains("straddles,"))
        {
            assert!(
                line.ends_with("<0.1 %") || line.ends_with(">99.9 %"),
                "{line}"
            );
        }
    }
}

#[test]
fn rings_state_their_margin_their_share_and_what_they_were_measured_from() {
    let page = page::page(&straddling());
    let squeezed = page.split_whitespace().collect::<Vec<_>>().join(" ");
    for expected in [
        "1 NM about reference point outside, +3 651 m, 0 %",
        "3 NM about reference point straddles, −53 m, <0.1 %",
        "3 NM about movement area straddles, −366 m, >99.9 % measured from the runway end, as the movement area is not given: this does not answer the rule",
        "5 NM about reference point inside, −3 757 m, 100 %",
        "5 NM about boundary UNDETERMINED the boundary is not given",
        "reference point 2.97 NM 5 503 m 214°T 203°M from",
        "runway end 2.80 NM 5 190 m 214°T 203°M, end 09 from",
        "movement area not given",
        "boundary not given",
    ] {
        assert!(squeezed.contains(expected), "{expected} in\n{page}");
    }
}

#[test]
fn an_overlap_and_a_missing_variation_have_words() {
    let mut assessment = straddling();
    let distance = assessment.aerodromes[0].references[0]
        .distance
        .as_mut()
        .unwrap();
    distance.bearing_magnetic_deg = None;
    let near = page::page(&assessment);
    assert!(near.contains("214°T ---°M"));
    let distance = assessment.aerodromes[0].references[0]
        .distance
        .as_mut()
        .unwrap();
    distance.distance_m = Metres::ZERO;
    assert!(page::page(&assessment).contains("0 m: the area reaches it"));
    assert!(page::page(&bare()).contains("not known: 2031-01-01 is outside the years of WMM2025"));
}

#[test]
fn the_plain_lowest_object_is_told_apart_and_named_only_when_it_differs() {
    let words = "This is another question: it does not set the ceiling";
    assert!(page::page(&straddling()).contains(words));
    assert!(!page::page(&decided()).contains(words));
}

#[test]
fn an_uncovered_part_leaves_the_ceiling_undetermined_only_where_it_does() {
    let mut assessment = straddling();
    let squeezed = |page: String| page.split_whitespace().collect::<Vec<_>>().join(" ");
    let page = squeezed(page::page(&assessment));
    assert!(
        page.contains("1.3 % of the area, 801 m², in 1 part; the ceiling is UNDETERMINED there")
    );
    assessment.ceiling = decided().ceiling;
    let page = squeezed(page::page(&assessment));
    assert!(page.contains("801 m², in 1 part; this rule gives nothing there"));
    assert!(squeezed(page::page(&bare())).contains("Covered nothing Uncovered all, "));
}

#[test]
fn values_with_one_source_stand_together() {
    let listing = profiles::listing(&[profile()]);
    let squeezed = listing.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(squeezed.contains(
        "- shield.reach 100 m, shield.margin 10 m: COMMON PRACTICE, no source - shield.taller_than"
    ));
    assert!(squeezed.contains("cap.height 120 m: FROM MEMORY, confirm before relying on it;"));
}

#[test]
fn the_tolerance_and_what_a_profile_is_not_are_printed() {
    let page = page::page(&decided());
    let squeezed = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(squeezed.contains("search stopped at its tolerance of 0.1 m."));
    assert!(squeezed.contains(&decided().profile.caution));
    assert!(profiles::listing(&[profile()]).contains(&profile().caution));
}

#[test]
fn every_built_in_profile_is_listed_without_a_word_of_the_authority() {
    let all: Vec<_> = eaves::profile::built_in()
        .iter()
        .map(|(name, _)| eaves::profile::load(name).unwrap())
        .collect();
    let listing = profiles::listing(&all);
    for forbidden in ["safe ", "approved", "compliant", "cleared"] {
        assert!(
            !listing.to_lowercase().contains(forbidden),
            "{forbidden} in\n{listing}"
        );
    }
    assert!(
        all.iter()
            .all(|it| listing.contains(&format!("{}: {}", it.name, it.title)))
    );
}

#[test]
fn an_estimate_is_marked() {
    assert_eq!(page::page(&straddling()).matches("ESTIMATE").count(), 1);
    let mut assessment = straddling();
    assessment.shielding[0]
        .lowest_shielding
        .as_mut()
        .unwrap()
        .is_estimate = true;
    assert_eq!(page::page(&assessment).matches("ESTIMATE").count(), 2);
}

#[test]
fn every_state_of_a_wish_has_words() {
    for (state, words) in [
        (WishState::Everywhere, "within the ceiling everywhere"),
        (WishState::InPart, "within the ceiling in part only"),
        (WishState::Nowhere, "within the ceiling nowhere"),
        (WishState::Undetermined, "UNDETERMINED"),
    ] {
        let mut assessment = straddling();
        assessment.wish.as_mut().unwrap().state = state;
        let page = page::page(&assessment);
        let section = page
            .split("\n\n")
            .find(|it| it.starts_with("WISH"))
            .unwrap();
        let squeezed = section.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            squeezed.starts_with("WISH 50.0 m (164 ft) above ground"),
            "{squeezed}"
        );
        assert!(squeezed.contains(words), "{squeezed}");
    }
}

// A name from a file must not steer the terminal: ECMA-48 controls, and the direction marks of
// UAX 9.
#[test]
fn names_cannot_steer_the_terminal() {
    let nasty = "a\u{1b}[2J\u{1b}]0;t\u{7}\nCEILING 99 m\r\u{9b}\u{202e}\u{2028}\u{0}é漢\u{200d}";
    let mut assessment = straddling();
    assessment.area.name = nasty.into();
    assessment.area.source.feature = nasty.into();
    assessment.profile.title = nasty.into();
    assessment.aerodromes[0].title = nasty.into();
    assessment.shielding[0]
        .lowest_shielding
        .as_mut()
        .unwrap()
        .title = nasty.into();
    assessment.cautions[0].defect = nasty.into();
    assessment.cautions[0].features[0] = nasty.into();
    assessment.not_assessed[0].what = nasty.into();
    assessment.layers[0].crs = nasty.into();
    assessment
        .ceiling
        .determined_part
        .as_mut()
        .unwrap()
        .above_ground
        .governs = nasty.into();
    assessment
        .ceiling
        .determined_part
        .as_mut()
        .unwrap()
        .above_ground
        .budget[0]
        .label = nasty.into();
    let page = page::page(&assessment);
    assert!(page.chars().all(|c| c == '\n' || !c.is_control()));
    assert!(!page.contains(['\u{202e}', '\u{2028}']));
    assert!(page.contains("\\u{1b}[2J") && page.contains("é漢"));
    assert!(!page.lines().any(|line| line.starts_with("CEILING 99")));
}

#[test]
fn long_names_wrap() {
    let mut assessment = straddling();
    assessment.area.name = "x".repeat(300);
    assessment.aerodromes[0].title = "word ".repeat(60);
    let page = page::page(&assessment);
    assert!(page.lines().all(|line| line.chars().count() <= text::WIDTH));
    assert_eq!(
        page.matches('x').count() - page::page(&straddling()).matches('x').count(),
        300
    );
}

/// The sum of printed lines, checked with integers at every line that gives a sum.
fn adds_up(lines: &[BudgetLine]) {
    let mut sum = 0;
    for line in budget::printed(lines) {
        match line.step {
            BudgetStep::From => sum = line.hundredths,
            BudgetStep::Less => sum -= line.hundredths,
            BudgetStep::Plus => sum += line.hundredths,
            BudgetStep::Gives => assert_eq!(sum, line.hundredths, "{lines:?}"),
        }
    }
}

#[test]
fn the_worked_budget_adds_up_without_rounding_lines() {
    for value in [pair().above_ground, pair().amsl.unwrap()] {
        adds_up(&value.budget);
        assert_eq!(budget::printed(&value.budget).len(), value.budget.len());
    }
}

proptest! {
    // Independent of the printing: the exact sum is known before anything is rounded.
    #[test]
    fn printed_budgets_add_up_and_their_sum_is_never_above_the_exact_one(
        from in 0.0..9_000.0f64,
        steps in proptest::collection::vec((any::<bool>(), 0.0..80.0f64), 0..8),
    ) {
        let line = |step, value_m| BudgetLine { label: "x".into(), step, value_m, note: String::new() };
        let mut exact = from;
        let mut lines = vec![line(BudgetStep::From, from)];
        for (is_less, amount) in steps {
            exact += if is_less { -amount } else { amount };
            lines.push(line(if is_less { BudgetStep::Less } else { BudgetStep::Plus }, amount));
            lines.push(line(BudgetStep::Gives, exact));
        }
        adds_up(&lines);
        let last = budget::printed(&lines).last().unwrap().hundredths as f64 / 100.0;
        prop_assert!(last <= exact + 1e-6 && last > exact - 0.01 - 1e-6);
    }

    // A place printed to 0.01" and 7 decimals reads back within half of the last digit.
    #[test]
    fn places_read_back(lon in -180.0..=180.0f64, lat in -90.0..=90.0f64) {
        let at = LonLat::new(lon, lat).unwrap();
        let decimal = number::decimal(at);
        let (back_lat, back_lon) = decimal.split_once(",\u{a0}").unwrap();
        prop_assert!((back_lat.parse::<f64>().unwrap() - lat).abs() <= 0.500_001e-7);
        prop_assert!((back_lon.parse::<f64>().unwrap() - lon).abs() <= 0.500_001e-7);
        for (text, degrees) in number::dms(at).split('\u{a0}').zip([lat, lon]) {
            let parts: Vec<&str> = text.split(['°', '\'', '"']).collect();
            let value = |i: usize| parts[i].parse::<f64>().unwrap();
            prop_assert!(value(1) < 60.0 && value(2) < 60.0);
            let back = value(0) + value(1) / 60.0 + value(2) / 3600.0;
            let signed = if ["S", "W"].contains(&parts[3]) { -back } else { back };
            prop_assert!((signed - degrees).abs() <= 0.005_001 / 3600.0);
        }
    }
}

#[test]
fn seconds_carry_into_minutes_and_degrees() {
    assert_eq!(
        number::dms(place(-0.000_000_1, 29.999_999_9)),
        "30°00'00.00\"N\u{a0}000°00'00.00\"E"
    );
    assert_eq!(
        number::dms(place(-5.5, -1.0 / 3600.0)),
        "00°00'01.00\"S\u{a0}005°30'00.00\"W"
    );
    assert_eq!(
        number::decimal(place(-0.000_000_01, 0.0)),
        "0.0000000,\u{a0}0.0000000"
    );
}

#[test]
fn the_json_meets_its_schema() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("layers/schema/assessment.json");
    let schema: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert!(jsonschema::meta::is_valid(&schema));
    let validator = jsonschema::validator_for(&schema).unwrap();
    let check = |assessment: &Assessment| {
        let value = serde_json::from_str(&json::json(assessment).unwrap()).unwrap();
        let errors: Vec<String> = validator
            .iter_errors(&value)
            .map(|error| format!("{}: {error}", error.instance_path()))
            .collect();
        assert!(errors.is_empty(), "{errors:#?}");
    };
    check(&straddling());
    check(&decided());
    check(&bare());
    // The schema refuses what it must: it is no schema that accepts everything.
    let mut value: serde_json::Value =
        serde_json::from_str(&json::json(&straddling()).unwrap()).unwrap();
    value["ceiling"]["determined_part"]["above_ground"]["value_m"] = serde_json::Value::Null;
    assert!(!validator.is_valid(&value));
    let mut value: serde_json::Value =
        serde_json::from_str(&json::json(&straddling()).unwrap()).unwrap();
    value["surplus"] = 1.into();
    assert!(!validator.is_valid(&value));
}

#[test]
fn json_refuses_numbers_that_are_not_finite() {
    let mut assessment = straddling();
    assessment.shielding[0].covered_share = f64::NAN;
    assert_eq!(
        json::json(&assessment).unwrap_err().to_string(),
        "shielding.covered_share of the answer is NaN; report this defect with the input files"
    );
    let mut assessment = straddling();
    assessment.area.perimeter_m = Metres::of(f64::INFINITY);
    assert_eq!(
        json::json(&assessment).unwrap_err().to_string(),
        "/area/perimeter_m of the answer is not finite; report this defect with the input files"
    );
}

#[test]
fn json_keeps_the_order_of_the_answer() {
    let text = json::json(&straddling()).unwrap();
    assert!(text.starts_with("{\n  \"format\": \"eaves-assessment/1\",\n  \"caution\""));
    assert_eq!(text, json::json(&straddling()).unwrap());
    assert!(text.ends_with("}\n"));
}
