use super::*;
use crate::pattern::allowance::add;
use crate::pattern::edges::edges as edges_of;
use crate::pattern::net::{EdgeMake, NetPiece};
use crate::pattern::piece::NotchKind;
use crate::pattern::symmetry::is_its_own_mirror;
use crate::shape::{Region, difference, signed_area};
use proptest::prelude::*;

type At = Point<Piece>;

/// Half of a shape right of the line x = 0, from the bottom up; and the whole.
fn net(points: &[(f64, f64)], names: &[(usize, &str, f64)], fold: Option<&str>) -> NetPiece {
    let mut piece = PatternPiece::named("upper");
    let points: Polyline = points.iter().map(|&(x, y)| At::new(x, y)).collect();
    let start = |&(k, name, mm): &(usize, &str, f64)| EdgeStart {
        at: points[k],
        name: name.into(),
        allowance: Some(mm),
    };
    piece.edges = names.iter().map(start).collect();
    let make = |e: &EdgeStart| EdgeMake {
        on_fold: fold == Some(e.name.as_str()),
        ..EdgeMake::default()
    };
    let makes = piece.edges.iter().map(make).collect();
    let closed = true;
    piece.net = vec![Line { points, closed }];
    NetPiece { piece, makes }
}

fn notch(x: f64, y: f64, inward: (f64, f64)) -> Notch {
    Notch {
        at: At::new(x, y),
        inward: inward.into(),
        depth: 3.0,
        kind: NotchKind::Vee,
    }
}

const HALF: [(f64, f64); 5] = [
    (0.0, 0.0),
    (60.0, -8.0),
    (75.0, 40.0),
    (30.0, 90.0),
    (0.0, 85.0),
];
const WHOLE: [(f64, f64); 8] = [
    (0.0, 0.0),
    (60.0, -8.0),
    (75.0, 40.0),
    (30.0, 90.0),
    (0.0, 85.0),
    (-30.0, 90.0),
    (-75.0, 40.0),
    (-60.0, -8.0),
];

fn strays(a: &PatternPiece, b: &PatternPiece) -> f64 {
    let region = |p: &PatternPiece| Region::new(p.cut.iter().chain(&p.cutouts).cloned().collect());
    let (a, b) = (region(a), region(b));
    difference(&a, &b).area() + difference(&b, &a).area()
}

fn half() -> PatternPiece {
    let names = [
        (0, "hem", 10.0),
        (1, "side", 6.0),
        (3, "throat", 5.0),
        (4, "middle", 6.0),
    ];
    let mut half = net(&HALF, &names, Some("middle"));
    half.piece.notches = vec![
        notch(75.0, 40.0, (-1.0, 0.0)),
        notch(0.0, 85.0, (0.2, -0.9)),
        notch(15.0, 87.5, (0.164398987305357, -0.986393923832144)),
    ];
    half.piece.drills = vec![At::new(20.0, 40.0), At::new(0.0, 30.0)];
    half.piece.grain = Some([At::new(10.0, 10.0), At::new(10.0, 70.0)]);
    half.piece.darts = vec![vec![
        At::new(40.0, 0.0),
        At::new(42.0, 20.0),
        At::new(44.0, 0.0),
    ]];
    let lines = [
        vec![At::new(0.0, 50.0), At::new(50.0, 45.0)],
        vec![At::new(20.0, 20.0), At::new(30.0, 20.0)],
    ];
    half.piece.lines = lines
        .map(|points| Line {
            points,
            closed: false,
        })
        .to_vec();
    add(&half).unwrap().piece
}

#[test]
fn a_half_opened_out_is_the_whole() {
    let names = [
        (0, "hem", 10.0),
        (1, "side", 6.0),
        (3, "throat", 5.0),
        (4, "throat (mirrored)", 5.0),
        (5, "side (mirrored)", 6.0),
        (7, "hem (mirrored)", 10.0),
    ];
    let whole = add(&net(&WHOLE, &names, None)).unwrap().piece;
    let open = unfold(&half()).unwrap();
    assert!(strays(&open, &whole) < 1e-3, "{}", strays(&open, &whole));
    assert_eq!(open.cut.len(), 1);
    assert!(signed_area(&open.cut[0]) > 0.0 && open.folds.is_empty());
    assert!(pairs(&open.cut[0]).all(|(a, b)| a != b));
    // The same edges, of the same lengths, in the same order from the hem on.
    let told = |p: &PatternPiece| {
        let mut all: Vec<_> = edges_of(p)
            .into_iter()
            .map(|e| (e.name, e.allowance, (e.length * 1e6).round()))
            .collect();
        let hem = all.iter().position(|e| e.0 == "hem").unwrap();
        all.rotate_left(hem);
        all
    };
    assert_eq!(told(&open), told(&whole));
    assert!(is_its_own_mirror(&open));
}

#[test]
fn what_is_marked_is_marked_on_both_halves() {
    let half = half();
    let open = unfold(&half).unwrap();
    // On the fold's end once, the others twice.
    assert_eq!(open.notches.len(), 5);
    let middle: Vec<_> = open
        .notches
        .iter()
        .filter(|n| n.at.x.abs() < 1e-9)
        .collect();
    assert_eq!(middle.len(), 1);
    assert!((middle[0].inward - Vector::new(0.0, -1.0)).length() < 1e-12);
    let mirror = |p: At| At::new(-p.x, p.y);
    for n in &open.notches {
        let partner = |o: &&Notch| (o.at - mirror(n.at)).length() < 1e-9;
        let o = open.notches.iter().find(partner).unwrap();
        assert!((o.inward - Vector::new(-n.inward.x, n.inward.y)).length() < 1e-9);
    }
    assert_eq!((open.drills.len(), open.darts.len()), (3, 2));
    // The line that met the fold runs on; the other is there twice; the fold itself.
    assert_eq!(open.lines.len(), 4);
    assert_eq!(open.lines[0].points.len(), 3);
    let grain = open.grain.unwrap();
    assert_eq!(grain[1] - grain[0], Vector::new(0.0, 60.0));
    let x = |p: &PatternPiece| p.cut[0].iter().map(|p| p.x).fold(f64::INFINITY, f64::min);
    assert!((x(&open) * 2.0 - x(&half) * 4.0).abs() < 1e-9);
}

#[test]
fn a_notch_away_from_the_fold_s_ends_becomes_a_drill_point() {
    let mut half = half();
    let fold = half.folds[0].clone();
    let at = fold[0].lerp(fold[1], 0.5);
    half.notches.push(Notch {
        at,
        inward: Vector::new(1.0, 0.0),
        depth: 3.0,
        kind: NotchKind::Slit,
    });
    let open = unfold(&half).unwrap();
    assert_eq!((open.notches.len(), open.drills.len()), (5, 4));
}

#[test]
fn what_can_t_be_opened_ends_in_a_sentence() {
    type Spoil = fn(&mut PatternPiece);
    let cases: [(Spoil, &str); 6] = [
        (|p| p.folds.clear(), "not cut on a fold"),
        (|p| p.folds.push(p.folds[0].clone()), "several folds"),
        (|p| p.folds[0].insert(1, At::new(9.0, 9.0)), "not straight"),
        (|p| p.folds[0] = vec![At::new(1.0, 1.0); 2], "no length"),
        (
            |p| p.folds[0].iter_mut().for_each(|q| q.x += 9.0),
            "over its fold",
        ),
        (
            |p| p.folds[0].iter_mut().for_each(|q| q.x -= 9.0),
            "not a part of the cut line",
        ),
    ];
    for (spoil, says) in cases {
        let mut piece = half();
        spoil(&mut piece);
        let fault = unfold(&piece).unwrap_err().to_string();
        assert!(fault.contains(says), "{says}: {fault}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn any_half_with_its_allowance_opens_to_the_whole_with_its(
        xs in prop::array::uniform5(20.0..80.0f64),
        ends in (-20.0..20.0f64, -20.0..20.0f64),
        mm in prop::array::uniform3(1.0..12.0f64),
    ) {
        let mut points = vec![(0.0, ends.0)];
        points.extend(xs.iter().enumerate().map(|(k, &x)| (x, 30.0 * (k + 1) as f64)));
        points.push((0.0, 180.0 + ends.1));
        let names = [(0, "hem", mm[0]), (1, "side", mm[1]), (5, "throat", mm[2]), (6, "middle", 0.0)];
        let half = add(&net(&points, &names, Some("middle"))).unwrap();
        let mut all = points.clone();
        all.extend(points[1..6].iter().rev().map(|&(x, y)| (-x, y)));
        let names = [
            (0, "hem", mm[0]), (1, "side", mm[1]), (5, "throat", mm[2]),
            (6, "t", mm[2]), (7, "s", mm[1]), (11, "h", mm[0]),
        ];
        let whole = add(&net(&all, &names, None)).unwrap();
        // Where a corner at the fold points into the piece, its cut line is the same too.
        let open = unfold(&half.piece).unwrap();
        prop_assert!(strays(&open, &whole.piece) < 1e-2, "{}", strays(&open, &whole.piece));
        let (a, b) = (edges_of(&open).len(), edges_of(&whole.piece).len());
        prop_assert_eq!(a, b);
    }
}

/// The half moon has an outline of its own once the fold is opened, so one of the two
/// would be lost.
#[test]
fn an_opening_on_the_fold_is_refused() {
    let mut piece = PatternPiece::named("bib");
    let ring = |moon: f64| -> Polyline {
        let low = [(0.0, 0.0), (60.0, 0.0), (60.0, 90.0), (0.0, 90.0)];
        let moon = [(0.0, 70.0), (moon, 55.0), (0.0, 40.0)];
        let all = low.into_iter().chain(moon);
        all.map(|(x, y)| At::new(x, y)).collect()
    };
    piece.folds = vec![vec![At::new(0.0, 0.0), At::new(0.0, 90.0)]];
    piece.cut = vec![ring(0.0)];
    assert_eq!(unfold(&piece).unwrap().cut.len(), 1);
    let lies = ["cut", "net", "line"];
    for lies_on in lies {
        let mut piece = piece.clone();
        let line = Line {
            points: ring(20.0),
            closed: true,
        };
        match lies_on {
            "cut" => piece.cut = vec![line.points],
            "net" => piece.net = vec![line],
            _ => piece.lines = vec![line],
        }
        let fault = unfold(&piece).unwrap_err().to_string();
        assert!(
            fault.contains("\"bib\"") && fault.contains("more than once"),
            "{lies_on}: {fault}"
        );
    }
}
