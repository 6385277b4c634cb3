//! The pinned bulkhead: keyed pins on one segment's end that sit in sockets of the next one's. Where the
//! section is solid they stand in the cut itself; a thin wall is first given a web on its hidden side.

use super::super::cut::sweep;
use super::super::{PrinterOptions, Workpiece};
use super::hidden::{HiddenSide, inset};
use super::pins::{PIN_LONG_MM, Pins, ROUND_MM, Slice};
use super::tab::EMBED_MM;
use super::{CLEAR_OF_CUT_MM, Form, grown_by};
use crate::math::{Point2, Point3, StationFrame, Vector2};
use crate::mesh::{Solid, SolidFault};

/// Thickness of each of the two webs (mm), and how far a web stands back from the cut, where its twin
/// begins as far behind it: room for the glue.
pub(super) const WEB_MM: f64 = 6.0;
const WEB_BACK_MM: f64 = 0.05;
/// Most that a web reaches away from the wall (mm), and the share of the face's height.
const MOST_REACH_MM: f64 = 30.0;
const REACH_SHARE: f64 = 0.5;
/// How deep a pin is rooted in its own segment (mm).
const ROOT_MM: f64 = 3.0;
/// Lead-in at a pin's tip (mm): its length, and what the half diagonal draws back.
const LEAD_IN_MM: f64 = 2.0;
const DRAW_BACK_MM: f64 = 1.0;
/// Room past a pin's tip (mm) beyond the fit, for glue.
const PAST_TIP_MM: f64 = 0.5;
/// A hole for a screw through both webs (mm): M4 after ISO 273, medium; and its sides.
pub(super) const SCREW_HOLE_MM: f64 = 4.5;

/// How far a web reaches away from a hidden face of a height (mm).
pub(in crate::split) fn web_reach(printer: &PrinterOptions, height: f64) -> f64 {
    ((height - 2.0 * inset(printer)) * REACH_SHARE).clamp(0.0, MOST_REACH_MM)
}

/// The web's outline in the station plane at a place along the spine: foot, near and far corners.
pub(super) fn web_outline(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    s: f64,
    embed: f64,
) -> Option<[Point3; 4]> {
    let face = hidden.face_at(work, s)?;
    let reach = web_reach(printer, face.height);
    let [low, high] = [inset(printer), face.height - inset(printer)];
    // The underside rises at 45 degrees, so that it prints without support.
    (reach > 4.0 * EMBED_MM).then(|| {
        [
            face.at(low + reach, reach),
            face.at(low, -embed),
            face.at(high, -embed),
            face.at(high, reach),
        ]
    })
}

/// The webs on both sides of a cut: one for each segment.
pub(super) fn make_webs(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    cut: f64,
) -> Option<[Result<Solid, SolidFault>; 2]> {
    let web = |places: [f64; 3]| {
        let rows: Option<Vec<[Point3; 4]>> = places
            .iter()
            .map(|past| web_outline(work, hidden, printer, cut + past, EMBED_MM))
            .collect();
        Some(Solid::new(sweep(&rows?)))
    };
    Some([
        web([-WEB_MM, -WEB_MM / 2.0, -WEB_BACK_MM])?,
        web([WEB_BACK_MM, WEB_MM / 2.0, WEB_MM])?,
    ])
}

/// A bar square to the station plane with a square on its corner for a section: so it prints without
/// support, lying or standing.
fn bar(frame: &StationFrame, middle: Point2, rows: &[(f64, f64)]) -> Result<Solid, SolidFault> {
    let corners: Vec<[Point3; 4]> = rows
        .iter()
        .map(|&(past, half)| {
            let at =
                |x: f64, z: f64| frame.to_shop(middle + Vector2::new(x, z)) + frame.along * past;
            [at(-half, 0.0), at(0.0, -half), at(half, 0.0), at(0.0, half)]
        })
        .collect();
    Solid::new(sweep(&corners))
}

/// The pins, as they are joined or grown toward their sockets.
pub(super) fn make_pins(
    frame: &StationFrame,
    printer: &PrinterOptions,
    pins: &Pins,
    form: Form,
) -> Result<Vec<Solid>, SolidFault> {
    // What is grown by a distance on its faces is longer by root two of it across its corners.
    let (begin, grown) = match form {
        Form::Whole => (-ROOT_MM, 0.0),
        Form::Grown => (CLEAR_OF_CUT_MM, grown_by(printer.fit_mm)),
    };
    let wider = grown * std::f64::consts::SQRT_2;
    pins.all()
        .map(|(middle, half)| {
            let rows = [
                (begin, half + wider),
                (PIN_LONG_MM - LEAD_IN_MM, half + wider),
                (PIN_LONG_MM + grown, half - DRAW_BACK_MM + wider),
            ];
            bar(frame, middle, &rows)
        })
        .collect()
}

/// What is cut out of the neighbour for them.
pub(super) fn make_sockets(
    frame: &StationFrame,
    printer: &PrinterOptions,
    pins: &Pins,
) -> Result<Vec<Solid>, SolidFault> {
    pins.all()
        .map(|(middle, half)| {
            let half = half + printer.fit_mm * std::f64::consts::SQRT_2;
            let end = PIN_LONG_MM + printer.fit_mm + PAST_TIP_MM;
            bar(frame, middle, &[(-1.0, half), (end, half)])
        })
        .collect()
}

/// Wall left round a screw's hole (mm): three beads of 0.4 mm at least, and as round a pin where there is room.
const LEAST_ROUND_SCREW_MM: f64 = 1.2;
/// Half diagonal of the hole, a square on its corner that the screw's round goes into (mm).
const SCREW_HALF_MM: f64 = SCREW_HOLE_MM * std::f64::consts::FRAC_1_SQRT_2;
/// Places tried for the hole stand so far apart (mm).
const SCREW_STEP_MM: f64 = 1.0;

/// Where a screw goes through webs with this outline, and the wall it leaves (mm): between the pins if it
/// can, clear of their sockets and of the webs' edges. `None` where it would break into one of them.
pub(super) fn screw_place(
    web: &[Point2; 4],
    pins: &Pins,
    printer: &PrinterOptions,
) -> Option<(Point2, f64)> {
    let outline = Slice::of(web);
    let [a, b] = pins.middles;
    let middle = nalgebra::center(&a, &b);
    let socket = |half: f64| half + printer.fit_mm * std::f64::consts::SQRT_2;
    let wall = |p: Point2| {
        // Squares on their corners keep their sides parallel.
        let to_sockets = pins.all().map(|(at, half)| {
            let off = p - at;
            (off.x.abs() + off.y.abs() - socket(half) - SCREW_HALF_MM)
                * std::f64::consts::FRAC_1_SQRT_2
        });
        let to_edges = outline.inside(p) - SCREW_HALF_MM;
        to_sockets.fold(to_edges.min(ROUND_MM), f64::min)
    };
    let steps = (2.0 * MOST_REACH_MM / SCREW_STEP_MM) as i32;
    let grid = (-steps..=steps).flat_map(|i| {
        (-steps..=steps).map(move |k| Vector2::new(f64::from(i), f64::from(k)) * SCREW_STEP_MM)
    });
    let mut best: Option<(Point2, f64, f64)> = None;
    for off in grid {
        let (p, far) = (middle + off, off.norm());
        let here = wall(p);
        let better = best.is_none_or(|(_, most, near)| {
            here > most + 1e-9 || (here > most - 1e-9 && far < near - 1e-9)
        });
        if here >= LEAST_ROUND_SCREW_MM && better {
            best = Some((p, here, far));
        }
    }
    best.map(|(p, wall, _)| (p, wall))
}

/// A hole through both webs for a screw.
pub(super) fn make_screw_hole(frame: &StationFrame, middle: Point2) -> Result<Solid, SolidFault> {
    let end = WEB_MM + 1.0;
    bar(
        frame,
        middle,
        &[(-end, SCREW_HALF_MM), (end, SCREW_HALF_MM)],
    )
}

#[cfg(test)]
mod tests {
    use super::super::pins::{Pins, Section};
    use super::*;

    fn pins(middles: [[f64; 2]; 2]) -> Pins {
        Pins::at(middles.map(Point2::from), [3.5, 2.5], Section::ENDLESS)
    }

    /// A web 30 deep and 60 high: between pins far apart the hole is in the middle; between pins that stand
    /// close it goes beside them; in a web that they fill there is none.
    #[test]
    fn a_screw_keeps_clear_of_pins_and_edges() {
        let printer = PrinterOptions::default();
        let web = |deep: f64, high: f64| {
            [[-deep, 0.0], [0.0, 0.0], [0.0, high], [-deep, high]].map(Point2::from)
        };
        let far = pins([[-15.0, 10.0], [-15.0, 50.0]]);
        let (at, wall) = screw_place(&web(30.0, 60.0), &far, &printer).unwrap();
        assert_eq!((at, wall), (Point2::new(-15.0, 30.0), ROUND_MM));
        let close = pins([[-15.0, 25.0], [-15.0, 35.0]]);
        let (at, wall) = screw_place(&web(30.0, 60.0), &close, &printer).unwrap();
        assert_eq!(wall, ROUND_MM);
        for ([x, z], half) in [([-15.0, 25.0], 3.5), ([-15.0, 35.0], 2.5)] {
            let apart = ((at.x - x).abs() + (at.y - z).abs()) / 2f64.sqrt();
            // Half a side of each square, the fit and the wall.
            let least = half / 2f64.sqrt() + 0.25 + SCREW_HOLE_MM / 2.0 + ROUND_MM;
            assert!(apart > least - 1e-9, "{at} {apart} {least}");
        }
        let full = pins([[-6.5, 8.0], [-6.5, 18.0]]);
        assert_eq!(screw_place(&web(13.0, 26.0), &full, &printer), None);
    }
}
