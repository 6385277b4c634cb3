//! `sheet.html`: the page a person opens first. One file, no network, in the order of the work; prints on
//! A4 and on Letter.
//!
//! Every number that also stands in `report.json` carries the place it has there ([`told`]), so that a
//! test can hold the two against each other.

mod appendix;
mod beds;
mod buck;
mod budget;
mod checks;
mod fit;
mod fitting;
mod fixings;
mod heads;
mod joints;
mod laminate;
mod model;
mod panel;
mod parts;
mod pieces;
mod placing;
mod positions;
mod removal;
mod segments;
mod sources;
mod staying_on;
mod style;
mod twin;
mod vehicle;
mod verdict;
mod warnings;

pub(in crate::output) use style::PAGE as STYLE;

use super::Run;
use super::row::{Row, RowOf};
use super::svg::{self, escaped};
use super::viewer;
use super::views::{View, Views};
use std::fmt::Write;

/// What the page's own policy lets it do: show what it holds, and reach out for nothing.
const POLICY: &str =
    "default-src 'none'; img-src data:; script-src 'unsafe-inline'; style-src 'unsafe-inline'";

/// A chapter: its anchor, its title, and what stands in it.
struct Chapter {
    id: &'static str,
    title: &'static str,
    html: String,
}

/// The chapters of a page in their order; one with nothing in it is left out.
#[derive(Default)]
struct Chapters(Vec<Chapter>);

impl Chapters {
    fn add(&mut self, id: &'static str, title: &'static str, write: impl FnOnce(&mut String)) {
        let mut html = String::new();
        write(&mut html);
        if !html.is_empty() {
            self.0.push(Chapter { id, title, html });
        }
    }
}

/// The page.
pub(super) fn page(run: Run<'_>, views: &Views, files: &[String]) -> String {
    let name = escaped(&run.measured.name);
    let mut html = format!(
        "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <title>{name}: build sheet</title>\n<style>\n{}{}{}</style>\n</head>\n<body>\n<main>\n",
        style::PAGE,
        svg::style(),
        viewer::STYLE
    );
    parts::heading(&mut html, run);
    let chapters = chapters(run, views, files);
    contents(&mut html, &chapters);
    for (i, chapter) in chapters.iter().enumerate() {
        let _ = write!(
            html,
            "<section aria-labelledby=\"{0}\">\n<h2 id=\"{0}\"><span class=\"no\">{1}</span> {2}</h2>\n{3}</section>\n",
            chapter.id,
            i + 1,
            chapter.title,
            heads::with_heads(&chapter.html)
        );
    }
    html.push_str("</main>\n");
    if run.made.is_some() {
        html.push_str(&model::script());
    }
    html.push_str("</body>\n</html>\n");
    html
}

/// Everything below the verdict, as the work goes.
fn chapters(run: Run<'_>, views: &Views, files: &[String]) -> Vec<Chapter> {
    let mut all = Chapters::default();
    all.add("gap", "The vehicle and the gap", |html| {
        vehicle::vehicle(html, run, views);
    });
    all.add(
        "scale",
        "Scale, and how the scans were set together",
        |html| {
            placing::placing(html, run, views);
        },
    );
    all.add("sure", "How sure the gap is", |html| {
        budget::table(html, run);
    });
    all.add("checks", "Check with tape and caliper", |html| {
        checks::before(html, run);
    });
    all.add("template", "Paper template and coupons", |html| {
        checks::template_and_coupons(html, run);
    });
    all.add("panel", "The panel", |html| panel::panel(html, run, views));
    all.add("positions", "Positions of the tray", |html| {
        positions::positions(html, run, views);
    });
    // A buck takes the place of the panel's own prints, which then are for trying alone and come last.
    let row = Row::find(run, RowOf::Panel);
    let panel = row.filter(|_| run.buck.is_none());
    all.add("segments", "Segments to print", |html| {
        panel.inspect(|row| printed(html, *row, views));
    });
    all.add("assembly", "Joints and order of assembly", |html| {
        panel.inspect(|row| joints::joints(html, *row, views));
    });
    all.add("buck", "The buck: what you print", |html| {
        buck::buck(html, run, views);
    });
    all.add("laminate", "Laminate and cloth", |html| {
        laminate::laminate(html, run, views);
    });
    all.add("fixings", "Fixings and drilling", |html| {
        fixings::fixings(html, run, views);
    });
    all.add("fitting", "Trimming and fitting", |html| {
        fitting::fitting(html, run);
    });
    all.add("gauging", "Gauging after fitting", |html| {
        checks::after(html, run);
    });
    all.add("removal", "Taking the tray off", |html| {
        removal::removal(html, run, views);
    });
    all.add("staying", "Staying on", |html| {
        staying_on::staying_on(html, run, views);
    });
    all.add("twin", "The panel for the other side", |html| {
        twin::twin(html, run, views);
    });
    all.add(
        "trying",
        "Plastic panel, for trying only: not the part",
        |html| {
            row.filter(|_| run.buck.is_some())
                .inspect(|row| trial(html, *row, views));
        },
    );
    all.add("warnings", "Warnings", |html| {
        warnings::warnings(html, run, views);
    });
    all.add("cautions", "Cautions", |html| parts::cautions(html, run));
    all.add("sources", "Assumptions and sources", |html| {
        sources::sources(html, run);
    });
    all.add("appendix", "Appendix: inputs and files", |html| {
        appendix::appendix(html, run, files);
    });
    all.0
}

/// The segments of a row, and how they lie.
fn printed(html: &mut String, row: Row<'_>, views: &Views) {
    segments::table(html, row);
    beds::beds(html, row, views);
}

/// The panel's own prints where the part is laid up on a buck.
fn trial(html: &mut String, row: Row<'_>, views: &Views) {
    html.push_str(
        "<p class=\"look\">You do not need these prints for the laminated part, and they are not the part: that comes off \
         <a href=\"#buck\">the buck</a>.</p>\n\
         <p>panel.stl, segments/ and print/ hold the same shape as a panel of plastic. Print it only to try shape and holes \
         on the vehicle before you spend plastic on the buck and cloth on the part. The coupons try the most critical \
         places for less.</p>\n",
    );
    printed(html, row, views);
    heading(html, "Its joints");
    joints::joints(html, row, views);
}

fn contents(html: &mut String, chapters: &[Chapter]) {
    html.push_str("<nav aria-label=\"Contents\">\n<ol class=\"contents\">\n");
    for chapter in chapters {
        let _ = writeln!(
            html,
            "<li><a href=\"#{}\">{}</a></li>",
            chapter.id, chapter.title
        );
    }
    html.push_str("</ol>\n</nav>\n");
}

/// A number as text, with its place in `report.json` as a JSON pointer (RFC 6901).
fn told(place: &str, text: impl std::fmt::Display) -> String {
    format!("<span data-report=\"{place}\">{text}</span>")
}

/// A number told without its sign, because words beside it say which way: its place is marked so.
fn told_bare(place: &str, text: impl std::fmt::Display) -> String {
    format!("<span data-report=\"-{place}\">{text}</span>")
}

/// A told number as a cell of a table.
fn cell(place: &str, text: impl std::fmt::Display) -> String {
    format!("<td class=\"n\" data-report=\"{place}\">{text}</td>")
}

/// Text as HTML; what stands between back ticks is set as it is written in a job.
fn plain(text: &str) -> String {
    let mut html = String::new();
    for (i, part) in text.split('`').enumerate() {
        if i % 2 == 1 {
            let _ = write!(html, "<code>{}</code>", escaped(part));
        } else {
            html.push_str(&escaped(part));
        }
    }
    html
}

/// A part of a chapter.
fn heading(html: &mut String, title: &str) {
    let _ = writeln!(html, "<h3>{title}</h3>");
}

/// A table that scrolls sideways on a narrow screen, from the keyboard as well.
fn open_table(html: &mut String, what: &str) {
    let _ = writeln!(
        html,
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"{what}\"><table>"
    );
}

const CLOSE_TABLE: &str = "</table></div>\n";

fn figure(html: &mut String, view: &View, class: &str) {
    let _ = writeln!(
        html,
        "<figure class=\"{class}\"{}>\n{}</figure>",
        // A wide one scrolls on a phone, and from the keyboard.
        if class.is_empty() {
            ""
        } else {
            " tabindex=\"0\""
        },
        svg::figure(&view.drawing)
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_the_job_are_set_apart_and_the_rest_is_escaped() {
        assert_eq!(
            plain("set `a<b` to \"cut\""),
            "set <code>a&lt;b</code> to &quot;cut&quot;"
        );
        assert_eq!(plain("none"), "none");
    }

    #[test]
    fn a_number_without_its_sign_is_marked() {
        assert_eq!(
            told_bare("/a", "1.0"),
            "<span data-report=\"-/a\">1.0</span>"
        );
    }

    #[test]
    fn a_chapter_without_anything_in_it_is_left_out() {
        let mut all = Chapters::default();
        all.add("empty", "Empty", |_| {});
        all.add("full", "Full", |html| html.push_str("<p>a</p>"));
        assert_eq!(all.0.len(), 1);
        let mut html = String::new();
        contents(&mut html, &all.0);
        assert!(html.contains("href=\"#full\"") && !html.contains("#empty"));
    }
}
