//! The inputs with their hashes, what cleaning did, how to take anything back to a scan, and every file.

use super::{CLOSE_TABLE, cell, heading, open_table, parts, pieces};
use crate::output::Run;
use crate::output::report::{file_name, unit_from_word};
use crate::output::svg::escaped;
use crate::scan::Scan;
use std::fmt::Write;

pub(super) fn appendix(html: &mut String, run: Run<'_>, files: &[String]) {
    let _ = writeln!(
        html,
        "<p>{} {}; survey {}. The same scans and job give this page again, byte for byte.</p>",
        env!("CARGO_PKG_NAME"),
        env!("CARGO_PKG_VERSION"),
        escaped(&run.measured.survey_id)
    );
    heading(html, "Inputs");
    scans(html, run);
    heading(html, "From each scan\u{2019}s file to the shop frame");
    html.push_str(
        "<p>Rows of a 4 \u{d7} 4 matrix that takes a point of the file to shop millimetres. Shop frame: z up from the tray, \
         x outward, toward you as you face the gap, y to your right.</p>\n",
    );
    matrices(html, run);
    pieces::pieces(html, run);
    heading(html, "Files");
    parts::files(html, run, files);
}

/// What the scans were like and what cleaning took out.
fn scans(html: &mut String, run: Run<'_>) {
    let scene = &run.measured.scene;
    open_table(html, "The two scans");
    html.push_str("<tr><td></td><th>body</th><th>tray</th></tr>\n");
    let mut row = |name: &str, of: &dyn Fn(&Scan) -> String| {
        let _ = writeln!(
            html,
            "<tr><th>{name}</th><td>{}</td><td>{}</td></tr>",
            escaped(&of(&scene.body)),
            escaped(&of(&scene.tray))
        );
    };
    row("file", &|s| file_name(&s.source.path));
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
    html.push_str(CLOSE_TABLE);
    html.push_str("<dl class=\"hashes\">\n");
    for (name, scan) in [("body", &scene.body), ("tray", &scene.tray)] {
        let _ = writeln!(
            html,
            "<div><dt>SHA-256 of the {name}\u{2019}s file</dt><dd><code>{}</code></dd></div>",
            escaped(&scan.source.sha256)
        );
    }
    html.push_str("</dl>\n");
}

fn matrices(html: &mut String, run: Run<'_>) {
    let scene = &run.measured.scene;
    for (name, scan) in [("body", &scene.body), ("tray", &scene.tray)] {
        let _ = writeln!(html, "<p>The {name}\u{2019}s:</p>");
        open_table(html, &format!("Matrix of the {name}\u{2019}s scan"));
        for i in 0..4 {
            html.push_str("<tr>");
            for j in 0..4 {
                let place = format!("/scan_to_shop/{name}/{i}/{j}");
                let value = scan.to_shop[(i, j)] + 0.0;
                html.push_str(&cell(&place, format!("{value:.6}")));
            }
            html.push_str("</tr>\n");
        }
        html.push_str(CLOSE_TABLE);
    }
}
