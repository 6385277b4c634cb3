//! What readings said about a survey, in plain words.

use crate::gap::readings::{Correction, Held, Judgement, ShimList, Verdict};
use crate::output::{Verified, WrittenCorrection};

/// The whole answer. `written` is where the correction went.
pub(super) fn text(verified: &Verified, written: Option<&WrittenCorrection>) -> String {
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
    if let Some(WrittenCorrection { path, line }) = written {
        text += &format!(
            "\nWrote {}. To use it, write under [gap] in the job:\n  {line}\nthen make again. That makes a new table \
             of readings; the one filled in is kept beside it under the name of its survey.\n",
            path.display()
        );
    }
    text
}

fn judgement_text(judgement: &Judgement) -> String {
    let mut text = match judgement.verdict {
        Verdict::Go if judgement.gaps < FEWEST_GAPS => format!(
            "\nGO, as far as it was read: what was read agrees with the survey, but with {} no panel is proved. Read at \
             least {FEWEST_GAPS}: at both ends and in between.\n",
            match judgement.gaps {
                0 => "no gap read".to_owned(),
                1 => "one gap read".to_owned(),
                n => format!("{n} gaps read"),
            }
        ),
        Verdict::Go => {
            "\nGO: the readings agree with the survey within their tolerance.\n".to_owned()
        }
        Verdict::Shim => match judgement.taken_up {
            Some([taken_up, spent]) => format!(
                "\nSHIM: one by one the readings lie within what the survey is known to, but together they show {}; the seal or \
                 lip takes up {taken_up:.1} mm that way, and what changes along the edge needs {spent:.1} mm of it.\n",
                correction_text(judgement)
            ),
            None => format!(
                "\nSHIM: one correction explains the readings: {}.\n",
                correction_text(judgement)
            ),
        },
        Verdict::Rescan => rescan_text(judgement),
    };
    if let Some([half, needs]) = judgement.wanders {
        text += &format!(
            "  Between the readings the gap is still known to \u{b1} {needs:.1} mm only, and the seal or lip takes up \u{b1} {half:.1} mm: \
             make says which seal does.\n"
        );
    }
    match judgement.scale_known {
        Some(known) => {
            text += &format!(
                "  The lengths read check the scale to \u{b1} {:.1} %",
                100.0 * known
            );
            text += if known > FINE_SCALE {
                ": two marks on the body, their distance taped and put into the job as [[distance]], check it finer.\n"
            } else {
                ".\n"
            };
        }
        None => text += "  Nothing was read that checks the scale: it takes two lengths.\n",
    }
    text += "\n  check      read, mm   survey, mm   off, mm   tolerance, mm   left over, mm\n";
    for held in &judgement.held {
        text += &row(held, judgement.odd.contains(&held.reading.name));
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

/// Fewer gaps than this prove no panel: they say nothing of a bow. Common practice, no source.
const FEWEST_GAPS: usize = 3;

/// What a phone's scan is off by when it is off in scale, as a share of its length. Common practice, no
/// source.
const FINE_SCALE: f64 = 0.005;

fn share(p: f64) -> String {
    if p < 0.001 {
        "under 0.001".to_owned()
    } else {
        format!("{p:.3}")
    }
}

fn row(held: &Held, odd: bool) -> String {
    let off = held.reading.value - held.predicted;
    let mark = if held.left_over.abs() > held.tolerance {
        "  <- outside"
    } else if odd {
        "  <- stands out"
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
    let mut text = match judgement.local {
        Some(room) => format!(
            "\nRESCAN: the readings lie within what the survey is known to, but not all of them suit one panel: the seal or \
             lip takes up \u{b1} {room:.1} mm, and packing does not follow what changes along the edge.\n"
        ),
        None => "\nRESCAN: no scale, constant or tilt explains the readings.\n".to_owned(),
    };
    if !judgement.odd.is_empty() {
        text += &format!(
            "  What stands out: {}. Take {} again first; a slipped reading is the usual cause.\n",
            judgement.odd.join(", "),
            if judgement.odd.len() == 1 {
                "it"
            } else {
                "them"
            }
        );
    }
    if let Some([from, to]) = judgement.stretch {
        text += &format!(
            "  If it stands, scan again from {from:.0} to {to:.0} mm along the edge from its left end{}.\n",
            match judgement.local {
                Some(_) => ", or take a thicker seal",
                None => "",
            }
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
