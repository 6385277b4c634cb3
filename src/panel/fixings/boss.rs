//! Bosses on the hidden side, with a blind pocket for a threaded insert.

use super::holes::{PAST_MM, prism, stadium};
use super::{Screw, land::Seat};
use crate::mesh::Solid;

/// Wall of a boss round its pocket (mm; common practice for inserts set with heat, no source).
const ROUND_MM: f64 = 2.5;
/// Closed bottom of the pocket, and room under the insert for what it pushes ahead of it (mm).
const BOTTOM_MM: f64 = 2.0;
const UNDER_INSERT_MM: f64 = 1.0;

/// Outer diameter of a boss (mm).
pub(super) fn outer(screw: Screw) -> f64 {
    screw.insert_hole() + 2.0 * ROUND_MM
}

/// Depth of its pocket, from the side that lies against the body (mm).
pub(super) fn depth(screw: Screw) -> f64 {
    screw.insert_length() + UNDER_INSERT_MM
}

/// The boss: it begins inside the wall, so that the two are one body.
pub(super) fn body(seat: &Seat, screw: Screw) -> Result<Solid, String> {
    let outline = stadium(0.5 * outer(screw), 0.0);
    let from = 0.5 * seat.thickness_mm;
    let to = (depth(screw) + BOTTOM_MM).max(seat.thickness_mm + BOTTOM_MM);
    prism(seat, &outline, [from, to])
}

/// The pocket to take away.
pub(super) fn pocket(seat: &Seat, screw: Screw) -> Result<Solid, String> {
    let outline = stadium(0.5 * screw.insert_hole(), 0.0);
    prism(seat, &outline, [-PAST_MM, depth(screw)])
}
