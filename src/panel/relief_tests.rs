use super::*;

#[test]
fn cuts_that_leave_a_thin_tooth_become_one() {
    let zone = |from, to, outermost, height| Zone {
        along: [from, to],
        outermost,
        height,
        cut_height: height + 2.0,
        reach: Reach::Flange,
        behind: false,
        named: Vec::new(),
        word: "something".into(),
    };
    let merged = merge(vec![
        zone(200.0, 220.0, -9.0, 4.0),
        zone(100.0, 120.0, -12.0, 5.0),
        zone(124.0, 130.0, -8.0, 3.0),
    ]);
    assert_eq!(
        merged,
        [zone(100.0, 130.0, -8.0, 5.0), zone(200.0, 220.0, -9.0, 4.0)]
    );
    assert_eq!(
        to_ends(merged[0].clone(), [96.0, 400.0]).along,
        [94.0, 130.0]
    );
}
