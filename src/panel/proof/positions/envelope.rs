//! The survey that one panel for all positions is designed on.

use super::Held;
use crate::gap::position::Setting;
use crate::gap::{Survey, TrayStrip};

/// Offsets from the edge between which a flange lies (mm), and the steps they are looked at in.
const FLANGE: [f64; 2] = [-60.0, 10.0];
const STEPS: usize = 14;

/// At each station the least gap of all positions: the edge brought down to it for a panel held on the
/// tray, the tray brought up to the highest of all for one held on the body. What the maker gets is one
/// panel that clears in every position and leaves more to fill in the others.
#[must_use]
pub fn envelope(scanned: &Survey, settings: &[Setting], held: Held) -> Survey {
    let mut made = scanned.clone();
    match held {
        Held::OnTray => {
            for (i, station) in made.stations.iter_mut().enumerate() {
                let gaps = settings.iter().filter_map(|s| s.survey.stations.get(i));
                let least = gaps.map(|other| other.gap).fold(station.gap, f64::min);
                let down = station.tray_normal * (station.gap - least);
                station.edge -= down;
                station.silhouette -= down;
                station.gap = least;
            }
        }
        Held::OnBody => {
            let trays: Vec<&TrayStrip> = settings.iter().map(|s| &s.survey.tray).collect();
            made.tray = highest(&scanned.tray, &trays);
        }
    }
    made
}

/// A tray nowhere lower than any of them where a flange lies, and no higher than it has to be in the
/// middle of that: each row is the highest one's, lifted to clear the others.
fn highest(first: &TrayStrip, others: &[&TrayStrip]) -> TrayStrip {
    let [from, to] = FLANGE;
    let places = || (0..=STEPS).map(move |k| from + (to - from) * k as f64 / STEPS as f64);
    let mut made = first.clone();
    for (s, row) in first.along.iter().zip(&mut made.rows) {
        let top = |x: f64| {
            let heights = others.iter().map(|tray| tray.height(*s, x));
            heights.fold(first.height(*s, x), f64::max)
        };
        let of = |row: &[f64; 3], x: f64| row[0] + row[1] * x + row[2] * x * x;
        let lift = places().map(|x| top(x) - of(row, x)).fold(0.0, f64::max);
        row[0] += lift;
    }
    made
}
