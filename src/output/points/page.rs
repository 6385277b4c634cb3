//! The page's text.

use super::Shown;
use crate::math::Vector3;
use crate::output::sheet;
use crate::output::svg::escaped;
use crate::output::viewer::{self, AtFirst, Lines, Model, Part, Stance, Tone};
use crate::scan::{Inspection, Unit, UnitFrom};
use serde_json::json;

/// Stands near the top of every page of ours, and of no other.
pub(super) const MARK: &str = "<meta name=\"generator\" content=\"gapwright points\">";

const STYLE: &str = include_str!("page.css");
const SCRIPT: &str = include_str!("page.js");

/// Decimals that show a hundredth of a millimetre, or nearly so.
fn digits(unit: Unit) -> usize {
    match unit {
        Unit::Millimetre => 2,
        Unit::Centimetre => 3,
        Unit::Inch => 4,
        Unit::Metre => 5,
    }
}

/// The page for one scan. Nothing in it reaches out: its own policy forbids it.
pub(super) fn page(name: &str, seen: &Inspection, shown: &Shown) -> String {
    let unit = seen.source.unit;
    let title = escaped(name);
    let model = Model {
        parts: &[Part {
            name,
            mesh: &shown.mesh,
            tone: Tone::Pale,
            lines: Lines::Rims,
            away: Vector3::zeros(),
            at_first: AtFirst::Shown,
            label: None,
        }],
        stance: Stance::of(&shown.mesh),
        mm: unit.millimetres(),
        says: &format!("The scan {name}"),
    };
    let model = viewer::element(&model).replacen("class=\"model\"", "class=\"model alone\"", 1);
    let facts = json!({
        "sha256": seen.source.sha256,
        "unit": unit.symbol(),
        "mm": unit.millimetres(),
        "digits": digits(unit),
    });
    let [body, tray] = if name.to_lowercase().contains("tray") {
        ["", " checked"]
    } else {
        [" checked", ""]
    };
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n{MARK}\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{title}: points</title>\n<style>\n{}{}{STYLE}</style>\n</head>\n<body>\n<main>\n\
         <header>\n<h1>Points on {title}</h1>\n{}</header>\n{model}<aside>\n\
         <h2>Taken so far</h2>\n\
         <fieldset><legend>This is the scan of</legend>\
         <label><input type=\"radio\" name=\"part\" value=\"body\"{body}>the body</label>\
         <label><input type=\"radio\" name=\"part\" value=\"tray\"{tray}>the tray</label></fieldset>\n\
         <p id=\"none\" class=\"faint\">No points yet. Click a place on the scan; drag to turn it.</p>\n\
         <table><tbody id=\"list\"></tbody></table>\n\
         <p id=\"said\" class=\"faint\" aria-live=\"polite\"></p>\n\
         <div id=\"apart\" hidden><h2>Straight between the last two</h2>\n\
         <p class=\"apart\"><span id=\"between\"></span>: <b id=\"far\"></b></p>\n\
         <p class=\"faint\">1 in the file is {} mm here. Hold a tape between the same two places, straight through the air.</p></div>\n\
         <h2>For the job</h2>\n\
         <div class=\"hands\"><button type=\"button\" id=\"copy\">Copy the lines</button>\
         <button type=\"button\" id=\"undo\">Take back the last</button>\
         <span id=\"copied\" class=\"look\" aria-live=\"polite\"></span></div>\n\
         <textarea id=\"lines\" readonly spellcheck=\"false\" rows=\"3\" aria-label=\"Lines for the job\" placeholder=\"The lines will stand here.\"></textarea>\n{}\
         </aside>\n</main>\n\
         <script type=\"application/json\" id=\"facts\">{facts}</script>\n\
         <script>\n{}</script>\n<script>\n{SCRIPT}</script>\n</body>\n</html>\n",
        sheet::STYLE,
        viewer::STYLE,
        lead(seen),
        seen.source.unit.millimetres(),
        how(seen, shown),
        viewer::SCRIPT,
    )
}

/// Size and unit, and where the unit comes from.
fn lead(seen: &Inspection) -> String {
    let [a, b, c] = seen.source.size_mm;
    let unit = seen.source.unit.symbol();
    let from = match seen.source.unit_from {
        UnitFrom::Format => format!("the file is in {unit}, by its format"),
        UnitFrom::Job => format!("the file is in {unit}, as you said"),
        UnitFrom::Guess => {
            format!("<span class=\"look\">taken to be in {unit}, a guess from the size</span>")
        }
    };
    format!("<p>{a:.0} \u{d7} {b:.0} \u{d7} {c:.0} mm; {from}.</p>\n")
}

/// How to take points, and how near the scan they are.
fn how(seen: &Inspection, shown: &Shown) -> String {
    let whole = seen.mesh.triangles.len();
    let count = shown.mesh.triangles.len();
    let near = match shown.deviation_mm {
        None => format!("All {count} triangles of the cleaned scan are shown"),
        Some(deviation) => format!(
            "Shown thinned, {count} of {whole} triangles: 95 of 100 points of the scan lie within {deviation:.2} mm of the surface you see",
        ),
    };
    format!(
        "<h2>How to take a point</h2>\n<ul>\n\
         <li>Click a place on the scan. Its coordinates, in the file\u{2019}s own unit and axes, join the list.</li>\n\
         <li>Drag to turn, with shift (or two fingers) to move, wheel or pinch to come nearer. Arrow keys turn too; Enter takes the place in the middle.</li>\n\
         <li>Hatched is the back of the surface. If that is the side you could see on the vehicle, the scan is inside out.</li>\n\
         </ul>\n<p class=\"faint\">{near}. Coordinates are rounded by up to {:.2} mm.</p>\n",
        shown.rounding_mm
    )
}
