//! The drawings of a run: the long section of the gap, the plan, and sections to scale.

mod buck;
mod cloth;
mod core;
mod cross_section;
mod exploded;
mod fit_face;
mod fit_strip;
mod fixings;
pub(super) mod forward;
mod joint;
mod long_section;
mod parting;
mod plan;
mod plane;
mod positions;
mod removal;
mod scan_cut;
mod shaded;
mod slot;
mod strip;

pub(super) use shaded::near_panel;

use super::drawing::Drawing;
use super::row::{Row, RowOf};
use super::{GapSummary, Run};
use crate::gap::Station;
use rayon::prelude::*;

/// Widest drawing that fits A4 upright between its margins (mm).
const WIDTH_MM: f64 = 180.0;

/// A drawing and the file name it goes under, without the ending.
pub(super) struct View {
    pub name: String,
    pub drawing: Drawing,
}

/// The pictures of a row of segments.
pub(super) struct RowViews {
    of: RowOf,
    /// Each on its bed, in their order.
    pub on_bed: Vec<View>,
    /// The row pulled apart, where there are several.
    pub exploded: Option<View>,
}

/// The drawings of a run.
pub(super) struct Views {
    pub long_section: View,
    pub plan: View,
    pub sections: Vec<View>,
    /// The section at a warning's station, by its number in the list of warnings; for the sheet alone.
    pub warned: Vec<(usize, View)>,
    /// Body, tray and panel as they are.
    pub in_place: Vec<View>,
    /// What is printed: the panel's row, its twin's, the buck's.
    pub rows: Vec<RowViews>,
    /// A joint of each kind, cut through, where there are any, and whose it is.
    pub joints: Vec<(RowOf, View)>,
    /// The fit all along, and the outside laid flat, where there is a panel.
    pub fit: Vec<View>,
    /// The gap in every position of the tray, where there are several.
    pub positions: Option<View>,
    /// What was taken as what, where one scan held both.
    pub parting: Option<View>,
    /// Slots and where the fixings are set in them, where a panel was made.
    pub slot: Option<View>,
    /// Where the fixings go, and one in section, where there are any.
    pub fixings: Vec<View>,
    /// How the tray comes off, where a panel was made.
    pub removal: Option<View>,
    /// A printed core in section, and the pieces of cloth.
    pub layup: Vec<View>,
    /// The buck in section, as it is, and how the part comes off it.
    pub buck: Vec<View>,
}

impl Views {
    /// All of them, in the order of the sheet.
    pub fn all(&self) -> impl Iterator<Item = &View> {
        [&self.long_section, &self.plan]
            .into_iter()
            .chain(&self.sections)
            .chain(&self.in_place)
            .chain(self.rows.iter().flat_map(|row| &row.on_bed))
            .chain(self.joints.iter().map(|(_, view)| view))
            .chain(self.rows.iter().flat_map(|row| &row.exploded))
            .chain(&self.fit)
            .chain(&self.positions)
            .chain(&self.parting)
            .chain(&self.fixings)
            .chain(&self.slot)
            .chain(&self.removal)
            .chain(&self.layup)
            .chain(&self.buck)
    }

    /// The pictures of one row.
    pub fn row(&self, of: RowOf) -> Option<&RowViews> {
        self.rows.iter().find(|row| row.of == of)
    }
}

/// Draws a run.
pub(super) fn draw(run: Run<'_>) -> Views {
    let rows = || -> Vec<RowViews> {
        let rows = Row::all(run);
        rows.into_par_iter()
            .map(|row| {
                let (on_bed, exploded) =
                    rayon::join(|| shaded::on_bed(row), || exploded::draw(row));
                RowViews {
                    of: row.of,
                    on_bed,
                    exploded,
                }
            })
            .collect()
    };
    let ((in_place, rows), rest) = rayon::join(
        || rayon::join(|| shaded::in_place(run), rows),
        || draw_lines(run),
    );
    Views {
        in_place,
        rows,
        ..rest
    }
}

/// The drawings that are lines alone; the shaded pictures are left out.
fn draw_lines(run: Run<'_>) -> Views {
    let told = telling_stations(run);
    let stations: Vec<&Station> = told.iter().map(|(_, station)| *station).collect();
    let scale = cross_section::common_scale(run, &stations);
    Views {
        long_section: View {
            name: "gap_long_section".to_owned(),
            drawing: long_section::draw(run),
        },
        plan: View {
            name: "gap_plan".to_owned(),
            drawing: plan::draw(run),
        },
        sections: told
            .into_iter()
            .enumerate()
            .map(|(i, (why, station))| View {
                name: format!("section_{}", i + 1),
                drawing: cross_section::draw(run, (station, station.s), why, scale),
            })
            .collect(),
        warned: warned(run),
        in_place: Vec::new(),
        rows: Vec::new(),
        joints: joint::draw(run),
        fit: fit_views(run),
        positions: positions::draw(run).map(|drawing| View {
            name: "gap_positions".to_owned(),
            drawing,
        }),
        parting: run.measured.scene.placing.separated.then(|| View {
            name: "separated".to_owned(),
            drawing: parting::draw(run),
        }),
        fixings: fixing_views(run),
        layup: core::draw(run)
            .into_iter()
            .chain(cloth::draw(run))
            .collect(),
        buck: buck::draw(run),
        slot: run.staying_on.map(|made| View {
            name: "slots".to_owned(),
            drawing: slot::draw(&made.heat, run.measured.front),
        }),
        removal: removal::draw(run).map(|drawing| View {
            name: "removal".to_owned(),
            drawing,
        }),
    }
}

fn fixing_views(run: Run<'_>) -> Vec<View> {
    let Some((panel, segments)) = run.made else {
        return Vec::new();
    };
    let joints: Vec<f64> = segments.joints.iter().map(|joint| joint.s).collect();
    fixings::draw(panel, &run.measured.survey.spine, &joints)
        .into_iter()
        .map(|(name, drawing)| View {
            name: name.to_owned(),
            drawing,
        })
        .collect()
}

/// Warnings that get a picture, at most.
const MOST_WARNED: usize = 8;

/// The section at each warning's station, all at one scale; warnings at one place share the first one's.
fn warned(run: Run<'_>) -> Vec<(usize, View)> {
    let stations = &run.measured.survey.stations;
    let nearest = |s: f64| {
        let off = |station: &&Station| (station.s - s).abs();
        stations.iter().min_by(|a, b| off(a).total_cmp(&off(b)))
    };
    let mut told: Vec<(usize, &Station)> = Vec::new();
    for (i, finding) in run.warnings().into_iter().enumerate() {
        if let Some(station) = finding.station_mm.and_then(nearest)
            && told.len() < MOST_WARNED
            && told.iter().all(|(_, other)| other.s != station.s)
        {
            told.push((i + 1, station));
        }
    }
    let warnings = run.warnings();
    let all: Vec<&Station> = told.iter().map(|(_, station)| *station).collect();
    let scale = cross_section::common_scale(run, &all);
    told.into_iter()
        .map(|(number, station)| {
            let at = warnings
                .get(number - 1)
                .and_then(|finding| finding.station_mm);
            let at = at.unwrap_or(station.s);
            let (named, cut) = (at.round(), station.s.round());
            let why = if named == cut {
                format!("warning {number}\ngap")
            } else {
                format!("warning {number}; seen nearest at {cut:.0}\ngap")
            };
            let drawing = cross_section::draw(run, (station, at), &why, scale);
            let name = format!("warning_{number}");
            (number, View { name, drawing })
        })
        .collect()
}

fn fit_views(run: Run<'_>) -> Vec<View> {
    let Some(proof) = run.fit else {
        return Vec::new();
    };
    [
        (
            "fit_strip",
            fit_strip::draw(proof, run.measured.top, run.measured.front),
        ),
        ("fit_face", fit_face::draw(proof, run.measured.front)),
    ]
    .into_iter()
    .filter_map(|(name, drawing)| {
        drawing.map(|drawing| View {
            name: name.to_owned(),
            drawing,
        })
    })
    .collect()
}

/// The three stations whose sections say most: the least gap, the most, the middle, or a quarter where
/// these lie close together. From the maker's left.
fn telling_stations(run: Run<'_>) -> Vec<(&'static str, &Station)> {
    let stations = &run.measured.survey.stations;
    let Some(gap) = GapSummary::of(&run.measured.survey) else {
        return Vec::new();
    };
    let at = |s: f64| stations.iter().find(|st| st.s == s);
    let part = |share: usize| stations.get(stations.len() * share / 4);
    let apart = gap.length_mm / 20.0;
    let mut told: Vec<(&str, &Station)> = Vec::new();
    for (why, station) in [
        ("least gap", at(gap.least.s)),
        ("most gap", at(gap.most.s)),
        ("middle", part(2)),
        ("first quarter", part(1)),
        ("last quarter", part(3)),
    ] {
        if let Some(station) = station
            && told.len() < 3
            && told
                .iter()
                .all(|(_, other)| (other.s - station.s).abs() >= apart)
        {
            told.push((why, station));
        }
    }
    told.sort_by(|a, b| a.1.s.total_cmp(&b.1.s));
    told
}
