use super::*;
use crate::gap::seal::Room;
use crate::gap::{Budget, EdgeKind, Obstacle, Quality, Station, Survey, TrayStrip};
use crate::math::{Point2, Point3, Spine, Vector3};

/// A gap of 30 to 38 mm along an arc of radius 700, every 5 mm, known to 0.6 mm.
fn survey() -> Survey {
    let points: Vec<Point3> = (0..=60)
        .map(|k| f64::from(k - 30).to_radians())
        .map(|a| Point3::new(700.0 * (a.cos() - 1.0), 700.0 * a.sin(), 0.0))
        .collect();
    let spine = Spine::fit(&points, &vec![1.0; points.len()], 40.0, 0.0).unwrap();
    let length = spine.length();
    let count = 140;
    let stations = (0..=count)
        .map(|k| {
            let s = length * f64::from(k) / f64::from(count);
            let gap = 30.0 + 8.0 * (std::f64::consts::PI * s / length).sin();
            let frame = spine.frame_at(s);
            Station {
                s,
                edge: frame.to_shop(Point2::new(0.0, gap)),
                silhouette: frame.to_shop(Point2::new(4.0, gap + 4.0)),
                tray: frame.to_shop(Point2::new(0.0, 0.0)),
                tray_normal: Vector3::z(),
                lean: 0.0,
                gap,
                sigma: 0.6,
                budget: Budget {
                    noise: 0.6,
                    ..Budget::default()
                },
                quality: Quality::Good,
            }
        })
        .collect();
    Survey {
        tray: TrayStrip {
            along: vec![0.0, length],
            rows: vec![[0.0; 3]; 2],
        },
        spine,
        stations,
        edge_kind: EdgeKind::Cut,
        edge_radius_mm: 0.0,
        obstacles: Vec::new(),
        findings: Vec::new(),
    }
}

/// Readings of all checks on a vehicle that is the survey corrected, each off by `noise` of its turn.
fn readings(survey: &Survey, truth: Correction, noise: impl Fn(usize) -> f64) -> Vec<Reading> {
    let length = survey.spine.length();
    choose_checks(survey, SPACING)
        .into_iter()
        .enumerate()
        .map(|(i, c)| {
            let mut value = c.predicted * truth.scale + noise(i);
            if c.kind == CheckKind::Gap {
                value += truth.added(c.s / length);
            }
            Reading {
                name: c.name,
                kind: c.kind,
                instrument: c.instrument,
                at: c.at,
                to: c.to,
                predicted: None,
                value,
            }
        })
        .collect()
}

/// Edge length of the scan (mm): a fine one, so that the ends are well known.
const SPACING: f64 = 1.0;

/// A lip that takes up whatever there is.
const WIDE: Room = Room {
    opens: 1e3,
    closes: 1e3,
};

/// A few tenths of a millimetre, by turns.
fn hand(i: usize) -> f64 {
    [0.2, -0.3, 0.1, 0.0, -0.2, 0.3, -0.1][i % 7]
}

/// OIML R 35-1, class II: 0.5, 0.7, 0.9 and 1.3 mm at 0.5, 1.8, 3 and 5 m (as in UK SI 2016/1153).
#[test]
fn the_tape_has_the_published_error() {
    for (length, most) in [(500.0, 0.5), (1800.0, 0.7), (3000.0, 0.9), (5000.0, 1.3)] {
        let want = f64::hypot(most, 0.5) / 3f64.sqrt();
        assert!((Instrument::Tape.sigma(length) - want).abs() < 1e-12);
    }
}

#[test]
fn checks_cover_the_edge_and_keep_off_steps_and_obstacles() {
    let mut survey = survey();
    let middle = survey.spine.length() / 2.0;
    survey.obstacles.push(Obstacle {
        along: [middle - 30.0, middle + 30.0],
        across: [-20.0, 20.0],
        height: 8.0,
    });
    for st in survey.stations.iter_mut().filter(|s| s.s < 200.0) {
        st.gap += 15.0;
        st.edge.z += 15.0;
    }
    let checks = choose_checks(&survey, SPACING);
    let gaps: Vec<&Check> = checks.iter().filter(|c| c.kind == CheckKind::Gap).collect();
    assert!((6..=10).contains(&gaps.len()), "{}", gaps.len());
    assert!(checks.iter().filter(|c| c.to.is_some()).count() >= 2);
    let length = Ruler::new(&survey, SPACING).unwrap().length();
    assert!(gaps[0].at < 25.0 && gaps[gaps.len() - 1].at > length - 25.0);
    for gap in &gaps {
        assert!(
            (gap.s - middle).abs() > 40.0 && (gap.s - 200.0).abs() > 10.0,
            "{gap:?}"
        );
        assert!(gap.tolerance > 1.2 && gap.tolerance < 1.6, "{gap:?}");
    }
    for pair in gaps.windows(2) {
        assert!(pair[1].at - pair[0].at < 0.4 * length);
    }
    // The chord of an arc: 2 R sin(angle / 2), and half of it (plane geometry).
    assert!(
        (checks[1].predicted - 700.0).abs() < 0.5,
        "{}",
        checks[1].predicted
    );
    let half = 2.0 * 700.0 * 15f64.to_radians().sin();
    let dz: f64 = 8.0 + 7.5;
    assert!((checks[3].predicted - half.hypot(dz)).abs() < 4.0);
}

#[test]
fn readings_that_agree_say_go() {
    let survey = survey();
    let found = judge(
        &survey,
        SPACING,
        &readings(&survey, Correction::NONE, hand),
        WIDE,
    )
    .unwrap();
    assert_eq!(found.verdict, Verdict::Go);
    assert!(found.before.p > 0.5 && found.correction == Correction::NONE);
}

#[test]
fn a_scale_and_a_tilt_are_found_within_their_doubt_and_corrected() {
    let survey = survey();
    let truth = Correction {
        scale: 1.012,
        left: 2.5,
        right: -1.5,
    };
    let taken = readings(&survey, truth, hand);
    let found = judge(&survey, SPACING, &taken, WIDE).unwrap();
    assert_eq!(found.verdict, Verdict::Shim, "{found:?}");
    let (c, u) = (found.correction, found.doubt);
    assert!(
        (c.scale - 1.012).abs() < 2.0 * u[0] && u[0] < 0.003,
        "{c:?} {u:?}"
    );
    assert!(
        (c.left - 2.5).abs() < 2.0 * u[1] && (c.right + 1.5).abs() < 2.0 * u[2],
        "{c:?} {u:?}"
    );
    assert!(found.before.p < 1e-6 && found.after.p > 0.05);
    // The corrected survey agrees with readings at the same places of the vehicle.
    let corrected = c.apply(&survey);
    assert_eq!(corrected.findings.last().unwrap().code, "corrected");
    let moved: Vec<Reading> = taken
        .into_iter()
        .map(|r| Reading {
            at: r.at * c.scale,
            to: r.to.map(|t| t * c.scale),
            ..r
        })
        .collect();
    assert_eq!(
        judge(&corrected, SPACING, &moved, WIDE).unwrap().verdict,
        Verdict::Go
    );
    for st in &corrected.stations {
        assert!(((st.edge - st.tray).norm() - st.gap).abs() < 1e-9);
    }
}

#[test]
fn a_constant_alone_gets_no_tilt_and_no_scale() {
    let survey = survey();
    let truth = Correction {
        scale: 1.0,
        left: 2.0,
        right: 2.0,
    };
    let found = judge(&survey, SPACING, &readings(&survey, truth, hand), WIDE).unwrap();
    assert_eq!(found.verdict, Verdict::Shim);
    assert_eq!(found.correction.scale, 1.0);
    assert_eq!(found.correction.left, found.correction.right);
    assert!((found.correction.left - 2.0).abs() < 0.3);
}

/// What agrees with a survey known to 2 mm need not fit a seal that takes up half of that.
#[test]
fn what_the_seal_does_not_take_up_is_a_shim_though_the_readings_agree() {
    let survey = survey();
    let truth = |by: f64| Correction {
        scale: 1.0,
        left: by,
        right: by,
    };
    let judged = |by: f64, room: Room| {
        let mut doubtful = survey.clone();
        for st in &mut doubtful.stations {
            st.budget = Budget {
                noise: 0.3,
                rounding: 1.2,
                ..Budget::default()
            };
            st.sigma = st.budget.combined();
        }
        judge(
            &doubtful,
            SPACING,
            &readings(&doubtful, truth(by), hand),
            room,
        )
        .unwrap()
    };
    let room = Room {
        opens: 0.9,
        closes: 1.6,
    };
    for (by, verdict) in [
        (1.2, Verdict::Shim),
        (0.0, Verdict::Go),
        (-0.7, Verdict::Go),
        (-1.2, Verdict::Shim),
    ] {
        let found = judged(by, room);
        assert_eq!(found.verdict, verdict, "{by}: {found:?}");
        // All of them agree with what the survey knows.
        assert!(found.before.p > 0.05, "{by}");
        assert_eq!(judged(by, WIDE).verdict, Verdict::Go);
        if verdict == Verdict::Shim {
            assert_eq!(found.correction.left, found.correction.right);
            assert!((found.correction.left - by).abs() < 0.2, "{found:?}");
            assert!(found.doubt[1] < 0.3, "{found:?}");
            let side = if by > 0.0 { 0.9 } else { 1.6 };
            let [had, spent] = found.taken_up.unwrap();
            assert_eq!(had, side);
            assert!((spent - 2.0 * (0.09 + 0.04 / 3.0f64).sqrt()).abs() < 1e-9);
        } else {
            assert_eq!((found.correction, found.taken_up), (Correction::NONE, None));
        }
        assert_eq!(found.wanders, None);
    }
    let narrow = Room {
        opens: 0.4,
        closes: 0.4,
    };
    let [half, needs] = judged(0.0, narrow).wanders.unwrap();
    // Twice the scatter with the print's 0.2 mm over the root of three.
    assert!(
        (half - 0.4).abs() < 1e-12 && (needs - 2.0 * (0.09 + 0.04 / 3.0f64).sqrt()).abs() < 1e-9
    );
}

/// A survey known to 1.2 mm as a whole and to 0.3 from place to place.
fn doubtful() -> Survey {
    let mut doubtful = survey();
    for st in &mut doubtful.stations {
        st.budget = Budget {
            noise: 0.3,
            rounding: 1.2,
            ..Budget::default()
        };
        st.sigma = st.budget.combined();
    }
    doubtful
}

/// Packing follows a height and a tilt. A gap that is off from its neighbours by more than the seal takes up
/// is read again, however badly the survey is known there.
#[test]
fn what_packing_does_not_follow_is_a_rescan_though_the_readings_agree() {
    let survey = doubtful();
    let room = Room {
        opens: 0.9,
        closes: 0.9,
    };
    let true_ones = readings(&survey, Correction::NONE, |_| 0.0);
    let first = true_ones
        .iter()
        .position(|r| r.kind == CheckKind::Gap)
        .unwrap();
    let off = |by: &dyn Fn(usize) -> f64, room: Room| {
        let mut taken = true_ones.clone();
        for (k, reading) in taken[first..].iter_mut().enumerate() {
            reading.value += by(k);
        }
        judge(&survey, SPACING, &taken, room).unwrap()
    };
    let third = |by: f64| move |k: usize| if k == 2 { by } else { 0.0 };
    for by in [2.0, -2.2] {
        let found = off(&third(by), room);
        assert_eq!(found.verdict, Verdict::Rescan, "{by}: {found:?}");
        assert_eq!(found.odd, ["G3"]);
        assert_eq!(found.local, Some(0.9));
        assert!(found.before.p > 0.05, "the survey itself knows no better");
        assert_eq!(found.correction, Correction::NONE);
        let [from, to] = found.stretch.unwrap();
        let at = true_ones[first + 2].at;
        assert!(from < at && at < to);
        assert_eq!(off(&third(by), WIDE).verdict, Verdict::Go);
    }
    let by_turns = |k: usize| if k.is_multiple_of(2) { 1.6 } else { -1.6 };
    let found = off(&by_turns, room);
    assert_eq!(found.verdict, Verdict::Rescan, "{found:?}");
    assert!(found.odd.len() > 2, "{found:?}");
    // On top of a height that packing takes out: the one is still named alone.
    let found = off(&|k| 1.2 + third(2.0)(k), room);
    assert_eq!(
        (found.verdict, &found.odd[..]),
        (Verdict::Rescan, &["G3".to_owned()][..])
    );
    // Half a millimetre is the seal's.
    assert_eq!(off(&third(0.5), room).verdict, Verdict::Go);
}

/// All tapes long by the same share, each within its own tolerance: together they know the scale better.
#[test]
fn lengths_that_agree_one_by_one_show_a_scale_together() {
    let survey = doubtful();
    let spacing = 4.0;
    let long = |by: f64, gaps: bool| {
        let mut taken = readings(&survey, Correction::NONE, |_| 0.0);
        for r in taken
            .iter_mut()
            .filter(|r| gaps || r.kind != CheckKind::Gap)
        {
            r.value *= by;
        }
        judge(&survey, spacing, &taken, WIDE).unwrap()
    };
    let known = long(1.0, false).scale_known.unwrap();
    assert_eq!(long(1.0 + 0.5 * known, true).verdict, Verdict::Go);
    for gaps in [false, true] {
        let by = 1.0 + 1.6 * known;
        let found = long(by, gaps);
        assert!(found.before.p > 0.05, "{found:?}");
        assert_eq!(found.verdict, Verdict::Shim, "{found:?}");
        assert!(
            (found.correction.scale - by).abs() < found.doubt[0],
            "{found:?}"
        );
        assert_eq!([found.correction.left, found.correction.right], [0.0; 2]);
    }
}

/// Four lengths with a doubt of their own know the scale as well as the sum of their squares (GUM 5.1).
#[test]
fn what_the_lengths_know_of_the_scale_is_told() {
    let survey = survey();
    let found = judge(
        &survey,
        SPACING,
        &readings(&survey, Correction::NONE, hand),
        WIDE,
    )
    .unwrap();
    let known = found.scale_known.unwrap();
    // Each length alone, ends shared or not: the best of them bounds it from above, all as if they shared
    // nothing from below.
    let shares = found
        .held
        .iter()
        .filter(|h| h.reading.kind != CheckKind::Gap);
    let alone: Vec<f64> = shares.map(|h| h.tolerance / h.predicted).collect();
    let best = alone.iter().copied().fold(f64::INFINITY, f64::min);
    let free = alone.iter().map(|a| a.powi(-2)).sum::<f64>().powf(-0.5);
    assert!(
        known < best * 1.0001 && known > 0.9 * free,
        "{known} {best} {free}"
    );
    let gaps: Vec<Reading> = readings(&survey, Correction::NONE, hand)
        .into_iter()
        .filter(|r| r.kind == CheckKind::Gap)
        .collect();
    assert_eq!(
        judge(&survey, SPACING, &gaps, WIDE).unwrap().scale_known,
        None
    );
}

#[test]
fn a_bulge_is_a_rescan_and_its_stretch_is_named() {
    let survey = survey();
    let mut taken = readings(&survey, Correction::NONE, hand);
    let gaps: Vec<usize> = (0..taken.len())
        .filter(|&i| taken[i].to.is_none())
        .collect();
    taken[gaps[2]].value += 9.0;
    let found = judge(&survey, SPACING, &taken, WIDE).unwrap();
    assert_eq!(found.verdict, Verdict::Rescan);
    assert_eq!(found.odd, [taken[gaps[2]].name.clone()]);
    assert_eq!(found.stretch, Some([taken[gaps[1]].at, taken[gaps[3]].at]));
}

#[test]
fn few_readings_support_little() {
    let survey = survey();
    let truth = Correction {
        scale: 1.0,
        left: 3.0,
        right: 3.0,
    };
    let mut taken = readings(&survey, truth, hand);
    taken.retain(|r| r.kind == CheckKind::Gap);
    taken.truncate(1);
    let found = judge(&survey, SPACING, &taken, WIDE).unwrap();
    assert_eq!(found.verdict, Verdict::Rescan);
    assert_eq!(found.unsupported.len(), 3);
    assert!(judge(&survey, SPACING, &[], WIDE).is_err());
}

#[test]
fn places_off_the_edge_and_other_units_are_named() {
    let survey = survey();
    let taken = readings(&survey, Correction::NONE, hand);
    let mut off = taken.clone();
    off[6].at = 900.0;
    assert!(matches!(
        judge(&survey, SPACING, &off, WIDE),
        Err(ReadingFault::OffTheGap { .. })
    ));
    for (factor, name) in [(25.4, "inches"), (10.0, "centimetres"), (1000.0, "metres")] {
        let mut other = taken.clone();
        for r in &mut other {
            r.value /= factor;
        }
        match judge(&survey, SPACING, &other, WIDE) {
            Err(ReadingFault::OtherUnit { unit, names, .. }) => {
                assert_eq!(unit, name);
                assert!(names.contains("L1") && names.contains("G6"), "{names}");
            }
            other => panic!("{other:?}"),
        }
    }
    for value in [f64::NAN, -1.0, 0.0, f64::INFINITY] {
        let mut bad = taken.clone();
        bad[5].value = value;
        assert!(matches!(
            judge(&survey, SPACING, &bad, WIDE),
            Err(ReadingFault::NotPositive { .. })
        ));
    }
}

#[test]
fn corrections_follow_each_other() {
    let a = Correction {
        scale: 1.01,
        left: 1.0,
        right: -2.0,
    };
    let b = Correction {
        scale: 0.995,
        left: -0.5,
        right: 0.25,
    };
    let survey = survey();
    let (twice, once) = (b.apply(&a.apply(&survey)), a.then(&b).apply(&survey));
    for (p, q) in twice.stations.iter().zip(&once.stations) {
        assert!((p.gap - q.gap).abs() < 1e-9 && (p.edge - q.edge).norm() < 1e-9);
    }
}

#[test]
fn shims_are_a_level_strip_a_wedge_or_single_ones() {
    let survey = survey();
    let length = Ruler::new(&survey, SPACING).unwrap().length();
    let plan = |values: [f64; 4]| {
        let readings: Vec<Reading> = values
            .iter()
            .enumerate()
            .map(|(i, &value)| Reading {
                name: format!("F{i}"),
                kind: CheckKind::Fitted,
                instrument: Instrument::Gauge,
                at: length * i as f64 / 3.0,
                to: None,
                predicted: Some(2.0),
                value,
            })
            .collect();
        plan_shims(&survey, &readings).unwrap().unwrap()
    };
    let level = plan([3.0, 3.2, 2.8, 3.0]);
    assert!(
        level
            .strip
            .is_some_and(|[a, b]| (a - 1.0).abs() < 1e-9 && (b - 1.0).abs() < 1e-9)
    );
    let wedge = plan([2.0, 3.0, 4.0, 5.0]).strip.unwrap();
    assert!(wedge[0].abs() < 1e-9 && (wedge[1] - 3.0).abs() < 1e-9);
    let odd = plan([2.0, 5.0, 2.0, 2.0]);
    assert!(odd.strip.is_none() && (odd.shims[1].pack - 3.0).abs() < 1e-12);
    assert!(odd.shims[0].good && !odd.shims[1].good);
    assert_eq!(plan_shims(&survey, &[]), Ok(None));
}

#[test]
fn another_survey_has_another_name() {
    let survey = survey();
    let id = survey_id(&survey, ["a", "b"]);
    assert_eq!(id.len(), 12);
    assert_eq!(id, survey_id(&survey, ["a", "b"]));
    let mut other = survey.clone();
    other.stations[3].gap += 0.01;
    assert_ne!(id, survey_id(&other, ["a", "b"]));
    assert_ne!(id, survey_id(&survey, ["a", "c"]));
}

/// Normal deviates from a fixed sequence (Box and Muller over a linear congruential generator).
struct Chance(u64);

impl Chance {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        let (a, b) = (self.uniform(), self.uniform());
        (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
    }
}

/// Readings off by what the budget says they may be, the edge's ends included.
fn drawn(survey: &Survey, spacing: f64, truth: Correction, chance: &mut Chance) -> Vec<Reading> {
    let ruler = Ruler::new(survey, spacing).unwrap();
    let ends = [chance.normal(), chance.normal()];
    let mut taken = readings(survey, truth, |_| 0.0);
    for r in &mut taken {
        let p = predict(&ruler, r.kind, r.instrument, r.at, r.to.unwrap_or(r.at));
        r.value += p.own * chance.normal() + p.ends[0] * ends[0] + p.ends[1] * ends[1];
    }
    taken
}

/// A test at 5 % turns down one true case in twenty; four hundred draws give 5 % to within 3.3 % (three
/// standard deviations of the binomial).
#[test]
fn a_true_survey_is_turned_down_as_often_as_the_level_says() {
    let survey = survey();
    let mut chance = Chance(7);
    let mut turned_down = 0;
    for _ in 0..400 {
        let taken = drawn(&survey, 3.0, Correction::NONE, &mut chance);
        let found = judge(&survey, 3.0, &taken, WIDE).unwrap();
        turned_down += usize::from(found.before.p < 0.05);
    }
    assert!((7..=33).contains(&turned_down), "{turned_down}");
}

/// Twice the standard uncertainty covers 95 %: of two hundred draws 190, to within 9.
#[test]
fn scale_and_height_are_recovered_within_their_stated_doubt() {
    let survey = survey();
    let truth = Correction {
        scale: 1.012,
        left: 4.0,
        right: 4.0,
    };
    let mut chance = Chance(11);
    let (mut covered, mut shims) = ([0; 2], 0);
    for _ in 0..200 {
        let taken = drawn(&survey, 1.5, truth, &mut chance);
        let found = judge(&survey, 1.5, &taken, WIDE).unwrap();
        shims += usize::from(found.verdict == Verdict::Shim);
        let (c, u) = (found.correction, found.doubt);
        covered[0] += usize::from((c.scale - 1.012).abs() <= 2.0 * u[0]);
        covered[1] += usize::from((c.left - 4.0).abs() <= 2.0 * u[1]);
    }
    assert!(shims >= 180, "{shims}");
    assert!(covered.iter().all(|n| *n >= 178), "{covered:?}");
}
