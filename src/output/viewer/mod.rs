//! A model that turns in a page: small plain WebGL, no library, no network, with a still picture where a
//! browser cannot draw it.
//!
//! A page carries [`STYLE`] and [`SCRIPT`] once and the [`element`] of each model; its own script calls
//! `openModel(element)`. The colours are the page's `--ink`, `--paper` and `--accent`.

mod packed;
mod stance;
mod still;

pub(super) use packed::rounding;
pub use packed::{AtFirst, Label, Lines, Part, Tone};
pub use stance::Stance;

use super::svg::escaped;
use packed::pack;
use serde_json::json;
use std::fmt::Write;

/// Rules for the model and what stands round it.
pub const STYLE: &str = include_str!("viewer.css");
/// Defines `openModel`.
pub const SCRIPT: &str = include_str!("viewer.js");

/// Parts that are shown together.
#[derive(Debug, Clone, Copy)]
pub struct Model<'a> {
    /// The parts, all in one frame and unit.
    pub parts: &'a [Part<'a>],
    /// Which way it stands at first.
    pub stance: Stance,
    /// Millimetres in one unit of the parts.
    pub mm: f64,
    /// What it shows, in a few words, for those who cannot see it.
    pub says: &'a str,
}

/// The model as an HTML element of class `model`, with the still picture inside.
///
/// Positions are rounded to a 65,535th of each part's box. More than one part gives a box to tick for each
/// name, and parts of one name share theirs; parts that move away give a slider to pull them apart.
#[must_use]
pub fn element(model: &Model<'_>) -> String {
    let parts: Vec<serde_json::Value> = model.parts.iter().map(pack).collect();
    let data = json!({
        "across": model.stance.across.as_slice(),
        "up": model.stance.up.as_slice(),
        "mm": model.mm,
        "parts": parts,
    });
    // A name may hold anything, and nothing in a script may look like its end.
    let data = data.to_string().replace('<', "\\u003c");
    format!(
        "<div class=\"model\">\n<div class=\"stage\">\n\
         <canvas tabindex=\"0\" role=\"application\" aria-label=\"{}: arrow keys turn it, with shift they move it, + and - zoom, Home shows all of it\"></canvas>\n\
         <div class=\"aim\"></div>\n<svg class=\"over\" aria-hidden=\"true\"></svg>\n\
         <div class=\"bar\" aria-hidden=\"true\"><b></b><i></i></div>\n\
         <div class=\"still\">{}<p>This browser does not draw in three dimensions (WebGL 2), so the picture stands still. Open the page in another browser to turn it.</p></div>\n\
         </div>\n{}<script type=\"application/json\">{data}</script>\n</div>\n",
        escaped(model.says),
        still::picture(model),
        ways(model)
    )
}

/// Buttons for what the hand does, and for the parts.
fn ways(model: &Model<'_>) -> String {
    let mut html =
        "<div class=\"ways\">\n<button type=\"button\" data-way=\"whole\">Show all</button>\n\
                    <button type=\"button\" data-way=\"over\">Turn over</button>\n\
                    <button type=\"button\" data-way=\"nearer\">Nearer</button>\n\
                    <button type=\"button\" data-way=\"farther\">Farther</button>\n"
            .to_owned();
    if model.parts.len() > 1 {
        for (first, part) in model.parts.iter().enumerate() {
            let alike = |&i: &usize| model.parts.get(i).is_some_and(|p| p.name == part.name);
            let all: Vec<usize> = (0..model.parts.len()).filter(alike).collect();
            if all.first() != Some(&first) {
                continue;
            }
            let numbers: Vec<String> = all.iter().map(usize::to_string).collect();
            let checked = match part.at_first {
                AtFirst::Shown => " checked",
                AtFirst::Hidden => "",
            };
            let _ = writeln!(
                html,
                "<label><input type=\"checkbox\"{checked} data-way=\"show\" data-part=\"{}\">{}</label>",
                numbers.join(" "),
                escaped(part.name)
            );
        }
    }
    if model.parts.iter().any(|part| part.away.norm() > 0.0) {
        html.push_str(
            "<label>Pull apart <input type=\"range\" min=\"0\" max=\"100\" value=\"0\" data-way=\"apart\"></label>\n",
        );
    }
    html.push_str("</div>\n");
    html
}

#[cfg(test)]
mod tests;
