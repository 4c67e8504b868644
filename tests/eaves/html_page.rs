//! The HTML file: what it holds, and how it behaves in headless Chromium.
//!
//! The browser tests write the demo's page with a script added at its end that presses keys, moves
//! pointers and notes what it finds; the browser prints the document that comes of it. Chromium is
//! needed (`.ci/setup` installs it): without it these tests fail, they are not passed over.

use std::path::Path;
use std::process::Command;

use eaves::run::run;
use serde_json::Value;

/// The page of the demo.
fn page() -> String {
    static PAGE: std::sync::OnceLock<String> = std::sync::OnceLock::new();
    PAGE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let cli = eaves::cli::parse(["eaves", "demo", "--out", folder.path().to_str().unwrap()]);
        let request =
            eaves::request::Request::resolve(cli.unwrap(), jiff::civil::date(2026, 7, 1)).unwrap();
        run(&request, &mut Vec::new()).unwrap();
        std::fs::read_to_string(folder.path().join("assessment.html")).unwrap()
    })
    .clone()
}

fn chromium(folder: &Path, options: &[&str]) -> String {
    let program = ["/usr/bin/chromium", "/usr/bin/chromium-browser"]
        .into_iter()
        .find(|path| Path::new(path).exists())
        .expect("Chromium is needed for the tests of the HTML file; .ci/setup installs it");
    let output = Command::new(program)
        .args([
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--force-device-scale-factor=1",
        ])
        .arg(format!("--user-data-dir={}", folder.join("user").display()))
        .args(options)
        .arg(format!("file://{}", folder.join("page.html").display()))
        .output()
        .unwrap();
    assert!(
        output.status.success(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    String::from_utf8(output.stdout).unwrap()
}

/// Runs a script in the page at a window size; it returns what is noted.
fn noted(script: &str, width: u32, height: u32) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let added = format!(
        "<script>\"use strict\";\n{HELP}\nconst found = (() => {{ {script} }})();\n\
         const note = document.createElement(\"pre\"); note.id = \"noted\";\n\
         note.textContent = \"<<<\" + JSON.stringify(found) + \">>>\"; document.body.append(note);\n\
         </script></body>"
    );
    let text = page().replace("</body>", &added);
    std::fs::write(folder.path().join("page.html"), text).unwrap();
    let size = format!("--window-size={width},{height}");
    let document = chromium(folder.path(), &[&size, "--dump-dom"]);
    let (_, rest) = document
        .rsplit_once("&lt;&lt;&lt;")
        .expect("the script ran to its end");
    let (json, _) = rest.split_once("&gt;&gt;&gt;").unwrap();
    let json = json
        .replace("&amp;", "&")
        .replace("&lt;", "<")
        .replace("&gt;", ">");
    serde_json::from_str(&json).unwrap()
}

/// What the scripts of the tests share.
const HELP: &str = r##"
const stage = document.getElementById("stage");
const svg = (name) => document.querySelector("#sheet-" + name + " > svg");
const box = (name) => svg(name).getAttribute("viewBox").split(" ").map(Number);
const key = (name, more) => stage.dispatchEvent(new KeyboardEvent("keydown", { key: name, bubbles: true, ...more }));
const readout = () => document.getElementById("readout").textContent.replaceAll("\u00a0", " ");
"##;

#[test]
fn it_fetches_nothing_and_says_who_decides() {
    let page = page();
    assert!(page.contains("default-src 'none'"));
    for attribute in ["src=\"", "href=\""] {
        for rest in page.split(attribute).skip(1) {
            assert!(
                rest.starts_with('#') || rest.starts_with("data:"),
                "{attribute}{}",
                &rest[..rest.len().min(40)]
            );
        }
    }
    for url in page.split("url(").skip(1) {
        assert!(
            url.starts_with('#') || url.starts_with("data:") || url.starts_with("\"data:"),
            "url({}",
            &url[..url.len().min(40)]
        );
    }
    assert!(
        page.matches("the aviation authority and licensed practice decide")
            .count()
            >= 2
    );
    assert!(page.contains("NOT FOR NAVIGATION"));
}

#[test]
fn ids_are_unique_and_references_lead_somewhere() {
    let found = noted(
        r#"
        const ids = Array.from(document.querySelectorAll("[id]"), (e) => e.id);
        const twice = ids.filter((id, i) => ids.indexOf(id) !== i);
        const lost = [];
        for (const e of document.querySelectorAll("[clip-path]")) {
          const id = e.getAttribute("clip-path").slice(5, -1);
          const target = document.getElementById(id);
          if (!target || target.closest("svg") !== e.closest("svg")) lost.push(id);
        }
        for (const e of document.querySelectorAll("[aria-controls],[aria-labelledby],a[href]")) {
          const id = e.getAttribute("aria-controls") || e.getAttribute("aria-labelledby") || e.getAttribute("href").slice(1);
          if (!document.getElementById(id)) lost.push(id);
        }
        return { twice, lost };
        "#,
        1200,
        900,
    );
    assert_eq!(found, serde_json::json!({"twice": [], "lost": []}));
}

#[test]
fn keys_move_and_scale_the_drawing() {
    let found = noted(
        r#"
        const whole = box("site");
        key("+"); const closer = box("site");
        key("ArrowRight"); const right = box("site");
        key("ArrowDown"); const down = box("site");
        key("-"); const wider = box("site");
        key("0"); const again = box("site");
        for (let i = 0; i < 60; i++) key("+");
        const closest = box("site");
        for (let i = 0; i < 90; i++) key("ArrowLeft");
        const edge = box("site");
        return { whole, closer, right, down, wider, again, closest, edge };
        "#,
        1200,
        900,
    );
    let get = |name: &str| -> Vec<f64> { serde_json::from_value(found[name].clone()).unwrap() };
    let (whole, closer) = (get("whole"), get("closer"));
    assert!(closer[2] < whole[2] && closer[3] < whole[3]);
    // About the middle.
    let middle = |view: &[f64]| (view[0] + view[2] / 2.0, view[1] + view[3] / 2.0);
    assert!((middle(&closer).0 - middle(&whole).0).abs() < 1.0);
    assert!(get("right")[0] > closer[0] && get("down")[1] > get("right")[1]);
    assert!(get("wider")[2] > get("down")[2]);
    assert_eq!(get("again"), whole);
    assert!(get("closest")[2] > 0.0 && get("closest")[2] >= whole[2] / 61.0);
    assert!(
        get("edge")[0] + get("edge")[2] > whole[0],
        "the sheet never leaves the stage"
    );
}

#[test]
fn a_point_is_answered_by_keys_and_by_pointer_with_the_numbers_of_the_grid() {
    let found = noted(
        r#"
        const data = JSON.parse(document.getElementById("data").textContent);
        key("p"); const middle = readout();
        key("ArrowLeft", { shiftKey: true }); const left = readout();
        key("Escape"); const cleared = readout();
        // The pointer over a square that is known: the runs of the grid say how many lie before it.
        const map = data.maps["sheet-site"].find((m) => m.isMain);
        let before = 0;
        for (let i = 0; data.grid.state[i] !== 2 || data.grid.state[i + 1] < 6; i += 2) before += data.grid.state[i + 1];
        before += 3;
        const east = data.grid.west + data.grid.side * ((before % data.grid.columns) + 0.5);
        const north = data.grid.south + data.grid.side * (Math.floor(before / data.grid.columns) + 0.5);
        const at = new DOMPoint(map.x + east * map.unitsPerMetre, map.y - north * map.unitsPerMetre).matrixTransform(svg("site").getScreenCTM());
        stage.dispatchEvent(new PointerEvent("pointermove", { clientX: at.x, clientY: at.y, pointerType: "mouse", bubbles: true }));
        const hovered = readout();
        const crosses = document.querySelectorAll(".pointed").length;
        // A point far outside the area.
        const out = new DOMPoint(map.left + 5, map.top + 5).matrixTransform(svg("site").getScreenCTM());
        stage.dispatchEvent(new PointerEvent("pointermove", { clientX: out.x, clientY: out.y, pointerType: "mouse", bubbles: true }));
        return { middle, left, cleared, hovered, crosses, outside: readout() };
        "#,
        1200,
        900,
    );
    let get = |name: &str| found[name].as_str().unwrap().to_owned();
    for name in ["middle", "left", "hovered"] {
        let text = get(name);
        assert!(
            text.contains("ceiling above ground")
                || text.contains("UNDETERMINED")
                || text.contains("Outside"),
            "{name}: {text}"
        );
    }
    assert!(get("hovered").contains("trusted top"), "{}", get("hovered"));
    assert!(get("hovered").contains("margin"), "{}", get("hovered"));
    assert!(
        get("hovered").contains("= ceiling AMSL"),
        "{}",
        get("hovered")
    );
    assert_eq!(found["crosses"], 1);
    assert!(get("cleared").contains("Point at the operating area"));
    assert!(get("outside").contains("Outside the operating area"));
}

#[test]
fn the_place_of_a_point_is_that_of_the_local_plane() {
    // The page takes places from a lattice; here they are laid out on the ellipsoid (Karney, by
    // geographiclib-rs, which is checked against GeodTest in `frame`).
    let found = noted(
        r#"
        const grid = JSON.parse(document.getElementById("data").textContent).grid;
        let before = 0;
        for (let i = 0; grid.state[i] !== 2 || grid.state[i + 1] < 6; i += 2) before += grid.state[i + 1];
        before += 3;
        const map = JSON.parse(document.getElementById("data").textContent).maps["sheet-site"].find((m) => m.isMain);
        const east = grid.west + grid.side * ((before % grid.columns) + 0.5);
        const north = grid.south + grid.side * (Math.floor(before / grid.columns) + 0.5);
        const at = new DOMPoint(map.x + east * map.unitsPerMetre, map.y - north * map.unitsPerMetre).matrixTransform(svg("site").getScreenCTM());
        stage.dispatchEvent(new PointerEvent("pointermove", { clientX: at.x, clientY: at.y, pointerType: "mouse", bubbles: true }));
        return { east, north, said: readout() };
        "#,
        1200,
        900,
    );
    let (east, north) = (
        found["east"].as_f64().unwrap(),
        found["north"].as_f64().unwrap(),
    );
    let said = found["said"].as_str().unwrap();
    let numbers: Vec<f64> = said
        .split(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-'))
        .filter_map(|word| word.parse().ok())
        .collect();
    let report = std::fs::read_to_string("demo-layers/expected/assessment.json").unwrap();
    let report: Value = serde_json::from_str(&report).unwrap();
    let middle = &report["area"]["middle"];
    let (lon, lat) = (
        middle["lon_deg"].as_f64().unwrap(),
        middle["lat_deg"].as_f64().unwrap(),
    );
    let azimuth = east.atan2(north).to_degrees();
    let geodesic = geographiclib_rs::Geodesic::wgs84();
    let (lat, lon, _) =
        geographiclib_rs::DirectGeodesic::direct(&geodesic, lat, lon, azimuth, east.hypot(north));
    // Six decimals are printed: 0.11 m.
    assert!(
        (numbers[0] - lat).abs() < 1e-6 && (numbers[1] - lon).abs() < 1e-6,
        "{said} {lat} {lon}"
    );
}

#[test]
fn layers_are_switched_and_what_is_off_is_said() {
    let found = noted(
        r#"
        const input = document.querySelector('.switches input[value="ring"]');
        const shown = () => Array.from(document.querySelectorAll(".sheet g.ring")).filter((g) => g.style.display !== "none").length;
        const before = shown();
        input.click();
        const off = shown();
        const said = document.getElementById("switched").textContent;
        document.getElementById("all-on").click();
        const values = Array.from(document.querySelectorAll(".switches input"), (i) => i.value);
        const unused = values.filter((value) => !document.querySelector(".sheet g." + value));
        return { before, off, said, again: shown(), unused, silent: document.getElementById("switched").textContent,
                 fixed: ["area", "uncovered", "governs"].filter((kind) => values.includes(kind)) };
        "#,
        1200,
        900,
    );
    assert!(found["before"].as_u64().unwrap() > 0);
    assert_eq!(found["off"], 0);
    assert_eq!(
        found["said"],
        "Switched off in the drawings: distance rings"
    );
    assert_eq!(found["again"], found["before"]);
    assert_eq!(found["silent"], "");
    assert_eq!(found["unused"], serde_json::json!([]));
    assert_eq!(
        found["fixed"],
        serde_json::json!([]),
        "what is undetermined cannot be hidden"
    );
}

#[test]
fn drawings_are_chosen_by_key() {
    let found = noted(
        r#"
        const shown = () => Array.from(document.querySelectorAll(".sheet")).filter((s) => !s.hidden).map((s) => s.id);
        const first = shown();
        const tab = document.getElementById("tab-site");
        tab.focus();
        tab.dispatchEvent(new KeyboardEvent("keydown", { key: "ArrowLeft", bubbles: true }));
        return { first, then: shown(), focus: document.activeElement.id,
                 chosen: document.getElementById("tab-location").getAttribute("aria-selected") };
        "#,
        1200,
        900,
    );
    assert_eq!(found["first"], serde_json::json!(["sheet-site"]));
    assert_eq!(found["then"], serde_json::json!(["sheet-location"]));
    assert_eq!(found["focus"], "tab-location");
    assert_eq!(found["chosen"], "true");
}

#[test]
fn a_narrow_screen_does_not_scroll_sideways_and_begins_at_the_map() {
    let found = noted(
        r#"
        const small = Array.from(document.querySelectorAll("button, .switches label"))
          .map((e) => e.getBoundingClientRect()).filter((r) => r.width > 0 && r.height < 32).length;
        const whole = svg("site").closest(".sheet") && box("site");
        return { wide: document.documentElement.scrollWidth, window: document.documentElement.clientWidth,
                 small, view: whole[2] };
        "#,
        500,
        900,
    );
    assert!(
        found["wide"].as_f64().unwrap() <= found["window"].as_f64().unwrap() + 0.5,
        "{found}"
    );
    assert_eq!(found["small"], 0, "controls are large enough for a finger");
    assert!(found["view"].as_f64().unwrap() < 14_000.0, "{found}");
}

#[test]
fn on_paper_each_drawing_has_a_page_of_its_size() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("page.html"), page()).unwrap();
    let to = folder.path().join("print.pdf");
    let print = format!("--print-to-pdf={}", to.display());
    chromium(folder.path(), &[&print, "--no-pdf-header-footer"]);
    let pdf = String::from_utf8_lossy(&std::fs::read(to).unwrap()).into_owned();
    let boxes: Vec<(f64, f64)> = pdf
        .split("/MediaBox [")
        .skip(1)
        .filter_map(|rest| {
            let numbers: Vec<f64> = rest
                .split(']')
                .next()?
                .split_whitespace()
                .filter_map(|number| number.parse().ok())
                .collect();
            Some((*numbers.get(2)?, *numbers.get(3)?))
        })
        .collect();
    // A4 on its side, within a point.
    let drawings = boxes
        .iter()
        .filter(|(width, height)| (width - 841.89).abs() < 1.5 && (height - 595.28).abs() < 1.5)
        .count();
    let scenes = page().matches("class=\"sheet drawn\"").count();
    assert!(scenes >= 2);
    assert_eq!(drawings, scenes, "{boxes:?}");
    assert!(boxes.len() > scenes + 2, "the tables follow");
}
