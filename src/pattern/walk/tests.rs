//! Seams walked: worked by hand, by property, and against other programs' values.

use super::*;
use crate::pattern::finding::{Finding, Severity};
use crate::pattern::grain;
use crate::pattern::piece::{EdgeStart, Line, Notch, NotchKind, PatternPiece, Polyline};
use crate::pattern::sewing::{EdgeName, FitsAt, Ring, Seam, Sewing};
use crate::shape::{along, length};
use crate::space::{Piece as PieceSpace, Point, Rigid, Vector};
use proptest::prelude::*;

type At = Point<PieceSpace>;

const KINDS: [NotchKind; 3] = [NotchKind::Slit, NotchKind::Double, NotchKind::Vee];

/// A piece whose edge `e` is the line, with the piece on its left; round it the edges
/// `before`, `far`, `after`, which begin `deep` mm off.
fn cloth(name: &str, line: &[At], deep: f64, marks: &[(f64, NotchKind)]) -> PatternPiece {
    let (a, b) = (line[0], *line.last().unwrap());
    let way = b - a;
    let left = Vector::new(-way.y, way.x) / way.length() * deep;
    let mut ring: Polyline = line.to_vec();
    ring.extend([b + left, a + left]);
    let mut piece = PatternPiece::named(name);
    let start = |at, name: &str| EdgeStart {
        at,
        name: name.into(),
        allowance: None,
    };
    piece.edges = vec![
        start(a, "e"),
        start(b, "after"),
        start(b + left, "far"),
        start(a + left, "before"),
    ];
    piece.net = vec![Line {
        points: ring,
        closed: true,
    }];
    for &(s, kind) in marks {
        let st = along(line, s).unwrap();
        let inward = Vector::new(-st.along.y, st.along.x);
        piece.notches.push(Notch {
            at: st.at - inward * 6.0,
            inward,
            depth: 3.0,
            kind,
        });
    }
    piece
}

fn straight(len: f64) -> Vec<At> {
    vec![Point::origin(), Point::new(len, 0.0)]
}

fn seam(one: &[&str], other: &[&str], ease: f64) -> Seam {
    let names = |all: &[&str]| all.iter().map(|n| EdgeName::parse(n).unwrap()).collect();
    Seam {
        name: "s".into(),
        one: names(one),
        other: names(other),
        ease,
        tolerance: 1.0,
    }
}

fn walked(pieces: &[PatternPiece], seam: &Seam) -> (SeamResult, Vec<Finding>) {
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    let (result, findings) = walk(&laid, &Sewn::default(), seam);
    (result.unwrap().0, findings)
}

/// Two straight edges, the other's notches given from the seam's start. The seam's start
/// is where the first begins; the other runs the opposite way.
fn pair(
    one: (f64, &[(f64, NotchKind)]),
    other: (f64, &[(f64, NotchKind)]),
    ease: f64,
) -> (SeamResult, Vec<Finding>) {
    let back: Vec<_> = other.1.iter().map(|&(s, k)| (other.0 - s, k)).collect();
    let pieces = [
        cloth("a", &straight(one.0), 90.0, one.1),
        cloth("b", &straight(other.0), 80.0, &back),
    ];
    walked(&pieces, &seam(&["a: e"], &["b: e"], ease))
}

const S: NotchKind = NotchKind::Slit;
const V: NotchKind = NotchKind::Vee;

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

#[test]
fn rings_in_closed_form() {
    // 2πt at t = 1.5: 9.4248; πt: 4.7124.
    assert!((thickness_ease(1.5, FitsAt::Outside) - 9.424_777_960_769_38).abs() < 1e-12);
    assert!((thickness_ease(1.5, FitsAt::MidWall) - 4.712_388_980_384_69).abs() < 1e-12);
    let on = |deg: f64| {
        let mut a = cloth("a", &straight(300.0), 50.0, &[]);
        let mut b = cloth("b", &straight(100.0), 50.0, &[]);
        let (sin, cos) = deg.to_radians().sin_cos();
        a.grain = Some([Point::origin(), Point::new(50.0 * cos, 50.0 * sin)]);
        b.grain = Some([Point::origin(), Point::new(50.0, 0.0)]);
        [a, b]
    };
    let told = |deg: f64, girth: f64, sewn: Option<f64>| {
        let pieces = on(deg);
        let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
        let all: Vec<_> = pieces.iter().flat_map(|p| grain::of(p).unwrap()).collect();
        let declared = Ring {
            name: "r".into(),
            edges: ["a: e", "b: e"]
                .map(|n| EdgeName::parse(n).unwrap())
                .to_vec(),
            girth,
            ease: 0.0,
            cloth: 1.5,
            at: FitsAt::Outside,
            tolerance: 3.0,
            sewn,
        };
        let (result, found) = ring(&laid, &all, &declared);
        (result.unwrap(), found)
    };
    let wants = 400.0 - thickness_ease(1.5, FitsAt::Outside);
    assert_eq!(told(0.0, wants + 2.9, None).0.verdict, RingVerdict::Fits);
    assert_eq!(told(0.0, wants + 3.1, None).0.verdict, RingVerdict::Short);
    assert_eq!(told(45.0, wants + 3.1, None).0.verdict, RingVerdict::Short);
    let (long, found) = told(0.0, wants - 5.0, None);
    assert_eq!(
        (long.verdict, found[0].severity),
        (RingVerdict::Long, Severity::Spoils)
    );
    // On the bias it is an amount to ease in, up to 5 % of 300 mm.
    let (ease, found) = told(45.0, wants - 5.0, None);
    assert_eq!(
        (ease.verdict, found[0].severity),
        (RingVerdict::EaseIn, Severity::Advice)
    );
    assert_eq!(
        found[0].remedy,
        "ease 5.0 mm in onto a tape of 395.0 mm: the tape decides"
    );
    let (_, found) = told(45.0, wants - 17.0, None);
    assert_eq!(found[0].severity, Severity::Check);
    assert!(
        found[0].remedy.starts_with("shorten it by 2.0 mm"),
        "{found:?}"
    );

    // Sewn 8 mm longer: what is straight on the grain did not grow.
    let (result, found) = told(45.0, wants, Some(408.0));
    let sewn = result.sewn.unwrap();
    let grew: Vec<f64> = sewn.likely.iter().map(|g| g.by_mm).collect();
    assert!((grew[0] - 8.0).abs() < 1e-9 && grew[1].abs() < 1e-9);
    assert!(
        found[0]
            .remedy
            .starts_with("next time make \"a: e\" 8.0 mm shorter")
    );
    // With no bias anywhere, by length: 3 : 1.
    let (result, _) = told(0.0, wants, Some(408.0));
    let grew: Vec<f64> = result
        .sewn
        .unwrap()
        .likely
        .iter()
        .map(|g| g.by_mm)
        .collect();
    assert!((grew[0] - 6.0).abs() < 1e-9 && (grew[1] - 2.0).abs() < 1e-9);
}

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

// ---- properties

/// A gently waving line of at least 150 mm from the origin, and notches off its middle.
fn waving() -> impl Strategy<Value = (Vec<At>, Vec<(f64, NotchKind)>)> {
    let steps = prop::collection::vec((4.0..12.0f64, -2.5..2.5f64), 24..60);
    (
        steps,
        prop::collection::vec((0.06..0.94f64, 0usize..3), 1..5),
    )
        .prop_map(|(steps, marks)| {
            let mut p = Point::origin();
            let mut line = vec![p];
            for (dx, dy) in steps {
                p += Vector::new(dx, dy);
                line.push(p);
            }
            let whole = length(&line);
            let mut marks: Vec<_> = marks
                .into_iter()
                .map(|(s, k)| (s * whole, KINDS[k]))
                .collect();
            marks.sort_by(|a, b| a.0.total_cmp(&b.0));
            // Those within 25 mm of one another could be taken for each other, mirrored or not.
            marks.dedup_by(|b, a| b.0 - a.0 < 25.0);
            (line, marks)
        })
}

/// The piece on the other side of the line.
fn partner(line: &[At], marks: &[(f64, NotchKind)]) -> PatternPiece {
    let whole = length(line);
    let back: Vec<At> = line.iter().rev().copied().collect();
    let marks: Vec<_> = marks.iter().map(|&(s, k)| (whole - s, k)).collect();
    cloth("b", &back, 140.0, &marks)
}

fn moved(piece: &PatternPiece, by: &Rigid<PieceSpace, PieceSpace>) -> PatternPiece {
    let mut out = piece.clone();
    let line = |l: &mut Polyline| l.iter_mut().for_each(|p| *p = by.point(*p));
    out.net.iter_mut().for_each(|l| line(&mut l.points));
    out.edges.iter_mut().for_each(|e| e.at = by.point(e.at));
    if by.mirrored {
        // An edge begins where it ended.
        let ends: Vec<_> = (0..out.edges.len())
            .map(|k| out.edges[(k + 1) % out.edges.len()].at)
            .collect();
        out.edges.iter_mut().zip(ends).for_each(|(e, at)| e.at = at);
    }
    for n in &mut out.notches {
        n.at = by.point(n.at);
        n.inward = by.vector(n.inward);
    }
    out
}

/// More vertices on the same line.
fn divided(piece: &PatternPiece, at: f64) -> PatternPiece {
    let mut out = piece.clone();
    let ring = &piece.net[0].points;
    let next = |k: usize| ring[(k + 1) % ring.len()];
    out.net[0].points = (0..ring.len())
        .flat_map(|k| [ring[k], ring[k] + (next(k) - ring[k]) * at])
        .collect();
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Two pieces cut apart along a line walk to zero, however they are turned, mirrored
    /// or re-parametrised, and every notch meets its own.
    #[test]
    fn two_sides_of_one_cut_walk_to_zero(
        (line, marks) in waving(),
        (turn, mirrored, at) in (-7.0..7.0f64, any::<bool>(), 0.1..0.9f64),
        (x, y) in (-500.0..500.0f64, -500.0..500.0f64),
    ) {
        let by = Rigid::new(mirrored, turn, Vector::new(x, y));
        let pieces = [cloth("a", &line, 120.0, &marks), divided(&moved(&partner(&line, &marks), &by), at)];
        let (r, found) = walked(&pieces, &seam(&["a: e"], &["b: e"], 0.0));
        prop_assert!(r.difference_mm.abs() < 1e-9, "{}", r.difference_mm);
        prop_assert_eq!(&found, &[]);
        prop_assert_eq!(r.landings.len(), 2 * marks.len());
        for l in &r.landings {
            prop_assert!(l.off_mm.abs() < 1e-6 && (l.along_mm - l.lands_mm).abs() < 1e-6);
        }
        // Where the notches tell which way round, mirroring is found out.
        if !r.either_way {
            prop_assert_eq!(r.same_way, mirrored);
        }
    }

    /// One side cut into three pieces: the walk of one to many is the same.
    #[test]
    fn one_to_many_walks_to_zero((line, marks) in waving(), cuts in (0.2..0.45f64, 0.55..0.8f64)) {
        let n = line.len() as f64;
        let (i, j) = ((cuts.0 * n) as usize, (cuts.1 * n) as usize);
        let whole = length(&line);
        let mut pieces = vec![cloth("a", &line, 120.0, &marks)];
        for (name, part) in ["b", "c", "d"].into_iter().zip([&line[..=i], &line[i..=j], &line[j..]]) {
            let begin = match name { "b" => 0.0, "c" => length(&line[..=i]), _ => length(&line[..=j]) };
            let len = length(part);
            let own: Vec<_> = marks
                .iter()
                .filter(|(s, _)| *s > begin && *s < begin + len)
                .map(|&(s, k)| (s - begin, k))
                .collect();
            let mut p = partner(part, &own);
            p.name = name.into();
            pieces.push(p);
        }
        let (r, found) = walked(&pieces, &seam(&["a: e"], &["b: e", "c: e", "d: e"], 0.0));
        prop_assert!(r.difference_mm.abs() < 1e-9 && (r.one_mm - whole).abs() < 1e-9);
        prop_assert_eq!(&found, &[]);
    }

    /// A notch put out of place is told by that much, and moved back by that much.
    #[test]
    fn a_notch_out_of_place_is_told_by_how_much(
        (line, _) in waving(), s in 0.2..0.45f64, by in 1.5..6.0f64, on in any::<bool>(),
    ) {
        let whole = length(&line);
        let by = if on { by } else { -by };
        let marks = [(s * whole, S), (0.7 * whole, V)];
        let off = [(s * whole + by, S), (0.7 * whole, V)];
        let pieces = [cloth("a", &line, 120.0, &marks), partner(&line, &off)];
        let (r, found) = walked(&pieces, &seam(&["a: e"], &["b: e"], 0.0));
        let slit = r.landings.iter().find(|l| l.kind == "slit").unwrap();
        prop_assert!((slit.off_mm + by).abs() < 1e-6, "{} {by}", slit.off_mm);
        prop_assert_eq!(found.len(), 1);
        // b runs against the seam: its start is the seam's end.
        let end = if on { "after" } else { "before" };
        prop_assert_eq!(&found[0].remedy, &format!("move the slit on \"b: e\" {:.1} mm towards the end at \"{end}\"", by.abs()));
    }
}

/// That is said, to be looked at.
fn says(found: &[Finding], what: &str) {
    let hit = found.iter().find(|f| f.what.contains(what));
    let hit = hit.unwrap_or_else(|| panic!("{what}: {found:?}"));
    assert_eq!(hit.severity, Severity::Check);
}

#[test]
fn a_dart_of_too_many_points_is_told_and_counts_as_one() {
    // One of 17 points, before and after it one that is closed.
    let mut a = cloth("a", &straight(100.0), 50.0, &[]);
    let dart = |x: f64| {
        let [foot, tip, other] = [(x, -1.0), (x + 2.0, 20.0), (x + 4.0, -1.0)];
        [foot, tip, other].map(|(x, y)| Point::new(x, y)).to_vec()
    };
    let long = || -> Polyline {
        let at = |k: i32| Point::new(50.0 + f64::from(k % 2), f64::from(k));
        (0..17).map(at).collect()
    };
    a.darts = vec![dart(10.0), long(), dart(80.0)];
    let laid = Laid::new(&a);
    assert_eq!((laid.darts.len(), laid.adrift.len()), (2, 1));
    let told = |laid: &Laid| laid.adrift.last().map(|a| a.what.clone()).unwrap();
    assert_eq!(told(&laid), "a dart of more than 16 points is not closed");
    a.darts = (0..120).map(|_| long()).collect();
    assert_eq!(told(&Laid::new(&a)), "only the first 100 darts are closed");
}

fn proposed(pieces: &[PatternPiece]) -> (Vec<Proposal>, Vec<Finding>) {
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    propose(&laid, &Sewing::default())
}

#[test]
fn edges_of_too_many_notches_to_propose_seams_for_are_told() {
    let crowded = |n: u32| {
        let marks: Vec<_> = (1..=n).map(|k| (2.0 * f64::from(k), S)).collect();
        let one = cloth("a", &straight(300.0), 90.0, &marks);
        proposed(&[one, cloth("b", &straight(300.0), 80.0, &marks)])
    };
    let both = |found: &[Proposal]| found.iter().any(|p| p.one == "a: e" && p.other == "b: e");
    let (_, found) = crowded(100);
    assert!(found.is_empty(), "{found:?}");
    let (some, found) = crowded(101);
    assert!(!both(&some));
    says(&found, "more than 100 notches: \"a: e\", \"b: e\"");
}

#[test]
fn more_pairs_than_are_compared_and_more_proposals_than_are_shown_are_told() {
    // The pieces' ends are too short to be proposed; edge and far edge are alike.
    let alike = |n: u32, long: f64| -> Vec<PatternPiece> {
        let named = |k: u32| format!("{long} {k}");
        let each = (0..n).map(|k| cloth(&named(k), &straight(long), 10.0, &[]));
        each.collect()
    };
    let (some, found) = proposed(&alike(60, 200.0));
    assert!(some.len() == 60 && found.is_empty(), "{}", some.len());
    // 300 edges are 44 850 pairs.
    let (some, found) = proposed(&alike(150, 200.0));
    assert!(some.len() <= 100);
    says(&found, "not all were compared");
    let (some, found) = proposed(&[alike(60, 200.0), alike(60, 300.0)].concat());
    assert_eq!(some.len(), 100);
    says(&found, "more seams could be proposed than the 100");
}

#[test]
fn where_no_notches_are_compared_that_is_told_and_no_notch_is_missed() {
    // Three edges of 400 on either side: 1.44 million pairs.
    let row = |side: &str| -> Vec<PatternPiece> {
        let notches: Vec<_> = (1..=400).map(|k| (2.0 * f64::from(k), S)).collect();
        let named = |k: u32| format!("{side}{k}");
        let each = (0..3).map(|k| cloth(&named(k), &straight(810.0), 50.0, &notches));
        each.collect()
    };
    let pieces = [row("a"), row("b")].concat();
    let (one, other) = (["a0: e", "a1: e", "a2: e"], ["b0: e", "b1: e", "b2: e"]);
    let (result, found) = walked(&pieces, &seam(&one, &other, 0.0));
    says(&found, "so many notches that they are not compared");
    assert!(found.len() == 1 && result.landings.is_empty());
}
