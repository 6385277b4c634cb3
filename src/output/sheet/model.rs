//! The model in the page: body, tray, panel and segments, to be turned, taken away and pulled apart.

use crate::gap::Front;
use crate::math::Vector3;
use crate::mesh::TriMesh;
use crate::mesh::thin::thin;
use crate::output::Run;
use crate::output::viewer::{self, AtFirst, Label, Lines, Model, Part, Stance, Tone};
use crate::output::views::near_panel;

/// Triangles of a scan in the page, at most: the page stays small, and a phone still turns it.
const MOST_OF_A_SCAN: usize = 30_000;
/// And of each made thing, whose edges would suffer sooner.
const MOST_OF_A_SOLID: usize = 60_000;

/// What the page needs besides the model itself, once.
pub(super) fn script() -> String {
    format!(
        "<script>\n{}</script>\n<script>openModel(document.querySelector(\".model\"));</script>\n",
        viewer::SCRIPT
    )
}

/// The model, where a panel was made.
pub(super) fn model(html: &mut String, run: Run<'_>) {
    let Some((panel, split)) = run.made else {
        return;
    };
    let scene = &run.measured.scene;
    let thinned = |mesh| thin(&near_panel(mesh, panel), MOST_OF_A_SCAN);
    let (body, tray) = rayon::join(|| thinned(&scene.body.mesh), || thinned(&scene.tray.mesh));
    let whole = thin(panel.solid.mesh(), MOST_OF_A_SOLID);
    let pieces: Vec<TriMesh> = split
        .segments
        .iter()
        .map(|s| thin(s.in_place.mesh(), MOST_OF_A_SOLID))
        .collect();
    let names: Vec<String> = split
        .segments
        .iter()
        .map(|segment| segment.number.to_string())
        .collect();
    let scan = |name, mesh, tone| Part {
        name,
        mesh,
        tone,
        lines: Lines::Rims,
        away: Vector3::zeros(),
        at_first: AtFirst::Shown,
        label: None,
    };
    let mut parts = vec![
        scan("body", &body, Tone::Pale),
        scan("tray", &tray, Tone::Grey),
    ];
    let made = |name, mesh, at_first| Part {
        name,
        mesh,
        tone: Tone::Accent,
        lines: Lines::RimsAndFolds,
        away: Vector3::zeros(),
        at_first,
        label: None,
    };
    parts.push(made("panel in one piece", &whole, AtFirst::Hidden));
    for (i, mesh) in pieces.iter().enumerate() {
        let away = split.exploded.away.get(i).copied().unwrap_or_default();
        let at = split.exploded.labels.get(i).map(|p| p - away);
        parts.push(Part {
            away,
            label: at.zip(names.get(i)).map(|(at, text)| Label { at, text }),
            ..made("segments", mesh, AtFirst::Shown)
        });
    }
    let model = Model {
        parts: &parts,
        stance: Stance {
            across: Vector3::y(),
            up: Vector3::z(),
        },
        mm: 1.0,
        says: "Body, tray, panel and segments",
    };
    html.push_str("<p class=\"screen\">Drag to turn it, or use the arrow keys once it is selected; take parts away with the boxes, pull the segments apart with the slider. ");
    html.push_str(match run.measured.front {
        Some(Front::Toward) => {
            "At first you see it from outside, the vehicle\u{2019}s front toward you."
        }
        Some(Front::Away) => {
            "At first you see it from outside, the vehicle\u{2019}s front away from you."
        }
        Some(Front::Left) => {
            "At first you see it from outside, the vehicle\u{2019}s front at the left."
        }
        Some(Front::Right) => {
            "At first you see it from outside, the vehicle\u{2019}s front at the right."
        }
        None => "At first you see it from outside.",
    });
    html.push_str(" The scans are shown thinned.</p>\n");
    html.push_str(&viewer::element(&model));
}
