//! Figures: what the scene holds, where labels lie, and what the files are made of.

use eaves::answer::{Assessment, Stopped, Undetermined};
use eaves::figure::scene::{Ink, Label, MarkKind, PanelName, Point};
use eaves::figure::{self, FigureOptions, Scene};
use eaves::frame::{LocalFrame, LonLat, Xy, distance};
use eaves::units::{Height, Metres};
use geo::{Contains, MultiPolygon, Polygon};
use resvg::usvg;

use crate::figure_busy;
use crate::figure_cases as fixture;
use crate::figure_fixture::{Ground, bare};

/// Draws, and keeps the files when a folder is named, for looking at.
fn drawn(name: &str, assessment: &Assessment) -> String {
    let svg = figure::svg(assessment, &FigureOptions::default()).unwrap();
    if let Some(folder) = std::env::var_os("EAVES_FIGURES") {
        let folder = std::path::Path::new(&folder);
        std::fs::write(folder.join(format!("{name}.svg")), &svg).unwrap();
        let png = figure::png(&svg).unwrap();
        std::fs::write(folder.join(format!("{name}.png")), &png).unwrap();
    }
    svg
}

fn scene(assessment: &Assessment) -> Scene {
    figure::resolve(assessment, &FigureOptions::default()).unwrap()
}

fn words(label: &Label) -> String {
    let lines: Vec<&str> = label.lines.iter().map(|line| line.text.as_str()).collect();
    lines.join(" | ").replace('\u{A0}', " ")
}

fn all_text(scene: &Scene) -> Vec<String> {
    let marks = scene.marks.iter().filter_map(|mark| match &mark.ink {
        Ink::Text(text) => Some(text.text.replace('\u{A0}', " ")),
        _ => None,
    });
    marks.chain(scene.labels.iter().map(words)).collect()
}

/// Two labels never overlap, none leaves its panel, none covers a place that governs.
pub fn assert_labels_are_placed_well(name: &str, scene: &Scene) {
    for (index, label) in scene.labels.iter().enumerate() {
        let panel = match label.panel {
            PanelName::Site => scene.site.rect,
            PanelName::Location => scene.location.rect,
        };
        assert!(
            panel.holds(&label.frame),
            "{name}: {} leaves its panel",
            words(label)
        );
        for other in &scene.labels[index + 1..] {
            assert!(
                label.panel != other.panel || !label.frame.overlaps(&other.frame),
                "{name}: {} overlaps {}",
                words(label),
                words(other)
            );
        }
        for place in &scene.kept_clear {
            assert!(
                !label.frame.overlaps(place),
                "{name}: {} hides the place that governs",
                words(label)
            );
        }
    }
}

#[test]
fn labels_of_every_fixture_are_placed_well() {
    for (name, assessment) in fixture::all() {
        let scene = scene(&assessment);
        assert!(!scene.labels.is_empty());
        assert_labels_are_placed_well(name, &scene);
        assert!(scene.legend.len() <= 10, "{name}: {:?}", scene.legend);
    }
}

/// A small generator of numbers, so that busy scenes are the same in every run
/// (Steele, Lea and Flood, SplitMix64, 2014; from memory).
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }
}

#[test]
fn labels_of_busy_random_sites_are_placed_well_and_the_rest_is_counted() {
    let mut some_left_out = false;
    for seed in 0..24 {
        let mut numbers = Numbers(seed);
        let assessment = figure_busy::busy(&mut || numbers.next());
        let scene = scene(&assessment);
        assert_labels_are_placed_well(&format!("seed {seed}"), &scene);
        let note = scene.notes.iter().any(|note| note.contains("want of room"));
        assert_eq!(note, scene.labels_left_out > 0);
        some_left_out |= note;
        let governs = scene.labels.iter().any(|l| l.kind == MarkKind::Governs);
        assert!(
            governs,
            "seed {seed} lost the label of the place that governs"
        );
    }
    assert!(
        some_left_out,
        "the random sites are not busy enough to test"
    );
}

/// The boxes that labels are kept apart by are those that are drawn: usvg, which lays out the text
/// of the PNG by itself, finds every line of a label inside its box.
#[test]
fn usvg_draws_every_label_inside_its_box() {
    let assessment = fixture::district();
    let scene = scene(&assessment);
    let svg = drawn("district", &assessment);
    let mut options = usvg::Options::default();
    for weight in ["Regular", "Bold"] {
        let path = format!(
            "{}/src/figure/font/NotoSans-{weight}.ttf",
            env!("CARGO_MANIFEST_DIR")
        );
        options
            .fontdb_mut()
            .load_font_data(std::fs::read(path).unwrap());
    }
    let tree = usvg::Tree::from_str(&svg, &options).unwrap();
    let mut texts = Vec::new();
    collect_text(tree.root(), &mut texts);
    let mut checked = 0;
    for label in &scene.labels {
        for line in &label.lines {
            let unit = scene.pixels_per_unit;
            let found = texts.iter().any(|(text, bounds)| {
                let in_box = |slack: f64| {
                    f64::from(bounds.left()) >= label.frame.left * unit - slack
                        && f64::from(bounds.right()) <= label.frame.right * unit + slack
                        && f64::from(bounds.top()) >= label.frame.top * unit - slack
                        && f64::from(bounds.bottom()) <= label.frame.bottom * unit + slack
                };
                text.trim() == line.text && in_box(0.6)
            });
            assert!(found, "{:?} is drawn outside its box", line.text);
            checked += 1;
        }
    }
    assert!(checked > 20);
}

fn collect_text(group: &usvg::Group, found: &mut Vec<(String, usvg::Rect)>) {
    for node in group.children() {
        match node {
            usvg::Node::Group(group) => collect_text(group, found),
            usvg::Node::Text(text) => {
                let words: String = text.chunks().iter().map(|c| c.text()).collect();
                // Without the halo: the outline of the glyphs.
                found.push((words, text.abs_bounding_box()));
            }
            _ => {}
        }
    }
}

#[test]
fn the_same_assessment_gives_the_same_bytes() {
    let assessment = fixture::district();
    let svg = drawn("district", &assessment);
    assert_eq!(svg, drawn("district", &assessment));
    assert_eq!(figure::png(&svg).unwrap(), figure::png(&svg).unwrap());
}

/// PNG signature and IHDR: W3C PNG specification, sections 5.2 and 11.2.1 (from memory).
#[test]
fn the_png_has_the_size_asked_for() {
    for (width, height) in [(1600, 1130), (800, 1200), (3000, 400)] {
        let options = FigureOptions {
            width_px: width,
            height_px: height,
            ..FigureOptions::default()
        };
        let svg = figure::svg(&fixture::tiny(), &options).unwrap();
        let png = figure::png(&svg).unwrap();
        assert_eq!(png[..8], [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a]);
        let side = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
        assert_eq!((side(16), side(20)), (width, height));
    }
}

#[test]
fn silly_sizes_are_refused() {
    for (width, height, message) in [
        (
            0,
            1130,
            "a figure of 0 by 1130 pixels is too small; give at least 200 pixels a side; 1600 by \
             1130 is usual",
        ),
        (
            20_001,
            300,
            "a figure of 20001 by 300 pixels is too large; give at most 20000 pixels a side and \
             120 million in all, or write SVG",
        ),
        (
            20_000,
            20_000,
            "a figure of 20000 by 20000 pixels is too large; give at most 20000 pixels a side and \
             120 million in all, or write SVG",
        ),
    ] {
        let options = FigureOptions {
            width_px: width,
            height_px: height,
            ..FigureOptions::default()
        };
        let error = figure::svg(&fixture::tiny(), &options).unwrap_err();
        assert_eq!(error.to_string(), message);
    }
    let huge = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"30000\" height=\"5\"/>";
    assert!(figure::png(huge).is_err());
    assert!(figure::png("not an image").is_err());
}

/// 50 m is 164 ft, never 165, and 3.2106 NM is 3.21 NM, 5 945.999 m is 5 945 m: rounded to the safe
/// side (international foot and nautical mile, see `units`).
#[test]
fn numbers_are_rounded_to_the_safe_side() {
    let mut assessment = fixture::determined();
    let pair = assessment.ceiling.whole.as_mut().unwrap();
    pair.above_ground.value_m = 50.0;
    pair.amsl.as_mut().unwrap().value_m = 1049.999;
    for reference in &mut assessment.aerodromes[0].references {
        if let Some(distance) = &mut reference.distance {
            distance.distance_m = Metres::of(5945.999);
        }
    }
    let text = all_text(&scene(&assessment));
    let has = |part: &str| text.iter().any(|line| line.contains(part));
    assert!(has("50.0 m / 164 ft AGL"), "{text:#?}");
    assert!(!has("50.0 m / 165 ft"));
    assert!(has("1 049.9 m / 3 444 ft AMSL"));
    assert!(has("3.21 NM / 5 945 m"));
}

/// The middle of an area as the station Flinders Peak of the GDA Technical Manual, 37°57′03.72030″S
/// 144°25′29.52440″E, given there in decimals too.
#[test]
fn the_middle_is_printed_as_the_gda_manual_prints_it() {
    let g = Ground::at(144.424_867_888_888_88, -37.951_033_416_666_67);
    let area = g.polygon(&[(-50.0, -50.0), (50.0, -50.0), (50.0, 50.0), (-50.0, 50.0)]);
    let mut assessment = bare("Flinders Peak", MultiPolygon::new(vec![area]));
    assessment.area.middle = g.place(0.0, 0.0);
    let text = all_text(&scene(&assessment));
    let wanted = "Projection azimuthal equidistant about 37°57′03.7″S 144°25′29.5″E";
    assert!(text.iter().any(|line| line == wanted), "{text:#?}");
}

/// Sheet points of a panel back to places.
fn place_of(map: &figure::scene::Map, frame: &LocalFrame, at: Point) -> LonLat {
    frame.to_place(Xy::new(
        (at.x - map.middle.x) / map.units_per_metre,
        (map.middle.y - at.y) / map.units_per_metre,
    ))
}

/// A ring of 3 NM (5 556 m) about a reference point is geodesic and circumscribed: each of its
/// corners is 5 556 m to 5 556.1 m from the point by Karney's geodesics, which are checked against
/// GeodTest elsewhere.
#[test]
fn rings_are_geodesic_and_circumscribed_to_a_tenth_of_a_metre() {
    let mut assessment = fixture::district();
    assessment.aerodromes.remove(0);
    let centre = assessment.aerodromes[0].record.reference_point.unwrap();
    assessment.aerodromes[0]
        .rings
        .retain(|ring| ring.label == "3 NM");
    let scene = scene(&assessment);
    let frame = LocalFrame::about(assessment.area.middle);
    let mut corners = 0;
    for mark in &scene.marks {
        let (Some(panel), MarkKind::Ring, Ink::Line(points, _)) =
            (mark.panel, mark.kind, &mark.ink)
        else {
            continue;
        };
        let map = match panel {
            PanelName::Site => &scene.site,
            PanelName::Location => &scene.location,
        };
        for point in points.iter().filter(|p| map.rect.contains(**p)) {
            let metres = distance(centre, place_of(map, &frame, *point)).m();
            assert!((5555.999..5556.101).contains(&metres), "{metres}");
            corners += 1;
        }
    }
    assert!(corners > 50, "{corners}");
}

/// The reach is drawn at its distance: every corner of its edge is 100 m from the governing span,
/// and outside by no more than 0.013 %; distances sampled along the span by Karney's geodesics.
#[test]
fn the_reach_is_drawn_at_its_distance() {
    let assessment = fixture::district();
    let scene = scene(&assessment);
    let frame = LocalFrame::about(assessment.area.middle);
    let shield = assessment.shielding[0].lowest_shielding.as_ref().unwrap();
    let eaves::obstacle::Shape::Chain(chain) = &shield.shape else {
        panic!("the fixture's shield is a span");
    };
    let mut corners = 0;
    for mark in &scene.marks {
        let (MarkKind::Reach, Ink::Line(points, _)) = (mark.kind, &mark.ink) else {
            continue;
        };
        for point in points.iter().filter(|p| scene.site.rect.contains(**p)) {
            let place = place_of(&scene.site, &frame, *point);
            let nearest = (0..=4000)
                .map(|k| {
                    let on_span = chain[0].towards(chain[1], f64::from(k) / 4000.0);
                    distance(place, on_span).m()
                })
                .fold(f64::INFINITY, f64::min);
            assert!((99.999..100.015).contains(&nearest), "{nearest}");
            corners += 1;
        }
    }
    assert!(corners > 30, "{corners}");
}

/// The longer metric scale bar has the length that it says, measured between two places by a
/// Karney geodesic.
#[test]
fn the_scale_bar_measures_true() {
    let assessment = fixture::district();
    let scene = scene(&assessment);
    let bar = scene
        .marks
        .iter()
        .find_map(|mark| match (&mark.kind, &mark.ink) {
            (MarkKind::Scale, Ink::Line(points, _)) if points.len() == 5 => Some(points.clone()),
            _ => None,
        })
        .unwrap();
    let frame = LocalFrame::about(assessment.area.middle);
    let [from, to] = [bar[0], bar[1]].map(|p| {
        let shifted = Point::new(p.x - bar[0].x + scene.site.middle.x, scene.site.middle.y);
        place_of(&scene.site, &frame, shifted)
    });
    let text = all_text(&scene);
    assert!(text.iter().any(|line| line == "100 m"), "{text:#?}");
    assert!((distance(from, to).m() - 100.0).abs() < 1e-3);
}

#[test]
fn the_caution_is_complete_and_estimates_are_marked() {
    let scene = scene(&fixture::district());
    let text = all_text(&scene).join(" ");
    for word in eaves::answer::CAUTION.split(' ') {
        assert!(text.contains(word), "{word}");
    }
    assert!(text.contains("NOT FOR NAVIGATION"));
    assert!(text.contains("WGS 84"));
    assert!(text.contains("Variation 11.3°E"));
    let estimates: Vec<String> = scene
        .labels
        .iter()
        .filter(|label| label.kind == MarkKind::Estimate)
        .map(words)
        .collect();
    assert_eq!(estimates.len(), 3);
    assert!(estimates.iter().all(|label| label.ends_with("ESTIMATE")));
    assert!(scene.legend.iter().any(|entry| entry.contains("ESTIMATE")));
    let mast = self::scene(&fixture::tiny_by_a_mast());
    let text = all_text(&mast).join(" ");
    assert!(text.contains("rests on an ESTIMATE"));
}

#[test]
fn an_undetermined_ceiling_is_said_where_it_is_and_never_printed_as_a_number() {
    let scene = scene(&fixture::tiny());
    let text = all_text(&scene);
    assert!(text.iter().any(|line| line == "Ceiling UNDETERMINED"));
    assert!(
        text.iter()
            .any(|line| line.contains("no obstacle in reach can shield"))
    );
    assert!(!text.iter().any(|line| line.starts_with("Ceiling 0")));
    let mut assessment = fixture::tiny();
    assessment.ceiling.undetermined = vec![
        Undetermined::GroundUnknown { share: 0.000_01 },
        Undetermined::NotCertified,
    ];
    let text = all_text(&self::scene(&assessment)).join(" ");
    assert!(text.contains("no terrain data under 0.1 % of the area"));
    assert!(text.contains("no useful bound could be certified"));
}

/// XML 1.0 has no control characters but tab, line feed and carriage return (section 2.2); the
/// parser is roxmltree, which refuses them.
#[test]
fn names_of_any_characters_give_well_formed_xml() {
    let mut assessment = fixture::tiny_by_a_mast();
    let svg = drawn("tiny-by-a-mast", &assessment);
    let parsed = usvg::roxmltree::Document::parse(&svg).unwrap();
    let title = parsed.descendants().find(|n| n.has_tag_name("title"));
    assert!(title.unwrap().text().unwrap().contains("<b>&amp;"));
    for name in [
        "",
        "\u{0}",
        "\u{FFFF}\u{FFFE}",
        "]]>",
        "\u{202E}",
        "&#0;",
        "\t\r\n",
    ] {
        assessment.area.name = name.into();
        assessment.obstacles[0].title = name.into();
        assessment.profile.title = name.into();
        let svg = figure::svg(&assessment, &FigureOptions::default()).unwrap();
        usvg::roxmltree::Document::parse(&svg).unwrap();
        figure::png(&svg).unwrap();
    }
    assessment.area.name = "W".repeat(100_000);
    let long = scene(&assessment);
    assert!(all_text(&long).iter().any(|line| line.ends_with('…')));
}

/// Values that no reader lets through must not stop the figure either.
#[test]
fn numbers_out_of_all_bounds_do_not_stop_the_figure() {
    let mut assessment = fixture::district();
    assessment.shielding[0].reach_m = Metres::of(f64::MAX);
    assessment.shielding[0].uncovered = MultiPolygon::new(vec![
        Polygon::new(geo::LineString::new(vec![]), vec![]),
        Polygon::new(
            geo::LineString::from(vec![(f64::NAN, 0.0), (1.0, f64::INFINITY), (1e300, -1e300)]),
            vec![],
        ),
    ]);
    assessment.obstacles[0].top_m_agl = Some(Height::of(f64::INFINITY));
    assessment.aerodromes[0].rings[0].radius_m = Metres::of(-5.0);
    assessment.aerodromes[1].rings[0].radius_m = Metres::of(f64::MAX);
    assessment
        .ceiling
        .determined_part
        .as_mut()
        .unwrap()
        .above_ground
        .stopped = Stopped::Budget;
    let svg = figure::svg(&assessment, &FigureOptions::default()).unwrap();
    figure::png(&svg).unwrap();

    let empty = bare("Nothing", MultiPolygon::new(vec![]));
    let svg = figure::svg(&empty, &FigureOptions::default()).unwrap();
    figure::png(&svg).unwrap();
}

#[test]
fn every_fixture_is_drawn() {
    for (name, assessment) in fixture::all() {
        let svg = drawn(name, &assessment);
        assert!(svg.contains("@font-face"), "{name}");
        let (_, marks) = svg.split_once("</style>").unwrap();
        assert!(!marks.contains("NaN") && !marks.contains("inf"), "{name}");
    }
    let mut numbers = Numbers(3);
    drawn("busy", &figure_busy::busy(&mut || numbers.next()));
}

/// Text has a contrast of at least 4.5 to 1 against the paper: WCAG 2.1, success criterion 1.4.3,
/// with its definition of relative luminance (from memory). So it stays legible in greyscale.
#[test]
fn text_is_dark_enough_on_the_paper() {
    let channel = |value: u8| {
        let v = f64::from(value) / 255.0;
        if v <= 0.03928 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    };
    let scene = scene(&fixture::district());
    let marks = scene.marks.iter().filter_map(|mark| match &mark.ink {
        Ink::Text(text) => Some(text),
        _ => None,
    });
    let mut checked = 0;
    for text in marks.chain(scene.labels.iter().flat_map(|label| &label.lines)) {
        let c = text.colour;
        let luminance = 0.2126 * channel(c.0) + 0.7152 * channel(c.1) + 0.0722 * channel(c.2);
        let contrast = 1.05 / (luminance + 0.05);
        assert!(contrast >= 4.5, "{:?}: {contrast}", text.text);
        checked += 1;
    }
    assert!(checked > 60);
}

/// Every line of the hatch lies in the area and never in its hole: its middle is contained in the
/// polygon by the `geo` crate.
#[test]
fn the_hatch_fills_the_area_and_leaves_its_hole() {
    let assessment = fixture::district();
    let scene = scene(&assessment);
    let frame = LocalFrame::about(assessment.area.middle);
    let mut lines = 0;
    for mark in &scene.marks {
        let (MarkKind::Area, Some(PanelName::Site), Ink::Line(points, pen)) =
            (mark.kind, mark.panel, &mark.ink)
        else {
            continue;
        };
        if points.len() != 2 || pen.width >= 1.0 {
            continue;
        }
        for share in [0.02, 0.5, 0.98] {
            let at = Point::new(
                points[0].x + share * (points[1].x - points[0].x),
                points[0].y + share * (points[1].y - points[0].y),
            );
            let place = place_of(&scene.site, &frame, at);
            let point = geo::Point::new(place.lon(), place.lat());
            assert!(assessment.area.outline.contains(&point), "{place:?}");
        }
        lines += 1;
    }
    assert!(lines > 40, "{lines}");
}
