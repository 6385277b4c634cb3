//! What is drilled, printed or cut for a fixing: in the panel, and in what it is fixed to.

use super::{Fixing, FixingKind, boss};
use crate::math::{Point3, Vector3};

/// What a bore is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BoreIn {
    /// The panel: printed with it.
    Panel,
    /// The undertray: drilled by the maker.
    Tray,
    /// The body's skin: drilled by the maker.
    Body,
    /// A bracket on the body, which the maker makes.
    Bracket,
}

impl BoreIn {
    /// As tables write it.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Panel => "panel",
            Self::Tray => "tray",
            Self::Body => "body",
            Self::Bracket => "bracket",
        }
    }
}

/// A hole, slot or pocket. Lengths in mm, shop frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bore {
    /// What it is in.
    pub into: BoreIn,
    /// Its middle, on the side of the panel that lies against tray or body.
    pub at: Point3,
    /// Unit, from what the panel is fixed to into the panel.
    pub axis: Vector3,
    /// Its width.
    pub width_mm: f64,
    /// From end to end, rounded ends included; the width where it is round.
    pub length_mm: f64,
    /// Its depth; `None` right through.
    pub depth_mm: Option<f64>,
}

impl Bore {
    /// "slot", "pocket" or "hole".
    #[must_use]
    pub fn word(&self) -> &'static str {
        match self.depth_mm {
            Some(_) => "pocket",
            None if self.length_mm > self.width_mm => "slot",
            None => "hole",
        }
    }
}

impl Fixing {
    /// Its bores: the panel's own first.
    #[must_use]
    pub fn bores(&self) -> Vec<Bore> {
        let bore = |into, at, width_mm, length_mm, depth_mm| Bore {
            into,
            at,
            axis: self.axis,
            width_mm,
            length_mm,
            depth_mm,
        };
        let round = |into, at, width: f64| bore(into, at, width, width, None);
        let (screw, set) = (self.screw, self.fastener());
        let own = |width| bore(BoreIn::Panel, self.at, width, self.slot_mm, None);
        // A slot that is not in the panel lies so that the fastener sits in it where it should.
        let mate = self.at - self.along * self.set_mm;
        let slotted = |into| bore(into, mate, self.mate_hole_mm, self.slot_mm, None);
        match self.kind {
            FixingKind::ScrewIntoTray | FixingKind::StudInTray => vec![
                own(self.hole_mm),
                round(BoreIn::Tray, set, screw.rivet_hole()),
            ],
            FixingKind::ScrewThroughSkin => vec![
                own(self.hole_mm),
                round(BoreIn::Body, set, screw.clearance_hole()),
            ],
            FixingKind::StudOnSkin => vec![own(self.hole_mm)],
            FixingKind::InsertInLip => {
                let pocket = Some(boss::depth(screw));
                vec![
                    bore(BoreIn::Panel, self.at, self.hole_mm, self.hole_mm, pocket),
                    slotted(BoreIn::Body),
                ]
            }
            FixingKind::StudOnPanel => vec![slotted(BoreIn::Bracket)],
        }
    }

    /// Where its fastener's axis meets the side of the panel that lies against tray or body.
    #[must_use]
    pub fn fastener(&self) -> Point3 {
        if self.kind.slots_the_panel() {
            self.at + self.along * self.set_mm
        } else {
            self.at
        }
    }

    /// Shortest usual screw for it (mm under the head); `None` for a stud.
    #[must_use]
    pub fn screw_length(&self) -> Option<f64> {
        let (screw, washer) = (self.screw, self.screw.washer_thickness());
        match self.kind {
            // What stands beyond the wall is thread in the rivet nut.
            FixingKind::ScrewIntoTray => Some(screw.length_for(self.wall_mm + washer)),
            FixingKind::ScrewThroughSkin => {
                let through = self.mate_mm + self.wall_mm + 2.0 * washer;
                let nut = screw.nut_height() + screw.two_threads();
                // The nut and two threads in place of one and a half diameters.
                Some(screw.length_for(through + nut - 1.5 * screw.diameter()))
            }
            FixingKind::InsertInLip => Some(screw.length_for(self.mate_mm + washer)),
            FixingKind::StudInTray | FixingKind::StudOnSkin | FixingKind::StudOnPanel => None,
        }
    }

    /// How far its stud stands out of what it sits in, at the least (mm); `None` for a screw.
    #[must_use]
    pub fn stud_length(&self) -> Option<f64> {
        let screw = self.screw;
        let nut = screw.washer_thickness() + screw.nut_height() + screw.two_threads();
        match self.kind {
            FixingKind::StudInTray => Some((self.wall_mm + nut).ceil()),
            FixingKind::StudOnSkin => {
                Some((self.mate_mm - self.skin_mm + self.wall_mm + nut).ceil())
            }
            FixingKind::StudOnPanel => Some(super::hardware::PAD_STUD_MM),
            _ => None,
        }
    }

    /// How far a blind end stands out under the tray (mm, about); zero where none does. No kind has its
    /// head there.
    #[must_use]
    pub fn under_tray_mm(&self) -> f64 {
        match self.kind {
            FixingKind::ScrewIntoTray | FixingKind::StudInTray => self.screw.blind_end(),
            _ => 0.0,
        }
    }
}

/// What to buy for some fixings: how many, and what.
#[must_use]
pub fn to_buy(fixings: &[Fixing]) -> Vec<(usize, String)> {
    let mut list: Vec<(usize, String)> = Vec::new();
    let mut add = |what: String| match list.iter_mut().find(|(_, known)| *known == what) {
        Some((count, _)) => *count += 1,
        None => list.push((1, what)),
    };
    for fixing in fixings {
        let thread = fixing.screw.name();
        if let Some(length) = fixing.screw_length() {
            add(format!("screw {thread} x {length:.0}"));
        }
        if fixing.washer_mm > 0.0 && fixing.kind != FixingKind::StudOnPanel {
            let wide = if fixing.kind == FixingKind::InsertInLip {
                fixing.screw.washer()
            } else {
                fixing.washer_mm
            };
            add(format!("washer {thread}, {wide:.0} mm wide"));
        }
        let stud = fixing.stud_length().unwrap_or_default();
        match fixing.kind {
            FixingKind::ScrewIntoTray => add(format!("rivet nut {thread}, flat or countersunk")),
            FixingKind::StudInTray => {
                add(format!(
                    "blind rivet stud {thread}, {stud:.0} mm proud at least"
                ));
                add(format!("locking nut {thread}"));
            }
            FixingKind::ScrewThroughSkin => {
                add(format!("washer {thread} under the head"));
                add(format!("locking nut {thread}"));
            }
            FixingKind::StudOnSkin => {
                add(format!(
                    "stud {thread} on a plate, to bond on, {stud:.0} mm long at least"
                ));
                add(format!("locking nut {thread}"));
            }
            FixingKind::InsertInLip => add(format!(
                "threaded insert {thread}, {:.1} mm long, for a hole of {:.1} mm",
                fixing.screw.insert_length(),
                fixing.screw.insert_hole()
            )),
            FixingKind::StudOnPanel => {
                add(format!(
                    "stud {thread} x {stud:.0} on a plate of {:.0} mm, to bond on",
                    fixing.washer_mm
                ));
                add(format!("washer {thread}"));
                add(format!("locking nut {thread}"));
            }
        }
    }
    list
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::fixings::Screw;

    fn fixing(kind: FixingKind) -> Fixing {
        let slots = kind.slots_the_panel();
        Fixing {
            number: 1,
            s: 100.0,
            at: Point3::new(10.0, 100.0, 0.0),
            axis: Vector3::z(),
            along: Vector3::y(),
            kind,
            screw: Screw::M5,
            hole_mm: match kind {
                FixingKind::InsertInLip => 6.4,
                FixingKind::StudOnPanel => 0.0,
                _ => 5.5,
            },
            slot_mm: 8.5,
            mate_hole_mm: if slots { 0.0 } else { 5.5 },
            set_mm: 0.75,
            washer_mm: 15.0,
            from_face_mm: 14.0,
            to_edge_mm: 11.0,
            wall_mm: 3.0,
            skin_mm: 0.0,
            mate_mm: 0.0,
            room_mm: None,
            head_mm: 6.2,
        }
    }

    /// By hand: slot in the panel at its middle, the tray's hole where the fastener is set.
    #[test]
    fn the_trays_hole_lies_where_the_fastener_is_set() {
        let bores = fixing(FixingKind::ScrewIntoTray).bores();
        assert_eq!((bores[0].word(), bores[1].word()), ("slot", "hole"));
        assert_eq!(bores[0].at.y, 100.0);
        assert_eq!((bores[1].at.y, bores[1].into), (100.75, BoreIn::Tray));
        // The panel's slot is round the fastener with its ends 1.5 mm either way of the middle: set 0.75
        // mm to the right, 0.75 mm are left on that side.
        assert_eq!(0.5 * (8.5 - 5.5) - 0.75, 0.75);
    }

    #[test]
    fn a_slot_in_the_skin_lies_the_other_way_of_the_fastener() {
        let insert = fixing(FixingKind::InsertInLip);
        let bores = insert.bores();
        assert_eq!((bores[0].word(), bores[1].word()), ("pocket", "slot"));
        assert_eq!(insert.fastener().y, 100.0);
        assert_eq!(bores[1].at.y, 99.25);
        assert_eq!(bores[0].depth_mm, Some(10.5));
    }

    #[test]
    fn what_is_bought_is_counted_and_long_enough() {
        let three = vec![fixing(FixingKind::ScrewIntoTray); 3];
        let list = to_buy(&three);
        // 3 mm of wall, 1.2 of washer and 7.5 of thread: 11.7, so 12.
        assert_eq!(list[0], (3, "screw M5 x 12".to_owned()));
        assert!(list.iter().all(|(count, _)| *count == 3) && list.len() == 3);
        let mut through = fixing(FixingKind::ScrewThroughSkin);
        (through.skin_mm, through.mate_mm) = (3.0, 4.6);
        // 4.6 + 3 + 2.4 + 4.7 + 1.6 = 16.3.
        assert_eq!(through.screw_length(), Some(20.0));
        assert_eq!(through.under_tray_mm(), 0.0);
        // Wall, washer, nut and two threads: 10.5.
        assert_eq!(fixing(FixingKind::StudInTray).stud_length(), Some(11.0));
    }
}
