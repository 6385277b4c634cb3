//! `[[position]]`: further positions of the tray.

use super::{Clash, List};
use crate::gap::Front;
use crate::gap::position::Position;
use crate::job::entry::Entry;

pub(super) fn list(positions: &mut Vec<Position>) -> List<'_> {
    List::new(
        "position",
        positions,
        entries,
        "A position the tray can be set to, besides the one it was scanned in.",
    )
}

fn entries(o: &mut Position) -> Vec<Entry<'_>> {
    vec![
        Entry::text("name", &mut o.name, "A short name for the position.").required(),
        Entry::number(
            "forward_mm",
            &mut o.forward_mm,
            ([-500.0, 500.0], "mm"),
            "How far it lies toward the vehicle's front from where the tray was scanned; negative to the rear. Needs front.",
        ),
        Entry::number(
            "up_mm",
            &mut o.up_mm,
            ([-200.0, 200.0], "mm"),
            "How far it lies above where the tray was scanned; negative below.",
        ),
    ]
}

pub(super) fn clashes(positions: &[Position], front: Option<Front>) -> Vec<Clash> {
    let mut found = Vec::new();
    let moved = positions.iter().find(|p| p.forward_mm != 0.0);
    if let Some(position) = moved.filter(|_| front.is_none()) {
        found.push(Clash {
            table: "position",
            key: "forward_mm",
            what: format!(
                "position \"{}\" lies {} mm forward, and the job does not say where the front is",
                position.name, position.forward_mm
            ),
            hint: "write front = \"toward\", \"away\", \"left\" or \"right\" before the first table",
        });
    }
    let twice = positions.iter().enumerate().find(|(i, position)| {
        let before = positions.iter().take(*i);
        before.into_iter().any(|other| other.name == position.name)
    });
    if let Some((_, position)) = twice {
        found.push(Clash {
            table: "position",
            key: "name",
            what: format!("two positions are called \"{}\"", position.name),
            hint: "give each position a name of its own",
        });
    }
    found
}
