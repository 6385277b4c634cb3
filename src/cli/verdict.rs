//! What readings said about a survey, in plain words.

use crate::gap::readings::{Correction, Held, Judgement, ShimList, Verdict};
use crate::output::Verified;
use std::path::Path;

/// The whole answer. `written` is where the correction went.
pub(super) fn text(verified: &Verified, written: Option<&Path>) -> String {
    let mut text = format!("{}, survey {}\n", verified.name, verified.survey_id);
    if let Some(judgement) = &verified.judgement {
        text += &judgement_text(judgement);
    }
    if let Some(list) = &verified.shims {
        text += &shims_text(list);
    }
    if verified.blank > 0 {
        text += &format!("  {} rows were left blank\n", verified.blank);
    }
    if let Some(path) = written {
        text += &format!(
            "\nWrote {}. To use it, write under [gap] in the job: correction = \"...\", the path seen from the job file; \
             then make again.\n",
            path.display()
        );
    }
    text
}

fn judgement_text(judgement: &Judgement) -> String {
    let mut text = match judgement.verdict {
        Verdict::Go => {
            "\nGO: the readings agree with the survey within their tolerance.\n".to_owned()
        }
        Verdict::Shim => format!(
            "\nSHIM: one correction explains the readings: {}.\n",
            correction_text(judgement)
        ),
        Verdict::Rescan => rescan_text(judgement),
    };
    text += "\n  check      read, mm   survey, mm   off, mm   tolerance, mm   left over, mm\n";
    for held in &judgement.held {
        text += &row(held);
    }
    let (before, after) = (judgement.before, judgement.after);
    text += &format!(
        "\n  chi-square {:.1} over {} readings as surveyed, p = {}\n",
        before.chi_square,
        before.degrees,
        share(before.p)
    );
    if judgement.correction != Correction::NONE {
        text += &format!(
            "  chi-square {:.1} with {} degrees of freedom once corrected, p = {}\n",
            after.chi_square,
            after.degrees,
            share(after.p)
        );
    }
    for what in &judgement.unsupported {
        text += &format!("  too few readings for {what}\n");
    }
    text
}

fn share(p: f64) -> String {
    if p < 0.001 {
        "under 0.001".to_owned()
    } else {
        format!("{p:.3}")
    }
}

fn row(held: &Held) -> String {
    let off = held.reading.value - held.predicted;
    let mark = if held.left_over.abs() > held.tolerance {
        "  <- outside"
    } else {
        ""
    };
    format!(
        "  {:<8} {:>10.1} {:>12.1} {:>+9.1} {:>15.1} {:>+15.1}{mark}\n",
        held.reading.name, held.reading.value, held.predicted, off, held.tolerance, held.left_over
    )
}

fn correction_text(judgement: &Judgement) -> String {
    let (c, u) = (judgement.correction, judgement.doubt);
    let mut parts = Vec::new();
    if c.scale != 1.0 {
        parts.push(format!(
            "lengths times {:.4} (\u{b1} {:.4}), {:+.1} mm in a metre",
            c.scale,
            2.0 * u[0],
            1000.0 * (c.scale - 1.0)
        ));
    }
    if c.left == c.right && c.left != 0.0 {
        parts.push(format!(
            "the gap {} by {:.1} mm all along (\u{b1} {:.1})",
            larger(c.left),
            c.left.abs(),
            2.0 * u[1]
        ));
    } else if c.left != c.right {
        parts.push(format!(
            "the gap {} by {:.1} mm at the left end (\u{b1} {:.1}) and {} by {:.1} mm at the right end (\u{b1} {:.1}), straight in between",
            larger(c.left),
            c.left.abs(),
            2.0 * u[1],
            larger(c.right),
            c.right.abs(),
            2.0 * u[2]
        ));
    }
    parts.join("; ")
}

fn larger(value: f64) -> &'static str {
    if value < 0.0 { "smaller" } else { "larger" }
}

fn rescan_text(judgement: &Judgement) -> String {
    let mut text = "\nRESCAN: no scale, constant or tilt explains the readings.\n".to_owned();
    if !judgement.odd.is_empty() {
        text += &format!(
            "  What stands out: {}. Take it again first; a slipped reading is the usual cause.\n",
            judgement.odd.join(", ")
        );
    }
    if let Some([from, to]) = judgement.stretch {
        text += &format!(
            "  If it stands, scan again from {from:.0} to {to:.0} mm along the edge from its left end.\n"
        );
    } else if judgement.odd.iter().any(|name| name.starts_with('L')) {
        text += "  If it stands, the lengths do not agree on one scale: scan again in one slow sweep.\n";
    }
    text
}

fn shims_text(list: &ShimList) -> String {
    let mut text = if list.shims.iter().all(|s| s.good) {
        format!(
            "\nGO: the fitted panel stands within {:.1} mm of what was meant; no shims.\n",
            list.tolerance
        )
    } else {
        match list.strip {
            Some([a, b]) if (a - b).abs() < 0.05 => {
                format!("\nSHIM: one strip {} serves all along.\n", strip_words(a))
            }
            Some([a, b]) => format!(
                "\nSHIM: one strip serves, {} at the left end and {} at the right end, straight in between.\n",
                strip_words(a),
                strip_words(b)
            ),
            None => "\nSHIM: place by place, no single strip serves.\n".to_owned(),
        }
    };
    text += "\n  check    along, mm   read, mm   meant, mm   to do\n";
    for shim in &list.shims {
        let what = if shim.good {
            "nothing".to_owned()
        } else {
            strip_words(shim.pack)
        };
        text += &format!(
            "  {:<8} {:>9.0} {:>10.1} {:>11.1}   {what}\n",
            shim.name, shim.at, shim.read, shim.wanted
        );
    }
    text
}

/// Packing under the flange, or what has to come off the top.
fn strip_words(pack: f64) -> String {
    if pack >= 0.0 {
        format!("{pack:.1} mm under the flange")
    } else {
        format!("{:.1} mm off the panel's top", -pack)
    }
}
