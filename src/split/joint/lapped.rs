//! Putting a lapped joint together: the tab and its keys, each tried against the neighbour first.

use super::super::{PrinterOptions, SplitFault, Workpiece};
use super::hidden::HiddenSide;
use super::key::Keyway;
use super::tab::{EMBED_MM, glue_area, make_tab};
use super::{CONTACT_MM3, Form, JointKind, Parts, Place, face_in_plane, without_tab};
use crate::mesh::topology::find_pieces;
use crate::mesh::{Solid, boolean};

/// A lapped joint: the tab with its keys, checked against the neighbour.
pub(super) fn lap(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    place: &Place,
    keyway: Option<&Keyway>,
) -> Result<Parts, SplitFault> {
    let (number, s) = (place.number, place.s);
    let fault = |f: boolean::BooleanFault| SplitFault::not_made(number, f);
    let (Some(tab), Some(grown)) = (
        make_tab(work, hidden, printer, s, Form::Whole),
        make_tab(work, hidden, printer, s, Form::Grown),
    ) else {
        return Ok(without_tab(
            "joint-without-tab",
            "the hidden face is too low or too short there",
        ));
    };
    let (Ok(tab), Ok(grown)) = (tab, grown) else {
        return Ok(without_tab(
            "joint-without-tab",
            "the hidden face folds there",
        ));
    };
    let touched = boolean::intersect(&grown, place.next).map_err(fault)?;
    if touched.is_some_and(|t| t.volume() > CONTACT_MM3) {
        return Ok(without_tab(
            "tab-in-the-way",
            "it would come too near to its neighbour",
        ));
    }
    let united = boolean::unite(&[place.own, &tab])
        .map_err(fault)?
        .ok_or(SplitFault::NoLength)?;
    // A tab in the open would be a piece of its own.
    if find_pieces(united.mesh()).1 > find_pieces(place.own.mesh()).1 {
        return Ok(without_tab("tab-not-held", "nothing is there to hold it"));
    }
    let gain = united.volume() - place.own.volume();
    let held_mm = (tab.volume() - gain) / EMBED_MM / printer.tab_mm;
    let (mut add, mut cut_next) = (vec![tab], Vec::new());
    let keyed = match keyway {
        Some(keyway) => make_keys(work, hidden, printer, place, keyway)?,
        None => None,
    };
    let keys = match (keyway, keyed) {
        (Some(keyway), Some((tongues, grooves))) => {
            add.extend(tongues);
            cut_next = grooves;
            keyway.keys(face_in_plane(work, hidden, s))
        }
        _ => Vec::new(),
    };
    let keyway = keyway.filter(|_| !keys.is_empty());
    Ok(Parts {
        kind: JointKind::Tab,
        add,
        add_next: Vec::new(),
        cut_own: Vec::new(),
        cut_next,
        glue_mm2: glue_area(work, hidden, printer, s, keyway),
        keys,
        held_mm,
        lacks: Vec::new(),
    })
}

/// Tongues and grooves.
pub(super) type MadeKeys = (Vec<Solid>, Vec<Solid>);

/// The tongues and their grooves; `None` if they would not keep their fit.
pub(super) fn make_keys(
    work: &Workpiece,
    hidden: &HiddenSide,
    printer: &PrinterOptions,
    place: &Place,
    keyway: &Keyway,
) -> Result<Option<MadeKeys>, SplitFault> {
    let s = place.s;
    let fault = |f: boolean::BooleanFault| SplitFault::not_made(place.number, f);
    let tongues = keyway.tongues(work, hidden, printer, s, Form::Whole);
    let grown = keyway.tongues(work, hidden, printer, s, Form::Grown);
    let grooves = keyway.grooves(work, hidden, printer, s);
    let (Some(Ok(tongues)), Some(Ok(grown)), Some(Ok(grooves))) = (tongues, grown, grooves) else {
        return Ok(None);
    };
    for bar in &grown {
        let Some(inside) = boolean::intersect(bar, place.next).map_err(fault)? else {
            continue;
        };
        let cut: Vec<&Solid> = grooves.iter().collect();
        let left = boolean::subtract(&inside, &cut).map_err(fault)?;
        if left.is_some_and(|l| l.volume() > CONTACT_MM3) {
            return Ok(None);
        }
    }
    Ok(Some((tongues, grooves)))
}
