//! The face that the part is moulded on, and how the part comes off it.

use super::course::{Course, Row};
use super::draft::{Bays, Draft, DraftClass, Lifted, best_way, propose_pieces};
use super::form::Lift;
use super::marks;
use crate::diag::Finding;
use crate::math::{Point3, Spine, Vector3};
use crate::mesh::TriMesh;
use crate::mesh::weld::drop_unused_points;
use crate::panel::loft::Loft;

/// A stretch that comes off one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// From and to (arc length, mm).
    pub along: [f64; 2],
    /// The way (unit, shop frame).
    pub lift: Vector3,
    /// Least draft in it (rad).
    pub worst: f64,
}

/// The face between the trim lines: its surface, and its normals bay by bay.
pub struct Moulded {
    /// Its surface.
    pub face: TriMesh,
    bays: Bays,
    /// Arc lengths at which the bays begin and end.
    along: Vec<f64>,
}

impl Moulded {
    /// The face of these fronts between the trim line's ends.
    pub fn new(fronts: &Course, spine: &Spine, trim: [f64; 2]) -> Self {
        let rows: Vec<&Row> = (fronts.rows.iter())
            .filter(|row| trim[0] <= row.s && row.s <= trim[1])
            .collect();
        let placed = rows.iter().map(|row| (row.s, row.points.as_slice()));
        let loft = Loft::new(spine, placed, &[]);
        let edges = marks::face_edges(loft.count);
        let mut bays = vec![Vec::new(); rows.len().saturating_sub(1)];
        let points = &loft.mesh().points;
        for side in loft.sides(edges.clone()) {
            let [a, b, c]: [Point3; 3] = side.triangle.map(|i| points[i as usize]);
            let area = (b - a).cross(&(c - a));
            if let (Some(bay), Some(normal)) =
                (bays.get_mut(side.outline), area.try_normalize(1e-6))
            {
                bay.push(normal);
            }
        }
        Self {
            face: drop_unused_points(loft.strip(edges)),
            bays,
            along: rows.iter().map(|row| row.s).collect(),
        }
    }

    /// The way the job asks for.
    pub fn way(&self, lift: Lift) -> Vector3 {
        match lift {
            Lift::Auto => best_way(&self.bays).lift,
            Lift::Up => Vector3::z(),
            Lift::Out => level_way(&self.bays),
        }
    }

    /// The stretches that come off with a draft of `least` (rad), the fewest; none where nothing helps.
    pub fn pieces(&self, least: f64) -> Vec<Piece> {
        let whole = best_way(&self.bays);
        let pieces: Vec<Lifted> = if DraftClass::of(whole.worst, least) == DraftClass::Good {
            vec![whole]
        } else {
            propose_pieces(&self.bays, least).unwrap_or_default()
        };
        let s = |row: usize| self.along.get(row).copied().unwrap_or(0.0);
        (pieces.iter())
            .map(|piece| Piece {
                along: piece.rows.map(s),
                lift: piece.lift,
                worst: piece.worst,
            })
            .collect()
    }
}

/// Level, the way the face looks on the whole.
fn level_way(bays: &Bays) -> Vector3 {
    let sum: Vector3 = bays.iter().flatten().sum();
    Vector3::new(sum.x, sum.y, 0.0)
        .try_normalize(1e-9)
        .unwrap_or_else(Vector3::x)
}

/// A warning where the lift leaves too little draft, with what to do.
pub fn draft_finding(draft: &Draft, pieces: &[Piece], least: f64) -> Option<Finding> {
    if DraftClass::of(draft.worst, least) == DraftClass::Good {
        return None;
    }
    let share = |class| 100.0 * draft.area(class) / draft.whole().max(1e-9);
    // Only what there is; a share that rounds to nothing is not told.
    let told = [
        (DraftClass::Undercut, "leans back and holds the part"),
        (DraftClass::None, "stands straight and drags"),
        (DraftClass::Slight, "has too little draft"),
    ]
    .into_iter()
    .filter(|(class, _)| share(*class) >= 0.5)
    .map(|(class, does)| format!("{:.0} % of the face {does}", share(class)));
    let told: Vec<String> = told.collect();
    let told = match told.is_empty() {
        true => "a spot of the face holds it or drags".to_owned(),
        false => told.join(", "),
    };
    let what = format!(
        "the part does not come off the buck freely all in one way: {}; {:.1} degrees of draft are asked for, and the least is {:.1}",
        told,
        least.to_degrees(),
        // Adding zero keeps "-0.0" off the page.
        (draft.worst.to_degrees() * 10.0).round() / 10.0 + 0.0
    );
    let lines: Vec<String> = (pieces.iter().skip(1))
        .map(|piece| format!("{:.0} mm", piece.along[0]))
        .collect();
    let hint = if lines.is_empty() {
        "wedge it off all round a little at a time, or take the buck's segments out of the part one by one"
            .to_owned()
    } else {
        format!(
            "make the part in {} pieces, split at station {}, and lift each its own way; or take the buck's segments out \
             of the part one by one",
            pieces.len(),
            lines.join(" and ")
        )
    };
    Some(Finding::warning("buck-draft", what, hint))
}
