//! Which heights the keys of each joint have, so that no other end goes in.
//!
//! A wrong end passes a joint's tongues only if each of them meets a groove of that end or misses its wall.
//! Upright it stands on the same foot: a tongue over its wall misses it. Upside down it is held about the
//! same middle, and its grooves are on the other side or at the other end: there a tongue misses that is
//! farther from the middle than the wall is high to each side. So a joint is told from another by one tongue
//! at least that is low enough for the other's wall and finds no groove in it, and by one near enough to its
//! own middle.
//!
//! One key does for each where there are heights enough, two or three otherwise. The codes are found by going through
//! the joints, those with the lowest heights first, and going back where none is left; where no row of codes
//! keeps all apart, by betterment joint by joint, neighbours first.

/// Heights are counted in steps of this (mm).
pub(super) const TICK_MM: f64 = 0.25;
/// Spacing of the heights that are tried (in ticks); where there are few, every tick is. Of many every other
/// one serves for a joint's upper key.
const SPACING: u16 = 2;
const FEW: u16 = 20;
const MANY: usize = 24;
/// A tongue misses a groove that is this far off (in ticks): at 2 mm its tip meets the wall on more than a
/// third of its width. More where there are heights enough.
const MISSES: u16 = 8;
const MORE_MISSES: [u16; 2] = [12, 10];
/// Most comparisons of two codes before no row of distinct ones is looked for any longer.
const MOST_LOOKS: usize = 200_000;
/// Most rounds of betterment.
const MOST_ROUNDS: usize = 12;

/// Heights in ticks.
type Code = Vec<u16>;

/// One joint, all in ticks: the heights there are for its keys, none where there is no room, how far two
/// keys stand apart at least, and how high the wall is there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Site {
    pub(super) heights: Vec<u16>,
    pub(super) apart: u16,
    pub(super) wall: u16,
}

impl Site {
    /// A joint that has no room for a key.
    pub(super) fn without_key(wall: u16) -> Self {
        Self {
            heights: Vec::new(),
            apart: 0,
            wall,
        }
    }
}

/// Heights to try between two (mm).
pub(super) fn heights_within(low: f64, high: f64) -> Vec<u16> {
    let [low, high] = [low, high].map(|mm| mm / TICK_MM);
    let (first, last) = ((low - 1e-9).ceil().max(0.0), (high + 1e-9).floor());
    if !(low <= high && first <= last && last < 1e4) {
        return Vec::new();
    }
    let (first, last) = (first as u16, last as u16);
    let few = last - first <= FEW;
    let whole = (first..=last).filter(|at| few || at % SPACING == 0);
    whole.collect()
}

/// A length in whole ticks, cut off.
pub(super) fn ticks(mm: f64) -> u16 {
    (mm / TICK_MM).clamp(0.0, 1e4) as u16
}

/// The code of each joint, and what goes in all the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Coded {
    /// `None` where there is no room for a key.
    pub(super) codes: Vec<Option<Code>>,
    /// A joint, and another one whose end goes into it, as places in the row.
    pub(super) takes: Vec<[usize; 2]>,
    /// Joints that a free end goes into: at the row's start, at its end.
    pub(super) takes_free: [Vec<usize>; 2],
}

impl Coded {
    /// How many joints lack a key or take a wrong end.
    pub(super) fn taken(&self) -> usize {
        let none = self.codes.iter().filter(|code| code.is_none()).count();
        let free: usize = self.takes_free.iter().map(Vec::len).sum();
        none + self.takes.len() + free
    }
}

/// An end of a segment: its grooves, and how high its wall is.
#[derive(Clone, Copy)]
struct End<'a> {
    grooves: &'a [u16],
    wall: u16,
}

/// Whether an end goes past tongues at these heights over the foot of a wall, upright or upside down.
fn takes(tongues: &[u16], wall: u16, end: End<'_>, misses: u16) -> bool {
    let groove = |at: &u16| end.grooves.iter().any(|its| its.abs_diff(*at) < misses);
    let from_middle = |at: &u16| (2 * at).abs_diff(wall);
    tongues.iter().all(|at| *at > end.wall || groove(at))
        || tongues.iter().all(|at| from_middle(at) > end.wall)
}

/// Chooses the codes. `free` is how high the walls of the row's free ends are.
pub(super) fn choose_codes(sites: &[Site], free: [u16; 2]) -> Coded {
    let ones: Vec<Vec<Code>> = sites.iter().map(singles).collect();
    let and = |more: fn(&Site) -> Vec<Code>, fewer: &[Vec<Code>]| -> Vec<Vec<Code>> {
        let pairs = sites.iter().zip(fewer);
        pairs
            .map(|(site, fewer)| {
                more(site)
                    .into_iter()
                    .chain(fewer.iter().cloned())
                    .collect()
            })
            .collect()
    };
    let both = and(pairs, &ones);
    let three = and(triples, &both);
    let [most, more] = MORE_MISSES;
    let ways = [
        (most, &ones),
        (more, &ones),
        (more, &both),
        (MISSES, &ones),
        (MISSES, &both),
        (MISSES, &three),
    ];
    let chosen = (ways.into_iter()).find_map(|(misses, choices)| {
        let choices: Vec<Vec<Code>> = (sites.iter().zip(choices))
            .map(|(site, all)| {
                let stops = |code: &&Code| {
                    let mut ends = free.iter().map(|&wall| End { grooves: &[], wall });
                    !ends.any(|end| takes(code, site.wall, end, misses))
                };
                all.iter().filter(stops).cloned().collect()
            })
            .collect();
        all_apart(sites, &choices, misses)
    });
    let chosen = chosen.unwrap_or_else(|| better(sites, &both, free));
    let code_at = |joint: usize| chosen.get(joint).map_or(&[][..], Vec::as_slice);
    let keyed = || (sites.iter().enumerate()).filter(|(joint, _)| !code_at(*joint).is_empty());
    let mut taken = Vec::new();
    for (joint, site) in keyed() {
        for (other, its) in sites.iter().enumerate().filter(|(k, _)| *k != joint) {
            let end = End {
                grooves: code_at(other),
                wall: its.wall,
            };
            if takes(code_at(joint), site.wall, end, MISSES) {
                taken.push([joint, other]);
            }
        }
    }
    let takes_free = free.map(|wall| {
        let end = End { grooves: &[], wall };
        let taken = keyed().filter(|(k, site)| takes(code_at(*k), site.wall, end, MISSES));
        taken.map(|(joint, _)| joint).collect()
    });
    let code = |code: Code| (!code.is_empty()).then_some(code);
    Coded {
        codes: chosen.into_iter().map(code).collect(),
        takes: taken,
        takes_free,
    }
}

fn singles(site: &Site) -> Vec<Code> {
    site.heights.iter().map(|&at| vec![at]).collect()
}

fn pairs(site: &Site) -> Vec<Code> {
    let every = if site.heights.len() > MANY { 2 } else { 1 };
    let upper = || site.heights.iter().step_by(every);
    (site.heights.iter())
        .flat_map(|&a| {
            let above = upper().filter(move |&&b| b >= a + site.apart);
            above.map(move |&b| vec![a, b])
        })
        .collect()
}

fn triples(site: &Site) -> Vec<Code> {
    let pairs = pairs(site);
    (pairs.iter())
        .flat_map(|low| {
            let above = pairs.iter().filter(|high| low.last() == high.first());
            above.map(|high| low.iter().chain(high.last()).copied().collect())
        })
        .collect()
}

/// A code for every joint that has room, such that none takes another's end; `None` if none is found.
fn all_apart(sites: &[Site], choices: &[Vec<Code>], misses: u16) -> Option<Vec<Code>> {
    let mut order: Vec<usize> = (0..sites.len()).collect();
    order.retain(|&joint| {
        sites
            .get(joint)
            .is_some_and(|site| !site.heights.is_empty())
    });
    // As jobs are done that with the earliest due date first.
    order.sort_by_key(|&joint| {
        let last = sites.get(joint).and_then(|site| site.heights.last());
        (last.copied(), choices.get(joint).map_or(0, Vec::len))
    });
    let mut search = Search {
        sites,
        choices,
        misses,
        order: &order,
        chosen: vec![Vec::new(); sites.len()],
        looks: 0,
    };
    search.go(0).then_some(search.chosen)
}

struct Search<'a> {
    sites: &'a [Site],
    choices: &'a [Vec<Code>],
    misses: u16,
    order: &'a [usize],
    chosen: Vec<Code>,
    looks: usize,
}

impl Search<'_> {
    fn go(&mut self, done: usize) -> bool {
        let Some(&joint) = self.order.get(done) else {
            return true;
        };
        let Some(choices) = self.choices.get(joint) else {
            return false;
        };
        for code in choices {
            self.looks += self.sites.len();
            if self.looks > MOST_LOOKS {
                return false;
            }
            if self.is_apart(joint, code) {
                self.chosen[joint].clone_from(code);
                if self.go(done + 1) {
                    return true;
                }
                self.chosen[joint].clear();
            }
        }
        false
    }

    /// Whether no end that is settled goes into a joint with this code, and its end into none. One without
    /// a key takes whatever comes.
    fn is_apart(&self, joint: usize, code: &[u16]) -> bool {
        let site = &self.sites[joint];
        let own = End {
            grooves: code,
            wall: site.wall,
        };
        (self.sites.iter().zip(&self.chosen).enumerate()).all(|(other, (its, chosen))| {
            let waits = chosen.is_empty() && !its.heights.is_empty();
            let end = End {
                grooves: chosen,
                wall: its.wall,
            };
            other == joint
                || waits
                || (!takes(code, site.wall, end, self.misses)
                    && (chosen.is_empty() || !takes(chosen, its.wall, own, self.misses)))
        })
    }
}

/// The codes that let the fewest wrong ends in, neighbours counted most, found joint by joint.
fn better(sites: &[Site], choices: &[Vec<Code>], free: [u16; 2]) -> Vec<Code> {
    let mut chosen: Vec<Code> = vec![Vec::new(); sites.len()];
    for _ in 0..MOST_ROUNDS {
        let mut changed = false;
        for (joint, site) in sites.iter().enumerate() {
            let cost = |code: &Code| -> f64 {
                let own = End {
                    grooves: code,
                    wall: site.wall,
                };
                let others =
                    (sites.iter().zip(&chosen).enumerate()).filter(|(k, (its, chosen))| {
                        *k != joint && (!chosen.is_empty() || its.heights.is_empty())
                    });
                let ends: f64 = others
                    .map(|(k, (its, chosen))| {
                        let far = k.abs_diff(joint) as f64;
                        let weight = if far < 2.0 { 100.0 } else { 1.0 / far };
                        let end = End {
                            grooves: chosen,
                            wall: its.wall,
                        };
                        let taken = takes(code, site.wall, end, MISSES);
                        let takes = !chosen.is_empty() && takes(chosen, its.wall, own, MISSES);
                        weight * f64::from(u8::from(taken) + u8::from(takes))
                    })
                    .sum();
                let open = |wall: &&u16| {
                    let end = End {
                        grooves: &[],
                        wall: **wall,
                    };
                    takes(code, site.wall, end, MISSES)
                };
                ends + free.iter().filter(open).count() as f64
            };
            let all = choices.get(joint).into_iter().flatten();
            let costs = all.map(|code| (cost(code), code));
            let Some((least, code)) = costs.min_by(|a, b| a.0.total_cmp(&b.0)) else {
                continue;
            };
            if chosen[joint].is_empty() || least < cost(&chosen[joint]) {
                let code = code.clone();
                chosen[joint] = code;
                changed = true;
            }
        }
        if !changed {
            break;
        }
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::robust::Draws;

    const HIGH: [u16; 2] = [400, 400];

    fn site(heights: impl IntoIterator<Item = u16>, wall: u16) -> Site {
        Site {
            heights: heights.into_iter().collect(),
            apart: 18,
            wall,
        }
    }

    /// Sites with heights from one to another (in half millimetres), under a wall 3 mm higher.
    fn sites(of: &[(u16, u16)]) -> Vec<Site> {
        let one = |&(first, last): &(u16, u16)| {
            site((first..=last).map(|at| at * SPACING), last * SPACING + 12)
        };
        of.iter().map(one).collect()
    }

    /// What must hold however the codes were found, by the definition alone.
    fn check(sites: &[Site], free: [u16; 2]) -> Coded {
        let made = choose_codes(sites, free);
        assert_eq!(made.codes.len(), sites.len());
        for (site, code) in sites.iter().zip(&made.codes) {
            assert_eq!(site.heights.is_empty(), code.is_none());
            if let Some(code) = code {
                assert!(code.iter().all(|at| site.heights.contains(at)));
                assert!(code.windows(2).all(|pair| pair[1] - pair[0] >= site.apart));
            }
        }
        let stopped = |j: usize, grooves: &[u16], wall: u16| {
            let tongues = made.codes[j].as_ref().unwrap();
            let [own, wall] = [sites[j].wall, wall].map(|h| f64::from(h) / 2.0);
            let free = |t: u16| grooves.iter().all(|g| g.abs_diff(t) >= MISSES);
            let upright = tongues
                .iter()
                .any(|&t| f64::from(t) <= 2.0 * wall && free(t));
            upright && tongues.iter().any(|&t| (f64::from(t) - own).abs() <= wall)
        };
        for j in (0..sites.len()).filter(|&j| made.codes[j].is_some()) {
            for (e, site) in sites.iter().enumerate().filter(|(e, _)| *e != j) {
                let grooves = made.codes[e].clone().unwrap_or_default();
                let stopped = stopped(j, &grooves, site.wall);
                assert_eq!(made.takes.contains(&[j, e]), !stopped, "{j} {e} {made:?}");
            }
            for (k, wall) in free.into_iter().enumerate() {
                assert_eq!(made.takes_free[k].contains(&j), !stopped(j, &[], wall));
            }
        }
        made
    }

    fn apart(sites: &[Site], free: [u16; 2]) -> Coded {
        let made = check(sites, free);
        assert_eq!(made.takes, Vec::<[usize; 2]>::new());
        assert!(made.takes_free.iter().all(Vec::is_empty));
        made
    }

    #[test]
    fn one_key_does_where_there_are_heights_enough() {
        let made = apart(&sites(&[(20, 44); 5]), HIGH);
        let codes: Vec<u16> = made.codes.iter().map(|c| c.as_ref().unwrap()[0]).collect();
        assert!(made.codes.iter().all(|c| c.as_ref().unwrap().len() == 1));
        // As far apart as the heights allow.
        assert_eq!(codes, [40, 52, 64, 76, 88]);
    }

    /// The first joint could take what only the second can have: it must leave it.
    #[test]
    fn a_low_joint_gets_the_only_height_it_has() {
        let row = [28, 24, 20].map(|last| site((20..=last).map(|at| at * SPACING), 60));
        let made = apart(&row, HIGH);
        let codes: Vec<u16> = made.codes.iter().map(|c| c.as_ref().unwrap()[0]).collect();
        assert_eq!(codes, [56, 48, 40]);
    }

    /// A low wall goes under what is above it, and upside down past what is far from the middle.
    #[test]
    fn a_low_end_is_met_by_a_key_of_each_joint() {
        let mut low = sites(&[(20, 60), (20, 60), (20, 60), (20, 60), (20, 60), (20, 60)]);
        low[2] = site([], 52);
        let made = apart(&low, HIGH);
        for code in made.codes.iter().flatten() {
            let by_middle = |at: &&u16| at.abs_diff(66) <= 26;
            assert!(
                code[0] <= 52 && code.iter().any(|at| by_middle(&at)),
                "{made:?}"
            );
        }
        // A free end too low for any.
        let made = check(&low, [400, 30]);
        assert_eq!(made.takes_free, [vec![], vec![0, 1, 3, 4, 5]]);
    }

    /// The lowest end is met by one height alone, which the others then share; a low one by two; and upside down
    /// by what is near the middle: three keys tell them apart where two do not.
    #[test]
    fn three_keys_serve_walls_of_very_unlike_heights() {
        let row = [(24, 42, 51), (19, 20, 28), (26, 74, 81), (26, 124, 133)];
        let row = row.map(|(first, last, wall)| Site {
            heights: (first..=last)
                .filter(|at| last < 50 || at % 2 == 0)
                .collect(),
            apart: 14,
            wall,
        });
        let made = apart(&row, [56, 89]);
        assert_eq!(made.codes[3].as_ref().unwrap().len(), 3);
    }

    /// Heights that far apart that none is next to another: 8 of them give 21 pairs whose keys are two apart,
    /// (8 - 1)(8 - 2) / 2.
    #[test]
    fn two_keys_serve_a_long_row_and_no_more_than_there_are_pairs() {
        let one = site((3..=10).map(|at| at * MORE_MISSES[0]), 140);
        let made = apart(&vec![one.clone(); 21], HIGH);
        assert!(made.codes.iter().all(|c| c.as_ref().unwrap().len() == 2));
        let made = check(&vec![one; 22], HIGH);
        assert!(!made.takes.is_empty());
        assert!(made.takes.iter().all(|[a, b]| a.abs_diff(*b) > 1));
    }

    #[test]
    fn neighbours_differ_wherever_two_heights_are_left() {
        let mut draws = Draws::seeded(5);
        for _ in 0..200 {
            let row: Vec<(u16, u16)> = (0..2 + draws.below(20))
                .map(|_| (20, 28 + draws.below(12) as u16))
                .collect();
            let made = check(&sites(&row), HIGH);
            let near = |[a, b]: &&[usize; 2]| a.abs_diff(*b) == 1;
            assert_eq!(made.takes.iter().find(near), None, "{row:?} {made:?}");
        }
    }

    #[test]
    fn heights_are_whole_steps_in_their_range() {
        assert_eq!(heights_within(9.1, 9.8), [37, 38, 39]);
        assert_eq!(heights_within(9.1, 14.6).len(), 11);
        assert_eq!(heights_within(5.2, 5.45), [21]);
        assert_eq!(heights_within(5.3, 5.45), Vec::<u16>::new());
        assert_eq!(heights_within(6.0, 5.0), Vec::<u16>::new());
        assert_eq!(heights_within(f64::NAN, 5.0), Vec::<u16>::new());
        let made = check(&[site([], 40), site([30], 60), site([], 40)], [60, 60]);
        assert_eq!(made.codes, [None, Some(vec![30]), None]);
    }
}
