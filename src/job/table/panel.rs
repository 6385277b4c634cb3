//! `[panel]`: the closeout panel's shape.

use super::{Clash, Table};
use crate::job::entry::Entry;
use crate::panel::{End, Mount, PanelOptions, Top, TwinKind};

const TOPS: &[(&str, Option<Top>)] = &[
    ("auto", None),
    ("tucked", Some(Top::Tucked)),
    ("butted", Some(Top::Butted)),
];

const MOUNTS: &[(&str, Mount)] = &[("tray", Mount::Tray), ("body", Mount::Body)];
const ENDS: &[(&str, End)] = &[
    ("closed", End::Closed),
    ("returned", End::Returned),
    ("faded", End::Faded),
];

const TWINS: &[(&str, TwinKind)] = &[("none", TwinKind::None), ("mirrored", TwinKind::Mirrored)];

pub(super) fn table(o: &mut PanelOptions) -> Table<'_> {
    let length = Entry::length;
    Table {
        name: "panel",
        says: "The closeout panel's shape.",
        entries: vec![
            length(
                "wall_mm",
                &mut o.wall_mm,
                [0.8, 20.0],
                "Wall thickness, measured square to the face.",
            ),
            length(
                "flange_mm",
                &mut o.flange_mm,
                [5.0, 150.0],
                "Depth of the flange that lies on the tray, inboard from the outside of the face.",
            ),
            length(
                "fillet_mm",
                &mut o.fillet_mm,
                [0.0, 20.0],
                "Radius between flange and face, on the hidden side.",
            ),
            length(
                "seal_mm",
                &mut o.seal_mm,
                [0.0, 30.0],
                "Height of the seal between the panel's top and a rolled edge, once squeezed.",
            ),
            length(
                "seal_foam_mm",
                &mut o.seal_foam_mm,
                [1.0, 60.0],
                "Free height of that seal; it works squeezed by 15 to 50 %, and the verdict goes by that.",
            ),
            length(
                "tuck_mm",
                &mut o.tuck_mm,
                [2.0, 60.0],
                "How far the lip runs up behind a cut edge.",
            ),
            length(
                "skin_mm",
                &mut o.skin_mm,
                [0.3, 30.0],
                "Thickness of the body's skin; measure it, a scan from outside cannot see it.",
            ),
            length(
                "paint_mm",
                &mut o.paint_mm,
                [0.0, 2.0],
                "Paint on each painted face, body and panel.",
            ),
            length(
                "clearance_mm",
                &mut o.clearance_mm,
                [0.0, 10.0],
                "Room between the lip and the back of the skin, beyond paint.",
            ),
            length(
                "relief_mm",
                &mut o.relief_mm,
                [0.0, 20.0],
                "Room round whatever stands on the tray.",
            ),
            Entry::choice(
                "top",
                &mut o.top,
                TOPS,
                "How the top meets the body: tucked behind a cut edge, or butted under a rolled one; auto goes by the edge.",
            ),
            Entry::choice(
                "mount",
                &mut o.mount,
                MOUNTS,
                "What the panel is fixed to: the tray, and it comes off with it; or the body, and the tray comes off past it.",
            ),
            Entry::choice(
                "end_left",
                &mut o.end_left,
                ENDS,
                "The end at your left as you face the gap: cut off flat, returned inboard by a wall, or faded down onto the tray.",
            ),
            Entry::choice(
                "end_right",
                &mut o.end_right,
                ENDS,
                "The end at your right, likewise.",
            ),
            Entry::maybe_length(
                "return_mm",
                &mut o.return_mm,
                [5.0, 150.0],
                "How far a returned end reaches inboard from the outside of the face; left out, as far as the flange.",
            ),
            length(
                "fade_mm",
                &mut o.fade_mm,
                [10.0, 500.0],
                "Length over which a faded end falls.",
            ),
            Entry::choice(
                "twin",
                &mut o.twin,
                TWINS,
                "The panel for the vehicle's other side, as this one's mirror image, cut for the printer as well.",
            ),
        ],
    }
}

pub(super) fn clashes(o: &PanelOptions) -> Vec<Clash> {
    let mut found = Vec::new();
    if o.flange_mm <= o.wall_mm + o.fillet_mm {
        found.push(Clash {
            table: "panel",
            key: "flange_mm",
            what: format!(
                "a flange of {} mm has no flat left behind a wall of {} mm and a fillet of {} mm",
                o.flange_mm, o.wall_mm, o.fillet_mm
            ),
            hint: "make flange_mm larger than wall_mm and fillet_mm together",
        });
    }
    let returned = [o.end_left, o.end_right].contains(&End::Returned);
    if let Some(depth) = o.return_mm
        && returned
        && depth < 2.0 * o.wall_mm
    {
        found.push(Clash {
            table: "panel",
            key: "return_mm",
            what: format!(
                "a return of {depth} mm hardly leaves the wall of {} mm it starts from",
                o.wall_mm
            ),
            hint: "make return_mm at least twice wall_mm, or leave it out for as far as the flange",
        });
    }
    found
}
