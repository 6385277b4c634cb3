//! `[panel]`: the closeout panel's shape.

use super::{Clash, List, Table};
use crate::job::entry::Entry;
use crate::panel::{
    End, FaceStyle, FootKind, LineUp, MOST_FLANGE_MM, Mount, PanelChange, PanelOptions, Top,
    TwinKind, least_flange,
};
use std::path::{Path, PathBuf};

const TOPS: &[(&str, Option<Top>)] = &[
    ("auto", None),
    ("tucked", Some(Top::Tucked)),
    ("butted", Some(Top::Butted)),
    ("lapped", Some(Top::Lapped)),
];

const FACES: &[(&str, FaceStyle)] = &[
    ("straight", FaceStyle::Straight),
    ("bowed", FaceStyle::Bowed),
    ("tangent", FaceStyle::Tangent),
];

const FEET: &[(&str, FootKind)] = &[
    ("inboard", FootKind::Inboard),
    ("outboard", FootKind::Outboard),
    ("none", FootKind::None),
];

const LINE_UPS: &[(&str, LineUp)] = &[("edge", LineUp::Edge), ("silhouette", LineUp::Silhouette)];

const MOUNTS: &[(&str, Mount)] = &[("tray", Mount::Tray), ("body", Mount::Body)];
const ENDS: &[(&str, End)] = &[
    ("closed", End::Closed),
    ("returned", End::Returned),
    ("faded", End::Faded),
];

const TWINS: &[(&str, TwinKind)] = &[("none", TwinKind::None), ("mirrored", TwinKind::Mirrored)];

/// Bounds that the panel and its changes along the spine share.
const WALL: [f64; 2] = [0.8, 20.0];
const FLANGE: [f64; 2] = [5.0, MOST_FLANGE_MM];
const FILLET: [f64; 2] = [0.0, 20.0];
const SEAL: [f64; 2] = [0.0, 30.0];
const LIP: [f64; 2] = [2.0, 60.0];
const BOW: [f64; 2] = [-60.0, 60.0];
const LEAN: [f64; 2] = [-40.0, 40.0];
const SETBACK: [f64; 2] = [0.0, 30.0];
const OVERLAY: [f64; 2] = [0.0, 20.0];

/// `[[panel_change]]`: what of the section is different from a station on.
pub(super) fn changes(into: &mut Vec<PanelChange>) -> List<'_> {
    List::new(
        CHANGES,
        into,
        change,
        "Where the section changes along the gap: from there on it has the values named here.",
    )
}

const CHANGES: &str = "panel_change";

fn change(c: &mut PanelChange) -> Vec<Entry<'_>> {
    const SAYS: &str = "As under [panel], from there on.";
    let maybe = |key, value, bounds| Entry::maybe_length(key, value, bounds, SAYS);
    vec![
        Entry::length(
            "at_mm",
            &mut c.at_mm,
            [0.0, 100_000.0],
            "Station in the middle of the change, as the sheet counts them from your left.",
        )
        .required(),
        Entry::length(
            "over_mm",
            &mut c.over_mm,
            [5.0, 2000.0],
            "Length over which it comes in smoothly.",
        ),
        maybe("wall_mm", &mut c.wall_mm, WALL),
        maybe("wall_top_mm", &mut c.wall_top_mm, WALL),
        maybe("flange_mm", &mut c.flange_mm, FLANGE),
        maybe("fillet_mm", &mut c.fillet_mm, FILLET),
        maybe("seal_mm", &mut c.seal_mm, SEAL),
        maybe("tuck_mm", &mut c.tuck_mm, LIP),
        maybe("lap_mm", &mut c.lap_mm, LIP),
        maybe("bow_mm", &mut c.bow_mm, BOW),
        Entry::maybe_number("lean_deg", &mut c.lean_deg, (LEAN, "degrees"), SAYS),
        maybe("setback_mm", &mut c.setback_mm, SETBACK),
        maybe("overlay_mm", &mut c.overlay_mm, OVERLAY),
    ]
}

pub(super) fn table<'a>(o: &'a mut PanelOptions, twin_job: &'a mut Option<PathBuf>) -> Table<'a> {
    let length = Entry::length;
    Table {
        name: "panel",
        says: "The closeout panel's shape.",
        entries: vec![
            length(
                "wall_mm",
                &mut o.wall_mm,
                WALL,
                "Wall thickness, measured square to the face.",
            ),
            Entry::maybe_length(
                "wall_top_mm",
                &mut o.wall_top_mm,
                WALL,
                "Wall at the top of the face and of its lip, for a face that tapers; left out, the same all over.",
            ),
            Entry::choice(
                "face",
                &mut o.face,
                FACES,
                "How the face runs from foot to top: straight, bowed by bow_mm, or on the arc that meets the body's skin without a corner.",
            ),
            length(
                "bow_mm",
                &mut o.bow_mm,
                BOW,
                "How far the middle of a bowed face stands out from the straight line; negative for a hollow one.",
            ),
            Entry::number(
                "lean_deg",
                &mut o.lean_deg,
                (LEAN, "degrees"),
                "Lean of the face: positive where its top lies further inboard than its foot.",
            ),
            Entry::choice(
                "foot",
                &mut o.foot,
                FEET,
                "What stands on the tray: a flange that runs inboard, out of sight, one that runs outboard where the tray reaches out that far, or the wall alone, for a panel held on the body.",
            ),
            Entry::choice(
                "line_up",
                &mut o.line_up,
                LINE_UPS,
                "What the outside of a butted panel is lined up with: the edge over it, or the outermost of the body's skin, as far as the top still reaches under the edge.",
            ),
            length(
                "setback_mm",
                &mut o.setback_mm,
                SETBACK,
                "How much further inboard the outside stands.",
            ),
            length(
                "overlay_mm",
                &mut o.overlay_mm,
                OVERLAY,
                "Thickness of a laminate laid over the outside of the print, which is drawn back by it.",
            ),
            length(
                "flange_mm",
                &mut o.flange_mm,
                FLANGE,
                "Depth of the flange that lies on the tray, inboard from the outside of the face.",
            ),
            length(
                "fillet_mm",
                &mut o.fillet_mm,
                FILLET,
                "Radius between flange and face, on the hidden side.",
            ),
            length(
                "seal_mm",
                &mut o.seal_mm,
                SEAL,
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
                LIP,
                "How far the lip runs up behind a cut edge.",
            ),
            length(
                "lap_mm",
                &mut o.lap_mm,
                LIP,
                "How far a lapped lip runs up outside of the skin.",
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
                "How the top meets the body: tucked behind a cut edge, butted under it with a seal, or lapped over the outside of the skin; auto goes by the edge.",
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
            Entry::maybe_file(
                "twin_job",
                twin_job,
                "The other side's own job, to hold that mirror image against its survey.",
            ),
        ],
    }
}

/// Whether nothing flat is left of a flange, or too little for a section.
fn no_flat(flange_mm: f64, wall_mm: f64, fillet_mm: f64) -> bool {
    flange_mm <= wall_mm + fillet_mm || flange_mm < least_flange(wall_mm)
}

const FLAT_HINT: &str = "make flange_mm deeper than wall_mm and fillet_mm together, and than one and a half walls and 1 mm";

pub(super) fn clashes(
    o: &PanelOptions,
    changes: &[PanelChange],
    twin_job: Option<&Path>,
) -> Vec<Clash> {
    let mut found = Vec::new();
    if no_flat(o.flange_mm, o.wall_mm, o.fillet_mm) {
        found.push(Clash {
            table: "panel",
            key: "flange_mm",
            what: format!(
                "a flange of {} mm has no flat left behind a wall of {} mm and a fillet of {} mm",
                o.flange_mm, o.wall_mm, o.fillet_mm
            ),
            hint: FLAT_HINT,
        });
    }
    let mut clash = |key, what: String, hint: &'static str| {
        found.push(Clash {
            table: "panel",
            key,
            what,
            hint,
        });
    };
    if twin_job.is_some() && o.twin == TwinKind::None {
        clash(
            "twin_job",
            "the other side's job is named, and no twin is asked for".to_owned(),
            "write twin = \"mirrored\", or leave twin_job out",
        );
    }
    if o.bow_mm != 0.0 && o.face != FaceStyle::Bowed {
        let face = FACES.iter().find(|(_, style)| *style == o.face);
        clash(
            "bow_mm",
            format!("a {} face has no bow of its own", face.map_or("", |f| f.0)),
            "write face = \"bowed\", or leave bow_mm out",
        );
    }
    let lapped = o.top == Some(Top::Lapped);
    if lapped && (o.setback_mm > 0.0 || changes.iter().any(|c| c.setback_mm > Some(0.0))) {
        clash(
            "setback_mm",
            "a lapped lip lies against the skin and cannot stand further inboard".to_owned(),
            "leave setback_mm out, or write top = \"butted\"",
        );
    }
    if o.line_up == LineUp::Silhouette && o.top != Some(Top::Butted) {
        clash(
            "line_up",
            "only a butted panel can be lined up with the silhouette".to_owned(),
            "write top = \"butted\" too, or leave line_up out",
        );
    }
    if o.foot == FootKind::None && o.mount == Mount::Tray {
        clash(
            "foot",
            "without a flange nothing holds the panel on the tray".to_owned(),
            "write mount = \"body\" too, or foot = \"inboard\"",
        );
    }
    if o.foot == FootKind::Outboard {
        let laid = o.overlay_mm > 0.0 || changes.iter().any(|c| c.overlay_mm > Some(0.0));
        if laid {
            clash(
                "foot",
                "nothing can be laid over a panel whose flange runs outboard: the cloth would end in its corner".to_owned(),
                "write foot = \"inboard\", or leave overlay_mm out",
            );
        }
        if [o.end_left, o.end_right].contains(&End::Faded) {
            clash(
                "foot",
                "a panel whose flange runs outboard cannot fade into the tray".to_owned(),
                "write foot = \"inboard\", or end_left and end_right = \"closed\" or \"returned\"",
            );
        }
    }
    for change in changes {
        let wall = change.wall_mm.unwrap_or(o.wall_mm);
        let (flange, fillet) = (
            change.flange_mm.unwrap_or(o.flange_mm),
            change.fillet_mm.unwrap_or(o.fillet_mm),
        );
        let mut clash = |key, what: String, hint: &'static str| {
            found.push(Clash {
                table: CHANGES,
                key,
                what,
                hint,
            });
        };
        if change.is_empty() {
            clash(
                "at_mm",
                format!("the change at {} mm names nothing to change", change.at_mm),
                "name what is different from there on, such as wall_mm = 4",
            );
        }
        if no_flat(flange, wall, fillet) {
            clash(
                "flange_mm",
                format!(
                    "from {} mm on a flange of {flange} mm has no flat left behind a wall of {wall} mm and a \
                     fillet of {fillet} mm",
                    change.at_mm
                ),
                FLAT_HINT,
            );
        }
        if change.bow_mm.is_some() && o.face != FaceStyle::Bowed {
            clash(
                "bow_mm",
                "only a bowed face has a bow to change".to_owned(),
                "write face = \"bowed\" under [panel]",
            );
        }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_go_together_is_told() {
        let keys = |o: &PanelOptions, changes: &[PanelChange]| -> Vec<(&str, &str)> {
            clashes(o, changes, None)
                .iter()
                .map(|c| (c.table, c.key))
                .collect()
        };
        let plain = PanelOptions::default();
        let change = |set: fn(&mut PanelChange)| {
            let mut change = PanelChange::default();
            set(&mut change);
            [change]
        };
        assert!(keys(&plain, &change(|c| c.wall_mm = Some(4.0))).is_empty());
        assert_eq!(keys(&plain, &change(|_| ())), [(CHANGES, "at_mm")]);
        assert_eq!(
            keys(&plain, &change(|c| c.flange_mm = Some(6.0))),
            [(CHANGES, "flange_mm")]
        );
        assert_eq!(
            keys(&plain, &change(|c| c.bow_mm = Some(2.0))),
            [(CHANGES, "bow_mm")]
        );
        let odd = PanelOptions {
            bow_mm: 3.0,
            line_up: LineUp::Silhouette,
            foot: FootKind::None,
            setback_mm: 2.0,
            top: Some(Top::Lapped),
            ..PanelOptions::default()
        };
        assert_eq!(
            keys(&odd, &[]),
            [
                ("panel", "bow_mm"),
                ("panel", "setback_mm"),
                ("panel", "line_up"),
                ("panel", "foot")
            ]
        );
        let out = PanelOptions {
            foot: FootKind::Outboard,
            overlay_mm: 2.0,
            end_left: End::Faded,
            ..PanelOptions::default()
        };
        assert_eq!(keys(&out, &[]), [("panel", "foot"), ("panel", "foot")]);
    }
}
