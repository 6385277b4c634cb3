//! The ends of a panel, against formulas and by rays.

use super::foot::tray_height;
use super::samples::{Gap, arc, bow, straight};
use super::*;
use crate::gap::{EdgeKind, Obstacle};
use crate::math::{Point2, Point3};
use crate::mesh::nearest::Nearest;
use crate::mesh::topology::find_pieces;
use crate::progress::Progress;

fn made(gap: &Gap, options: &PanelOptions) -> Panel {
    let panel = design(&gap.survey(), options, &Progress::silent()).unwrap();
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1);
    let [least, most] = panel.wall.range().unwrap();
    assert!(least >= 0.97 && most <= 1.15, "{:?}", panel.wall);
    panel
}

fn ended(left: End, right: End) -> PanelOptions {
    PanelOptions {
        end_left: left,
        end_right: right,
        ..Default::default()
    }
}

fn codes(panel: &Panel) -> Vec<&str> {
    panel.findings.iter().map(|f| f.code).collect()
}

/// Gaps that differ in all that an end could trip over.
fn gaps() -> Vec<Gap> {
    let mut gaps = Vec::new();
    for kind in [EdgeKind::Cut, EdgeKind::Rolled] {
        gaps.push(Gap::plain(straight(400.0), kind));
        let mut waved = Gap::plain(arc(300.0, 70.0), kind);
        waved.edge_z = |s| 40.0 + 8.0 * (s / 60.0).cos();
        waved.edge_x = |s| 4.0 * (s / 30.0).sin();
        waved.lean = |s| 0.3 * (s / 90.0).cos();
        waved.tray = |s| [3.0 * (s / 70.0).sin(), 0.1, -3e-4];
        waved.noise = 0.3;
        gaps.push(waved);
        // Ends in the middle of a tight corner.
        let mut hooked = Gap::plain(arc(30.0, 200.0), kind);
        hooked.tray = |_| [0.0, -0.08, 0.0];
        gaps.push(hooked);
        gaps.push(Gap::plain(bow(90.0, 25.0, 120.0), kind));
    }
    gaps
}

/// Nothing of a panel lies outside of the closed one's outside, under the tray, or inboard above the knee.
fn expect_within(gap: &Gap, panel: &Panel) {
    let survey = gap.survey();
    for p in &panel.solid.mesh().points {
        let (s, x) = survey.spine.locate(p.xy());
        assert!(
            p.z > tray_height(&survey.tray, s, x) - 0.3,
            "{s} {x} {} under the tray",
            p.z
        );
        // Furthest out that the sections on either side reach.
        let k = panel.sections.partition_point(|section| section.s < s);
        let near = k.saturating_sub(2)..(k + 2).min(panel.sections.len());
        let out = panel.sections[near]
            .iter()
            .flat_map(|section| &section.outline)
            .fold(f64::NEG_INFINITY, |out, p| out.max(p.x));
        assert!(x < out + 0.1, "{s}: {x} past the face at {out}");
    }
}

#[test]
fn a_returned_end_is_closed_by_a_wall() {
    for gap in gaps() {
        let closed = made(&gap, &ended(End::Closed, End::Closed));
        let panel = made(&gap, &ended(End::Returned, End::Returned));
        assert_eq!(codes(&panel), codes(&closed));
        expect_within(&gap, &panel);
        let end = panel.wall.end.expect("the end walls are measured");
        assert!(
            (end.least.mm - 3.0).abs() < 0.01 && (end.most.mm - 3.0).abs() < 0.01,
            "{end:?}"
        );
        let mesh = Nearest::new(panel.solid.mesh()).unwrap();
        for (section, into) in [
            (panel.sections.first().unwrap(), 1.0),
            (panel.sections.last().unwrap(), -1.0),
        ] {
            let frame = gap.spine.frame_at(section.s);
            let (foot, knee) = (section.outline[3], section.outline[4]);
            let blocked = |x: f64, z: f64| {
                let from = frame.to_shop(Point2::new(x, z)) - frame.along * into * 5.0;
                mesh.ray(from, frame.along * into, 10.0).is_some()
            };
            for share in [0.05, 0.3, 0.6, 0.97] {
                let x = foot.x - 25.0 * share;
                assert!(blocked(x, knee.y - 0.2), "{share} below the knee");
                let tray = tray_height(&gap.survey().tray, section.s, x);
                assert!(blocked(x, tray + 0.3), "{share} over the tray");
                // Nothing reaches above the knee away from the lip.
                assert!(
                    share < 0.5 || !blocked(x, knee.y + 0.1),
                    "{share} over the knee"
                );
            }
            assert!(
                !blocked(foot.x - 25.5, 0.6 * knee.y),
                "no deeper than the flange"
            );
        }
    }
}

#[test]
fn an_end_wall_has_the_volume_of_its_parts() {
    let gap = Gap::plain(straight(500.0), EdgeKind::Rolled);
    let closed = made(&gap, &PanelOptions::default());
    let options = PanelOptions {
        return_mm: Some(40.0),
        ..ended(End::Returned, End::Closed)
    };
    let panel = made(&gap, &options);
    // Land at 40 - 1.8 - 0.3 = 37.9; the wall fills 40 by 37.9 but for what face, flange and fillet hold.
    let fillet = 9.0 - 18.0 * std::f64::consts::FRAC_PI_8.sin();
    let section = 25.0 * 3.0 + 3.0 * (37.9 - 3.0) + fillet;
    let added = panel.solid.volume() - closed.solid.volume();
    let meant = 3.0 * (40.0 * 37.9 - section);
    // The inset of 0.05 mm takes a little off where the wall reaches past the flange.
    assert!((added - meant).abs() < 0.01 * meant, "{added} {meant}");
    assert_eq!(panel.ends[0].end, End::Returned);
    assert!(panel.ends[1].along.iter().all(|s| (s - 500.0).abs() < 1e-9));
}

#[test]
fn an_end_wall_keeps_clear_of_what_stands_on_the_tray() {
    let mut gap = Gap::plain(straight(300.0), EdgeKind::Rolled);
    let stands = |across, height| Obstacle {
        along: [-3.0, 8.0],
        across,
        height,
    };
    gap.obstacles = vec![stands([-20.0, -12.0], 15.0)];
    let panel = made(&gap, &ended(End::Returned, End::Closed));
    assert_eq!(codes(&panel), ["end-notched", "flange-relieved"]);
    let mesh = Nearest::new(panel.solid.mesh()).unwrap();
    let blocked = |x: f64, z: f64| {
        let from = Point3::new(x, -10.0, z);
        mesh.ray(from, nalgebra::Vector3::y(), 14.0).is_some()
    };
    assert!(!blocked(-16.0, 16.9) && !blocked(-10.1, 2.0) && blocked(-16.0, 17.2));
    gap.obstacles = vec![stands([-20.0, -12.0], 34.0)];
    let panel = made(&gap, &ended(End::Returned, End::Closed));
    assert_eq!(codes(&panel), ["end-blocked", "flange-relieved"]);
}

#[test]
fn a_faded_end_falls_onto_the_tray() {
    for gap in gaps() {
        let closed = made(&gap, &ended(End::Closed, End::Closed));
        let panel = made(&gap, &ended(End::Faded, End::Faded));
        expect_within(&gap, &panel);
        let mesh = Nearest::new(panel.solid.mesh()).unwrap();
        let whole = Nearest::new(closed.solid.mesh()).unwrap();
        let survey = gap.survey();
        let length = survey.spine.length();
        let fade = 60.0_f64.min(0.4 * length);
        assert_eq!(codes(&panel).contains(&"fade-shortened"), fade < 60.0);
        let top = |mesh: &Nearest, s: f64| {
            // Height at the outside of the face: a level ray from outside, from above down.
            let section = panel
                .sections
                .iter()
                .min_by(|a, b| (a.s - s).abs().total_cmp(&(b.s - s).abs()))
                .unwrap();
            let tray = tray_height(&survey.tray, s, section.outline[3].x);
            let frame = survey.spine.frame_at(s);
            (0..1200)
                .rev()
                .map(|k| 0.1 * f64::from(k))
                .find(|up| {
                    let from = frame.to_shop(Point2::new(20.0, tray + up));
                    mesh.ray(from, -frame.outward, 22.0 - section.outline[3].x)
                        .is_some()
                })
                .unwrap_or(0.0)
        };
        for into in [1.0, -1.0] {
            let end = if into > 0.0 { 0.0 } else { length };
            let heights: Vec<f64> = (0..=20)
                .map(|i| top(&mesh, end + into * (0.1 + fade * f64::from(i) / 20.0)))
                .collect();
            assert!(heights[0] > 1.3 && heights[0] < 1.8, "{heights:?}");
            // No steps: over a twentieth of its length it rises by 1.5 twentieths of the height at most,
            // and by what the gap itself does.
            let full = heights.iter().copied().fold(0.0, f64::max);
            for pair in heights.windows(2) {
                let rise = (pair[1] - pair[0]).abs();
                assert!(rise < 1.5 * full / 20.0 + 2.5, "{heights:?}");
            }
            let beyond = end + into * (fade + 2.0);
            assert!((top(&mesh, beyond) - top(&whole, beyond)).abs() < 0.15);
        }
    }
}

#[test]
fn what_a_fade_takes_away_is_what_its_course_says() {
    let gap = Gap::plain(straight(500.0), EdgeKind::Rolled);
    let options = PanelOptions {
        fillet_mm: 0.0,
        ..ended(End::Closed, End::Faded)
    };
    let closed = made(
        &gap,
        &PanelOptions {
            fillet_mm: 0.0,
            ..Default::default()
        },
    );
    let panel = made(&gap, &options);
    let gone = closed.solid.volume() - panel.solid.volume();
    // The top falls from 37.9 to 1.5 by 3t^2 - 2t^3; of the flange goes what is under 3 mm.
    let steps = 60_000;
    let meant: f64 = (0..steps)
        .map(|i| {
            let t = (f64::from(i) + 0.5) / f64::from(steps);
            let height = (1.5 + (37.9 + 0.25 - 1.5) * t * t * (3.0 - 2.0 * t)).min(37.9);
            3.0 * (37.9 - height.max(3.0)) + 25.0 * (3.0 - height).max(0.0)
        })
        .sum::<f64>()
        * 60.0
        / f64::from(steps);
    assert!((gone / meant - 1.0).abs() < 2e-3, "{gone} {meant}");
    let [from, to] = panel.ends[1].along;
    assert!((from - 440.0).abs() < 1e-9 && (to - 500.0).abs() < 1e-9);
    let survey = gap.survey();
    assert!(panel.left_open(&survey, 300.0).is_some() && panel.left_open(&survey, 470.0).is_none());
    for section in &panel.sections {
        let [low, high] = section.hidden_face;
        let t = ((500.0 - section.s) / 60.0).clamp(0.0, 1.0);
        let left = 1.5 + 36.65 * t * t * (3.0 - 2.0 * t);
        assert!(low.y <= high.y && high.y <= left.max(low.y), "{section:?}");
    }
}

#[test]
fn the_twin_is_the_image_with_left_and_right_changed() {
    let gap = &gaps()[1];
    let panel = made(gap, &ended(End::Returned, End::Faded));
    let twin = twin::mirror(&panel, &gap.spine).unwrap();
    assert_eq!(
        twin.panel.ends.map(|zone| zone.end),
        [End::Faded, End::Returned]
    );
    assert!((twin.panel.solid.volume() - panel.solid.volume()).abs() < 1e-6 * panel.solid.volume());
    // Each section of the twin lies on the twin's solid where the first one's lies on its own.
    let on = Nearest::new(twin.panel.solid.mesh()).unwrap();
    let middle = twin.panel.sections.len() / 2;
    for section in &twin.panel.sections[middle - 3..middle + 3] {
        let frame = twin.spine.frame_at(section.s);
        for &corner in &section.outline {
            assert!(on.distance(frame.to_shop(corner)) < 1e-3);
        }
    }
    assert!(twin.panel.sections.windows(2).all(|w| w[0].s < w[1].s));
    let again = twin::mirror(&twin.panel, &twin.spine).unwrap();
    assert_eq!(again.panel.solid, panel.solid);
}
