//! The written parts of the page.

use crate::diag::{Finding, Weight};
use crate::gap::EdgeKind;
use crate::output::report::{file_name, unit_from_word};
use crate::output::svg::escaped;
use crate::output::{GapSummary, Run};
use crate::panel::Top;
use crate::scan::Scan;
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
    super::budget::verdict(html, run);
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
    fact(
        html,
        "gap, least to most",
        &format!("{:.1} to {:.1} mm", gap.least.gap, gap.most.gap),
    );
    fact(
        html,
        "uncertainty, 2 sigma",
        &format!("\u{b1} {:.1} mm", 2.0 * gap.sigma_median_mm),
    );
    fact(
        html,
        "where least is known",
        &format!("\u{b1} {:.1} mm", 2.0 * gap.sigma_most_mm),
    );
    fact(
        html,
        "length of the gap",
        &format!("{:.0} mm", gap.length_mm),
    );
    fact(
        html,
        "stations well seen",
        &format!("{} of {}", gap.good, gap.stations()),
    );
    let edge = match measured.survey.edge_kind {
        EdgeKind::Cut => "cut".to_owned(),
        EdgeKind::Rolled => format!("rolled, radius {:.1} mm", measured.survey.edge_radius_mm),
    };
    fact(html, "body's edge", &edge);
    if let Some((panel, parts)) = run.made {
        let litres = panel.solid.mesh().signed_volume() / 1e3;
        fact(html, "panel", &format!("{litres:.0} cm\u{b3}"));
        if let Some([least, most]) = panel.wall.range() {
            let asked = panel.wall.asked_mm;
            let wall = format!("{:.1} to {:.1} mm", least * asked, most * asked);
            fact(html, &format!("wall as measured ({asked} asked)"), &wall);
        }
        fact(html, "segments", &parts.segments.len().to_string());
    }
    html.push_str("</dl>\n");
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
            format!(
                "A closeout panel for a gap of {length:.0} mm in length, {top}, in {}.",
                counted(parts.segments.len(), "segment", "segments")
            )
        }
    }
}

fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

fn fact(html: &mut String, name: &str, value: &str) {
    let _ = writeln!(
        html,
        "<div><dt>{name}</dt><dd>{}</dd></div>",
        escaped(value)
    );
}

/// Warnings, numbered as on the long section, then notes.
pub(super) fn findings(html: &mut String, run: Run<'_>) {
    let all = run.findings();
    let (warnings, notes): (Vec<&Finding>, Vec<&Finding>) =
        all.into_iter().partition(|f| f.weight == Weight::Warning);
    html.push_str("<h2 id=\"warnings\">Warnings</h2>\n");
    if warnings.is_empty() {
        html.push_str("<p>None.</p>\n");
    } else {
        html.push_str("<p>Numbers as under the long section, where a warning has a station.</p>\n");
        list(html, "ol", &warnings);
    }
    if !notes.is_empty() {
        html.push_str("<h2>Notes</h2>\n");
        list(html, "ul", &notes);
    }
}

fn list(html: &mut String, tag: &str, findings: &[&Finding]) {
    let _ = writeln!(html, "<{tag} class=\"findings\">");
    for finding in findings {
        let _ = write!(html, "<li>{}", escaped(&finding.what));
        if let Some(s) = finding.station_mm {
            let _ = write!(html, " <span class=\"faint\">(station {s:.0} mm)</span>");
        }
        if !finding.hint.is_empty() {
            let _ = write!(html, "<br>To do: {}", escaped(&finding.hint));
        }
        html.push_str("</li>\n");
    }
    let _ = writeln!(html, "</{tag}>");
}

/// What the scans were like and what cleaning took out.
pub(super) fn scans(html: &mut String, run: Run<'_>) {
    let scene = &run.measured.scene;
    html.push_str("<h2>What the scans showed</h2>\n<div class=\"scroll\"><table>\n<tr><th></th><th>body</th><th>tray</th></tr>\n");
    let mut row = |name: &str, of: &dyn Fn(&Scan) -> String| {
        let _ = writeln!(
            html,
            "<tr><th>{name}</th><td>{}</td><td>{}</td></tr>",
            escaped(&of(&scene.body)),
            escaped(&of(&scene.tray))
        );
    };
    row("file", &|s| file_name(&s.source.path));
    row("SHA-256, first 16", &|s| {
        s.source.sha256.chars().take(16).collect()
    });
    row("unit", &|s| {
        format!(
            "{} (from: {})",
            s.source.unit.symbol(),
            unit_from_word(s.source.unit_from)
        )
    });
    row("size", &|s| {
        let [a, b, c] = s.source.size_mm;
        format!("{a:.0} \u{d7} {b:.0} \u{d7} {c:.0} mm")
    });
    row("triangles in the file", &|s| s.source.triangles.to_string());
    row("triangles kept", &|s| s.mesh.triangles.len().to_string());
    row("pieces kept", &|s| s.pieces.to_string());
    row("noise, sigma", &|s| format!("{:.2} mm", s.noise_mm));
    row("triangle edge, median", &|s| {
        format!("{:.1} mm", s.spacing_mm)
    });
    row("taken out: broken or double", &|s| {
        (s.removed.not_finite + s.removed.degenerate + s.removed.duplicate).to_string()
    });
    row("taken out: loose pieces", &|s| {
        format!(
            "{} ({} triangles)",
            s.removed.floaters, s.removed.floater_triangles
        )
    });
    row("taken out: surroundings", &|s| {
        format!("{} triangles", s.removed.surroundings)
    });
    html.push_str("</table></div>\n");
    let _ = writeln!(
        html,
        "<p>How the vehicle stood: {}.</p>",
        scene.conditions.in_words()
    );
    let _ = writeln!(
        html,
        "<p>The tray departs from a plane by {:.1} mm, root mean square; the gap is measured to its real surface, not to the plane.</p>",
        scene.tray_flatness_mm
    );
}

/// What can hurt. General shop knowledge; local rules come first.
pub(super) fn cautions(html: &mut String, run: Run<'_>) {
    html.push_str(
        "<h2>Cautions</h2>\n<ul>\n\
         <li>Hold a few gaps against the vehicle with a rule or calipers before you print: a scan's scale can be off as a whole.</li>\n",
    );
    if run.made.is_some() {
        html.push_str(
            "<li>A panel that comes off at speed is a danger to others. This page proves shape, not strength: fastening, and whether the vehicle may be used on the road with it, is for local rules and, where they ask for it, a licensed shop or inspector to decide.</li>\n\
             <li>Keep the panel clear of wheels, steering and brakes through their whole travel, and of exhaust, motor and brake heat; many printing plastics soften well below 100 \u{b0}C, and dark ones do so in the sun.</li>\n\
             <li>Sanding plastic, filler or glass fibre makes dust that harms lungs and eyes; resins, solvents and paints harm skin and lungs. Follow each maker's data sheet for gloves, mask, air and curing heat.</li>\n",
        );
    }
    html.push_str("<li>Never work under a vehicle that stands on a jack alone.</li>\n</ul>\n");
}

/// Every file of the run.
pub(super) fn files(html: &mut String, files: &[String]) {
    html.push_str("<h2>Files</h2>\n<ul>\n");
    for file in files {
        let _ = writeln!(
            html,
            "<li><a href=\"{0}\">{0}</a>{1}</li>",
            escaped(file),
            purpose(file)
        );
    }
    html.push_str("</ul>\n");
    let _ = writeln!(
        html,
        "<p class=\"faint\">{} {}. Lengths in millimetres. Shop frame: z up from the tray, x outward to the maker, y to the maker's right.</p>",
        env!("CARGO_PKG_NAME"),
        env!("CARGO_PKG_VERSION")
    );
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
        _ if file.starts_with("panel_") => ": the panel for that position of the tray",
        _ if file.starts_with("positions/") => ": a segment of that position's panel",
        _ if file.starts_with("templates/") => ": the gap laid flat, 1:1",
        _ if file.starts_with("coupons/") => ": a slice to print first, on its bed",
        _ if file.starts_with("print/") => ": as it lies on the printer's bed",
        crate::output::ALL_IN_PLACE => ": all segments, named, where they sit on the vehicle",
        _ if file.starts_with("segments/") => ": where it sits on the vehicle",
        _ => "",
    }
}
