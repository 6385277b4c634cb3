//! The panel of the vehicle's other side: this one's mirror image, in that side's own shop frame.
//!
//! Mirrored in the plane of x and z: x still points outward, to the maker who now stands on the other
//! side, and y to that maker's right. Left and right change places.

use super::fixings::TrayFixing;
use super::{EndZone, Fairness, Fixing, KeptOut, Panel, Relief, Section};
use crate::math::{Point3, Spine, Vector3};
use crate::mesh::SolidFault;

/// A panel and the spine it runs along, in the shop frame of the vehicle's other side.
#[derive(Debug, Clone)]
pub struct Twin {
    /// The panel. What was found on the way stays with the one it is the image of.
    pub panel: Panel,
    /// Its spine.
    pub spine: Spine,
}

/// A direction on the other side.
fn across(way: Vector3) -> Vector3 {
    Vector3::new(way.x, -way.y, way.z)
}

/// The mirror image of a panel and its spine.
///
/// # Errors
/// None is to be expected: no coordinate is rounded anew.
pub fn mirror(panel: &Panel, spine: &Spine) -> Result<Twin, SolidFault> {
    let length = spine.length();
    let turned = |[from, to]: [f64; 2]| [length - to, length - from];
    let [left, right] = panel.ends.map(|zone| EndZone {
        along: turned(zone.along),
        ..zone
    });
    let section = |section: &Section| Section {
        s: length - section.s,
        ..section.clone()
    };
    let relief = |relief: &Relief| Relief {
        along: turned(relief.along),
        ..relief.clone()
    };
    let count = panel.fixings.len();
    let fixing = |(i, fixing): (usize, &Fixing)| Fixing {
        number: count - i,
        s: length - fixing.s,
        at: Point3::new(fixing.at.x, -fixing.at.y, fixing.at.z),
        axis: across(fixing.axis),
        // To the maker's right again, on the other side.
        along: -across(fixing.along),
        set_mm: -fixing.set_mm,
        ..fixing.clone()
    };
    let kept_out = |kept: &KeptOut| KeptOut {
        along: turned(kept.along),
        ..kept.clone()
    };
    let tray_fixing = |seen: &TrayFixing| TrayFixing {
        s: length - seen.s,
        ..seen.clone()
    };
    Ok(Twin {
        panel: Panel {
            solid: panel.solid.mirrored()?,
            sections: panel.sections.iter().rev().map(section).collect(),
            top: panel.top,
            reliefs: panel.reliefs.iter().rev().map(relief).collect(),
            fixings: panel.fixings.iter().enumerate().rev().map(fixing).collect(),
            kept_out: panel.kept_out.iter().rev().map(kept_out).collect(),
            tray_fixings: panel.tray_fixings.iter().rev().map(tray_fixing).collect(),
            ends: [right, left],
            fairness: Fairness {
                at_mm: length - panel.fairness.at_mm,
                ..panel.fairness
            },
            keep_clear: panel
                .keep_clear
                .iter()
                .rev()
                .map(|&at| turned(at))
                .collect(),
            wall: panel.wall.mirrored(length),
            findings: Vec::new(),
        },
        spine: spine.mirrored(),
    })
}
