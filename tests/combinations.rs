//! Sections, ends and mounts put together every which way on all three samples: each panel is sound.

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use common::panels::{SAMPLES, random_options, sound, survey, tops};
use gapwright::panel::fixings::Style;
use gapwright::panel::{End, FaceStyle, FootKind, Mount, PanelChange, PanelOptions};

/// Twelve combinations: face, which of the tops that the edge allows, ends, mount, laminate, taper, a change.
fn combinations(kind: gapwright::gap::EdgeKind, length: f64) -> Vec<PanelOptions> {
    use End::{Closed, Faded, Returned};
    use FaceStyle::{Bowed, Straight, Tangent};
    let rows = [
        (Straight, 0, [Closed, Closed], Mount::Tray, 0.0, 0.0),
        (Straight, 1, [Returned, Faded], Mount::Body, 2.0, 0.0),
        (Straight, 2, [Faded, Closed], Mount::Tray, 1.0, 8.0),
        (Straight, 0, [Returned, Returned], Mount::Body, 1.5, -8.0),
        (Bowed, 0, [Closed, Returned], Mount::Tray, 0.0, 0.0),
        (Bowed, 1, [Faded, Faded], Mount::Tray, 2.0, 6.0),
        (Bowed, 2, [Returned, Closed], Mount::Body, 0.0, 6.0),
        (Bowed, 0, [Closed, Faded], Mount::Body, 2.5, -6.0),
        (Tangent, 0, [Closed, Closed], Mount::Body, 2.0, 0.0),
        (Tangent, 1, [Returned, Closed], Mount::Tray, 0.0, 5.0),
        (Tangent, 2, [Faded, Returned], Mount::Tray, 2.0, 0.0),
        (Tangent, 0, [Faded, Closed], Mount::Body, 0.0, 10.0),
    ];
    let allowed = tops(kind);
    rows.into_iter()
        .enumerate()
        .map(|(i, (face, top, [left, right], mount, overlay, lean))| {
            let mut options = PanelOptions {
                face,
                bow_mm: if i % 2 == 0 { 4.0 } else { -3.0 },
                lean_deg: lean,
                top: Some(allowed[top % allowed.len()]),
                end_left: left,
                end_right: right,
                mount,
                overlay_mm: overlay,
                wall_top_mm: (i % 3 == 1).then_some(2.4),
                ..PanelOptions::default()
            };
            options.fixings.style = [Style::Screws, Style::Inserts, Style::Studs][i % 3];
            match i {
                0 | 8 => options.foot = FootKind::Outboard,
                3 | 9 => options.foot = FootKind::None,
                _ => {}
            }
            if options.foot == FootKind::Outboard {
                options.overlay_mm = 0.0;
            }
            if i % 4 == 2 {
                options.changes.push(PanelChange {
                    at_mm: 0.4 * length,
                    over_mm: 120.0,
                    wall_mm: Some(3.6),
                    flange_mm: Some(32.0),
                    lean_deg: Some(2.0),
                    ..PanelChange::default()
                });
            }
            options
        })
        .collect()
}

fn check_all(sample: &str) {
    let survey = survey(sample);
    let mut wrong = Vec::new();
    for (i, options) in combinations(survey.edge_kind, survey.spine.length())
        .iter()
        .enumerate()
    {
        if let Err(what) = sound(&survey, options) {
            wrong.push(format!("{sample} {i}: {what}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn twelve_combinations_on_the_nose() {
    check_all("nose");
}

#[test]
fn twelve_combinations_on_the_skirt() {
    check_all("skirt");
}

#[test]
fn twelve_combinations_on_the_tail() {
    check_all("tail");
}

/// Twenty jobs drawn by seed; `tests/bench/random_jobs.rs` takes two hundred.
#[test]
fn random_jobs_on_the_samples() {
    let surveys = SAMPLES.map(survey);
    let mut wrong = Vec::new();
    for seed in 1..=20_u64 {
        let survey = &surveys[seed as usize % surveys.len()];
        let options = random_options(seed, survey.edge_kind, survey.spine.length());
        if let Err(what) = sound(survey, &options) {
            wrong.push(format!("{seed}: {what} {options:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
