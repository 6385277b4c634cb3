//! Strips of a wall under an even load: between two supports, and in a row over many.
//!
//! Two supports: Roark's Formulas, table 8.1 (5 w L^4 / 384 E I and w L^4 / 384 E I). A row: Clapeyron's
//! equation of three moments (1857; Timoshenko, Strength of Materials), which fits no more than statics and
//! E I v'' = -M. Straight strips, small deflections.

/// Bending stiffness and load of a strip one millimetre wide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strip {
    /// Bending stiffness E I for each mm of width (N mm).
    pub stiffness: f64,
    /// Load for each mm of length and width (N/mm2).
    pub load: f64,
}

/// Deflection (mm) and the largest bending moment for each mm of width (N).
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bent {
    /// Deflection (mm).
    pub deflection_mm: f64,
    /// Moment for each mm of width (N mm/mm).
    pub moment: f64,
}

impl Strip {
    fn bent(self, span_mm: f64, deflection: f64, moment: f64) -> Bent {
        let span = span_mm.max(0.0);
        Bent {
            deflection_mm: deflection * self.load * span.powi(4) / self.stiffness,
            moment: moment * self.load * span * span,
        }
    }

    /// Between two supports, free to turn: as bad as it gets.
    #[must_use]
    pub fn supported(self, span_mm: f64) -> Bent {
        self.bent(span_mm, 5.0 / 384.0, 1.0 / 8.0)
    }

    /// Between two supports, held against turning: as good as it gets.
    #[must_use]
    pub fn built_in(self, span_mm: f64) -> Bent {
        self.bent(span_mm, 1.0 / 384.0, 1.0 / 12.0)
    }

    /// Held at one end, free at the other.
    #[must_use]
    pub fn standing(self, height_mm: f64) -> Bent {
        self.bent(height_mm, 1.0 / 8.0, 1.0 / 2.0)
    }

    /// The widest span (mm) whose deflection, `share` times w L^4 / E I, keeps a limit.
    #[must_use]
    pub fn widest(self, limit_mm: f64, share: f64) -> f64 {
        (limit_mm.max(0.0) * self.stiffness / (share * self.load)).powf(0.25)
    }
}

/// Deflection of two supports free to turn, in w L^4 / E I.
pub const SUPPORTED: f64 = 5.0 / 384.0;
/// Deflection of two supports held against turning.
pub const BUILT_IN: f64 = 1.0 / 384.0;
/// Deflection in the end spans of three even ones, the worst in any long even row (solved by [`Row`], and
/// 0.0069 in the steelwork tables, from memory).
pub const IN_A_ROW: f64 = 0.006_884_8;

/// One span of a row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// From and to (mm along the strip). An overhang has the strip's end as one of them.
    pub along: [f64; 2],
    /// Largest deflection and moment in it.
    pub bent: Bent,
}

/// A strip over several supports.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Row {
    /// Spans in order, overhangs included.
    pub spans: Vec<Span>,
    /// The supports that count (mm along the strip), in order.
    pub held: Vec<f64>,
    /// What each of them carries for each mm of width (N/mm).
    pub carried: Vec<f64>,
}

/// Places a span is looked at.
const LOOKS: u32 = 200;
/// Supports nearer than this are one (mm).
const LEAST_SPAN_MM: f64 = 1e-3;

impl Row {
    /// A strip from `ends[0]` to `ends[1]` over supports in order. Supports outside of it or on top of one
    /// another are passed over. `None` with fewer than two left: one support alone does not hold it.
    #[must_use]
    pub fn solve(strip: Strip, ends: [f64; 2], supports: &[f64]) -> Option<Self> {
        let mut at: Vec<f64> = Vec::with_capacity(supports.len());
        for &s in supports {
            let apart = at.last().is_none_or(|last| s - last > LEAST_SPAN_MM);
            if s >= ends[0] && s <= ends[1] && apart {
                at.push(s);
            }
        }
        let (first, last) = (*at.first()?, *at.last()?);
        let (left, right) = (first - ends[0], ends[1] - last);
        if at.len() < 2 || !(left.is_finite() && right.is_finite()) {
            return None;
        }
        let lengths: Vec<f64> = at.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let moments = support_moments(strip.load, &lengths, [left, right]);
        Some(Self::of(strip, ends, &at, &lengths, &moments))
    }

    fn of(strip: Strip, ends: [f64; 2], at: &[f64], lengths: &[f64], moments: &[f64]) -> Self {
        let w = strip.load;
        let mut carried = vec![0.0; at.len()];
        let mut spans = Vec::with_capacity(at.len() + 1);
        let pieces = at.windows(2).zip(lengths).zip(moments.windows(2));
        for (i, ((along, &length), ends)) in pieces.enumerate() {
            let [m0, m1] = [ends[0], ends[1]];
            let lean = (m1 - m0) / length;
            for (k, load) in [
                (i, 0.5 * w * length + lean),
                (i + 1, 0.5 * w * length - lean),
            ] {
                if let Some(sum) = carried.get_mut(k) {
                    *sum += load;
                }
            }
            spans.push(Span {
                along: [along[0], along[1]],
                bent: bend(strip, length, [m0, m1]),
            });
        }
        let outer = [
            (
                0,
                ends[0],
                at.first(),
                lengths.first(),
                moments.first(),
                moments.get(1),
            ),
            (
                at.len() - 1,
                ends[1],
                at.last(),
                lengths.last(),
                moments.last(),
                moments.iter().rev().nth(1),
            ),
        ];
        for (k, end, support, length, near, far) in outer {
            let (Some(&support), Some(&length), Some(&near), Some(&far)) =
                (support, length, near, far)
            else {
                continue;
            };
            let over = (end - support).abs();
            if over <= LEAST_SPAN_MM {
                continue;
            }
            if let Some(sum) = carried.get_mut(k) {
                *sum += w * over;
            }
            let turn = (w * length.powi(3) / 24.0 + near * length / 3.0 + far * length / 6.0)
                / strip.stiffness;
            let tip = strip.standing(over).deflection_mm - turn * over;
            spans.push(Span {
                along: [end.min(support), end.max(support)],
                bent: Bent {
                    deflection_mm: tip.abs(),
                    moment: near.abs(),
                },
            });
        }
        spans.sort_by(|a, b| a.along[0].total_cmp(&b.along[0]));
        Self {
            spans,
            held: at.to_vec(),
            carried,
        }
    }

    /// The span that bends out most.
    #[must_use]
    pub fn worst(&self) -> Option<Span> {
        let by = |s: &Span| s.bent.deflection_mm;
        self.spans
            .iter()
            .copied()
            .max_by(|a, b| by(a).total_cmp(&by(b)))
    }
}

/// Moments over the supports, sagging positive, by three moments: L0 M0 + 2 (L0 + L1) M1 + L1 M2 =
/// -w (L0^3 + L1^3) / 4, with the overhangs' moments at both ends.
fn support_moments(w: f64, lengths: &[f64], overhangs: [f64; 2]) -> Vec<f64> {
    let [first, last] = overhangs.map(|over| -0.5 * w * over * over);
    let inner = lengths.len() - 1;
    // Thomas's elimination; the diagonal is dominant, so it never divides by zero.
    let (mut ratio, mut value) = (vec![0.0; inner], vec![0.0; inner]);
    let (mut ratio_before, mut value_before) = (0.0, first);
    for (i, pair) in lengths.windows(2).enumerate() {
        let [a, b] = [pair[0], pair[1]];
        let mut known = -0.25 * w * (a.powi(3) + b.powi(3));
        if i + 1 == inner {
            known -= b * last;
        }
        let diagonal = 2.0 * (a + b) - a * ratio_before;
        ratio_before = b / diagonal;
        value_before = (known - a * value_before) / diagonal;
        ratio[i] = ratio_before;
        value[i] = value_before;
    }
    let mut moments = vec![first; inner + 2];
    moments[inner + 1] = last;
    let mut after = 0.0;
    for i in (0..inner).rev() {
        after = value[i] - ratio[i] * after;
        moments[i + 1] = after;
    }
    moments
}

/// A span under its even load and the moments at its ends.
fn bend(strip: Strip, length: f64, [m0, m1]: [f64; 2]) -> Bent {
    let w = strip.load;
    let mut most = Bent {
        deflection_mm: 0.0,
        moment: m0.abs().max(m1.abs()),
    };
    for k in 1..LOOKS {
        let x = f64::from(k) / f64::from(LOOKS);
        let moment = m0 * (1.0 - x) + m1 * x + 0.5 * w * length * length * x * (1.0 - x);
        let deflection = w * length.powi(4) / 24.0 * (x - 2.0 * x.powi(3) + x.powi(4))
            + m0 * length * length / 6.0 * (2.0 * x - 3.0 * x * x + x.powi(3))
            + m1 * length * length / 6.0 * (x - x.powi(3));
        most.moment = most.moment.max(moment.abs());
        most.deflection_mm = most.deflection_mm.max(deflection.abs() / strip.stiffness);
    }
    most
}

#[cfg(test)]
mod tests {
    use super::*;

    const UNIT: Strip = Strip {
        stiffness: 1.0,
        load: 1.0,
    };

    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} is not {want}");
    }

    #[test]
    fn spans_bend_as_worked_from_roark() {
        // t 3 mm, E 2 GPa, 1890.43 Pa: worked by hand from table 8.1 (from memory).
        let strip = Strip {
            stiffness: 2000.0 * 27.0 / 12.0,
            load: 1890.43e-6,
        };
        let rows = [
            (100.0, 0.5470, 0.1094),
            (150.0, 2.7692, 0.5538),
            (200.0, 8.7520, 1.7504),
        ];
        for (span, supported, built_in) in rows {
            close(strip.supported(span).deflection_mm, supported, 1e-4);
            close(strip.built_in(span).deflection_mm, built_in, 1e-4);
            close(
                strip.supported(span).moment,
                1890.43e-6 * span * span / 8.0,
                1e-9,
            );
            close(strip.widest(supported, SUPPORTED), span, 0.01);
            close(strip.widest(built_in, BUILT_IN), span, 0.02);
        }
    }

    #[test]
    fn even_rows_bend_and_carry_as_in_the_tables_for_steelwork() {
        // Continuous beams, even spans, even load; standard tables, from memory: coefficients of w L, w L^2,
        // w L^4 / E I.
        let two = Row::solve(UNIT, [0.0, 2.0], &[0.0, 1.0, 2.0]).unwrap();
        for (got, want) in two.carried.iter().zip([0.375, 1.25, 0.375]) {
            close(*got, want, 1e-12);
        }
        close(two.spans[0].bent.moment, 0.125, 1e-12);
        close(two.spans[0].bent.deflection_mm, 1.0 / 184.6, 1e-5);
        let three = Row::solve(UNIT, [0.0, 3.0], &[0.0, 1.0, 2.0, 3.0]).unwrap();
        for (got, want) in three.carried.iter().zip([0.4, 1.1, 1.1, 0.4]) {
            close(*got, want, 1e-12);
        }
        close(three.spans[1].bent.moment, 0.1, 1e-12);
        close(three.worst().unwrap().bent.deflection_mm, 0.0069, 5e-5);
        close(three.worst().unwrap().bent.deflection_mm, IN_A_ROW, 1e-6);
        let four = Row::solve(UNIT, [0.0, 4.0], &[0.0, 1.0, 2.0, 3.0, 4.0]).unwrap();
        for (got, want) in four.carried.iter().zip([0.393, 1.143, 0.929, 1.143, 0.393]) {
            close(*got, want, 5e-4);
        }
        close(four.worst().unwrap().bent.deflection_mm, 0.0065, 5e-5);
    }

    #[test]
    fn the_middle_of_a_long_row_is_built_in_and_one_span_is_supported() {
        let at: Vec<f64> = (0..=20).map(f64::from).collect();
        let row = Row::solve(UNIT, [0.0, 20.0], &at).unwrap();
        close(row.spans[10].bent.deflection_mm, BUILT_IN, 1e-6);
        close(row.spans[10].bent.moment, 1.0 / 12.0, 1e-6);
        let one = Row::solve(UNIT, [0.0, 1.0], &[0.0, 1.0]).unwrap();
        close(one.worst().unwrap().bent.deflection_mm, SUPPORTED, 1e-12);
    }

    #[test]
    fn overhangs_balance_and_bend_as_a_beam_with_two_overhangs() {
        // Overhang a, span 1: reaction w (1 + 2a) / 2 by symmetry; tip (Roark's superposition, by hand):
        // w a^4 / 8 - a (w / 24 - w a^2 / 4).
        for over in [0.1, 0.3, 0.7] {
            let row = Row::solve(UNIT, [-over, 1.0 + over], &[0.0, 1.0]).unwrap();
            close(row.carried[0], 0.5 + over, 1e-12);
            let tip = over.powi(4) / 8.0 - over * (1.0 / 24.0 - over * over / 4.0);
            close(row.spans[0].bent.deflection_mm, tip.abs(), 1e-12);
        }
    }

    #[test]
    fn uneven_rows_carry_the_whole_load_and_odd_ones_are_refused() {
        let supports = [3.0, 20.0, 21.0, 90.0, 90.0, 200.0, 255.0, 300.0];
        let row = Row::solve(UNIT, [0.0, 260.0], &supports).unwrap();
        assert_eq!(row.carried.len(), 6);
        close(row.carried.iter().sum::<f64>(), 260.0, 1e-9);
        // Moments of the loads about the start balance as well.
        let arms = [3.0, 20.0, 21.0, 90.0, 200.0, 255.0];
        let turning: f64 = row.carried.iter().zip(arms).map(|(r, a)| r * a).sum();
        close(turning, 0.5 * 260.0 * 260.0, 1e-6);
        assert!(Row::solve(UNIT, [0.0, 1.0], &[]).is_none());
        assert!(Row::solve(UNIT, [0.0, 1.0], &[0.5]).is_none());
        assert!(Row::solve(UNIT, [0.0, 1.0], &[f64::NAN, 0.5, 0.5]).is_none());
        assert!(Row::solve(UNIT, [f64::NAN, 1.0], &[0.2, 0.5]).is_none());
    }
}
