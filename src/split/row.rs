//! Rows of cuts: which fewest are possible, and which of those is the cheapest. Exact, by dynamic
//! programming over all stations.

/// Whether a cut may lie at a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Allowed {
    No,
    WithTab,
    Bare,
}

/// What a row of cuts has to keep to. All in stations.
#[derive(Debug, Clone)]
pub(super) struct Row {
    pub(super) allowed: Vec<Allowed>,
    /// Farthest end of a segment from each station, with a tab there and without.
    pub(super) tabbed: Vec<usize>,
    pub(super) bare: Vec<usize>,
    /// Whether the last segment may begin at each station.
    pub(super) finishes: Vec<bool>,
    /// Stations that must be cut at, in order.
    pub(super) pins: Vec<usize>,
    /// Least length of a segment, and what each of its joints adds to that.
    pub(super) least: usize,
    pub(super) joint: usize,
}

impl Row {
    pub(super) fn last(&self) -> usize {
        self.allowed.len().saturating_sub(1)
    }

    /// The first pin after a station, or the end.
    fn next_pin(&self, from: usize) -> usize {
        let next = self.pins.partition_point(|&pin| pin <= from);
        self.pins.get(next).copied().unwrap_or(self.last())
    }

    fn joint_before(&self, from: usize) -> usize {
        if from > 0 { self.joint } else { 0 }
    }

    /// Stations where a segment from one may end with a cut: nearest, and farthest with a tab and
    /// without.
    fn ends(&self, from: usize) -> (usize, usize, usize) {
        let nearest = from + self.joint_before(from) + self.joint + self.least;
        let most = self.next_pin(from).min(self.last().saturating_sub(1));
        (
            nearest,
            self.tabbed[from].min(most),
            self.bare[from].min(most),
        )
    }

    fn may_cut(&self, (nearest, tabbed, bare): (usize, usize, usize), to: usize) -> bool {
        to >= nearest
            && match self.allowed[to] {
                Allowed::No => false,
                Allowed::WithTab => to <= tabbed,
                Allowed::Bare => to <= bare,
            }
    }

    fn may_finish(&self, from: usize) -> bool {
        self.finishes[from]
            && self.next_pin(from) == self.last()
            && from + self.joint_before(from) + self.least.min(self.last()) <= self.last()
    }

    /// Stations that can be the first cut, the second and so on, as far as is needed; layer 0 is the
    /// start. `None` if no row reaches the end.
    fn layers(&self) -> Option<Vec<Vec<usize>>> {
        let mut layers = vec![vec![0]];
        loop {
            let starts = &layers[layers.len() - 1];
            if starts.iter().any(|&from| self.may_finish(from)) {
                return Some(layers);
            }
            // Marks where the ranges of ends begin and stop.
            let mut marks = vec![[0_i64; 2]; self.last() + 2];
            for &from in starts {
                let (nearest, tabbed, bare) = self.ends(from);
                for (kind, most) in [tabbed, bare].into_iter().enumerate() {
                    if nearest <= most {
                        marks[nearest][kind] += 1;
                        marks[most + 1][kind] -= 1;
                    }
                }
            }
            let mut open = [0_i64; 2];
            let mut next = Vec::new();
            for (to, mark) in marks.iter().enumerate().take(self.last()) {
                open = [open[0] + mark[0], open[1] + mark[1]];
                let can = match self.allowed[to] {
                    Allowed::No => false,
                    Allowed::WithTab => open[0] > 0,
                    Allowed::Bare => open[1] > 0,
                };
                if can {
                    next.push(to);
                }
            }
            if next.is_empty() {
                return None;
            }
            layers.push(next);
        }
    }

    /// Fewest cuts of any row.
    pub(super) fn fewest(&self) -> Option<usize> {
        Some(self.layers()?.len() - 1)
    }

    /// A row that allows all that cuts between the stations might: with as few cuts as this one needs,
    /// no closer stations give fewer.
    pub(super) fn loosened(&self) -> Self {
        let last = self.last();
        let around = |i: usize| i.saturating_sub(1)..=(i + 1).min(last);
        let far = |all: &[usize]| -> Vec<usize> {
            (0..=last)
                .map(|i| (all[(i + 1).min(last)] + 1).min(last))
                .collect()
        };
        let allowed = (0..=last)
            .map(|i| match self.allowed[i] {
                Allowed::No => (around(i).map(|k| self.allowed[k]))
                    .find(|a| *a != Allowed::No)
                    .unwrap_or(Allowed::No),
                allowed => allowed,
            })
            .collect();
        Self {
            allowed,
            tabbed: far(&self.tabbed),
            bare: far(&self.bare),
            finishes: (0..=last)
                .map(|i| around(i).any(|k| self.finishes[k]))
                .collect(),
            pins: self.pins.clone(),
            least: self.least.saturating_sub(2),
            joint: self.joint,
        }
    }

    /// The cheapest of the rows with the fewest cuts. `of_cut` is what a cut costs, `of_segment` what a
    /// segment between two stations does, given how many cuts there are. `None` if there is no row.
    pub(super) fn cheapest(
        &self,
        of_cut: impl Fn(usize) -> f64,
        of_segment: impl Fn(usize, usize, usize) -> f64,
    ) -> Option<Vec<usize>> {
        let layers = self.layers()?;
        let count = layers.len() - 1;
        // Of each layer's stations: the cost so far, and the place in the layer before.
        let mut costs: Vec<Vec<(f64, usize)>> = vec![vec![(0.0, 0)]];
        for k in 1..=count {
            let (starts, before) = (&layers[k - 1], &costs[k - 1]);
            let mut best = vec![(f64::INFINITY, 0); layers[k].len()];
            for (place, &from) in starts.iter().enumerate() {
                let ends = self.ends(from);
                let most = ends.1.max(ends.2);
                let first = layers[k].partition_point(|&to| to < ends.0);
                for (slot, &to) in best[first..].iter_mut().zip(&layers[k][first..]) {
                    if to > most {
                        break;
                    }
                    if self.may_cut(ends, to) {
                        let cost = before[place].0 + of_segment(from, to, count);
                        if cost < slot.0 {
                            *slot = (cost, place);
                        }
                    }
                }
            }
            for (slot, &to) in best.iter_mut().zip(&layers[k]) {
                slot.0 += of_cut(to);
            }
            costs.push(best);
        }
        let (mut place, _) = (layers[count].iter().enumerate())
            .filter(|(_, from)| self.may_finish(**from))
            .map(|(i, &from)| (i, costs[count][i].0 + of_segment(from, self.last(), count)))
            .min_by(|a, b| a.1.total_cmp(&b.1))?;
        let mut cuts = Vec::with_capacity(count);
        for k in (1..=count).rev() {
            cuts.push(layers[k][place]);
            place = costs[k][place].1;
        }
        cuts.reverse();
        Some(cuts)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::robust::Draws;

    /// A row with farthest ends that never fall back, as those of real workpieces.
    fn any_row(draws: &mut Draws) -> Row {
        let last = 8 + draws.below(7);
        let mut far = Vec::new();
        for i in 0..=last {
            let before = far.last().copied().unwrap_or(i);
            far.push((i + 2 + draws.below(4)).max(before).min(last));
        }
        let allowed = (0..=last)
            .map(|_| match draws.below(6) {
                0 => Allowed::No,
                1 => Allowed::Bare,
                _ => Allowed::WithTab,
            })
            .collect();
        Row {
            allowed,
            bare: far
                .iter()
                .map(|&f| (f + draws.below(2)).min(last))
                .collect(),
            finishes: (0..=last).map(|i| far[i] == last).collect(),
            tabbed: far,
            pins: (draws.below(4) == 0)
                .then_some(last / 2)
                .into_iter()
                .collect(),
            least: 1,
            joint: draws.below(2),
        }
    }

    /// Every set of cuts, each tried by the rules as they are written in words.
    fn every_row(row: &Row) -> Vec<Vec<usize>> {
        let last = row.last();
        let inner: Vec<usize> = (1..last).collect();
        (0..1_u32 << inner.len())
            .map(|bits| -> Vec<usize> {
                let chosen = inner.iter().enumerate().filter(|(i, _)| bits >> i & 1 == 1);
                chosen.map(|(_, &s)| s).collect()
            })
            .filter(|cuts| {
                let mut ends = vec![0];
                ends.extend(cuts);
                ends.push(last);
                row.pins.iter().all(|pin| cuts.contains(pin))
                    && cuts.iter().all(|&c| row.allowed[c] != Allowed::No)
                    && ends.windows(2).all(|pair| {
                        let (from, to) = (pair[0], pair[1]);
                        let joints = usize::from(from > 0) + usize::from(to < last);
                        let reaches = if to == last {
                            row.finishes[from]
                        } else if row.allowed[to] == Allowed::Bare {
                            to <= row.bare[from]
                        } else {
                            to <= row.tabbed[from]
                        };
                        reaches && to - from >= row.least + joints * row.joint
                    })
            })
            .collect()
    }

    #[test]
    fn the_cheapest_of_the_fewest_is_found() {
        let mut draws = Draws::seeded(11);
        let (mut found, mut none) = (0, 0);
        for _ in 0..300 {
            let row = any_row(&mut draws);
            let prices: Vec<f64> = (0..=row.last()).map(|_| draws.below(50) as f64).collect();
            let of_segment = |from: usize, to: usize, _: usize| ((to - from) as f64 - 3.3).powi(2);
            let every = every_row(&row);
            let cost = |cuts: &[usize]| -> f64 {
                let mut ends = vec![0];
                ends.extend(cuts);
                ends.push(row.last());
                let lengths: f64 = ends.windows(2).map(|p| of_segment(p[0], p[1], 0)).sum();
                lengths + cuts.iter().map(|&c| prices[c]).sum::<f64>()
            };
            let made = row.cheapest(|c| prices[c], of_segment);
            assert_eq!(row.fewest(), every.iter().map(Vec::len).min());
            let Some(made) = made else {
                none += 1;
                assert!(every.is_empty());
                continue;
            };
            found += 1;
            assert!(every.contains(&made));
            let fewest = made.len();
            assert_eq!(Some(fewest), row.fewest());
            let least = (every.iter().filter(|c| c.len() == fewest))
                .map(|c| cost(c))
                .fold(f64::INFINITY, f64::min);
            assert!((cost(&made) - least).abs() < 1e-9);
            assert!(row.loosened().fewest() <= Some(fewest));
        }
        assert!(found > 50 && none > 10, "{found} {none}");
    }
}
