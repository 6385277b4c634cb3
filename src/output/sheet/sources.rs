//! What the page takes for granted, and where its methods and limits come from.

use crate::gap::EdgeKind;
use crate::output::Run;
use crate::panel::Top;
use crate::scan::UnitFrom;
use std::fmt::Write;

pub(super) fn sources(html: &mut String, run: Run<'_>) {
    super::heading(html, "Taken for granted");
    list(html, &assumptions(run));
    super::heading(html, "Sources");
    list(html, &used(run));
    html.push_str(
        "<p>How each step works and where it ends: docs/method.md, which comes with the tool.</p>\n",
    );
}

fn list(html: &mut String, lines: &[String]) {
    html.push_str("<ul>\n");
    for line in lines {
        let _ = writeln!(html, "<li>{line}</li>");
    }
    html.push_str("</ul>\n");
}

fn assumptions(run: Run<'_>) -> Vec<String> {
    let scene = &run.measured.scene;
    let mut lines = Vec::new();
    let mut add = |text: &str| lines.push(text.to_owned());
    add(
        "The vehicle stands as it stood when it was scanned, and both scans are of the same standing.",
    );
    if [&scene.body, &scene.tray]
        .iter()
        .any(|scan| scan.source.unit_from == UnitFrom::Guess)
    {
        add("The unit of a scan was guessed from its size: only a tape can tell.");
    }
    if scene.placing.body_scale.is_none() || scene.placing.tray_scale.is_none() {
        add("A scan without distances measured on the vehicle has the scale it came with.");
    }
    if scene.placing.alignment.is_none() && !scene.placing.separated {
        add("Both scans came in one frame.");
    }
    add(match run.measured.survey.edge_kind {
        EdgeKind::Cut => {
            "The edge is cut off: a scan rounds it, so it is met from the faces beside it."
        }
        EdgeKind::Rolled => "The edge is rolled, with one radius all along.",
    });
    add("Where an edge is bridged, it runs on as its neighbours do.");
    add(
        "A doubt given as \u{b1} is two standard uncertainties: about 95 of 100 places lie within it.",
    );
    if run.made.is_some() {
        add(match run.measured.top {
            Top::Butted => {
                "A foam seal works when squeezed by 15 to 50 per cent of its free height (manufacturers\u{2019} data sheets)."
            }
            Top::Lapped => "A lip over the skin lies off it by paint and clearance.",
            Top::Tucked => {
                "The skin is as thick as the job says, since a scan from outside cannot see its back."
            }
        });
        add("Walls print solid; support stands straight down to the bed, which overstates it.");
        add("Fitting, trimming and the order of assembly are common practice, no source.");
    }
    if run.staying_on.is_some() {
        add(
            "Air and heat are steady; plastics have the usual values of their class, not those of your spool.",
        );
    }
    lines
}

fn used(run: Run<'_>) -> Vec<String> {
    let mut lines: Vec<&str> = vec![
        "Uncertainty: GUM (ISO/IEC Guide 98-3).",
        "Tapes: OIML R 35-1, class II.",
        "Lines of the drawings: ISO 128-2; scales: ISO 5455; lettering: ISO 3098 (from memory).",
        "Frame of a nose: x forward, y left, z up, as in ISO 8855.",
    ];
    if run.made.is_some() {
        lines.extend([
            "Colours of fields: cividis, Nunez, Anderton and Renslow, PLoS ONE 13(7), 2018.",
            "Print files: STL in millimetres; 3MF core specification 1.3.",
        ]);
    }
    if run.staying_on.is_some() {
        lines.push(
            "Air: ISO 2533. Strips and plates: Roark\u{2019}s Formulas for Stress and Strain; Timoshenko, Theory of Plates and Shells.",
        );
    }
    if run.measured.scene.placing.alignment.is_some() {
        lines
            .push("Setting scans together: Umeyama 1991; Chen and Medioni 1991; Chetverikov 2005.");
    }
    lines.into_iter().map(str::to_owned).collect()
}
