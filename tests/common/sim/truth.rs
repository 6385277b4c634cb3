//! What is known exactly about a simulated scan.

use super::gap_law::Feature;
use gapwright::math::{Point3, Vector3};
use gapwright::mesh::TriMesh;
use nalgebra::Matrix4;
use serde_json::{Value, json};

/// How the body's skin ends below.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EdgeKind {
    /// Cut square to the skin; the edge is its inner corner.
    Cut,
    /// Rolled inboard; the edge is the lowest line of the roll.
    Lip,
}

/// The true section at one arc length (vehicle frame, mm).
#[derive(Clone, Debug)]
pub struct TruthStation {
    /// Arc length along the edge's plan.
    pub s: f64,
    /// Lowest point of the true skin in the section square to the plan.
    pub edge: Point3,
    /// Horizontal unit vector out of the vehicle.
    pub outward: Vector3,
    /// Distance of the edge from the tray's surface along the tray's normal.
    pub gap: f64,
    /// The tray's surface straight below the edge.
    pub tray_below: Point3,
    /// Outermost point of the lower edge's section.
    pub silhouette: Point3,
}

/// The truth behind a scan.
#[derive(Clone, Debug)]
pub struct Truth {
    /// Stations along the edge, 5 mm apart or closer.
    pub stations: Vec<TruthStation>,
    /// File units to vehicle millimetres, scale folded in.
    pub scan_to_vehicle: Matrix4<f64>,
    /// The body as closed mesh (vehicle frame, mm).
    pub body: TriMesh,
    /// The tray and what is fixed to it, each part closed (vehicle frame, mm).
    pub tray: TriMesh,
    /// How the skin ends.
    pub edge_kind: EdgeKind,
    /// Steps and notches of the edge.
    pub features: Vec<Feature>,
}

impl Truth {
    /// Everything but the surfaces.
    pub fn to_json(&self, unit: &str) -> Value {
        let round = |v: f64| (v * 1e5).round() / 1e5;
        let triple = |x: f64, y: f64, z: f64| [round(x), round(y), round(z)];
        let point = |p: &Point3| triple(p.x, p.y, p.z);
        let rows: Vec<Vec<f64>> = self
            .scan_to_vehicle
            .row_iter()
            .map(|r| r.iter().copied().collect())
            .collect();
        let stations: Vec<Value> = self
            .stations
            .iter()
            .map(|t| {
                json!({
                    "s": round(t.s),
                    "edge": point(&t.edge),
                    "outward": triple(t.outward.x, t.outward.y, t.outward.z),
                    "gap_tray_normal": round(t.gap),
                    "tray_below": point(&t.tray_below),
                    "silhouette": point(&t.silhouette),
                })
            })
            .collect();
        let features: Vec<Value> = self
            .features
            .iter()
            .map(|f| match *f {
                Feature::Step { s, height, ramp } => {
                    json!({"type": "step", "s": round(s), "height": height, "ramp": ramp})
                }
                Feature::Notch {
                    s,
                    width,
                    depth,
                    ramp,
                } => {
                    json!({"type": "notch", "s": round(s), "width": width, "depth": depth, "ramp": ramp})
                }
            })
            .collect();
        let kind = match self.edge_kind {
            EdgeKind::Cut => "cut",
            EdgeKind::Lip => "lip",
        };
        json!({
            "frame": "vehicle: x forward, y left, z up, mm",
            "unit": unit,
            "edge_kind": kind,
            "features": features,
            "scan_to_vehicle": rows,
            "stations": stations,
        })
    }
}
