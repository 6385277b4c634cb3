//! Which heights the keys of each joint have, so that no two joints go together.
//!
//! Every joint of a row has the same number of keys, one or two: then no joint's keys are part of
//! another's, and a tongue always meets a wall somewhere unless all heights are the same. Distinct codes
//! for all joints at once are a matching between joints and codes, found by augmenting paths (Kuhn, Naval
//! Research Logistics Quarterly 2, 1955).

use std::ops::RangeInclusive;

/// Keys of one joint stand this many places apart at least, so that a wall stays between their grooves.
const APART: usize = 2;
/// Most keys on one joint.
const MOST_KEYS: usize = 2;

/// The places there are for keys: neighbouring whole numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Places {
    first: usize,
    last: usize,
}

impl Places {
    /// Whole numbers from `low` to `high`, `None` if there are none.
    pub(super) fn within(low: f64, high: f64) -> Option<Self> {
        let (first, last) = ((low - 1e-9).ceil().max(0.0), (high + 1e-9).floor());
        (low <= high && first <= last && last < 1e4).then_some(Self {
            first: first as usize,
            last: last as usize,
        })
    }

    pub(super) fn all(self) -> RangeInclusive<usize> {
        self.first..=self.last
    }

    /// Every code of a number of keys, in order.
    fn codes(self, keys: usize) -> Vec<Vec<usize>> {
        if keys < 2 {
            return self.all().map(|m| vec![m]).collect();
        }
        self.all()
            .flat_map(|a| (a + APART..=self.last).map(move |b| vec![a, b]))
            .collect()
    }
}

/// The code of each joint, and whether another one has the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Coded {
    /// `None` where there is no room for a key.
    pub(super) codes: Vec<Option<Vec<usize>>>,
    /// Joints that share their code, as pairs of places in the row.
    pub(super) shared: Vec<[usize; 2]>,
}

/// Chooses the codes: all distinct with as few keys as can be. Where the heights do not allow it, a code
/// comes again as far off as can be.
pub(super) fn choose_codes(rooms: &[Option<Places>]) -> Coded {
    for keys in 1..=MOST_KEYS {
        if let Some(codes) = all_distinct(rooms, keys) {
            return Coded {
                codes,
                shared: Vec::new(),
            };
        }
    }
    repeated(rooms)
}

fn all_distinct(rooms: &[Option<Places>], keys: usize) -> Option<Vec<Option<Vec<usize>>>> {
    let choices: Vec<Vec<Vec<usize>>> = rooms
        .iter()
        .map(|room| room.map_or_else(Vec::new, |room| room.codes(keys)))
        .collect();
    let mut taken: Vec<(Vec<usize>, usize)> = Vec::new();
    for (joint, room) in rooms.iter().enumerate() {
        if room.is_some() && !place(joint, &choices, &mut taken, &mut Vec::new()) {
            return None;
        }
    }
    let code_of = |joint: usize| {
        let found = taken.iter().find(|(_, holder)| *holder == joint);
        found.map(|(code, _)| code.clone())
    };
    Some((0..rooms.len()).map(code_of).collect())
}

/// Finds a code for a joint, moving others on to another of theirs where that helps.
fn place(
    joint: usize,
    choices: &[Vec<Vec<usize>>],
    taken: &mut Vec<(Vec<usize>, usize)>,
    seen: &mut Vec<Vec<usize>>,
) -> bool {
    for code in &choices[joint] {
        if seen.contains(code) {
            continue;
        }
        seen.push(code.clone());
        match taken.iter().position(|(held, _)| held == code) {
            None => {
                taken.push((code.clone(), joint));
                return true;
            }
            Some(at) => {
                let holder = taken[at].1;
                if place(holder, choices, taken, seen) {
                    if let Some(held) = taken.get_mut(at) {
                        held.1 = joint;
                    }
                    return true;
                }
            }
        }
    }
    false
}

fn repeated(rooms: &[Option<Places>]) -> Coded {
    let mut codes: Vec<Option<Vec<usize>>> = Vec::with_capacity(rooms.len());
    let mut shared = Vec::new();
    for (joint, room) in rooms.iter().enumerate() {
        let last_use = |m: usize| {
            let used = codes.iter().rposition(|c| *c == Some(vec![m]));
            used.map_or(0, |at| at + 1)
        };
        let code = room.and_then(|room| room.all().min_by_key(|&m| last_use(m)));
        if let Some(at) = code.map(last_use).filter(|at| *at > 0) {
            shared.push([at - 1, joint]);
        }
        codes.push(code.map(|m| vec![m]));
    }
    Coded { codes, shared }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::math::robust::Draws;

    fn rooms(of: &[(usize, usize)]) -> Vec<Option<Places>> {
        of.iter()
            .map(|&(first, last)| Some(Places { first, last }))
            .collect()
    }

    fn check(rooms: &[Option<Places>], made: &Coded) {
        assert_eq!(made.codes.len(), rooms.len());
        let mut keys: Vec<usize> = Vec::new();
        for (room, code) in rooms.iter().zip(&made.codes) {
            assert_eq!(room.is_some(), code.is_some());
            if let (Some(room), Some(code)) = (room, code) {
                assert!(code.iter().all(|m| room.all().contains(m)));
                assert!(code.windows(2).all(|pair| pair[1] - pair[0] >= APART));
                keys.push(code.len());
            }
        }
        assert!(keys.windows(2).all(|pair| pair[0] == pair[1]));
        for (i, code) in made.codes.iter().enumerate() {
            let same = (0..i)
                .rev()
                .find(|&k| code.is_some() && made.codes[k] == *code);
            let told = made.shared.iter().find(|pair| pair[1] == i);
            assert_eq!(told.map(|pair| pair[0]), same);
        }
    }

    #[test]
    fn one_key_does_where_there_are_heights_enough() {
        let rooms = rooms(&[(4, 8), (4, 8), (4, 8), (4, 8), (4, 8)]);
        let made = choose_codes(&rooms);
        check(&rooms, &made);
        assert_eq!(made.shared, Vec::<[usize; 2]>::new());
        assert!(made.codes.iter().all(|c| c.as_ref().unwrap().len() == 1));
    }

    /// The first joint could take what only the second can have: it must move on.
    #[test]
    fn a_low_joint_gets_the_only_height_it_has() {
        let rooms = rooms(&[(2, 4), (2, 3), (2, 2)]);
        let made = choose_codes(&rooms);
        check(&rooms, &made);
        let codes: Vec<usize> = made.codes.iter().map(|c| c.as_ref().unwrap()[0]).collect();
        assert_eq!(codes, [4, 3, 2]);
    }

    /// 8 heights give 21 pairs at least two apart: (8 - 1)(8 - 2) / 2.
    #[test]
    fn two_keys_serve_a_long_row_and_no_more_than_there_are_pairs() {
        let long = rooms(&[(3, 10); 21]);
        let made = choose_codes(&long);
        check(&long, &made);
        assert!(made.shared.is_empty());
        assert!(made.codes.iter().all(|c| c.as_ref().unwrap().len() == 2));
        let longer = rooms(&[(3, 10); 22]);
        let made = choose_codes(&longer);
        check(&longer, &made);
        assert!(!made.shared.is_empty());
        // As far off as can be: all 8 heights come before one comes again.
        assert!(made.shared.iter().all(|[a, b]| b - a == 8));
    }

    #[test]
    fn neighbours_differ_wherever_two_heights_are_left() {
        let mut draws = Draws::seeded(5);
        for _ in 0..200 {
            let rooms: Vec<Option<Places>> = (0..2 + draws.below(20))
                .map(|_| {
                    let first = 2 + draws.below(4);
                    let last = first + 1 + draws.below(3);
                    (draws.below(8) > 0).then_some(Places { first, last })
                })
                .collect();
            let made = choose_codes(&rooms);
            check(&rooms, &made);
            assert!(made.shared.iter().all(|[a, b]| b - a > 1));
        }
    }

    #[test]
    fn no_room_no_key() {
        assert_eq!(Places::within(3.2, 3.8), None);
        assert_eq!(Places::within(f64::NAN, 3.8), None);
        let made = choose_codes(&[None, Places::within(3.0, 3.0), None]);
        assert_eq!(made.codes, [None, Some(vec![3]), None]);
    }
}
