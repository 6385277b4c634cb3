//! What the report says about the panel: its wall, cuts, ends, and how fair its lines are.

use super::report::{rounded, top_word};
use crate::panel::{End, Fairness, Panel, WallProof};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct PanelPart {
    top: &'static str,
    triangles: usize,
    volume_mm3: f64,
    wall: WallPart,
    reliefs: Vec<ReliefPart>,
    ends: EndsPart,
    fairness: FairnessPart,
}

#[derive(Serialize)]
struct WallPart {
    asked_mm: f64,
    face: Option<ThicknessPart>,
    lip: Option<ThicknessPart>,
    flange: Option<ThicknessPart>,
    end: Option<ThicknessPart>,
}

#[derive(Serialize)]
struct ThicknessPart {
    least: WallAt,
    most: WallAt,
    samples: usize,
}

#[derive(Serialize)]
struct WallAt {
    mm: f64,
    asked_mm: f64,
    station_mm: f64,
}

#[derive(Serialize)]
struct ReliefPart {
    along_mm: [f64; 2],
    height_mm: f64,
}

#[derive(Serialize)]
struct EndsPart {
    left: EndPart,
    right: EndPart,
}

#[derive(Serialize)]
struct EndPart {
    end: &'static str,
    along_mm: [f64; 2],
}

#[derive(Serialize)]
struct FairnessPart {
    most_mm: f64,
    at_mm: f64,
    rms_mm: f64,
}

fn wall_part(wall: &WallProof) -> WallPart {
    let parts = [wall.face, wall.lip, wall.flange, wall.end];
    let [face, lip, flange, end] = parts.map(|part| {
        part.map(|t| {
            let [least, most] = [t.least, t.most].map(|at| WallAt {
                mm: rounded(at.mm),
                asked_mm: rounded(at.asked_mm),
                station_mm: rounded(at.station_mm),
            });
            ThicknessPart {
                least,
                most,
                samples: t.samples,
            }
        })
    });
    WallPart {
        asked_mm: wall.asked_mm,
        face,
        lip,
        flange,
        end,
    }
}

pub(super) fn panel_part(panel: &Panel) -> PanelPart {
    let mesh = panel.solid.mesh();
    PanelPart {
        top: top_word(panel.top),
        triangles: mesh.triangles.len(),
        volume_mm3: rounded(mesh.signed_volume()),
        wall: wall_part(&panel.wall),
        reliefs: panel
            .reliefs
            .iter()
            .map(|r| ReliefPart {
                along_mm: r.along.map(rounded),
                height_mm: rounded(r.height),
            })
            .collect(),
        ends: ends_part(panel),
        fairness: fairness_part(panel.fairness),
    }
}

fn ends_part(panel: &Panel) -> EndsPart {
    let [left, right] = panel.ends.map(|zone| EndPart {
        end: match zone.end {
            End::Closed => "closed",
            End::Returned => "returned",
            End::Faded => "faded",
        },
        along_mm: zone.along.map(rounded),
    });
    EndsPart { left, right }
}

fn fairness_part(fairness: Fairness) -> FairnessPart {
    FairnessPart {
        most_mm: rounded(fairness.most_mm),
        at_mm: rounded(fairness.at_mm),
        rms_mm: rounded(fairness.rms_mm),
    }
}
