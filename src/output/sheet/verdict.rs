//! The verdict: go, shim or rescan, what that means, and what to do next.

use super::{plain, told};
use crate::gap::Budget;
use crate::gap::seal::{Footing, choose_lap, choose_seal};
use crate::gap::verdict::{Outlook, Verdict};
use crate::output::Run;
use crate::output::place::Tape;
use crate::output::readings::READINGS_FILE;
use crate::output::svg::escaped;
use crate::panel::Top;
use std::fmt::Write;

/// The answer in a box of its own, in plain words.
pub(super) fn verdict(html: &mut String, run: Run<'_>) {
    let Some(outlook) = &run.measured.outlook else {
        return;
    };
    let word = outlook.verdict.word();
    let _ = writeln!(
        html,
        "<section class=\"verdict\" aria-label=\"Verdict\">\n<p class=\"word\" data-verdict=\"{word}\">{}</p>\n<p>{}</p>",
        word.to_uppercase(),
        meaning(run, outlook)
    );
    html.push_str("<p><b>What to do next</b></p>\n<ol>\n");
    for step in steps(run, outlook) {
        let _ = writeln!(html, "<li>{step}</li>");
    }
    let _ = writeln!(
        html,
        "</ol>\n<p class=\"faint\">In numbers: {}.</p>\n</section>",
        escaped(&outlook.reason())
    );
}

/// What takes up a fit that is a little off.
fn taker(run: Run<'_>) -> &'static str {
    match run.measured.top {
        Top::Butted => "seal",
        Top::Tucked => "lip behind the edge",
        Top::Lapped => "lip over the edge",
    }
}

fn meaning(run: Run<'_>, outlook: &Outlook) -> String {
    let taker = taker(run);
    let half = outlook.room.half().max(0.0);
    match outlook.verdict {
        Verdict::Go => format!(
            "The scans know the gap well enough for the {taker} you chose. A few readings with a tape, then print."
        ),
        Verdict::Shim => "The shape of the gap is known well enough; its height or tilt as a whole is not yet. A handful of readings on \
             the vehicle settles that, and packing under the flange takes up what is left. Do not print the whole panel \
             before you have read them."
            .to_owned(),
        Verdict::Rescan => format!(
            "This does not say that the panel is wrong or that you scanned badly. It holds two numbers against each other: \
             from place to place along the edge the scans know the gap to \u{b1} {} mm, and the {taker} you chose takes up \
             \u{b1} {half:.1} mm. Where the gap is really off by more than that, the panel would {}, and packing \
             cannot help, because the error changes along the edge. It is a matter of a thicker seal more often than of \
             a new scan.",
            told("/verdict/wanders_mm", format!("{:.1}", outlook.wanders_mm)),
            match run.measured.top {
                Top::Butted => "gape there or crush its seal",
                Top::Tucked | Top::Lapped => "show a gap there or touch the edge",
            }
        ),
    }
}

fn steps(run: Run<'_>, outlook: &Outlook) -> Vec<String> {
    let read = format!(
        "Read some lengths and gaps on the vehicle (<a href=\"#checks\">check with tape and caliper</a>): a scan can be too \
         large or too small as a whole, and cannot know it. Write them into {READINGS_FILE}, then run gapwright verify."
    );
    let coupons = "Print the coupons and offer them up (<a href=\"#template\">paper template and coupons</a>): an hour of printing that can save thirty.";
    let print = what_to_print(run);
    let made = run.made.is_some();
    let make = "Then gapwright make for the panel itself.";
    let after = |list: &mut Vec<String>| {
        if made {
            list.extend([coupons.to_owned(), print.clone()]);
        } else {
            list.push(make.to_owned());
        }
    };
    let mut list = Vec::new();
    match outlook.verdict {
        Verdict::Go => {
            list.push(read);
            after(&mut list);
        }
        Verdict::Shim => {
            list.push(read);
            list.push(
                "If it says shim, it writes a correction: name that in the job and run again. If it says go, nothing has to change."
                    .to_owned(),
            );
            after(&mut list);
        }
        Verdict::Rescan => {
            list.extend(thicker(run));
            list.push(scan_again(run, outlook));
            list.push(
                if made {
                    format!(
                        "Or build it as it is, with open eyes: print the coupons, see how they sit at both ends and at the worst \
                         place, and close what is left with sealant or filler. {print}"
                    )
                } else {
                    "Or go on as it is, with open eyes: coupons will show how far off it is.".to_owned()
                },
            );
        }
    }
    list
}

/// The long prints: the panel's segments, or the buck that its laminate is laid up on.
fn what_to_print(run: Run<'_>) -> String {
    let how = match run.buck {
        Some(_) => {
            "Then print <b>the buck</b> (<a href=\"#buck\">the buck: what you print</a>), join it, and lay the part up on it. \
             Leave the plastic panel\u{2019}s prints alone: they are for trying only (<a href=\"#trying\">plastic \
             panel</a>). Go"
        }
        None => "Then print the segments (<a href=\"#segments\">segments to print</a>) and go",
    };
    format!("{how} on down this page: it is in the order of the work.")
}

/// The cheapest way out: a seal or lip that takes up what the scans do not know.
fn thicker(run: Run<'_>) -> Option<String> {
    let stations = &run.measured.survey.stations;
    let found = |footing| match run.measured.top {
        Top::Butted => choose_seal(stations, footing).map(|seal| {
            (
                format!("a foam seal of {:.0} mm", seal.free_mm),
                format!(
                    "seal_foam_mm = {:.1} and seal_mm = {:.1}",
                    seal.free_mm, seal.middle_mm
                ),
            )
        }),
        top @ (Top::Tucked | Top::Lapped) => choose_lap(stations, footing).map(|lap| {
            let option = if top == Top::Lapped {
                "lap_mm"
            } else {
                "tuck_mm"
            };
            (
                format!("a lip of {lap:.0} mm"),
                format!("{option} = {lap:.1}"),
            )
        }),
    };
    let alone = found(Footing::Scans);
    let Some((what, options)) = found(Footing::Readings) else {
        let (what, options) = alone?;
        return Some(format!(
            "Cheapest: take {what} and write {options} under [panel] in the job; it takes up what the scans do not know."
        ));
    };
    let mut text = format!(
        "Cheapest: take {what}: write {options} under [panel] in the job and run it again. Then read a few gaps on the \
         vehicle, which takes out what is off as a whole (<a href=\"#checks\">check with tape and caliper</a>)."
    );
    if let Some((whole, _)) = alone.filter(|(whole, _)| *whole != what) {
        let _ = write!(
            text,
            " From the scans alone, without a reading, it would have to be {whole}."
        );
    }
    Some(text)
}

fn scan_again(run: Run<'_>, outlook: &Outlook) -> String {
    let stations = &run.measured.survey.stations;
    let place = outlook
        .stretch
        .zip(Tape::lay(run))
        .map_or_else(String::new, |(stretch, tape)| {
            format!(" from {}", tape.stretch(stretch))
        });
    format!(
        "Or scan again{place}: slowly, once with the phone held low along the whole stretch so that it sees the underside of \
         the edge, shiny and black places dulled. Most of the doubt is {}: {}.",
        Budget::overall(stations).dominant().meaning(),
        plain(Budget::overall(stations).dominant().advice())
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::sample;
    use crate::output::tests::expect_well_formed;

    fn shown(word: Verdict) -> String {
        let mut measured = sample::measured();
        let outlook = measured.outlook.as_mut().unwrap();
        outlook.verdict = word;
        outlook.stretch = (word == Verdict::Rescan).then_some([20.0, 120.0]);
        let mut html = String::new();
        verdict(&mut html, (&measured).into());
        expect_well_formed(&html);
        html
    }

    #[test]
    fn every_answer_says_in_words_what_to_do_next() {
        for (word, says) in [
            (Verdict::Go, "A few readings with a tape, then print"),
            (Verdict::Shim, "packing under the flange"),
            (Verdict::Rescan, "does not say that the panel is wrong"),
        ] {
            let html = shown(word);
            assert!(html.contains(&format!(">{}</p>", word.word().to_uppercase())));
            assert!(
                html.contains(says) && html.matches("<li>").count() > 1,
                "{html}"
            );
        }
        // Where to scan again is said so that a tape finds it.
        let html = shown(Verdict::Rescan);
        assert!(
            html.contains("station 20 to 120 mm, on the vehicle"),
            "{html}"
        );
    }
}
