//! One assessment as one HTML file: the drawings with pan, zoom and switches, what holds at a point,
//! and the tables beside them.
//!
//! The file works offline: it holds its font, its style and its script, and a content security policy
//! lets it fetch nothing. Without a script the drawings and tables are still there. On paper each
//! drawing takes a page of its own, whole, and the tables follow.
//!
//! Not here: the drawings (see [`crate::figure`]), the words of the report (see [`crate::report`]), or
//! any number that is not in the [`Assessment`].

mod markup;
mod point;
mod tables;

use crate::answer::Assessment;
use crate::error::Result;
use crate::figure::{self, Scene};
use crate::report;
use crate::report::ceiling::Summary;
use crate::sheet::FigureKind;

use markup::{Markup, escaped};

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// One drawing of the page, or why it cannot be drawn.
#[derive(Debug)]
pub struct Drawing {
    /// Which kind of figure it is.
    pub kind: FigureKind,
    /// The scene.
    pub scene: Result<Scene>,
}

/// The page of an assessment with some drawings.
///
/// # Errors
/// When a scene cannot be written as SVG.
pub fn document(assessment: &Assessment, drawings: &[Drawing]) -> Result<String> {
    let mut page = Markup::default();
    head(&mut page, assessment, drawings);
    answer(&mut page, assessment);
    page.raw("<main>\n");
    page.raw("<section class=\"drawings\" aria-labelledby=\"drawings\">\n");
    page.raw("<h2 id=\"drawings\">Drawings</h2>\n");
    controls(&mut page, drawings);
    stage(&mut page, drawings)?;
    switches(&mut page, drawings);
    keys(&mut page, drawings);
    page.raw(
        "<p id=\"switched\" class=\"switched\" role=\"status\"></p>\n\
         <section class=\"point\" aria-labelledby=\"point\"><h2 id=\"point\">Height budget at a point</h2>\n\
         <div id=\"readout\" aria-live=\"polite\"></div></section>\n</section>\n",
    );
    page.raw("<section aria-labelledby=\"tables\">\n<h2 id=\"tables\">Tables</h2>\n");
    tables::all(&mut page, assessment);
    page.raw("<details id=\"whole\"><summary>The whole report as text</summary>\n<pre>");
    for line in report::page::page(assessment).lines() {
        page.text(line);
        page.raw("\n");
    }
    page.raw("</pre></details>\n</section>\n</main>\n");
    foot(&mut page, assessment);
    page.raw("<script type=\"application/json\" id=\"data\">");
    page.raw(&point::data(assessment, drawings)?);
    page.raw("</script>\n<script>\n");
    page.raw(SCRIPT);
    page.raw("</script>\n</body>\n</html>\n");
    Ok(page.into_text())
}

fn head(page: &mut Markup, assessment: &Assessment, drawings: &[Drawing]) {
    page.raw(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; \
         style-src 'unsafe-inline'; script-src 'unsafe-inline'; img-src data:; font-src data:\">\n\
         <meta name=\"referrer\" content=\"no-referrer\">\n",
    );
    page.element("title", &assessment.area.name);
    page.raw("<style>\n");
    page.raw(figure::style_sheet());
    page.raw(STYLE);
    if let Some(scene) = drawings.iter().find_map(|it| it.scene.as_ref().ok()) {
        let (width, height) = scene.sheet.size_mm();
        page.raw(&format!(
            "@page drawing {{ size: {width}mm {height}mm; margin: 0; }}\n"
        ));
    }
    page.raw("</style>\n</head>\n<body>\n");
}

/// The answer first: what can be read out on the phone.
fn answer(page: &mut Markup, assessment: &Assessment) {
    page.raw("<a class=\"skip\" href=\"#tables\">To the tables</a>\n<header>\n");
    page.element("h1", &assessment.area.name);
    page.note(
        "soft",
        &format!(
            "Rule profile: {} · date {} · eaves {}",
            assessment.profile.title, assessment.date, assessment.version
        ),
    );
    let summary = Summary::of(&assessment.ceiling);
    page.raw(if summary.undetermined.is_empty() {
        "<div class=\"answer\">\n<p><strong>"
    } else {
        "<div class=\"answer open\">\n<p><strong>"
    });
    page.text(&summary.heading);
    page.raw("</strong></p>\n");
    page.list(summary.undetermined);
    page.element("p", &summary.of_what);
    page.raw("</div>\n");
    page.note("caution", assessment.caution);
    page.raw("</header>\n");
}

fn controls(page: &mut Markup, drawings: &[Drawing]) {
    page.raw("<div class=\"bar\"><div class=\"bar\" role=\"tablist\" aria-label=\"Drawings\">\n");
    for drawing in drawings {
        let name = drawing.kind.name();
        page.raw(&format!(
            "<button type=\"button\" role=\"tab\" id=\"tab-{name}\" aria-controls=\"sheet-{name}\" \
             aria-selected=\"false\">{}</button>\n",
            words(drawing.kind)
        ));
    }
    page.raw(
        "</div>\n<button type=\"button\" id=\"closer\" aria-label=\"Closer\">+</button>\n\
         <button type=\"button\" id=\"wider\" aria-label=\"Wider\">\u{2212}</button>\n\
         <button type=\"button\" id=\"whole-sheet\">Whole sheet</button></div>\n\
         <p class=\"soft how\">Drag to move, wheel or two fingers to come closer, point or tap for the \
         height budget. Keys: arrows move, <kbd>+</kbd> <kbd>\u{2212}</kbd> <kbd>0</kbd> scale, \
         <kbd>P</kbd> and <kbd>Shift</kbd> with arrows set the point, <kbd>Esc</kbd> clears it.</p>\n",
    );
}

const fn words(kind: FigureKind) -> &'static str {
    match kind {
        FigureKind::Location => "Location",
        FigureKind::Site => "Site",
        FigureKind::Section => "Section",
    }
}

fn stage(page: &mut Markup, drawings: &[Drawing]) -> Result<()> {
    page.raw(
        "<div id=\"stage\" class=\"stage\" tabindex=\"0\" role=\"group\" \
         aria-label=\"Drawing; arrows move it, plus and minus scale it\">\n",
    );
    for drawing in drawings {
        let name = drawing.kind.name();
        page.raw(&format!(
            "<div class=\"sheet{}\" id=\"sheet-{name}\" role=\"tabpanel\" \
             aria-labelledby=\"tab-{name}\">\n",
            if drawing.scene.is_ok() { " drawn" } else { "" }
        ));
        match &drawing.scene {
            Ok(scene) => page.raw(&figure::inline_svg(scene, name)?),
            Err(why) => page.note("not-drawn", &format!("Not drawn: {why}")),
        }
        page.raw("</div>\n");
    }
    page.raw("</div>\n");
    Ok(())
}

/// A switch for each kind of mark that the drawings use and that may be hidden: never what the area
/// is, where it is undetermined, and where the ceiling governs.
fn switches(page: &mut Markup, drawings: &[Drawing]) {
    let mut kinds: Vec<_> = drawings
        .iter()
        .filter_map(|drawing| drawing.scene.as_ref().ok())
        .flat_map(|scene| scene.marks.iter().map(|mark| mark.kind))
        .filter_map(|kind| Some((kind, kind.layer()?)))
        .collect();
    kinds.sort_unstable_by_key(|(kind, _)| *kind);
    kinds.dedup();
    page.raw("<fieldset class=\"switches\"><legend>Layers in the drawings</legend>\n<ul>\n");
    for (kind, words) in kinds {
        page.raw(&format!(
            "<li><label><input type=\"checkbox\" checked value=\"{}\" data-words=\"{}\">{}</label></li>\n",
            kind.name(),
            escaped(words),
            escaped(words)
        ));
    }
    page.raw("</ul>\n<button type=\"button\" id=\"all-on\">All on</button></fieldset>\n");
}

/// The keys that the sheets drawn had no room for.
fn keys(page: &mut Markup, drawings: &[Drawing]) {
    for drawing in drawings {
        let Ok(scene) = &drawing.scene else { continue };
        if scene.key_sheets.is_empty() {
            continue;
        }
        page.raw("<section class=\"key\">\n");
        let heading = format!("Key to numbers, {}", words(drawing.kind).to_lowercase());
        page.element("h2", &heading);
        page.raw("<ul>\n");
        for entry in &scene.key {
            page.element("li", &format!("{} {}", entry.number, entry.text));
        }
        page.raw("</ul>\n</section>\n");
    }
}

fn foot(page: &mut Markup, assessment: &Assessment) {
    page.raw("<footer>\n");
    page.element(
        "p",
        "NOT FOR NAVIGATION. Datum WGS 84; AMSL above mean sea level; heights, ceilings and distances \
         are rounded down.",
    );
    page.element("p", assessment.caution);
    page.raw("</footer>\n");
}
