//! How the tray comes off, on the sheet.

use super::{figure, told};
use crate::output::Run;
use crate::output::svg::escaped;
use crate::output::views::Views;
use crate::panel::Mount;
use crate::panel::proof::removal::{OtherMount, Outcome, PathResult, Tightest, when};
use std::fmt::Write;

/// The ways tried, the drawing of the best one, and how to handle a tray.
pub(super) fn removal(html: &mut String, run: Run<'_>, views: &Views) {
    let Some(proof) = run.removal else {
        return;
    };
    let what = match proof.mount {
        Mount::Tray => "The panel is fixed to the tray and comes off with it; the body stands.",
        Mount::Body => "The panel is fixed to the body; the tray comes off past it.",
    };
    let _ = write!(
        html,
        "<p>{what} Each way was swept from end to end. The room is the least on the whole way, the start included, \
         with {:.1} mm taken off for paint on two faces",
        proof.allowance_mm
    );
    if proof.let_down_mm > 0.0 {
        let _ = write!(
            html,
            ", after the tray was let down by {:.1} mm from the panel it lies against",
            proof.let_down_mm
        );
    }
    html.push_str(".</p>\n");
    super::open_table(html, "Ways the tray comes off");
    html.push_str("<tr><th>way</th><th>moves</th><th class=\"n\">room, mm</th><th class=\"n\">station, mm</th><th>tightest</th><th>verdict</th></tr>\n");
    for (k, result) in proof.paths.iter().enumerate() {
        let best = if proof.best == Some(k) && result.is_clear() {
            "clear; the best"
        } else {
            ""
        };
        row(html, result, best, &format!("/removal/paths/{k}/tightest"));
    }
    html.push_str("</table></div>\n");
    let length = run.measured.survey.spine.length();
    let beyond = |result: &PathResult| {
        let at = result.tightest.map(|t| t.station_mm.round());
        at.is_some_and(|s| s < 0.0 || s > length.round())
    };
    if proof.paths.iter().any(beyond) {
        let _ = writeln!(
            html,
            "<p>A station below 0 lies to the left of the gap\u{2019}s left end, one past {length:.0} to the right of its right end: \
             body and tray go on there.</p>"
        );
    }
    if let Some(view) = &views.removal {
        figure(html, view, "plan");
    }
    html.push_str(
        "<p>A tray is heavy and swings when its last fixing goes: support it first, have a second pair of hands, and never \
         reach under a vehicle that stands on a jack alone. The proof knows what was scanned; hoses, cables and what hides \
         above the tray it does not know.</p>\n",
    );
}

fn row(html: &mut String, result: &PathResult, best: &str, place: &str) {
    let verdict = match result.outcome {
        Outcome::Clear => {
            let clear = if best.is_empty() { "clear" } else { best };
            // Where it sits, the room is the seal's: a matter of fitting, not of coming off.
            let tight = |t: &Tightest| !t.moment.is_start() && t.mm < 2.0 * t.sigma_mm;
            match result.tightest.as_ref().filter(|t| tight(t)) {
                Some(_) => format!("{clear}, but by less than the scans are sure of: try it first"),
                None => clear.to_owned(),
            }
        }
        Outcome::Fouls {
            trim_mm,
            other_mount,
        } => {
            let mut text = "fouls".to_owned();
            if let Some(mm) = trim_mm {
                let _ = write!(text, "; clear with {mm:.1} mm off the top");
            }
            if other_mount == OtherMount::Clears {
                text.push_str("; clear with the other mount");
            }
            text
        }
    };
    let [room, station, tightest] = match result.tightest {
        Some(t) => [
            if result.is_clear() {
                let room = told(&format!("{place}/clearance_mm"), format!("{:.1}", t.mm));
                format!("{room} \u{b1} {:.1}", 2.0 * t.sigma_mm)
            } else {
                "none".to_owned()
            },
            told(
                &format!("{place}/station_mm"),
                format!("{:.0}", t.station_mm.round() + 0.0),
            ),
            format!(
                "{} to {}, {}",
                t.parts[0].word(),
                t.parts[1].word(),
                when(&result.path, t.moment)
            ),
        ],
        None => ["over 15".to_owned(), String::new(), String::new()],
    };
    let _ = writeln!(
        html,
        "<tr><td class=\"how\">{}</td><td class=\"how\">{}</td><td class=\"n\">{room}</td><td class=\"n\">{station}</td>\
         <td class=\"how\">{}</td><td class=\"how\">{verdict}</td></tr>",
        escaped(&result.path.name),
        escaped(&result.path.words()),
        escaped(&tightest)
    );
}
