use super::*;
use crate::gap::EdgeKind;
use crate::scan::Unit;

/// A folder with two files that stand in for scans.
fn bench() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for name in ["body.ply", "tray.ply"] {
        std::fs::write(folder.path().join(name), "ply").unwrap();
    }
    folder
}

const SCANS: &str = "[scan]\nbody = \"body.ply\"\ntray = \"tray.ply\"\n";

fn read(text: &str) -> Result<Job, Vec<String>> {
    let folder = bench();
    read_job(text, "job.toml", folder.path())
        .map_err(|faults| faults.iter().map(ToString::to_string).collect())
}

/// As many faults as wanted, each with its place and its words.
fn expect_faults(faults: &[String], want: &[(&str, &str)]) {
    assert_eq!(faults.len(), want.len(), "{faults:#?}");
    for (fault, (place, words)) in faults.iter().zip(want) {
        assert!(
            fault.contains(place) && fault.contains(words),
            "{fault}\n{place} {words}"
        );
    }
}

#[test]
fn a_short_job_gets_the_defaults() {
    let job = read(&format!(
        "name = \"nose\"\n{SCANS}unit = \"m\"\ntray_unit = \"in\"\n[gap]\nedge = \"rolled\"\n[panel]\nwall_mm = 4\n"
    ))
    .unwrap();
    assert_eq!(job.name, "nose");
    assert_eq!(job.scan.body_unit, Some(Unit::Metre));
    assert_eq!(job.scan.tray_unit, Some(Unit::Inch));
    assert_eq!(job.gap.edge, Some(EdgeKind::Rolled));
    assert_eq!(job.panel.wall_mm, 4.0);
    assert_eq!(job.printer, crate::split::PrinterOptions::default());
    assert!(job.scan.body.ends_with("body.ply"));
    assert!(job.out.ends_with("out"));
}

#[test]
fn positions_of_the_tray_are_read_and_need_a_front() {
    let two = "[[position]]\nname = \"mid\"\nforward_mm = 25\n[[position]]\nname = \"far\"\nforward_mm = 50\nup_mm = -2.5\n";
    let job = read(&format!("front = \"toward\"\n{SCANS}{two}")).unwrap();
    let told: Vec<_> = job
        .positions
        .iter()
        .map(|p| (p.name.as_str(), p.forward_mm, p.up_mm))
        .collect();
    assert_eq!(told, [("mid", 25.0, 0.0), ("far", 50.0, -2.5)]);
    let faults = read(&format!("{SCANS}{two}")).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert!(
        faults[0].contains("line 4") && faults[0].contains("where the front is"),
        "{}",
        faults[0]
    );
    let twice = read(&format!(
        "{SCANS}[[position]]\nname = \"a\"\n[[position]]\nname = \"a\"\n"
    ));
    assert!(twice.unwrap_err()[0].contains("two positions are called"));
    assert!(
        read(&format!("{SCANS}[[position]]\nup_mm = 3\n")).unwrap_err()[0]
            .contains("name is missing")
    );
}

#[test]
fn every_fault_is_told_with_its_place_in_the_order_of_the_text() {
    let faults = read(
        "[scan]\nbody = \"body.ply\"\ntray = \"gone.ply\"\n[gap]\nstation_mm = 0.2\nedge = \"roled\"\n\
         [panel]\nwal_mm = 3\nflange_mm = \"25,5\"\n[printer]\nbuild_mm = [220, 220]\n[pannel]\n",
    )
    .unwrap_err();
    let want = [
        ("line 3, column 8", "there is no file"),
        ("line 5, column 14", "choose 1 to 50 mm"),
        ("line 6, column 8", "did you mean \"rolled\"?"),
        ("line 8, column 1", "did you mean wall_mm?"),
        ("line 9, column 13", "write 25.5, without quotes"),
        ("line 11, column 12", "the list has 2 entries"),
        ("line 12, column 2", "did you mean [panel]?"),
    ];
    expect_faults(&faults, &want);
}

#[test]
fn fixings_and_keep_outs_are_read() {
    let job = read(&format!(
        "{SCANS}[panel]\nmount = \"body\"\n[fixings]\nstyle = \"inserts\"\nscrew = \"M4\"\npitch_mm = 90\n\
         [[keep_out]]\nname = \"eye\"\nkind = \"towing point\"\nat_mm = 640\nacross_mm = -30\nsize_mm = 40\n\
         access = \"full\"\n[[keep_out]]\nname = \"lead\"\npoint = [1, 2, 3]\nup_mm = 20\nlength_mm = 9\n"
    ))
    .unwrap();
    use crate::panel::fixings::{FixingOptions, Screw, Style};
    use crate::panel::{Access, KeepOut, KeepOutKind};
    let wanted = FixingOptions {
        style: Style::Inserts,
        pitch_mm: 90.0,
        screw: Screw::M4,
        ..FixingOptions::default()
    };
    assert_eq!(job.panel.fixings, wanted);
    let eye = KeepOut {
        name: "eye".into(),
        kind: KeepOutKind::TowingPoint,
        at_mm: Some(640.0),
        across_mm: -30.0,
        size_mm: Some(40.0),
        access: Access::Full,
        ..KeepOut::default()
    };
    let lead = KeepOut {
        name: "lead".into(),
        point: Some([1.0, 2.0, 3.0]),
        up_mm: Some(20.0),
        length_mm: Some(9.0),
        ..KeepOut::default()
    };
    assert_eq!(job.panel.keep_outs, [eye, lead]);

    let faults = read(&format!("{SCANS}[fixings]\nstyle = \"inserts\"\n")).unwrap_err();
    assert!(faults[0].contains("grind away"), "{faults:?}");
}

#[test]
fn a_decimal_comma_is_explained() {
    let faults = read(&format!("{SCANS}[panel]\nwall_mm = 3,5\n")).unwrap_err();
    assert_eq!(faults.len(), 1, "{faults:#?}");
    assert!(faults[0].contains("line 5") && faults[0].contains("wall_mm = 3.5"));
}

#[test]
fn a_number_with_its_unit_is_explained() {
    for (typed, meant) in [("3 mm", "3"), ("0.3cm  # thin", "3"), ("2 in", "50.8")] {
        let faults = read(&format!("{SCANS}[panel]\nwall_mm = {typed}\n")).unwrap_err();
        assert_eq!(faults.len(), 1, "{faults:#?}");
        let hint = format!("millimetres: wall_mm = {meant}");
        assert!(
            faults[0].contains("line 5") && faults[0].ends_with(&hint),
            "{faults:?}"
        );
    }
    // No length, so no unit is guessed.
    let faults = read(&format!("{SCANS}[panel]\nlean_deg = 3 mm\n")).unwrap_err();
    assert!(faults[0].contains("this is not TOML"), "{faults:?}");
}

#[test]
fn missing_scans_and_misplaced_keys_are_named() {
    let faults = read("wall_mm = 3\n").unwrap_err().join("\n");
    assert!(faults.contains("scan.body is missing"));
    assert!(faults.contains("scan.tray is missing"));
    assert!(faults.contains("did you mean wall_mm under [panel]?"));
}

#[test]
fn values_that_do_not_go_together_are_refused() {
    let faults = read(&format!("{SCANS}[panel]\nflange_mm = 12\nwall_mm = 10\n")).unwrap_err();
    assert!(faults[0].contains("line 5, column 13") && faults[0].contains("no flat left"));
    // The default flange of 25 mm behind the thickest wall.
    let faults = read(&format!("{SCANS}[panel]\nwall_mm = 20\n")).unwrap_err();
    assert!(faults[0].contains("no flat left"), "{faults:?}");
    let faults = read(&format!("{SCANS}[printer]\nmargin_mm = 100\n")).unwrap_err();
    assert!(faults[0].contains("printer.margin_mm"));
}

const POINTS: &str = "[points.body]\nl = [0, 0.0, 0]\nr = [1.5, 0, 0]\nf = [1, 1, 0]\n";

#[test]
fn points_and_distances_are_read() {
    let job = read(&format!(
        "{SCANS}pick_sigma_mm = 0.5\ntray_seed = [1, 2.5, -3]\n{POINTS}[points.tray]\nl = [0, 0, 1]\nr = [1, 0, 1]\nf = [1, 1, 1]\n\
         [[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"r\"\nmm = 1502\n\
         [[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"f\"\nmm = 1411.5\n"
    ))
    .unwrap();
    let control = &job.scan.control;
    assert_eq!(control.body_points.len(), 3);
    let f = control.tray_points.iter().find(|p| p.name == "f").unwrap();
    assert_eq!(f.at, crate::math::Point3::new(1.0, 1.0, 1.0));
    assert_eq!(control.distances[1].mm, 1411.5);
    assert_eq!(control.pick_sigma_mm, 0.5);
    assert_eq!(
        control.seeds.tray,
        Some(crate::math::Point3::new(1.0, 2.5, -3.0))
    );
}

#[test]
fn faulty_points_and_distances_are_told_where_they_stand() {
    let faults = read(&format!(
        "{SCANS}{POINTS}odd = [1, 2]\n[points.wheel]\n[[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"rr\"\nmm = 0\n\
         [[distance]]\nscan = \"boddy\"\nfrom = \"l\"\nlength = 3\n"
    ))
    .unwrap_err();
    let want = [
        ("line 8, column 7", "odd is not three numbers"),
        ("line 9, column 9", "points.wheel"),
        ("line 13, column 6", "no point \"rr\""),
        ("line 14, column 6", "distance.mm"),
        ("line 15, column 1", "distance.to is missing"),
        ("line 15, column 1", "distance.mm is missing"),
        ("line 18, column 1", "no option distance.length"),
    ];
    expect_faults(&faults, &want);
}

#[test]
fn too_few_pairs_and_distances_and_useless_points_are_told() {
    let one = "[[distance]]\nscan = \"body\"\nfrom = \"l\"\nto = \"r\"\nmm = 1502\n";
    let faults = read(&format!(
        "{SCANS}{POINTS}[points.tray]\nl = [0, 0, 1]\ng = [1, 0, 1]\n{one}"
    ))
    .unwrap_err();
    let told = faults.join("\n");
    assert_eq!(faults.len(), 4, "{told}");
    assert!(told.contains("one distance alone"));
    assert!(told.contains("point f is named in the body's scan only"));
    assert!(told.contains("point g is named in the tray's scan only"));
    assert!(told.contains("1 point is named in both"));
    let odd = read(&format!("points = 3\ndistance = 4\n{SCANS}")).unwrap_err();
    assert_eq!(odd.len(), 2, "{odd:#?}");
}

#[test]
fn odd_texts_give_faults_and_no_panic() {
    for text in [
        "",
        "=",
        "[",
        "[scan",
        "scan = 3",
        "[[scan]]",
        "name = nan",
        "name = \"\"",
        "[panel]\nwall_mm = nan",
        "[panel]\nwall_mm = 1e999",
        "[panel]\nwall_mm = 0x7fffffffffffffffff",
        "[panel]\nwall_mm = 1979-05-27",
        "[panel]\nwall_mm = \"\u{fe}\"",
        "a.b.c = 1",
        "name = 1\nname = 2",
    ] {
        assert!(!read(text).unwrap_err().is_empty(), "{text}");
    }
}

#[test]
fn changes_along_the_spine_are_read_and_their_faults_told() {
    let job = read(&format!(
        "{SCANS}[[panel_change]]\nat_mm = 300\nlean_deg = -4\n[[panel_change]]\nat_mm = 500\nwall_mm = 4\n"
    ))
    .unwrap();
    let changes = &job.panel.changes;
    assert_eq!((changes[0].at_mm, changes[0].lean_deg), (300.0, Some(-4.0)));
    assert_eq!((changes[1].wall_mm, changes[1].over_mm), (Some(4.0), 60.0));
    let faults = read(&format!(
        "{SCANS}[[panel_change]]\nwall_mm = 4\n[[panel_change]]\nat_mm = 3\nwal_mm = 4\nlean_deg = 80\n"
    ))
    .unwrap_err()
    .join("\n");
    for words in [
        "panel_change.at_mm is missing",
        "there is no option panel_change.wal_mm",
        "did you mean wall_mm?",
        "panel_change.lean_deg",
    ] {
        assert!(faults.contains(words), "{words}: {faults}");
    }
}

#[test]
fn a_slip_hides_no_fault_of_another_table() {
    let text = format!(
        "name = \"x\"\n{SCANS}[panel]\nwall_mm = 3,5\nfoam_mm = 8.0\n[[keep_out]]\nkind = \"slot\"\n"
    );
    let faults = read(&text).unwrap_err();
    let has = |words: &str| faults.iter().any(|fault| fault.contains(words));
    assert!(has("decimal comma"), "{faults:#?}");
    assert!(has("keep_out.name is missing"), "{faults:#?}");
    assert!(has("did you mean seal_foam_mm"), "{faults:#?}");
    // What is missing may stand on the very line.
    let text = format!("name = \"x\"\n{SCANS}[[keep_out]]\nname = bolt head\nkind = \"slot\"\n");
    let faults = read(&text).unwrap_err();
    assert!(
        !faults
            .iter()
            .any(|f| f.contains("keep_out.name is missing")),
        "{faults:#?}"
    );
}

#[test]
fn a_text_that_is_no_job_is_told_once() {
    let text = include_str!("../../README.md");
    expect_faults(
        &read(text).unwrap_err(),
        &[("job.toml", "this is no job file")],
    );
}
