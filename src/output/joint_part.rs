//! A joint and a label in the report.

use crate::split::{Joint, Key, Label, Segments};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct JointPart {
    station_mm: f64,
    letter: String,
    kind: &'static str,
    tab_on: usize,
    tab_volume_mm3: f64,
    cut_volume_mm3: f64,
    fit_mm: f64,
    reach_mm: f64,
    glue_mm2: f64,
    seats_along: [f64; 3],
    keys: Vec<KeyPart>,
}

#[derive(Serialize)]
struct KeyPart {
    height_mm: f64,
    at_mm: [f64; 2],
    wide_mm: f64,
    long_mm: f64,
    into_mm: f64,
    leaves_mm: f64,
}

/// The joints of a row, from the left. `rounded` is how the report rounds.
pub(super) fn joints_part(parts: &Segments, rounded: fn(f64) -> f64) -> Vec<JointPart> {
    let joints = parts.joints.iter();
    joints.map(|joint| joint_part(joint, rounded)).collect()
}

/// A direction keeps all its digits.
fn joint_part(joint: &Joint, rounded: fn(f64) -> f64) -> JointPart {
    let key = |key: &Key| KeyPart {
        height_mm: rounded(key.height_mm),
        at_mm: key.at_mm.map(rounded),
        wide_mm: rounded(key.wide_mm),
        long_mm: rounded(key.long_mm),
        into_mm: rounded(key.into_mm),
        leaves_mm: rounded(key.leaves_mm),
    };
    JointPart {
        station_mm: rounded(joint.s),
        letter: joint.letter.clone(),
        kind: joint.kind.name(),
        tab_on: joint.tab_on,
        tab_volume_mm3: rounded(joint.tab_volume_mm3),
        cut_volume_mm3: rounded(joint.cut_volume_mm3),
        fit_mm: rounded(joint.fit_mm),
        reach_mm: rounded(joint.reach_mm),
        glue_mm2: rounded(joint.glue_mm2),
        seats_along: joint.seats_along.into(),
        keys: joint.keys.iter().map(key).collect(),
    }
}

#[derive(Serialize)]
pub(super) struct LabelPart {
    lines: Vec<String>,
    station_mm: f64,
    height_mm: f64,
    deep_mm: f64,
    volume_mm3: f64,
}

/// `rounded` is how the report rounds.
pub(super) fn label_part(label: &Label, rounded: fn(f64) -> f64) -> LabelPart {
    LabelPart {
        lines: label.lines.clone(),
        station_mm: rounded(label.s),
        height_mm: rounded(label.height_mm),
        deep_mm: rounded(label.deep_mm),
        volume_mm3: rounded(label.volume_mm3),
    }
}
