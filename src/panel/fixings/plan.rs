//! Spacing along the spine: even, symmetric, and shifted where a place is taken.

use super::land::Seat;

/// Step in which a free place is looked for (mm).
const STEP_MM: f64 = 1.0;
/// A gap wider than this many pitches gets one more fixing, if there is a place for it.
const FILL_PITCHES: f64 = 1.25;

/// Where fixings go.
pub(super) struct Plan {
    /// Their seats, from left to right.
    pub seats: Vec<Seat>,
    /// Where one was meant and none can be (mm).
    pub dropped: Vec<f64>,
    /// The middle of the widest gap between two, and its width (mm).
    pub widest: Option<(f64, f64)>,
}

/// Spaces fixings evenly over a stretch, no further apart than `pitch` where nothing is in the way and
/// never nearer than `least`. A place that `seat` refuses is given up for the nearest that it takes within
/// half a spacing, toward the middle first.
pub(super) fn plan(
    [from, to]: [f64; 2],
    pitch: f64,
    least: f64,
    seat: &mut dyn FnMut(f64) -> Option<Seat>,
) -> Plan {
    let length = to - from;
    if !(length.is_finite() && length >= 0.0 && pitch > 0.0) {
        let seats: Vec<Seat> = seat(0.5 * (from + to)).into_iter().collect();
        return Plan {
            dropped: Vec::new(),
            widest: None,
            seats,
        };
    }
    let bays = (length / pitch).ceil().clamp(1.0, 10_000.0);
    let spacing = (length / bays).max(least);
    let bays = (length / spacing + 1e-9).floor();
    let middle = 0.5 * (from + to);
    let mut wanted: Vec<f64> = (0..=bays as usize)
        .map(|i| middle + spacing * (i as f64 - 0.5 * bays))
        .collect();
    // From the middle outward, so that the left and the right half come out alike.
    wanted.sort_by(|a, b| (a - middle).abs().total_cmp(&(b - middle).abs()));
    let mut plan = Plan {
        seats: Vec::new(),
        dropped: Vec::new(),
        widest: None,
    };
    for s in wanted {
        match nearest(
            s,
            0.5 * spacing,
            middle,
            [from, to],
            least,
            &plan.seats,
            seat,
        ) {
            Some(found) => plan.seats.push(found),
            None => plan.dropped.push(s),
        }
    }
    plan.seats.sort_by(|a, b| a.s.total_cmp(&b.s));
    fill(&mut plan, pitch, middle, [from, to], least, seat);
    plan.dropped.sort_by(f64::total_cmp);
    plan.widest = plan
        .seats
        .windows(2)
        .map(|w| (0.5 * (w[0].s + w[1].s), w[1].s - w[0].s))
        .max_by(|a, b| a.1.total_cmp(&b.1));
    plan
}

fn nearest(
    s: f64,
    reach: f64,
    middle: f64,
    [from, to]: [f64; 2],
    least: f64,
    taken: &[Seat],
    seat: &mut dyn FnMut(f64) -> Option<Seat>,
) -> Option<Seat> {
    let inward = if s > middle { -1.0 } else { 1.0 };
    let steps = (reach / STEP_MM).floor() as usize;
    (0..=steps)
        .flat_map(|k| {
            let shift = k as f64 * STEP_MM * inward;
            let both = [s + shift, s - shift];
            both.into_iter().take(if k == 0 { 1 } else { 2 })
        })
        .filter(|at| (from..=to).contains(at))
        .filter(|at| {
            taken
                .iter()
                .all(|other| (other.s - at).abs() >= least - 1e-9)
        })
        .find_map(seat)
}

/// One more fixing in each gap that shifting made wide.
fn fill(
    plan: &mut Plan,
    pitch: f64,
    middle: f64,
    within: [f64; 2],
    least: f64,
    seat: &mut dyn FnMut(f64) -> Option<Seat>,
) {
    let gaps: Vec<[f64; 2]> = plan
        .seats
        .windows(2)
        .map(|w| [w[0].s, w[1].s])
        .filter(|[a, b]| b - a > FILL_PITCHES * pitch)
        .collect();
    for [a, b] in gaps {
        let reach = 0.25 * (b - a);
        let (s, taken) = (0.5 * (a + b), &plan.seats);
        if let Some(found) = nearest(s, reach, middle, within, least, taken, seat) {
            plan.dropped.retain(|lost| !(a..=b).contains(lost));
            plan.seats.push(found);
        }
    }
    plan.seats.sort_by(|a, b| a.s.total_cmp(&b.s));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(free: impl Fn(f64) -> bool) -> (Vec<f64>, Vec<f64>) {
        let found = plan([20.0, 980.0], 150.0, 18.0, &mut |s| {
            free(s).then(|| Seat::at_station(s))
        });
        (
            found.seats.iter().map(|seat| seat.s).collect(),
            found.dropped,
        )
    }

    #[test]
    fn a_free_stretch_is_spaced_evenly_and_no_wider_than_the_pitch() {
        let (places, dropped) = places(|_| true);
        assert_eq!(places.len(), 8);
        assert!(dropped.is_empty());
        for (i, s) in places.iter().enumerate() {
            assert!((s - (20.0 + i as f64 * 960.0 / 7.0)).abs() < 1e-9);
        }
    }

    #[test]
    fn a_taken_place_is_given_up_for_the_nearest_free_one() {
        // The third is meant at 20 + 2 * 137.14 = 294.29: 289.29 is free 5 mm off, 306.29 only 12 mm off.
        let (places, dropped) = places(|s| !(290.0..=306.0).contains(&s));
        assert_eq!((places.len(), dropped.len()), (8, 0));
        assert!((places[2] - 289.285_714).abs() < 1e-3, "{}", places[2]);
    }

    #[test]
    fn a_long_blocked_stretch_loses_a_fixing_and_says_so() {
        let (places, dropped) = places(|s| !(200.0..=400.0).contains(&s));
        assert_eq!((places.len(), dropped.len()), (7, 1));
        assert!((dropped[0] - 294.285_714).abs() < 1e-3);
        assert!(places.windows(2).all(|w| w[1] - w[0] >= 18.0));
    }

    #[test]
    fn nothing_is_nearer_than_the_least_pitch() {
        let found = plan([0.0, 100.0], 5.0, 18.0, &mut |s| Some(Seat::at_station(s)));
        let seats: Vec<f64> = found.seats.iter().map(|seat| seat.s).collect();
        assert!(
            seats.windows(2).all(|w| w[1] - w[0] >= 18.0 - 1e-9),
            "{seats:?}"
        );
        assert_eq!(seats.len(), 6);
    }
}
