//! The written parts of the page.

use super::told;
use crate::gap::EdgeKind;
use crate::output::row::{Row, RowOf};
use crate::output::svg::escaped;
use crate::output::words::span;
use crate::output::{GapSummary, Run};
use crate::panel::Top;
use std::fmt::Write;

/// What was made, how good it is, and the numbers that say so.
pub(super) fn heading(html: &mut String, run: Run<'_>) {
    let measured = run.measured;
    let _ = writeln!(html, "<h1>{}</h1>", escaped(&measured.name));
    let _ = writeln!(
        html,
        "<p class=\"lead\">{}</p>",
        escaped(&what_was_made(run))
    );
    super::verdict::verdict(html, run);
    let warnings = run.warnings().len();
    if warnings > 0 {
        let _ = writeln!(
            html,
            "<p class=\"look\"><a href=\"#warnings\">{}</a></p>",
            counted(
                warnings,
                "warning: read it before you build",
                "warnings: read them before you build"
            )
        );
    }
    let Some(gap) = GapSummary::of(&measured.survey) else {
        html.push_str("<p class=\"look\">No station of the gap could be surveyed.</p>\n");
        return;
    };
    html.push_str("<dl class=\"facts\">\n");
    let at = |key: &str| format!("/survey/{key}");
    let [least, most] = [("least", gap.least.gap), ("most", gap.most.gap)]
        .map(|(word, mm)| told(&at(&format!("gap/{word}/gap_mm")), format!("{mm:.1}")));
    let alike = span([gap.least.gap, gap.most.gap], 1) == span([gap.least.gap; 2], 1);
    let ends = if alike {
        least
    } else {
        format!("{least} to {most}")
    };
    fact(html, "gap, least to most", &format!("{ends} mm"));
    let doubt = 2.0 * gap.sigma_median_mm;
    fact(
        html,
        "uncertainty, 95 of 100 places",
        &format!("\u{b1} {doubt:.1} mm"),
    );
    let doubt = 2.0 * gap.sigma_most_mm;
    fact(
        html,
        "where least is known",
        &format!("\u{b1} {doubt:.1} mm"),
    );
    let length = told(&at("length_mm"), format!("{:.0}", gap.length_mm));
    fact(html, "length of the gap", &format!("{length} mm"));
    let [good, all] = [("good", gap.good), ("stations", gap.stations())]
        .map(|(key, count)| told(&at(key), count));
    fact(html, "stations well seen", &format!("{good} of {all}"));
    let edge = match measured.survey.edge_kind {
        EdgeKind::Cut => "cut".to_owned(),
        EdgeKind::Rolled => {
            let radius = format!("{:.1}", measured.survey.edge_radius_mm);
            format!("rolled, radius {} mm", told(&at("edge_radius_mm"), radius))
        }
    };
    fact(html, "body\u{2019}s edge", &edge);
    if let Some((panel, _)) = run.made {
        let volume = panel.solid.mesh().signed_volume() / 1e3;
        fact(html, "panel", &format!("{volume:.0} cm\u{b3}"));
        if let Some(met) = panel.wall.met_mm() {
            let wall = format!("{} mm", span(met, 1));
            let asked = match panel.wall.asked_range() {
                Some([a, b]) if b - a > 0.05 => format!("{a} to {b}"),
                _ => format!("{}", panel.wall.asked_mm),
            };
            fact(html, &format!("wall as measured ({asked} asked)"), &wall);
        }
        rows(html, run);
    }
    html.push_str("</dl>\n");
}

/// What is printed, each row with what it takes; with a buck that is printed, and the panel only for trying.
fn rows(html: &mut String, run: Run<'_>) {
    let mut all = Row::all(run);
    all.sort_by_key(|row| run.buck.is_some() && row.of != RowOf::Buck);
    for row in all {
        let total = row.parts.estimate();
        let at = |key: &str| format!("{}/{key}", row.of.total());
        let mass = told(&at("mass_g"), format!("{:.0}", total.mass_g));
        let hours = told(&at("hours"), format!("{:.0}", total.hours));
        let count = counted(row.parts.segments.len(), "segment", "segments");
        let name = match (row.of, run.buck) {
            (RowOf::Buck, _) => format!("to print: the buck, {count}"),
            (_, Some(_)) => format!("plastic panel{}, for trying only, {count}", row.of.whose()),
            (RowOf::Panel, None) => format!("to print: {count}"),
            (RowOf::Twin, None) => format!("to print, other side: {count}"),
        };
        fact(html, &name, &format!("{mass} g, {hours} h"));
    }
}

fn what_was_made(run: Run<'_>) -> String {
    let length = GapSummary::of(&run.measured.survey).map_or(0.0, |gap| gap.length_mm);
    match run.made {
        None => format!(
            "The gap between body and undertray, surveyed over {length:.0} mm. No panel was made."
        ),
        Some((panel, parts)) => {
            let top = match panel.top {
                Top::Tucked => "its lip tucked behind the body's edge",
                Top::Lapped => "its lip lapped over the outside of the body's skin",
                Top::Butted => "its top butted under the body's edge with room for a seal",
            };
            let part = format!("A closeout panel for a gap of {length:.0} mm in length, {top}");
            if let Some(made) = run.buck {
                return format!(
                    "{part}: a laminate, laid up on a buck and lifted off it. Print the buck, in {}. The panel's own \
                     plastic prints are for trying only: they are not the part.",
                    counted(made.segments.segments.len(), "segment", "segments")
                );
            }
            let core = match run.layup {
                Some(_) => ", printed as the core that stays in under the laminate",
                None => "",
            };
            let other = match run.twin {
                Some(made) => format!(
                    "; and its mirror image for the other side, in {}",
                    counted(made.segments.segments.len(), "segment", "segments")
                ),
                None => String::new(),
            };
            format!(
                "{part}{core}, in {}{other}.",
                counted(parts.segments.len(), "segment", "segments")
            )
        }
    }
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// Name and value are HTML already.
fn fact(html: &mut String, name: &str, value: &str) {
    let _ = writeln!(html, "<div><dt>{name}</dt><dd>{value}</dd></div>");
}

/// What can hurt. General shop knowledge; local rules come first.
pub(super) fn cautions(html: &mut String, run: Run<'_>) {
    html.push_str(
        "<ul>\n\
         <li>Hold a few gaps against the vehicle with a rule or calipers before you print: a scan's scale can be off as a whole.</li>\n",
    );
    if run.made.is_some() {
        html.push_str(
            "<li>A panel that comes off at speed is a danger to others. This page proves shape, not strength: fastening, and whether the vehicle may be used on the road with it, is for local rules and, where they ask for it, a licensed shop or inspector to decide.</li>\n\
             <li>Keep the panel clear of wheels, steering and brakes through their whole travel, and of exhaust, motor and brake heat; many printing plastics soften well below 100 \u{b0}C, and dark ones do so in the sun.</li>\n\
             <li>Sanding plastic, filler or glass fibre makes dust that harms lungs and eyes; resins, solvents and paints harm skin and lungs. Follow each manufacturer's data sheet for gloves, mask, air and curing heat.</li>\n",
        );
    }
    html.push_str("<li>Never work under a vehicle that stands on a jack alone.</li>\n</ul>\n");
}

/// Every file of the run.
pub(super) fn files(html: &mut String, run: Run<'_>, files: &[String]) {
    html.push_str("<ul class=\"files\">\n");
    let trial = |file: &str| {
        run.buck.is_some()
            && (file == "panel.stl" || file.starts_with("print/") || file.starts_with("segments/"))
    };
    for file in files {
        let _ = writeln!(
            html,
            "<li><a href=\"{0}\">{0}</a>{1}{2}</li>",
            escaped(file),
            purpose(file),
            if trial(file) {
                "; plastic panel, for trying only"
            } else {
                ""
            }
        );
    }
    html.push_str("</ul>\n");
}

fn purpose(file: &str) -> &'static str {
    match file {
        "gap.csv" => ": the gap at every station",
        "readings.csv" => ": what to read on the vehicle, to fill in",
        "report.json" => ": everything above for programs",
        crate::output::TWIN_STL => ": the panel for the other side of the vehicle, mirrored",
        _ if file.starts_with(crate::output::TWIN_FOLDER) => ": for the other side of the vehicle",
        "panel.stl" => ": the whole panel where it sits",
        _ if file.starts_with("gap_") && file.ends_with(".csv") => {
            ": the gap in that position of the tray"
        }
        _ if file.starts_with("panel_") && file.ends_with(".stl") => {
            ": the panel for that position of the tray"
        }
        _ if file.starts_with("positions/") => ": a segment of that position's panel",
        _ if file.starts_with("holes") => ": every hole and slot",
        _ if file.starts_with("templates/drilling") => ": where to drill, 1:1",
        _ if file.starts_with("templates/") => ": the gap laid flat, 1:1",
        _ if file.starts_with("coupons/") => ": a slice to print first, on its bed",
        _ if file.starts_with("print/") => ": as it lies on the printer's bed",
        crate::output::ALL_IN_PLACE => ": all segments, named, where they sit on the vehicle",
        _ if file.starts_with("segments/") => ": where it sits on the vehicle",
        crate::output::BUCK_STL => ": the whole buck, where the part sits on the vehicle",
        _ if file.starts_with(crate::output::BUCK_FOLDER) => ": of the buck",
        _ if file.starts_with("cloth/") && file.contains("piece") => {
            ": a piece of cloth to cut, 1:1"
        }
        _ if file.ends_with(".svg") => ": a drawing of this page",
        _ => "",
    }
}
