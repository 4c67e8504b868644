//! The inset of the location figure: where its sheet lies among the aerodromes of the layers and the
//! graticule of a wider region, at a scale of its own.
//!
//! It stands beside the map, so it hides nothing of it. There is no coastline: no data of one come
//! with the program. Not here: its place on the sheet (see [`super::layout`]).

use super::font::Font;
use super::palette as p;
use super::panel::Panel;
use super::place::Wanted;
use super::scene::{Anchor, Ink, MarkKind, PanelName, Pen, Point, Rect, Scene, Text};
use super::view::{Bounds, View};
use super::{graticule, outline, words};
use crate::answer::Assessment;
use crate::frame::{LonLat, Xy};

/// Height of the heading.
const HEADING_HEIGHT: f64 = 24.0;
/// Room left of and below the frame for the labels of the graticule.
const TICK_SPACE: f64 = 20.0;
/// It reaches from the middle of the sheet to about this many aerodromes,
const ENOUGH: usize = 8;
/// but no less and no more than so many times as far as the sheet does.
const TIMES: (f64, f64) = (3.0, 10.0);
/// So many aerodromes are named, nearest first; the others have their symbol only.
const MOST_NAMED: usize = 8;
/// Characters of a name.
const MOST_CHARACTERS: usize = 20;
/// It is never drawn larger than 1 : this.
const LARGEST_SCALE: f64 = 50_000.0;
/// Radius of the symbol of an aerodrome, sheet units.
const SYMBOL: f64 = 3.0;

/// Draws the inset into a part of the sheet; returns how many labels were left out.
pub fn add(
    scene: &mut Scene,
    part: Rect,
    assessment: &Assessment,
    sheet: &View,
    font: &Font,
) -> usize {
    let rect = Rect::new(
        part.left + TICK_SPACE,
        part.top + HEADING_HEIGHT,
        part.right,
        part.bottom - TICK_SPACE,
    );
    let window = sheet.window();
    let middle = window.low.towards(window.high, 0.5);
    let places = aerodromes(assessment);
    let mut known: Vec<(Xy, &str)> = places
        .iter()
        .map(|(name, place)| (sheet.frame.to_plane(*place), name.as_str()))
        .filter(|(at, _)| at.x.is_finite() && at.y.is_finite())
        .collect();
    known.sort_by(|a, b| middle.distance(a.0).total_cmp(&middle.distance(b.0)));
    let half = Xy::new(
        (window.high.x - window.low.x) / 2.0,
        (window.high.y - window.low.y) / 2.0,
    );
    let enough = known.get(ENOUGH - 1).or_else(|| known.last());
    let far = enough.map_or(0.0, |(at, _)| 1.1 * middle.distance(*at));
    let times = (far / half.x.min(half.y)).clamp(TIMES.0, TIMES.1);
    let corner = |sign: f64| {
        Xy::new(
            middle.x + sign * times * half.x,
            middle.y + sign * times * half.y,
        )
    };
    let bounds = Bounds {
        low: corner(-1.0),
        high: corner(1.0),
    };
    let view = View::fit(sheet.frame, bounds, rect, LARGEST_SCALE);
    heading(scene, part, &view);
    let mut panel = Panel::new(PanelName::Inset, view, scene, font);
    for (rank, (at, name)) in known.iter().enumerate() {
        aerodrome(&mut panel, view.on_sheet(*at), name, rank);
    }
    extent(&mut panel, sheet);
    let left_out = panel.finish();
    graticule::add(scene, PanelName::Inset, &view, font);
    let frame = Ink::Line(outline(rect), Pen::solid(p::INK, 1.0));
    scene.mark(MarkKind::Sheet, None, frame);
    left_out
}

/// Every aerodrome of the layers that the assessment knows a place of.
fn aerodromes(assessment: &Assessment) -> Vec<(String, LonLat)> {
    let near = assessment.aerodromes.iter().filter_map(|aerodrome| {
        let name = aerodrome.ident.as_ref().unwrap_or(&aerodrome.title);
        let place = aerodrome
            .record
            .reference_point
            .or_else(|| aerodrome.nearest().map(|answer| answer.from))?;
        Some((name.clone(), place))
    });
    near.chain(assessment.farther_aerodromes.iter().cloned())
        .collect()
}

fn aerodrome(panel: &mut Panel, at: Point, name: &str, rank: usize) {
    let inks = vec![
        Ink::Disc(at, SYMBOL, p::PAPER),
        Ink::Circle(at, SYMBOL, Pen::solid(p::AERODROME, 1.4)),
    ];
    panel.symbol(MarkKind::Aerodrome, at, inks, SYMBOL);
    if rank >= MOST_NAMED {
        return;
    }
    let name = name.chars().take(MOST_CHARACTERS).collect();
    let mut label = Wanted::new(MarkKind::Aerodrome, vec![name], vec![at], 10 + rank as u32);
    label.size = p::SMALL;
    label.colour = p::AERODROME;
    label.clear = SYMBOL;
    panel.want(label);
}

/// The outline of the sheet's map, and the area as a dot.
fn extent(panel: &mut Panel, sheet: &View) {
    let window = sheet.window();
    let [from, to] = [window.low, window.high].map(|at| panel.view.on_sheet(at));
    let box_ = Rect::new(from.x, to.y, to.x, from.y);
    panel.lines(MarkKind::Extent, &[outline(box_)], Pen::solid(p::INK, 2.0));
    let area = panel.view.on_sheet(Xy::new(0.0, 0.0));
    panel.symbol(
        MarkKind::Area,
        area,
        vec![Ink::Disc(area, SYMBOL, p::AREA)],
        SYMBOL,
    );
}

/// What it is, its scale and how wide it is.
fn heading(scene: &mut Scene, part: Rect, view: &View) {
    let baseline = part.top + p::HEADING;
    let window = view.window();
    let scale = format!(
        "1\u{A0}:\u{A0}{}, {}\u{A0}km wide",
        words::grouped(view.denominator().round()),
        words::grouped(((window.high.x - window.low.x) / 1000.0).round())
    );
    for (x, text, size, bold, anchor) in [
        (
            part.left,
            "This map in its region".to_owned(),
            p::HEADING,
            true,
            Anchor::Start,
        ),
        (part.right, scale, p::SMALL, false, Anchor::End),
    ] {
        let text = Text {
            at: Point::new(x, baseline),
            text,
            size,
            bold,
            colour: p::INK,
            anchor,
            upwards: false,
            halo: false,
        };
        scene.mark(MarkKind::Sheet, None, Ink::Text(text));
    }
}
