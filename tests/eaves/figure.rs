//! Figures: what the scene holds, where labels lie, and what the files are made of.

use eaves::answer::{Assessment, Stopped, Undetermined};
use eaves::figure::scene::{Ink, Label, Map, MarkKind, PanelName, Point, Rect};
use eaves::figure::{self, FigureKind, FigureOptions, Scene};
use eaves::frame::{LocalFrame, LonLat, Xy, distance};
use eaves::sheet::{Orientation, Paper, Sheet};
use eaves::units::{Height, Metres};
use geo::{Contains, MultiPolygon, Polygon};
use resvg::usvg;

use crate::figure_busy;
use crate::figure_cases as fixture;
use crate::figure_fixture::{Ground, bare};

/// Draws, and keeps the files when a folder is named, for looking at.
fn drawn(name: &str, assessment: &Assessment) -> String {
    drawn_as(name, assessment, FigureKind::Site)
}

fn drawn_as(name: &str, assessment: &Assessment, kind: FigureKind) -> String {
    let scene = figure::resolve(assessment, kind, &FigureOptions::default()).unwrap();
    let svg = figure::svg(&scene).unwrap();
    if let Some(folder) = std::env::var_os("EAVES_FIGURES") {
        let path = std::path::Path::new(&folder).join(format!("{name}-{}", kind.name()));
        std::fs::write(path.with_extension("svg"), &svg).unwrap();
        std::fs::write(
            path.with_extension("png"),
            figure::png(&scene, 150).unwrap(),
        )
        .unwrap();
        std::fs::write(path.with_extension("pdf"), figure::pdf(&scene).unwrap()).unwrap();
    }
    svg
}

fn scene(assessment: &Assessment) -> Scene {
    figure::resolve(assessment, FigureKind::Site, &FigureOptions::default()).unwrap()
}

/// The maps of an assessment, far and near.
pub fn maps(assessment: &Assessment, options: &FigureOptions) -> [Scene; 2] {
    [FigureKind::Location, FigureKind::Site]
        .map(|kind| figure::resolve(assessment, kind, options).unwrap())
}

/// The large map of a figure: its place on the sheet and its map; beside it there may be an inset only.
pub fn main_map(scene: &Scene) -> (Rect, Map) {
    let mut panels = scene.panels.iter().filter(|it| it.name != PanelName::Inset);
    let panel = panels.next().unwrap();
    assert!(panels.next().is_none(), "{} panels", scene.panels.len());
    (panel.rect, scene.map(panel.name).unwrap())
}

fn words(label: &Label) -> String {
    let lines: Vec<&str> = label.lines.iter().map(|line| line.text.as_str()).collect();
    lines.join(" | ").replace('\u{A0}', " ")
}

pub fn all_text(scene: &Scene) -> Vec<String> {
    let marks = scene.marks.iter().filter_map(|mark| match &mark.ink {
        Ink::Text(text) => Some(text.text.replace('\u{A0}', " ")),
        _ => None,
    });
    let labels = scene
        .labels
        .iter()
        .map(|label| words(label).replace(" | ", " "));
    marks.chain(labels).collect()
}

/// Two labels never overlap, none leaves its panel, none covers a place that governs.
pub fn assert_labels_are_placed_well(name: &str, scene: &Scene) {
    for (index, label) in scene.labels.iter().enumerate() {
        let panel = scene.panel(label.panel).unwrap().rect;
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
        for scene in maps(&assessment, &FigureOptions::default()) {
            assert!(!scene.labels.is_empty());
            assert_labels_are_placed_well(name, &scene);
            assert!(scene.legend.len() <= 10, "{name}: {:?}", scene.legend);
        }
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

/// Each number at a feature is printed with its text in the key, on this sheet or one that follows it,
/// and each text stands somewhere.
fn assert_the_key_is_whole(name: &str, scene: &Scene) {
    let printed: Vec<String> = scene.sheets().flat_map(all_text).collect();
    for label in &scene.labels {
        let Some(number) = label.number else { continue };
        assert_eq!(words(label), number.to_string());
        let entry = scene.key.iter().find(|entry| entry.number == number);
        assert!(entry.is_some(), "{name}: {number} is not in the key");
    }
    for (index, entry) in scene.key.iter().enumerate() {
        assert_eq!(entry.number, index + 1, "{name}");
        let at = scene
            .labels
            .iter()
            .filter(|it| it.number == Some(entry.number));
        assert!(at.count() > 0, "{name}: {entry:?} stands nowhere");
        let number = entry.number.to_string();
        let times = printed.iter().filter(|line| **line == number).count();
        assert!(times > 1, "{name}: {entry:?} is not printed");
        let joined = printed.join(" ").replace(' ', "");
        let text = entry.text.replace([' ', '\u{A0}'], "");
        assert!(joined.contains(&text), "{name}: {entry:?} is not printed");
    }
    let on_sheets: Vec<_> = scene.key_sheets.iter().flat_map(|it| &it.key).collect();
    if !on_sheets.is_empty() {
        assert_eq!(on_sheets, scene.key.iter().collect::<Vec<_>>(), "{name}");
    }
    for sheet in scene.sheets() {
        assert_texts_lie_apart(name, sheet);
    }
}

/// Small texts outside the panels do not run into one another or off the paper: the columns of a sheet.
fn assert_texts_lie_apart(name: &str, scene: &Scene) {
    let paper = scene.outline();
    let boxes: Vec<(f64, f64, &str)> = scene
        .marks
        .iter()
        .filter_map(|mark| match &mark.ink {
            Ink::Text(text) if mark.panel.is_none() && !text.upwards => {
                Some((text.at.x, text.at.y, text.text.as_str()))
            }
            _ => None,
        })
        .collect();
    for (index, (x, y, text)) in boxes.iter().enumerate() {
        assert!(paper.contains(Point::new(*x, *y)), "{name}: {text}");
        for (other_x, other_y, other) in &boxes[index + 1..] {
            assert!(
                (x - other_x).abs() > 1.0 || (y - other_y).abs() > 10.0,
                "{name}: {text} on {other}"
            );
        }
    }
}

/// How many labels found no room even for a number, as the sheet says.
fn left_out(scene: &Scene) -> Option<&String> {
    scene
        .notes
        .iter()
        .find(|note| note.contains("without room"))
}

fn on(orientation: Orientation) -> FigureOptions {
    FigureOptions {
        sheet: Sheet {
            paper: Paper::A4,
            orientation,
        },
        ..FigureOptions::default()
    }
}

/// Twenty busy sites of random shape and place, from a seed each, with up to 220 labels, on A4 either
/// way round: each label is there or numbered, and the key is printed to its last entry, on sheets of
/// its own where the first has no room for it.
#[test]
fn labels_of_busy_random_sites_are_placed_well_or_numbered() {
    let (mut numbered, mut with_sheets) = (0, 0);
    for seed in 0..20 {
        let mut numbers = Numbers(seed);
        let assessment = figure_busy::busy(&mut || numbers.next());
        for orientation in Orientation::ALL {
            let name = format!("seed {seed} {}", orientation.name());
            let [location, site] = maps(&assessment, &on(orientation));
            for scene in [&location, &site] {
                assert_labels_are_placed_well(&name, scene);
                assert_the_key_is_whole(&name, scene);
                assert_eq!(left_out(scene), None, "{name}");
            }
            numbered += site.key.len();
            with_sheets += usize::from(!site.key_sheets.is_empty());
            let governs = |label: &Label| label.kind == MarkKind::Governs && label.number.is_none();
            assert!(site.labels.iter().any(governs), "{name}");
        }
    }
    assert!(numbered > 200, "the sites are not busy enough: {numbered}");
    assert!(with_sheets > 5, "no key needs a sheet: {with_sheets}");
}

/// The same sites with fifty obstacles each: all of it fits A4.
#[test]
fn labels_of_fairly_busy_sites_fit_a4() {
    for seed in 0..20 {
        let mut numbers = Numbers(seed);
        let mut assessment = figure_busy::busy(&mut || numbers.next());
        let from = assessment.obstacles.len() - 50;
        assessment.obstacles.drain(..from);
        let name = format!("seed {seed}");
        let site = scene(&assessment);
        assert_labels_are_placed_well(&name, &site);
        assert_the_key_is_whole(&name, &site);
        assert_eq!(left_out(&site), None, "{name}");
    }
}

/// Sites made to be hard: all masts in one place, in one line, in a corner of the panel; labels as
/// wide as they can be; more masts than the panel could ever name.
#[test]
fn labels_of_adversarial_sites_are_placed_well_or_numbered() {
    for (name, assessment) in figure_busy::adversarial() {
        let scene = scene(&assessment);
        assert_labels_are_placed_well(name, &scene);
        assert_the_key_is_whole(name, &scene);
        assert_eq!(left_out(&scene), None, "{name}");
        assert!(scene.key.len() > 3, "{name}: {:?}", scene.key);
    }
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
            // usvg takes a millimetre as 96 ⁄ 25.4 pixels.
            let unit = 0.2 * 96.0 / 25.4;
            let found = texts.iter().any(|(text, bounds)| {
                let in_box = |slack: f64| {
                    f64::from(bounds.left()) >= label.frame.left * unit - slack
                        && f64::from(bounds.right()) <= label.frame.right * unit + slack
                        && f64::from(bounds.top()) >= label.frame.top * unit - slack
                        && f64::from(bounds.bottom()) <= label.frame.bottom * unit + slack
                };
                text.trim() == line.text && in_box(0.5)
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
    let drawn = || {
        let scene = scene(&assessment);
        (
            figure::svg(&scene).unwrap(),
            figure::png(&scene, 60).unwrap(),
            figure::pdf(&scene).unwrap(),
        )
    };
    assert_eq!(drawn(), drawn());
}

/// ISO 216: A4 is 210 mm by 297 mm, A3 297 mm by 420 mm; letter is 8.5 by 11 inches of 25.4 mm
/// (from memory). PNG signature and IHDR: W3C PNG specification, sections 5.2 and 11.2.1 (from
/// memory). 297 mm at 300 dots per inch are 297 ⁄ 25.4 × 300 = 3507.9 pixels.
#[test]
fn sheets_have_the_size_of_their_paper() {
    for (paper, orientation, dpi, mm, px) in [
        (
            Paper::A4,
            Orientation::Landscape,
            300,
            ("297mm", "210mm"),
            (3508, 2480),
        ),
        (
            Paper::A4,
            Orientation::Portrait,
            96,
            ("210mm", "297mm"),
            (794, 1123),
        ),
        (
            Paper::A3,
            Orientation::Landscape,
            60,
            ("420mm", "297mm"),
            (992, 702),
        ),
        (
            Paper::Letter,
            Orientation::Portrait,
            100,
            ("215.9mm", "279.4mm"),
            (850, 1100),
        ),
    ] {
        let options = FigureOptions {
            sheet: Sheet { paper, orientation },
            dpi,
            ..FigureOptions::default()
        };
        let scene = figure::resolve(&fixture::tiny(), FigureKind::Site, &options).unwrap();
        let svg = figure::svg(&scene).unwrap();
        let parsed = usvg::roxmltree::Document::parse(&svg).unwrap();
        let root = parsed.root_element();
        assert_eq!(root.attribute("width"), Some(mm.0));
        assert_eq!(root.attribute("height"), Some(mm.1));
        let png = figure::png(&scene, options.checked_dpi().unwrap()).unwrap();
        assert_eq!(png[..8], [0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a]);
        let side = |at: usize| u32::from_be_bytes(png[at..at + 4].try_into().unwrap());
        assert_eq!((side(16), side(20)), px);
        // The chunk pHYs, section 11.3.5.3: pixels to a metre, twice, and unit 1.
        let at = png.windows(4).position(|it| it == b"pHYs").unwrap();
        let per_metre = (f64::from(dpi) / 0.0254).round() as u32;
        assert_eq!(png[at + 4..at + 8], per_metre.to_be_bytes());
        assert_eq!(png[at + 12], 1);
    }
}

/// 7 pt of 1 ⁄ 72 inch are 2.469 mm: 12.35 units of 0.2 mm.
#[test]
fn no_text_is_smaller_than_seven_points() {
    for (name, assessment) in fixture::all() {
        for scene in maps(&assessment, &FigureOptions::default()) {
            let marks = scene.marks.iter().filter_map(|mark| match &mark.ink {
                Ink::Text(text) => Some(text),
                _ => None,
            });
            for text in marks.chain(scene.labels.iter().flat_map(|label| &label.lines)) {
                assert!(text.size >= 7.0 / 72.0 * 25.4 / 0.2, "{name}: {text:?}");
            }
        }
    }
}

#[test]
fn silly_sizes_are_refused() {
    let options = FigureOptions {
        sheet: Sheet {
            paper: Paper::A3,
            ..Sheet::default()
        },
        dpi: 1200,
        ..FigureOptions::default()
    };
    assert_eq!(
        options.checked_dpi().unwrap_err().to_string(),
        "a figure of 19843 by 14031 pixels, a3 at 1200 dots per inch, cannot be drawn; give a --dpi \
         near 300, or write PDF or SVG"
    );
}

/// Standard scales only: the stated one is that of the map, and of the paper (1 m on the ground is
/// 1000 ⁄ 0.2 units at 1 : 1).
#[test]
fn the_scale_stated_is_that_of_the_map() {
    for (name, assessment) in fixture::all() {
        for scene in maps(&assessment, &FigureOptions::default()) {
            let (_, map) = main_map(&scene);
            let denominator = (5000.0 / map.units_per_metre).round();
            let digits = format!("{denominator:.0}");
            let lead = digits.trim_end_matches('0');
            let standard = ["1", "125", "15", "2", "25", "3", "4", "5", "75"];
            assert!(standard.contains(&lead), "{name}: 1 : {denominator}");
            let text = all_text(&scene);
            // An inset says its own, with its width.
            let stated = text
                .iter()
                .filter(|line| line.contains("1 : ") && !line.contains("wide"));
            let plain: Vec<String> = stated.map(|line| line.replace(' ', "")).collect();
            assert_eq!(plain.len(), 2, "{name}: {plain:?}");
            assert!(
                plain
                    .iter()
                    .all(|line| line.contains(&format!("1:{digits}"))),
                "{name}: {plain:?}"
            );
        }
    }
}

#[test]
fn a_section_that_cannot_be_cut_is_refused() {
    let options = FigureOptions::default();
    let error = figure::resolve(&fixture::tiny(), FigureKind::Section, &options).unwrap_err();
    assert!(error.to_string().contains("cannot be drawn"), "{error}");
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
    let [location, _] = maps(&assessment, &FigureOptions::default());
    let text = all_text(&location);
    assert!(text.iter().any(|line| line.contains("3.21 NM / 5 945 m")));
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
    assert!(text.join(" ").contains(wanted), "{text:#?}");
}

/// Sheet points of a panel back to places.
fn place_of(map: &Map, frame: &LocalFrame, at: Point) -> LonLat {
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
    let frame = LocalFrame::about(assessment.area.middle);
    let mut corners = 0;
    for scene in maps(&assessment, &FigureOptions::default()) {
        let (rect, map) = main_map(&scene);
        for mark in &scene.marks {
            let (MarkKind::Ring, Ink::Line(points, _)) = (mark.kind, &mark.ink) else {
                continue;
            };
            for point in points.iter().filter(|p| rect.contains(**p)) {
                let metres = distance(centre, place_of(&map, &frame, *point)).m();
                assert!((5555.999..5556.101).contains(&metres), "{metres}");
                corners += 1;
            }
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
    let (rect, map) = main_map(&scene);
    let shield = assessment.shielding[0].lowest_shielding.as_ref().unwrap();
    let eaves::obstacle::Shape::Chain(chain) = &shield.shape else {
        panic!("the fixture's shield is a span");
    };
    let mut corners = 0;
    for mark in &scene.marks {
        let (MarkKind::Reach, Ink::Line(points, _)) = (mark.kind, &mark.ink) else {
            continue;
        };
        for point in points.iter().filter(|p| rect.contains(**p)) {
            let place = place_of(&map, &frame, *point);
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

/// The metric scale bar has the length that it says, measured between two places by a
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
    let (_, map) = main_map(&scene);
    let [from, to] = [bar[0], bar[1]].map(|p| {
        let shifted = Point::new(p.x - bar[0].x + map.middle.x, map.middle.y);
        place_of(&map, &frame, shifted)
    });
    let text = all_text(&scene);
    assert!(text.iter().any(|line| line == "200 m"), "{text:#?}");
    assert!((distance(from, to).m() - 200.0).abs() < 1e-3);
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
        let scene = scene(&assessment);
        usvg::roxmltree::Document::parse(&figure::svg(&scene).unwrap()).unwrap();
        figure::png(&scene, 50).unwrap();
        figure::pdf(&scene).unwrap();
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
    let empty = bare("Nothing", MultiPolygon::new(vec![]));
    for assessment in [&assessment, &empty] {
        for scene in maps(assessment, &FigureOptions::default()) {
            figure::svg(&scene).unwrap();
            figure::png(&scene, 60).unwrap();
            figure::pdf(&scene).unwrap();
        }
    }
}

#[test]
fn every_fixture_is_drawn() {
    for (name, assessment) in fixture::all() {
        for kind in [FigureKind::Location, FigureKind::Site] {
            let svg = drawn_as(name, &assessment, kind);
            assert!(svg.contains("@font-face"), "{name}");
            let (_, marks) = svg.split_once("</style>").unwrap();
            assert!(!marks.contains("NaN") && !marks.contains("inf"), "{name}");
        }
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
    let (_, map) = main_map(&scene);
    let mut lines = 0;
    for mark in &scene.marks {
        let (MarkKind::Area, Some(_), Ink::Line(points, pen)) = (mark.kind, mark.panel, &mark.ink)
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
            let place = place_of(&map, &frame, at);
            let point = geo::Point::new(place.lon(), place.lat());
            assert!(assessment.area.outline.contains(&point), "{place:?}");
        }
        lines += 1;
    }
    assert!(lines > 40, "{lines}");
}
