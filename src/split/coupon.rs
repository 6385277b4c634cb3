//! Coupons: short slices of the real workpiece, printed first and offered up.

use super::cut::{make_rows, sweep};
use super::pose::lay_with;
use super::reach::Reach;
use super::{PrinterOptions, SplitFault, Workpiece};
use crate::mesh::{Solid, boolean};

/// Length of a coupon along the spine (mm).
pub const COUPON_MM: f64 = 18.0;

/// A slice of the workpiece.
#[derive(Debug, Clone)]
pub struct Coupon {
    /// Place in the row, counted from 1 at the maker's left.
    pub number: usize,
    /// First and last arc length (mm).
    pub along: [f64; 2],
    /// The slice where it sits on the vehicle (shop frame, mm).
    pub in_place: Solid,
    /// The slice lying on a cut face: z = 0 at the bottom, centred in plan, made larger by what it will
    /// shrink.
    pub on_bed: Solid,
    /// Size on the bed (mm).
    pub size_mm: [f64; 3],
}

/// Cuts a slice from both ends and one round the arc length `worst` (mm), where that lies clear of them.
/// A workpiece shorter than two slices gives one.
///
/// # Errors
/// When a cut fails; see [`SplitFault`].
pub fn cut_coupons(
    work: &Workpiece,
    printer: &PrinterOptions,
    worst: Option<f64>,
) -> Result<Vec<Coupon>, SplitFault> {
    let reach = Reach::measure(work, printer).ok_or(SplitFault::NoLength)?;
    let long = reach.stations_in(COUPON_MM).max(1);
    let last = reach.last();
    let mut places = vec![0];
    if let Some(worst) = worst {
        let middle = ((worst - reach.start) / reach.step).round().max(0.0) as usize;
        let from = middle.saturating_sub(long / 2);
        if from > long && from + 2 * long < last {
            places.push(from);
        }
    }
    if last > 2 * long {
        places.push(last - long);
    }
    let mut slabs = Vec::with_capacity(places.len());
    for &from in &places {
        let to = (from + long).min(last);
        let rows = make_rows(work.solid, &reach, &[from, from.midpoint(to), to]);
        let slab = Solid::new(sweep(&rows))
            .map_err(|fault| SplitFault::not_made(slabs.len() + 1, fault))?;
        slabs.push(slab);
    }
    let cut = boolean::intersect_each(work.solid, &slabs);
    places
        .iter()
        .zip(cut)
        .enumerate()
        .map(|(i, (&from, made))| {
            let number = i + 1;
            let in_place = made
                .map_err(|fault| SplitFault::not_made(number, fault))?
                .ok_or(SplitFault::NoLength)?;
            let to = (from + long).min(last);
            // The last coupon lies on the face it was cut off at; the others on their left face or the
            // workpiece's own end.
            let frame = reach.stations[if to == last { from } else { to }].frame;
            let up = if to == last {
                frame.along
            } else {
                -frame.along
            };
            let on_bed = lay_with(&in_place, up, printer)
                .map_err(|fault| SplitFault::not_made(number, fault))?;
            let (low, high) = on_bed.bounds();
            Ok(Coupon {
                number,
                along: [reach.arc_length(from), reach.arc_length(to)],
                in_place,
                on_bed,
                size_mm: (high - low).into(),
            })
        })
        .collect()
}
