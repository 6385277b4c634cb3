//! Fixings in whole panels.

use super::*;
use crate::gap::EdgeKind;
use crate::math::Spine;
use crate::mesh::self_cross::find_crossing;
use crate::mesh::topology::find_pieces;
use crate::panel::samples::{Draws, Gap, arc, bow, straight};
use crate::panel::tests::{SEEDS, random_gap};
use crate::panel::{Done, KeepOut, KeepOutKind, Panel, design};
use crate::progress::Progress;

fn options(mount: Mount, style: Style) -> PanelOptions {
    PanelOptions {
        mount,
        fixings: FixingOptions {
            style,
            slot_extra_mm: 3.0,
            ..FixingOptions::default()
        },
        ..PanelOptions::default()
    }
}

fn made(spine: Spine, kind: EdgeKind, options: &PanelOptions) -> Panel {
    let panel = design(
        &Gap::plain(spine, kind).survey(),
        options,
        &Progress::silent(),
    )
    .unwrap();
    sound(&panel, "");
    panel
}

fn sound(panel: &Panel, told: &str) {
    assert_eq!(find_pieces(panel.solid.mesh()).1, 1, "{told}");
    assert!(find_crossing(panel.solid.mesh()).is_none(), "{told}");
    let [least, most] = panel.wall.range().unwrap();
    assert!(least >= 0.97 && most <= 1.15, "{told} {:?}", panel.wall);
}

fn codes(panel: &Panel) -> Vec<&str> {
    panel.findings.iter().map(|f| f.code).collect()
}

fn gone(spine: &Spine, kind: EdgeKind, with: &PanelOptions) -> f64 {
    let without = PanelOptions {
        fixings: FixingOptions {
            style: Style::None,
            ..with.fixings.clone()
        },
        ..with.clone()
    };
    let bare = made(spine.clone(), kind, &without).solid.volume();
    bare - made(spine.clone(), kind, with).solid.volume()
}

/// Area of a slot: a circle's and the rectangle's between its halves (mm2).
fn slot_area(fixing: &Fixing) -> f64 {
    let d = fixing.hole_mm;
    std::f64::consts::FRAC_PI_4 * d * d + (fixing.slot_mm - d) * d
}

#[test]
fn screws_into_the_tray_have_one_round_hole_and_slots_elsewhere() {
    for spine in [straight(700.0), arc(500.0, 80.0)] {
        let wish = options(Mount::Tray, Style::Screws);
        let panel = made(spine.clone(), EdgeKind::Cut, &wish);
        assert_eq!(codes(&panel), [""; 0]);
        let round: Vec<usize> = panel
            .fixings
            .iter()
            .filter(|f| f.slot_mm == f.hole_mm)
            .map(|f| f.number)
            .collect();
        assert_eq!(round.len(), 1);
        let fixed = &panel.fixings[round[0] - 1];
        assert!((fixed.s - 0.5 * spine.length()).abs() <= 75.0);
        let pitch = panel.fixings.windows(2).map(|w| w[1].s - w[0].s);
        for step in pitch {
            assert!((3.0 * 5.0..=150.0 + 1e-9).contains(&step));
        }
        for f in &panel.fixings {
            // ISO 273, medium.
            assert_eq!((f.hole_mm, f.kind), (5.5, FixingKind::ScrewIntoTray));
            // AC 43.13-1B: two diameters to the tip, which lies 25 mm from the outside of the face; and a
            // washer clear of the fillet, 6 mm from there.
            let to_tip = 25.0 - f.from_face_mm;
            assert!(
                to_tip >= 10.0 && f.from_face_mm - 0.5 * f.washer_mm >= 6.0,
                "{f:?}"
            );
            assert!((f.axis - Vector3::z()).norm() < 1e-12);
            let frame = spine.frame_at(f.s);
            let across = (f.at - frame.origin).dot(&frame.outward);
            // The lip stands 1.6 mm behind the skin's back, and the face's outside with it.
            assert!(
                (across + 1.6 + f.from_face_mm).abs() < 0.6,
                "{across} {f:?}"
            );
            assert!(f.room_mm.unwrap() > 30.0 && f.room_mm.unwrap() < 40.0);
            // Washer and two diameters to either side.
            let [a, b] = f.keep_clear();
            assert!(a <= f.s - 15.0 && b >= f.s + 15.0);
            // The flange is 25 mm: a tab of 3 mm with its fit passes, one of 8 mm does not.
            assert!(f.lets_past(3.25) && !f.lets_past(8.0), "{f:?}");
        }
        // The polygons are drawn round their circles: at most 2 % larger.
        let want: f64 = panel.fixings.iter().map(|f| 3.0 * slot_area(f)).sum();
        let over = gone(&spine, EdgeKind::Cut, &wish) / want - 1.0;
        assert!((-1e-3..0.02).contains(&over), "{over}");
    }
}

#[test]
fn holes_are_even_from_both_ends() {
    let panel = made(
        straight(800.0),
        EdgeKind::Rolled,
        &options(Mount::Tray, Style::Studs),
    );
    let n = panel.fixings.len();
    for i in 0..n {
        let (a, b) = (panel.fixings[i].s, panel.fixings[n - 1 - i].s);
        assert!((a + b - 800.0).abs() < 0.1, "{a} {b}");
        assert_eq!(panel.fixings[i].kind, FixingKind::StudInTray);
    }
}

#[test]
fn fixings_stay_off_keep_outs_and_tight_corners() {
    let mut wish = options(Mount::Tray, Style::Screws);
    wish.keep_outs = vec![KeepOut {
        name: "drain".into(),
        kind: KeepOutKind::Drain,
        at_mm: Some(158.0),
        across_mm: -16.0,
        size_mm: Some(20.0),
        ..KeepOut::default()
    }];
    let panel = made(straight(700.0), EdgeKind::Cut, &wish);
    assert_eq!(panel.kept_out[0].done, Done::FlangeNotched);
    let [a, b] = panel.kept_out[0].along;
    for f in &panel.fixings {
        // Two diameters from the slot's end to the notch.
        let half = 0.5 * (f.slot_mm - f.hole_mm);
        assert!(
            f.s + half <= a - 9.8 || f.s - half >= b + 9.8,
            "{} {a} {b}",
            f.s
        );
    }
    // In a bend on 26 mm the flange is shortened: nothing fits there, and that is told.
    let mut close = options(Mount::Tray, Style::Screws);
    close.fixings.pitch_mm = 40.0;
    let bent = made(bow(120.0, 26.0, 150.0), EdgeKind::Rolled, &close);
    assert!(codes(&bent).contains(&"fixing-dropped") || bent.fixings.len() > 9);
    assert!(bent.fixings.iter().all(|f| f.from_face_mm > 10.0));
}

#[test]
fn a_narrow_flange_has_no_fixings_and_says_what_it_needs() {
    let mut wish = options(Mount::Tray, Style::Screws);
    wish.flange_mm = 18.0;
    let panel = made(straight(400.0), EdgeKind::Cut, &wish);
    assert!(panel.fixings.is_empty());
    assert_eq!(codes(&panel), ["no-room-for-fixings"]);
}

#[test]
fn the_body_mount_goes_through_a_lip_that_is_high_enough() {
    let mut wish = options(Mount::Body, Style::Screws);
    let short = made(straight(500.0), EdgeKind::Cut, &wish);
    assert!(codes(&short).contains(&"lip-too-short"));
    // The hint names the height that the job's kind of lip goes by.
    let hint = |panel: &Panel| {
        let all = &panel.findings;
        let found = all.iter().find(|f| f.code == "lip-too-short");
        found.map(|f| f.hint.clone()).unwrap_or_default()
    };
    assert!(hint(&short).contains("raise tuck_mm under [panel]"));
    let lapped = PanelOptions {
        top: Some(Top::Lapped),
        lap_mm: 8.0,
        ..wish.clone()
    };
    let lapped = made(straight(500.0), EdgeKind::Cut, &lapped);
    assert!(
        hint(&lapped).contains("raise lap_mm under [panel]"),
        "{:?}",
        lapped.findings
    );
    assert!(
        short
            .fixings
            .iter()
            .all(|f| f.kind == FixingKind::StudOnPanel && f.hole_mm == 0.0)
    );
    assert!(!short.fixings.is_empty());

    wish.tuck_mm = 24.0;
    let panel = made(straight(500.0), EdgeKind::Cut, &wish);
    assert_eq!(codes(&panel), [""; 0]);
    assert!(panel.fixings.len() >= 4);
    for f in &panel.fixings {
        assert_eq!(f.kind, FixingKind::ScrewThroughSkin);
        assert!(f.axis.x < -0.99, "into the panel, inboard");
        // Two diameters above the skin's edge, 1 mm over the knee, and below the lip's top.
        let up = f.at.z - 39.0;
        assert!((11.0..=24.0 - 10.0 + 0.1).contains(&up), "{up}");
    }
    let want: f64 = panel.fixings.iter().map(|f| 3.0 * slot_area(f)).sum();
    let over = gone(&straight(500.0), EdgeKind::Cut, &wish) / want - 1.0;
    assert!((-1e-3..0.02).contains(&over), "{over}");
}

#[test]
fn inserts_sit_in_bosses_of_their_size_behind_the_lip() {
    let mut wish = options(Mount::Body, Style::Inserts);
    wish.tuck_mm = 26.0;
    wish.fixings.screw = Screw::M4;
    let panel = made(straight(500.0), EdgeKind::Cut, &wish);
    let n = panel.fixings.len() as f64;
    assert!(
        n >= 4.0
            && panel
                .fixings
                .iter()
                .all(|f| f.kind == FixingKind::InsertInLip)
    );
    // A boss of 10.6 mm stands 8.1 + 1 + 2 mm from the skin's side, 3 of them in the lip; its pocket is
    // 5.6 mm wide and 9.1 deep.
    let disc = |d: f64| std::f64::consts::FRAC_PI_4 * d * d;
    let each = disc(10.6) * (11.1 - 3.0) - disc(5.6) * 9.1;
    let more = -gone(&straight(500.0), EdgeKind::Cut, &wish);
    assert!((more / (n * each) - 1.0).abs() < 0.02, "{more} {n} {each}");
    // What is slotted is the skin.
    assert!(panel.fixings.iter().filter(|f| f.slot_mm > 4.5).count() as f64 == n - 1.0);
}

#[test]
fn a_butted_panel_on_the_body_gets_bonded_studs() {
    let panel = made(
        straight(500.0),
        EdgeKind::Rolled,
        &options(Mount::Body, Style::Screws),
    );
    assert_eq!(codes(&panel), ["studs-bonded"]);
    assert!(panel.fixings.len() >= 4);
    for f in &panel.fixings {
        assert_eq!((f.kind, f.hole_mm), (FixingKind::StudOnPanel, 0.0));
    }
}

#[test]
fn inserts_on_the_tray_become_studs() {
    let panel = made(
        straight(400.0),
        EdgeKind::Cut,
        &options(Mount::Tray, Style::Inserts),
    );
    assert_eq!(codes(&panel), ["heads-under-tray"]);
    assert!(
        panel
            .fixings
            .iter()
            .all(|f| f.kind == FixingKind::StudInTray)
    );
}

#[test]
fn a_head_under_a_low_edge_is_told() {
    let mut gap = Gap::plain(straight(400.0), EdgeKind::Rolled);
    gap.edge_z = |_| 12.0;
    let panel = design(
        &gap.survey(),
        &options(Mount::Tray, Style::Studs),
        &Progress::silent(),
    )
    .unwrap();
    // Nut 4.7, washer 1.2 and two threads take 7.5 mm; 9 mm are clear: it goes. At 10 mm it does not.
    assert!(
        !codes(&panel).contains(&"head-fouls"),
        "{:?}",
        panel.fixings[0]
    );
    gap.edge_z = |_| 10.0;
    let panel = design(
        &gap.survey(),
        &options(Mount::Tray, Style::Studs),
        &Progress::silent(),
    )
    .unwrap();
    assert!(
        codes(&panel).contains(&"head-fouls"),
        "{:?}",
        panel.fixings[0]
    );
}

#[test]
fn tray_fixings_are_reached_where_a_tool_goes_past_the_panel() {
    let bolt = |name: &str, at: f64, across: f64, margin: f64| KeepOut {
        name: name.into(),
        kind: KeepOutKind::TrayFixing,
        at_mm: Some(at),
        across_mm: across,
        size_mm: Some(10.0),
        height_mm: 6.0,
        margin_mm: Some(margin),
        ..KeepOut::default()
    };
    let mut wish = options(Mount::Tray, Style::None);
    wish.keep_outs = vec![
        bolt("free", 80.0, -18.0, 5.0),
        bolt("tight", 200.0, -18.0, 1.0),
        bolt("far", 320.0, -60.0, 5.0),
    ];
    let panel = made(straight(400.0), EdgeKind::Cut, &wish);
    let [free, tight, far] = &panel.tray_fixings[..] else {
        panic!("{:?}", panel.tray_fixings);
    };
    // A socket of 8 mm radius; the notches leave 10 and 6 mm, and the flange's tip is at -26.6.
    assert!(free.from_above() && free.from_below());
    assert!((free.clear_above_mm - 10.0).abs() < 0.1, "{free:?}");
    assert!(!tight.from_above() && tight.from_below());
    assert!((tight.clear_above_mm - 6.0).abs() < 0.1, "{tight:?}");
    assert!((far.clear_above_mm - (60.0 - 26.6)).abs() < 0.2, "{far:?}");
    assert!(codes(&panel).contains(&"fixing-covered"));
}

#[test]
fn holes_laid_flat_keep_their_places_along_and_across() {
    let spine = arc(500.0, 80.0);
    let gap = Gap::plain(spine.clone(), EdgeKind::Rolled);
    let survey = gap.survey();
    let wish = options(Mount::Tray, Style::Screws);
    let panel = design(&survey, &wish, &Progress::silent()).unwrap();
    let flat = lay_flat(&panel, &survey.spine).unwrap();
    assert_eq!(flat.holes.len(), panel.fixings.len());
    // A level flange is flat already: distances between holes are those in plan.
    for (p, f) in flat.holes.iter().zip(&panel.fixings) {
        for (q, g) in flat.holes.iter().zip(&panel.fixings) {
            let off = (p.at - q.at).norm() - (f.at - g.at).norm();
            assert!(off.abs() < 0.1, "{off}");
        }
        let [near, far] = flat.rung(f.s).unwrap();
        let way = (far - near).normalize();
        assert!(((p.at - near).dot(&way) - f.from_face_mm).abs() < 0.1);
        assert!(
            (p.at - near).perp(&way).abs() < 0.1,
            "on the line of its station"
        );
    }
    // The maker's right to the right, the tip above.
    assert!(flat.holes[0].at.x < flat.holes[1].at.x);
    let [near, far] = flat.rung(300.0).unwrap();
    assert!(far.y > near.y);
}

#[test]
fn random_panels_with_fixings_and_keep_outs_are_sound() {
    let (mut placed, mut cut) = (0, 0);
    for seed in 1..=SEEDS {
        let mut draws = Draws(seed * 104_729);
        draws.next();
        let gap = random_gap(seed, &mut draws);
        let length = gap.spine.length();
        let mount = [Mount::Tray, Mount::Body][(seed % 2) as usize];
        let style = [Style::Screws, Style::Studs, Style::Inserts][(seed % 3) as usize];
        let mut wish = options(mount, style);
        wish.wall_mm = draws.between(2.0, 4.0);
        wish.flange_mm = draws.between(24.0, 36.0);
        wish.tuck_mm = draws.between(8.0, 30.0);
        wish.fixings.pitch_mm = draws.between(50.0, 200.0);
        wish.fixings.screw = [Screw::M4, Screw::M5, Screw::M6][(seed % 3) as usize];
        wish.keep_outs = (0..3)
            .map(|k| KeepOut {
                name: format!("{k}"),
                at_mm: Some(draws.between(0.0, length)),
                across_mm: draws.between(-30.0, 5.0),
                size_mm: Some(draws.between(4.0, 20.0)),
                height_mm: draws.between(2.0, 20.0),
                up_mm: (k == 2).then(|| draws.between(0.0, 45.0)),
                ..KeepOut::default()
            })
            .collect();
        let panel = design(&gap.survey(), &wish, &Progress::silent())
            .unwrap_or_else(|fault| panic!("{seed}: {fault}"));
        sound(&panel, &format!("{seed} {:?}", panel.findings));
        placed += panel.fixings.len();
        cut += panel
            .kept_out
            .iter()
            .filter(|kept| kept.done != Done::Clear)
            .count();
        for w in panel.fixings.windows(2) {
            assert!(
                w[1].s - w[0].s >= 3.0 * wish.fixings.screw.diameter() - 1e-9,
                "{seed}"
            );
        }
    }
    assert!(placed > 40 && cut > 20, "{placed} {cut}");
}

#[test]
fn a_stretch_without_room_for_fixings_is_told() {
    let mut wish = options(Mount::Tray, Style::Screws);
    wish.fixings.pitch_mm = 60.0;
    wish.keep_outs = vec![KeepOut {
        name: "battery strap".into(),
        at_mm: Some(350.0),
        across_mm: -16.0,
        length_mm: Some(200.0),
        width_mm: Some(20.0),
        ..KeepOut::default()
    }];
    let panel = made(straight(700.0), EdgeKind::Cut, &wish);
    let codes = codes(&panel);
    assert!(codes.contains(&"fixings-far-apart"), "{codes:?}");
}

/// A slot is the hole, the travel and the tolerance at both ends (../shared/check-values.md, heat); the
/// fixing is set so that its travel is free on either side. By hand for 70e-6 and 23e-6 per kelvin, fitted
/// at 20, at 70 and 40 when hot, at -15 when cold: hot 70e-6 * 50 - 23e-6 * 20 = 3.04e-3, cold
/// 47e-6 * -35 = -1.645e-3 of the length.
#[test]
fn slots_are_as_long_as_growth_asks_and_set_off_their_middles() {
    let mut wish = options(Mount::Tray, Style::Screws);
    wish.fixings.slot_extra_mm = 0.0;
    wish.fixings.growth = Some(Thermal {
        panel_per_k: 70e-6,
        fixed_to_per_k: 23e-6,
        fitted_c: 20.0,
        cold_c: -15.0,
        hot_c: 70.0,
        fixed_to_hot_c: 40.0,
        tolerance_mm: 0.5,
    });
    for mount in [Mount::Tray, Mount::Body] {
        wish.mount = mount;
        wish.tuck_mm = 26.0;
        wish.fixings.style = match mount {
            Mount::Tray => Style::Screws,
            Mount::Body => Style::Inserts,
        };
        let panel = made(straight(1400.0), EdgeKind::Cut, &wish);
        let fast = panel.fixings.iter().find(|f| f.slot_mm == 5.5).unwrap();
        assert!((fast.s - 700.0).abs() <= 75.0 && fast.set_mm == 0.0);
        for f in panel.fixings.iter().filter(|f| f.number != fast.number) {
            let length = (f.s - fast.s).abs();
            let (hot, cold) = (3.04e-3 * length, 1.645e-3 * length);
            let needs = 5.5 + hot + cold + 1.0;
            assert!(
                f.slot_mm >= needs - 1e-9 && f.slot_mm < needs + 0.1 + 1e-6,
                "{f:?}"
            );
            // Room left on both sides of the fastener in its slot, along the way the panel grows.
            let outward = (f.s - fast.s).signum();
            let (half, set) = (0.5 * (f.slot_mm - 5.5), outward * f.set_mm);
            // Hot, a panel's slot runs outward past its fastener: room is wanted inward of that. A slot in
            // the skin stays, and the insert in the panel runs outward in it.
            let [in_panel, in_skin] = [[half + set, half - set], [half - set, half + set]];
            let [when_hot, when_cold] = match mount {
                Mount::Tray => in_panel,
                Mount::Body => in_skin,
            };
            assert!(when_hot >= hot + 0.5 - 1e-9, "{when_hot} {hot}");
            assert!(when_cold >= cold + 0.5 - 1e-9, "{when_cold} {cold}");
        }
        let worst = panel.fixings.iter().map(|f| f.slot_mm).fold(0.0, f64::max);
        assert!(worst > 9.0, "{worst}");
    }
}
