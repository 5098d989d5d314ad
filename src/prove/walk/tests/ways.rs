//! Which way round a seam is sewn, and where notches belong.

use super::*;

#[test]
fn which_way_round() {
    let round = |marks: &[(f64, NotchKind)], other: &[(f64, NotchKind)]| {
        pair((200.0, marks), (200.0, other), 0.0).0
    };
    // One notch in the middle meets either way; off the middle, or of two kinds, only one.
    assert!(round(&[(100.0, V)], &[(100.0, V)]).either_way);
    let told = round(&[(60.0, V)], &[(60.0, V)]);
    assert!(!told.either_way && !told.same_way);
    assert!(!round(&[(60.0, S), (140.0, V)], &[(60.0, S), (140.0, V)]).either_way);
    // The other drawn from its wrong side.
    let turned = round(&[(60.0, V)], &[(140.0, V)]);
    assert!(turned.same_way && !turned.either_way);
    assert!(turned.remedies.is_empty());
}

#[test]
fn edges_beyond_that_are_sewn_tell_the_way() {
    // Two pieces whose ends are sewn: the hem goes over from "e" to "e" there.
    let pieces = [
        cloth("a", &straight(100.0), 50.0, &[]),
        cloth("b", &straight(60.0), 50.0, &[(20.0, S)]),
        cloth("c", &straight(160.0), 50.0, &[(40.0, S)]),
    ];
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    let hem = seam(&["b: e", "a: e"], &["c: e"], 0.0);
    let side = |one: &str, other: &str| Sewing {
        seams: vec![seam(&[one], &[other], 0.0)],
        rings: Vec::new(),
    };
    // b's start to a's end: from b both go back, and the slit is 40 mm from the start.
    let back = Sewn::new(&laid, &side("b: before", "a: after"));
    let (result, found) = walk(&laid, &back, &hem);
    assert_eq!(found, []);
    assert!(result.unwrap().1.one.steps.iter().all(|s| s.back));
    // b's end to a's start: the slit is 20 mm from the start, and c's is not there.
    let on = Sewn::new(&laid, &side("b: after", "a: before"));
    let (result, _) = walk(&laid, &on, &hem);
    assert!(result.unwrap().1.one.steps.iter().all(|s| !s.back));
}

#[test]
fn a_notch_at_a_corner_is_on_both_edges_and_one_beyond_is_told() {
    let mut a = cloth("a", &straight(100.0), 50.0, &[]);
    let notch = |x, y, inward| Notch {
        at: Point::new(x, y),
        inward,
        depth: 3.0,
        kind: S,
    };
    a.notches = vec![
        notch(100.2, -6.0, Vector::new(0.0, 1.0)),
        notch(99.8, -6.0, Vector::new(0.0, 1.0)),
        notch(50.0, -6.0, Vector::new(0.0, -1.0)),
        notch(50.0, -300.0, Vector::new(0.0, 1.0)),
    ];
    let laid = Laid::new(&a);
    let on: Vec<_> = laid
        .marks
        .iter()
        .map(|m| (m.notch, m.edge, m.s.round()))
        .collect();
    assert_eq!(on, [(1, 0, 100.0), (1, 1, 0.0)]);
    let told: Vec<&str> = laid.adrift.iter().map(|a| a.what.as_str()).collect();
    assert_eq!(
        told[1],
        "a notch points past the net line: nothing within 13 mm"
    );
    assert_eq!(told[2], "a notch lies 300.0 mm from the net line");
    assert_eq!(told.len(), 3);
}
