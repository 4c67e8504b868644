//! Sections of small sites, one subject each, and cuts that are no good.

use eaves::answer::{Assessment, Extreme, SectionAnswer, SectionDatum};
use eaves::assess::{Question, SectionWish, USUAL_CORRIDOR, assess};
use eaves::cut::SectionCut;
use eaves::frame::LonLat;
use eaves::obstacle::{HeightBasis, Obstacle, ObstacleKind, Sag, Top, VerticalReference};
use eaves::read::Layers;
use eaves::units::{Height, Metres};

use crate::site::{layers, mast, place, question, rectangle, span};

fn wish(cut: SectionCut) -> Option<SectionWish> {
    Some(SectionWish {
        cut,
        corridor: USUAL_CORRIDOR,
    })
}

/// A strip of 200 by 40 m north of a span of 420 m, 60 m high, that sags by 6.5 m.
pub fn beside_a_line(cut: SectionCut) -> (Question, Layers) {
    let mut ask = question(&[rectangle(-100.0, 5.0, 200.0, 40.0)], "plain");
    ask.section = wish(cut);
    let line = span(
        (-210.0, 0.0),
        (210.0, 0.0),
        60.0,
        Some(Sag::Metres(6.5)),
        1.0,
    );
    let mut towers = [mast(-210.0, 0.0, 60.0, 1.0), mast(210.0, 0.0, 60.0, 1.0)];
    for tower in &mut towers {
        tower.kind = ObstacleKind::Support;
    }
    let [a, b] = towers;
    (ask, layers(vec![], vec![line, a, b]))
}

pub fn between(a: (f64, f64), b: (f64, f64)) -> SectionCut {
    SectionCut::Between(place(a.0, a.1), place(b.0, b.1))
}

/// A shed without a height beside the cut, a silo on it.
pub fn of_unknown_heights() -> (Question, Layers) {
    let mut site = beside_a_line(between((-150.0, 20.0), (150.0, 20.0)));
    let mut shed = mast(-20.0, 30.0, 1.0, 0.0);
    shed.top = None;
    let silo = mast(20.0, 20.1, 25.0, 2.0);
    site.1 = layers(vec![], vec![shed, silo]);
    site
}

/// A mast that reaches the western part of a strip only.
pub fn covered_in_part() -> (Question, Layers) {
    let mut ask = question(&[rectangle(-100.0, -10.0, 200.0, 20.0)], "plain");
    ask.section = wish(between((-120.0, 0.0), (120.0, 0.0)));
    (ask, layers(vec![], vec![mast(-60.0, 0.0, 40.0, 0.0)]))
}

/// Two masts of different height.
pub fn of_two_masts() -> (Question, Layers) {
    let mut ask = question(&[rectangle(-100.0, -10.0, 200.0, 20.0)], "plain");
    ask.section = wish(between((-110.0, 0.0), (110.0, 0.0)));
    let masts = vec![mast(-80.0, 0.0, 60.0, 0.0), mast(40.0, 0.0, 40.0, 0.0)];
    (ask, layers(vec![], masts))
}

/// No elevation is known, and 30 m are wished.
pub fn on_flat_ground() -> (Question, Layers) {
    let mut site = beside_a_line(SectionCut::Governing);
    site.0.site_elevation = None;
    site.0.wish = Some(Height::of(30.0));
    site
}

/// Two spans that meet at an angle.
pub fn along_a_bend() -> (Question, Layers) {
    let mut site = beside_a_line(SectionCut::Along("line".into()));
    let first = span((-210.0, 0.0), (0.0, 0.0), 60.0, Some(Sag::Metres(2.0)), 1.0);
    let mut second = span(
        (0.0, 0.0),
        (150.0, 150.0),
        60.0,
        Some(Sag::Metres(2.0)),
        1.0,
    );
    second.span.as_mut().unwrap().index = 1;
    site.1 = layers(vec![], vec![first, second]);
    site
}

fn cut_through((ask, layers): &(Question, Layers)) -> (Assessment, SectionAnswer) {
    let assessment = assess(ask, layers).unwrap();
    let section = assessment.section.clone().unwrap();
    (assessment, section)
}

/// The budget worked by hand: 300 + 60 − 6.5 − 1 = 352.5 trusted, − 10 = 342.5.
#[test]
fn the_automatic_cut_meets_the_place_that_governs_and_its_shield() {
    let (assessment, section) = cut_through(&beside_a_line(SectionCut::Governing));
    let whole = assessment.ceiling.whole.as_ref().unwrap();
    assert_eq!(whole.amsl.as_ref().unwrap().value_m, 342.5);
    assert_eq!(section.certified.unwrap().level_m, 342.5);
    assert!(section.certified.unwrap().is_of_whole_area);
    assert_eq!(section.datum, SectionDatum::MeanSeaLevel);
    let governs = section.governs.as_ref().unwrap();
    assert!(governs.offset_m.m().abs() < 1e-3, "{governs:?}");
    let shield = governs.shield.as_ref().unwrap();
    assert!(shield.offset_m.m().abs() < 1e-3);
    assert!((shield.trusted_top_m - 352.5).abs() < 1e-9);
    assert_eq!((shield.margin_m.m(), shield.reach_m.m()), (10.0, 100.0));
    // The line is crossed where the cut meets the shield, and nowhere lower than its trusted top.
    let wire = section.wires.iter().find(|wire| wire.governs).unwrap();
    let point = wire.points[0];
    assert_eq!(point.offset_m.m(), 0.0);
    assert!((point.at_m.m() - shield.at_m.m()).abs() < 1e-3);
    assert!(point.low_m.unwrap() >= shield.trusted_top_m - 1e-9);
    // Its highest is the straight line between the highest tops: 300 + 60 + 1.
    assert!((point.high_m.unwrap() - 361.0).abs() < 1e-9);
    assert!((wire.sag_m.unwrap().m() - 6.5).abs() < 1e-9);
    // Level ground: both extremes are the same.
    for (over, which) in section
        .heights
        .iter()
        .zip([Extreme::Highest, Extreme::Lowest])
    {
        assert_eq!((over.ground, over.ground_m), (which, 300.0));
        assert_eq!(over.height_m_agl.m(), 42.5);
    }
    assert!(section.undetermined.is_empty() && section.ground_unknown.is_empty());
    // The first end is the west one, and both ends are beyond what the cut is made for.
    assert!(section.from.lon() <= section.to.lon());
    assert!(section.in_area.iter().all(|it| it.from_m.m() > 10.0));
}

#[test]
fn a_span_along_the_cut_is_projected_with_its_sag() {
    let cut = between((-250.0, 20.0), (250.0, 20.0));
    let (_, section) = cut_through(&beside_a_line(cut));
    let [wire] = section.wires.as_slice() else {
        panic!("{:?}", section.wires)
    };
    assert!((section.in_area[0].from_m.m() - 150.0).abs() < 0.01);
    assert!((section.in_area[0].to_m.m() - 350.0).abs() < 0.01);
    assert_eq!(wire.points.len(), 1);
    // To the right of an eastward cut is south.
    assert!((wire.points[0].offset_m.m() - 20.0).abs() < 0.01);
    assert_eq!(wire.along.len(), 65);
    let low = |k: usize| wire.along[k].low_m.unwrap();
    assert!((low(0) - 359.0).abs() < 1e-9 && (low(64) - 359.0).abs() < 1e-9);
    assert!((low(32) - 352.5).abs() < 1e-9, "{}", low(32));
    assert!((wire.along[32].at_m.m() - 250.0).abs() < 0.01);
    let titles: Vec<&str> = section.objects.iter().map(|it| it.title.as_str()).collect();
    assert_eq!(titles, ["support mast -210 0", "support mast 210 0"]);
    assert!(
        section
            .objects
            .iter()
            .all(|it| !it.is_cut && it.top_low_m == Some(359.0))
    );
    assert!((section.objects[0].from_m.m() - 40.0).abs() < 0.01);
}

/// A crossing at 45 degrees is neither along nor square.
#[test]
fn a_span_across_the_cut_is_not_projected() {
    let (_, section) = cut_through(&beside_a_line(between((-60.0, -60.0), (60.0, 60.0))));
    let wire = &section.wires[0];
    assert!(wire.along.is_empty());
    assert!((wire.points[0].at_m.m() - 60.0 * 2f64.sqrt()).abs() < 0.01);
    assert!((wire.points[0].from_support_m.m() - 210.0).abs() < 0.01);
}

#[test]
fn an_obstacle_without_a_height_is_unknown_and_not_zero() {
    let (_, section) = cut_through(&of_unknown_heights());
    let [shed, silo] = section.objects.as_slice() else {
        panic!("{:?}", section.objects)
    };
    assert_eq!((shed.top_low_m, shed.top_high_m), (None, None));
    assert_eq!(shed.not_known, "has no height");
    assert!(!shed.is_cut && (shed.offset_m.m() + 10.0).abs() < 0.01);
    assert!(silo.is_cut && silo.not_known.is_empty());
    assert_eq!(
        (silo.top_low_m, silo.top_high_m),
        (Some(323.0), Some(327.0))
    );
}

#[test]
fn a_span_without_sag_or_heights_says_what_is_not_known() {
    let mut site = beside_a_line(between((0.0, -50.0), (0.0, 80.0)));
    let line = |sag| span((-210.0, 0.0), (210.0, 0.0), 60.0, sag, 1.0);
    let mut bare = line(None);
    for end in &mut bare.span.as_mut().unwrap().ends {
        end.top = None;
    }
    for (record, low, high, why) in [
        (line(None), None, Some(361.0), "its sag is not stated"),
        (
            line(Some(Sag::Included)),
            Some(359.0),
            None,
            "stated height is that of the lowest wire",
        ),
        (bare, None, None, "a support has no height"),
    ] {
        site.1 = layers(vec![], vec![record]);
        let (_, section) = cut_through(&site);
        let wire = &section.wires[0];
        assert_eq!((wire.points[0].low_m, wire.points[0].high_m), (low, high));
        assert!(wire.not_known.contains(why), "{}", wire.not_known);
    }
}

/// A mast in reach of the western part only.
#[test]
fn an_uncovered_stretch_is_undetermined_on_the_section_too() {
    let (_, section) = cut_through(&covered_in_part());
    let [gap] = section.undetermined.as_slice() else {
        panic!("{:?}", section.undetermined)
    };
    // 100 m from the mast is x = 40, 160 m along the cut; the area ends at 220 m.
    assert!((gap.from_m.m() - 160.0).abs() < 0.02, "{gap:?}");
    assert!((gap.to_m.m() - 220.0).abs() < 0.02, "{gap:?}");
    let certified = section.certified.unwrap();
    assert!(!certified.is_of_whole_area);
    assert_eq!(certified.level_m, 330.0);
    assert!(
        section
            .ceiling
            .iter()
            .flatten()
            .all(|point| point.level_m >= 330.0)
    );
}

#[test]
fn steps_of_the_ceiling_are_found() {
    let (_, section) = cut_through(&of_two_masts());
    let [run] = section.ceiling.as_slice() else {
        panic!("{:?}", section.ceiling)
    };
    let levels: Vec<f64> = run.iter().map(|point| point.level_m).collect();
    assert_eq!(levels, [350.0, 350.0, 330.0, 330.0]);
    // 100 m from the taller mast is x = 20, 130 m along the cut.
    assert!((run[1].at_m - 130.0).abs() < 0.02 && (run[2].at_m - 130.0).abs() < 0.02);
}

#[test]
fn assumed_flat_ground_gives_heights_and_says_so() {
    let (_, section) = cut_through(&on_flat_ground());
    assert_eq!(section.datum, SectionDatum::AssumedFlatGround);
    assert_eq!(section.certified.unwrap().level_m, 42.5);
    assert_eq!(section.wish_m_agl.unwrap().m(), 30.0);
    assert!(
        section
            .stations
            .iter()
            .all(|it| it.ground_high_m == Some(0.0))
    );
}

#[test]
fn an_area_with_no_place_that_governs_is_cut_through_its_middle() {
    let mut site = beside_a_line(SectionCut::Governing);
    site.1 = layers(vec![], vec![]);
    let (_, section) = cut_through(&site);
    assert!(section.governs.is_none() && section.certified.is_none());
    assert!(section.ceiling.is_empty() && section.heights.is_empty());
    assert!(
        section.notes[0].starts_with("no place governs"),
        "{:?}",
        section.notes
    );
    assert!(!section.in_area.is_empty());
}

#[test]
fn a_cut_along_a_line_follows_its_bend() {
    let (_, section) = cut_through(&along_a_bend());
    assert_eq!(section.legs.len(), 2);
    assert!((section.legs[1].at_m.m() - 210.0).abs() < 0.001);
    assert!((section.legs[1].bearing_true_deg.degrees() - 45.0).abs() < 0.01);
    assert!((section.length_m.m() - 210.0 - 150.0 * 2f64.sqrt()).abs() < 0.01);
    assert!(section.wires.iter().all(|wire| !wire.along.is_empty()));
}

#[test]
fn cuts_that_are_no_good_are_refused_with_what_to_do() {
    let far = LonLat::new(-30.4, 80.0).unwrap();
    for (cut, cause) in [
        (between((5.0, 5.0), (5.0, 5.0)), "less than a metre apart"),
        (
            SectionCut::Between(place(0.0, 0.0), far),
            "more than 30 km from the area",
        ),
        (
            SectionCut::Along("nothing".into()),
            "no runway has the id \"nothing\"",
        ),
        (
            SectionCut::Aerodrome(None),
            "an aerodrome is not within the search radius",
        ),
        (
            SectionCut::Aerodrome(Some("XXXX".into())),
            "\"XXXX\" is not within",
        ),
    ] {
        let (ask, layers) = beside_a_line(cut);
        let error = assess(&ask, &layers).unwrap_err();
        assert!(error.cause().contains(cause), "{error}");
        assert!(!error.remedy().is_empty());
    }
}

#[test]
fn a_cut_beside_the_area_says_so() {
    let cut = between((-100.0, 300.0), (100.0, 300.0));
    let (_, section) = cut_through(&beside_a_line(cut));
    assert!(section.in_area.is_empty() && section.ceiling.is_empty());
    assert!(
        section
            .notes
            .iter()
            .any(|note| note.contains("does not meet"))
    );
}

/// Cuts along an edge of the area, through its corners and through what is empty.
#[test]
fn degenerate_cuts_do_not_panic() {
    let beside = |a, b| cut_through(&beside_a_line(between(a, b))).1;
    let along_edge = beside((-200.0, 5.0), (200.0, 5.0));
    assert!(along_edge.in_area.len() <= 1);
    let corner = beside((-150.0, -45.0), (-50.0, 55.0));
    assert!(corner.in_area.iter().all(|it| it.to_m.m() > it.from_m.m()));
    // Exactly along the span.
    let on_span = beside((-210.0, 0.0), (210.0, 0.0));
    assert_eq!(on_span.wires.len(), 1);
    assert!(!on_span.wires[0].along.is_empty());
    let tiny = beside((-0.6, 20.0), (0.6, 20.0));
    assert!(tiny.stations.len() >= 2);
    let odd: Vec<Obstacle> = [f64::NAN, f64::INFINITY, -50.0, 1e300]
        .into_iter()
        .map(|height| {
            let mut odd = mast(0.0, 20.0, 10.0, 0.0);
            odd.top = Some(Top {
                value_m: height,
                reference: VerticalReference::AboveGround,
                basis: HeightBasis::Stated,
            });
            odd
        })
        .collect();
    let mut site = beside_a_line(between((-150.0, 20.0), (150.0, 20.0)));
    site.1 = layers(vec![], odd);
    let (_, section) = cut_through(&site);
    assert_eq!(section.objects.len(), 4);
}

#[test]
fn a_wider_corridor_shows_more() {
    let (mut ask, layers) = beside_a_line(between((-250.0, 80.0), (250.0, 80.0)));
    let narrow = assess(&ask, &layers).unwrap().section.unwrap();
    assert!(narrow.wires.is_empty() && narrow.objects.is_empty());
    ask.section.as_mut().unwrap().corridor = Metres::of(90.0);
    let wide = assess(&ask, &layers).unwrap().section.unwrap();
    assert_eq!((wide.wires.len(), wide.objects.len()), (1, 2));
}

#[test]
fn cuts_are_read_as_typed() {
    let read = |text: &str| text.parse::<SectionCut>();
    assert_eq!(read("governing"), Ok(SectionCut::Governing));
    assert_eq!(read("aerodrome"), Ok(SectionCut::Aerodrome(None)));
    assert_eq!(
        read("aerodrome=SYN1"),
        Ok(SectionCut::Aerodrome(Some("SYN1".into())))
    );
    assert_eq!(read("along=way/42"), Ok(SectionCut::Along("way/42".into())));
    let at = |lat, lon| LonLat::new(lon, lat).unwrap();
    assert_eq!(
        read("-30.2, 150.7/-30.1,150.8"),
        Ok(SectionCut::Between(at(-30.2, 150.7), at(-30.1, 150.8)))
    );
    for (text, why) in [
        ("governs", "is not a cut; write governing, aerodrome"),
        ("along=", "names nothing after ="),
        ("150.7,-30.2/-30.1,150.8", "latitude first"),
        ("-30.2/150.7", "is not a place; write LAT,LON"),
        ("a,b/c,d", "is not a number of degrees"),
        ("nan,1/2,3", "latitude"),
        ("", "is not a cut"),
    ] {
        let error = read(text).unwrap_err();
        assert!(error.contains(why), "{text}: {error}");
    }
}
