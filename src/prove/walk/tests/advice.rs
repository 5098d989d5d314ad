//! Corners that are not true, and notches that would help.

use super::*;

#[test]
fn corners_are_trued_by_hand() {
    // 90° and 90°; then a leans by atan(5/50) = 5.711°.
    let lean = |x: f64, y: f64| {
        let mut a = cloth("a", &straight(100.0), 50.0, &[(30.0, S)]);
        let mut b = cloth("b", &straight(100.0), 50.0, &[(70.0, S)]);
        // b's corner there is at its start.
        for p in &mut b.net[0].points {
            if *p == Point::new(0.0, 50.0) {
                p.x -= y;
            }
        }
        b.edges[3].at.x -= y;
        for p in &mut a.net[0].points {
            if *p == Point::new(100.0, 50.0) {
                p.x += x;
            }
        }
        a.edges[2].at.x += x;
        let pieces = [a, b];
        let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
        let seam = seam(&["a: e"], &["b: e"], 0.0);
        let (result, _) = walk(&laid, &Sewn::default(), &seam);
        let walked = result.unwrap().1;
        trued(&laid, &Sewn::default(), &seam, &walked, TRUED)
    };
    assert_eq!(lean(0.0, 0.0), []);
    assert_eq!(lean(1.7, 0.0), []);
    let found = lean(5.0, 0.0);
    assert_eq!(found.len(), 1);
    // 20 mm · 5/50.
    assert!(found[0].what.ends_with("add up to 185.7° (95.7° and 90.0°): a point of 5.7°, 2.0 mm off the smooth line 20 mm on"), "{found:?}");
    assert_eq!(
        found[0].remedy,
        "true up \"a: after\" and \"b: before\" so that they run on from one to the other"
    );
    // What one leans out, the other leans in.
    assert_eq!(lean(5.0, -5.0), []);
    // A corner that is meant.
    assert_eq!(lean(80.0, 0.0), []);
}

#[test]
fn notches_that_would_help_are_advised() {
    let advice = |pieces: &[PatternPiece]| -> Vec<String> {
        let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
        let seam = seam(&["a: e"], &["b: e"], 0.0);
        let (result, _) = walk(&laid, &Sewn::default(), &seam);
        let found = missing(&laid, &seam, &result.unwrap().1);
        found.into_iter().map(|f| f.what).collect()
    };
    let arc = |sign: f64| -> Vec<At> {
        (0..=40)
            .map(|k| {
                let (sin, cos) = (f64::from(k) / 40.0 * 1.2 - 0.6).sin_cos();
                Point::new(100.0 * sin, -sign * 100.0 * cos)
            })
            .collect()
    };
    // Lopsided, so that no piece is symmetric.
    let lopsided = |name: &str, line: &[At], marks: &[(f64, NotchKind)]| {
        let mut p = cloth(name, line, 90.0, marks);
        p.net[0].points.last_mut().unwrap().y += 20.0;
        p.edges[3].at.y += 20.0;
        p
    };
    // An outward curve sewn to an inward one, 120 mm.
    let found = advice(&[
        lopsided("a", &arc(1.0), &[]),
        lopsided("b", &arc(-1.0), &[]),
    ]);
    assert_eq!(
        found,
        ["a hollow edge is sewn to a round one, and no notch holds them together"]
    );
    let found = advice(&[
        lopsided("a", &straight(210.0), &[]),
        lopsided("b", &straight(210.0), &[]),
    ]);
    assert_eq!(
        found,
        ["this seam is long, and no notch holds its sides together"]
    );
    let found = advice(&[
        lopsided("a", &straight(90.0), &[(45.0, S)]),
        lopsided("b", &straight(90.0), &[(45.0, S)]),
    ]);
    assert_eq!(
        found,
        ["this seam could be sewn the wrong way round: its notches would meet either way"]
    );
    assert!(
        advice(&[
            lopsided("a", &straight(90.0), &[(30.0, S)]),
            lopsided("b", &straight(90.0), &[(60.0, S)])
        ])
        .is_empty()
    );
    // A symmetric piece can be turned, and wants its centre marked.
    let found = advice(&[
        cloth("a", &straight(150.0), 60.0, &[(40.0, S)]),
        lopsided("b", &straight(150.0), &[(110.0, S)]),
    ]);
    assert_eq!(found, ["the centre of \"a: e\" has no mark"]);
}
