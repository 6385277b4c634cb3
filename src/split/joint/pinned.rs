//! Putting a pinned bulkhead together: where its pins can stand, and its parts tried against the neighbour.
//!
//! Webs stand on the hidden side alone, so a neighbour turned inside out would close without meeting them.
//! A tongue beside the web, at a height of the joint's own as those of lapped joints are, reaches into a
//! groove of the right neighbour's hidden side, and meets anything else with its end face: another joint's
//! web as well, where the pins would pass over a lower one.

use super::super::reach::Reach;
use super::super::{PrinterOptions, SplitFault, Workpiece};
use super::bulkhead;
use super::hidden::HiddenSide;
use super::key::Keyway;
use super::lapped::make_keys;
use super::pins::{self, PIN_LONG_MM, Pins, Slice, Spot, find_spots, least_pinned_mm};
use super::{
    CONTACT_MM3, Form, JointKind, Key, Parts, Place, face_in_plane, without_pins, without_tongue,
};
use crate::mesh::{Solid, SolidFault, boolean};

/// Where pins can stand at a station: in the web, or in the section itself if there is no hidden side.
pub(super) fn spots_at(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    reach: &Reach,
    station: usize,
) -> Vec<Spot> {
    /// The section may change so far to each side of a cut (mm), in ribs as in what is solid.
    const BESIDE_MM: f64 = 2.0;
    let at = &reach.stations[station];
    let s = reach.arc_length(station);
    let slices: Vec<Slice> = if work.hidden.is_empty() {
        let mesh = work.solid.mesh();
        let Some(across) = at.across else {
            return Vec::new();
        };
        [-BESIDE_MM, 0.0, BESIDE_MM]
            .map(|past| Slice::new(mesh, &at.frame, past, across))
            .into()
    } else {
        let outline = |past: f64| {
            let corners = bulkhead::web_outline(work, hidden, printer, s + past, 0.0)?;
            let mut corners = corners.map(|p| at.frame.to_section(p));
            // Inner low, outer low, outer high, inner high: already in order round the outline.
            corners.reverse();
            Some(Slice::of(&corners))
        };
        let both = [-bulkhead::WEB_MM, 0.0, bulkhead::WEB_MM].map(outline);
        both.into_iter().flatten().collect()
    };
    find_spots(&slices, printer)
}

/// A pinned bulkhead, checked against the neighbour.
pub(super) fn pin(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    place: &Place,
    (pins, keyway): (Option<&Pins>, Option<&Keyway>),
) -> Result<Parts, SplitFault> {
    let s = place.s;
    let fault = |f: boolean::BooleanFault| SplitFault::not_made(place.number, f);
    let shape = |f: SolidFault| SplitFault::not_made(place.number, f);
    let Some(pins) = pins else {
        let why = "there is no room for two pins with a wall round them";
        let least = least_pinned_mm(printer).ceil();
        let low = (hidden.face_at(work, s)).filter(|face| face.height < least);
        return Ok(match low {
            Some(_) => without_pins(&format!(
                "{why}, the hidden face being lower than the {least:.0} mm they need"
            )),
            None => without_pins(why),
        });
    };
    let frame = work.spine.frame_at(s);
    let mut add = bulkhead::make_pins(&frame, printer, pins, Form::Whole).map_err(shape)?;
    let cut_next = bulkhead::make_sockets(&frame, printer, pins).map_err(shape)?;
    let (mut add_next, mut cut_own) = (Vec::new(), Vec::new());
    let mut cut_next_too = Vec::new();
    let mut glue_mm2 = 0.0;
    let [foot, up] = face_in_plane(work, hidden, s);
    let mut lacks = Vec::new();
    let mut tongue = None;
    let mut leaves_mm = pins::ROUND_MM;
    if !work.hidden.is_empty() {
        let Some([Ok(own), Ok(next)]) = bulkhead::make_webs(work, hidden, printer, s) else {
            return Ok(without_pins("the hidden face folds there"));
        };
        for (web, other) in [(&own, place.next), (&next, place.own)] {
            let touched = boolean::intersect(web, other).map_err(fault)?;
            if touched.is_some_and(|t| t.volume() > CONTACT_MM3) {
                return Ok(without_pins("a web would come too near to its neighbour"));
            }
        }
        glue_mm2 = next.volume() / bulkhead::WEB_MM;
        let outline = bulkhead::web_outline(work, hidden, printer, s, 0.0);
        let screw = outline.and_then(|corners| {
            let mut corners = corners.map(|p| frame.to_section(p));
            corners.reverse();
            bulkhead::screw_place(&corners, pins, printer)
        });
        let Some((middle, wall)) = screw else {
            return Ok(without_pins("there is no room for a screw beside the pins"));
        };
        let hole = bulkhead::make_screw_hole(&frame, middle).map_err(shape)?;
        leaves_mm = leaves_mm.min(wall);
        add.insert(0, own);
        add_next.push(next);
        cut_own.push(hole.clone());
        cut_next_too.push(hole);
        let made = match keyway {
            Some(keyway) => make_keys(work, hidden, printer, place, keyway)?,
            None => None,
        };
        if let Some((tongues, grooves)) = made {
            add.extend(tongues);
            cut_next_too.extend(grooves);
            tongue = keyway;
        } else {
            lacks.push(without_tongue());
        }
    }
    let grown = bulkhead::make_pins(&frame, printer, pins, Form::Grown).map_err(shape)?;
    let sockets: Vec<&Solid> = cut_next.iter().collect();
    for bar in &grown {
        if boolean::subtract(bar, &sockets)
            .map_err(fault)?
            .is_some_and(|left| left.volume() > CONTACT_MM3)
        {
            return Ok(without_pins("a pin would not keep its fit"));
        }
    }
    let keys = pins.all().map(|(at, half)| Key {
        height_mm: at.y - foot.y,
        at_mm: at.coords.into(),
        wide_mm: half * std::f64::consts::SQRT_2,
        long_mm: PIN_LONG_MM,
        into_mm: PIN_LONG_MM,
        leaves_mm,
    });
    Ok(Parts {
        kind: JointKind::Bulkhead,
        keys: keys
            .chain(tongue.iter().flat_map(|keyway| keyway.keys([foot, up])))
            .collect(),
        add,
        add_next,
        cut_own,
        cut_next: cut_next.into_iter().chain(cut_next_too).collect(),
        glue_mm2,
        held_mm: 0.0,
        lacks,
    })
}
