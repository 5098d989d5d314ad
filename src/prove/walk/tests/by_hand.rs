//! Seams of straight edges, worked by hand.

use super::*;

#[test]
fn by_hand_a_notch_is_moved() {
    let (r, found) = pair(
        (200.0, &[(60.0, S), (142.0, V)]),
        (200.0, &[(60.0, S), (144.3, V)]),
        0.0,
    );
    assert_eq!(r.verdict, Verdict::Agrees);
    assert_eq!(found.len(), 1);
    // On b, whose edge runs the other way, the seam's start is at the edge's end.
    assert_eq!(
        found[0].remedy,
        "move the vee on \"b: e\" 2.3 mm towards the end at \"after\""
    );
    assert_eq!(
        found[0].what,
        "the vee on \"a: e\" and the vee on \"b: e\" are 2.3 mm apart when sewn"
    );
    // Marked where the notch is: 55.7 mm from the edge's start.
    let [x, y] = found[0].spot.at_mm.unwrap();
    assert!((x - 55.7).abs() < 1e-9 && y.abs() < 1e-9);
    let off: Vec<f64> = r
        .landings
        .iter()
        .map(|l| (l.off_mm * 10.0).round() / 10.0)
        .collect();
    assert_eq!(off, [0.0, -2.3, 0.0, -2.3]);
    assert_eq!(r.remedies, [found[0].remedy.clone()]);
}

#[test]
fn by_hand_a_notch_is_missing() {
    let (r, found) = pair(
        (300.0, &[(100.0, S), (158.0, V)]),
        (300.0, &[(100.0, S)]),
        0.0,
    );
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].severity, Severity::Spoils);
    assert_eq!(
        found[0].remedy,
        "add a vee to \"b: e\", 142.0 mm from the end at \"before\""
    );
    let lone: Vec<_> = r
        .landings
        .iter()
        .filter(|l| l.meets == Meets::Nothing)
        .collect();
    assert_eq!(lone.len(), 1);
    assert!((lone[0].lands_mm - 158.0).abs() < 1e-9);
    // In the middle it is called that.
    let (_, found) = pair(
        (300.0, &[(100.0, S), (150.0, V)]),
        (300.0, &[(100.0, S)]),
        0.0,
    );
    assert!(
        found[0]
            .remedy
            .contains("in the middle, 150.0 mm from the end at")
    );
}

#[test]
fn by_hand_an_edge_is_long() {
    let (r, found) = pair((204.0, &[]), (200.0, &[]), 0.0);
    assert_eq!((r.verdict, r.difference_mm), (Verdict::OneLong, 4.0));
    assert_eq!(
        found[0].remedy,
        "take 4.0 mm out of \"a: e\", let 4.0 mm into \"b: e\", or say that it is eased in"
    );
    let (r, _) = pair((200.0, &[]), (206.0, &[]), -4.0);
    assert_eq!((r.verdict, r.difference_mm), (Verdict::OtherLong, -2.0));
    // Where an edge is long its notches are right by either end.
    let (_, found) = pair(
        (204.0, &[(50.0, S), (154.0, V)]),
        (200.0, &[(50.0, S), (150.0, V)]),
        0.0,
    );
    assert_eq!(found.len(), 1);
}

#[test]
fn notches_divide_the_ease_and_never_take_it_away() {
    // 6 mm of ease, all of it between the two notches; before the first; evenly.
    for (a, b) in [
        (60.0, 140.0 + 6.0),
        (66.0, 146.0),
        (60.0 + 1.8, 140.0 + 4.2),
    ] {
        let (r, found) = pair(
            (206.0, &[(a, S), (b, V)]),
            (200.0, &[(60.0, S), (140.0, V)]),
            6.0,
        );
        assert_eq!(found, [], "{a} {b}");
        assert_eq!(r.stretches.len(), 3);
        let eased: f64 = r.stretches.iter().map(|s| s.eased_mm).sum();
        assert!((eased - 6.0).abs() < 1e-9);
    }
    // 2 mm more than there is before the first notch.
    let (_, found) = pair((206.0, &[(68.0, S)]), (200.0, &[(60.0, S)]), 6.0);
    assert!(
        found[0]
            .remedy
            .starts_with("move the slit on \"b: e\" 2.0 mm")
    );
    // All of it before the first notch, and taken away again before the second.
    let (_, found) = pair(
        (206.0, &[(66.0, S), (140.0, V)]),
        (200.0, &[(60.0, S), (140.0, V)]),
        6.0,
    );
    assert!(
        found[0].what.contains("is the shorter, by 6.0 mm"),
        "{found:?}"
    );
}

#[test]
fn one_edge_to_many_and_a_notch_to_a_joint() {
    let pieces = [
        cloth("a", &straight(300.0), 90.0, &[(100.0, S), (180.0, V)]),
        cloth("b", &straight(200.0), 80.0, &[(120.0, V)]),
        cloth("c", &straight(100.0), 70.0, &[]),
    ];
    // From a's start: c, then b, which run the other way.
    let (r, found) = walked(&pieces, &seam(&["a: e"], &["c: e", "b: e"], 0.0));
    assert_eq!(found, []);
    assert_eq!(r.stretches.len(), 3);
    assert!(!r.same_way);
    // A joint may also be marked by a notch that is 3 mm off it.
    let mut off = pieces.to_vec();
    off[0].notches[0].at.x += 3.0;
    let (_, found) = walked(&off, &seam(&["a: e"], &["c: e", "b: e"], 0.0));
    assert_eq!(
        found[0].remedy,
        "move the slit on \"a: e\" 3.0 mm towards the end at \"before\""
    );
}

#[test]
fn a_half_and_its_mirror_image_make_a_whole() {
    let pieces = [
        cloth(
            "band",
            &straight(240.0),
            60.0,
            &[(50.0, S), (120.0, V), (190.0, S)],
        ),
        cloth("half", &straight(120.0), 60.0, &[(70.0, S)]),
    ];
    let (_, found) = walked(&pieces, &seam(&["band: e"], &["half: e", "half: e"], 0.0));
    assert_eq!(found, []);
    // Without notches, too, the second goes back.
    let mut pieces = pieces;
    pieces.iter_mut().for_each(|p| p.notches.clear());
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    let (result, _) = walk(
        &laid,
        &Sewn::default(),
        &seam(&["band: e"], &["half: e", "half: e"], 0.0),
    );
    let ways: Vec<bool> = result
        .unwrap()
        .1
        .other
        .steps
        .iter()
        .map(|s| s.back)
        .collect();
    assert_eq!(ways, [true, false]);
}

#[test]
fn a_closed_dart_takes_its_share_and_shifts_what_lies_beyond() {
    let mut a = cloth("a", &straight(208.0), 90.0, &[(50.0, S), (158.0, V)]);
    let line = |all: &[(f64, f64)]| {
        all.iter()
            .map(|&(x, y)| Point::new(x, y))
            .collect::<Polyline>()
    };
    // Legs on from the net line to the cut line; the second as two strokes.
    a.darts = vec![
        line(&[(99.0, -6.0), (104.0, 40.0), (109.0, -6.0)]),
        line(&[(129.0, 0.0), (130.0, 30.0)]),
        line(&[(130.0, 30.0), (131.0, 0.0)]),
    ];
    let takes = 10.0 * 40.0 / 46.0 + 2.0;
    let b = cloth(
        "b",
        &straight(208.0 - takes),
        80.0,
        &[(50.0, V), (158.0 - takes, S)],
    );
    let (r, found) = walked(&[a, b], &seam(&["a: e"], &["b: e"], 0.0));
    assert!((r.one_darts_mm - takes).abs() < 1e-9);
    assert!(r.difference_mm.abs() < 1e-9);
    assert_eq!(found, []);
}

#[test]
fn what_is_missing_beyond_a_dart_is_marked_with_the_dart_open() {
    let line = |all: &[(f64, f64)]| {
        all.iter()
            .map(|&(x, y)| Point::new(x, y))
            .collect::<Polyline>()
    };
    let mut darted = cloth("d", &straight(210.0), 90.0, &[]);
    darted.darts = vec![line(&[(50.0, 0.0), (55.0, 40.0), (60.0, 0.0)])];
    let plain = cloth(
        "p",
        &straight(200.0),
        80.0,
        &[(30.0, S), (100.0, S), (160.0, V)],
    );
    let pieces = [darted, plain];
    // Along the dart's edge, or against it: the two run opposite ways.
    for (one, other) in [("d: e", "p: e"), ("p: e", "d: e")] {
        let (_, found) = walked(&pieces, &seam(&[one], &[other], 0.0));
        let mut at: Vec<f64> = found.iter().map(|f| f.spot.at_mm.unwrap()[0]).collect();
        at.sort_by(f64::total_cmp);
        // 200 − 160 = 40 lies before the dart, 200 − 100 and 200 − 30 beyond it.
        let near = at
            .iter()
            .zip([40.0, 110.0, 180.0])
            .all(|(a, w)| (a - w).abs() < 1e-9);
        assert!(near && at.len() == 3, "{at:?}");
    }
}
