use super::super::net::EdgeMake;
use super::super::piece::{Notch, NotchKind, Polyline};
use super::*;
use crate::shape::{Region, pairs};
use crate::shape::{difference, nearest};
use crate::space::{Point, Vector};
use proptest::prelude::*;

type At = Point<Piece>;

/// A net piece from its corners, with an edge from each: name, allowance.
fn net(corners: &[(f64, f64)], allowances: &[f64]) -> NetPiece {
    let mut piece = PatternPiece::named("flap");
    let points: Polyline = corners.iter().map(|&(x, y)| At::new(x, y)).collect();
    piece.edges = points
        .iter()
        .zip(allowances)
        .enumerate()
        .map(|(k, (&at, &mm))| EdgeStart {
            at,
            name: (k + 1).to_string(),
            allowance: Some(mm),
        })
        .collect();
    let closed = true;
    piece.net = vec![Line { points, closed }];
    NetPiece {
        makes: vec![EdgeMake::default(); piece.edges.len()],
        piece,
    }
}

fn oblong(allowances: [f64; 4]) -> NetPiece {
    net(
        &[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)],
        &allowances,
    )
}

fn notch(x: f64, y: f64, inward: (f64, f64)) -> Notch {
    Notch {
        at: At::new(x, y),
        inward: inward.into(),
        depth: 5.0,
        kind: NotchKind::Slit,
    }
}

/// The farthest that a vertex of one ring is from the other, either way.
fn off(a: &[At], b: &[At]) -> f64 {
    let closed = |r: &[At]| -> Polyline { r.iter().chain(r.first()).copied().collect() };
    let one = |a: &[At], b: &[At]| {
        let b = closed(b);
        let each = a.iter().filter_map(|&p| nearest(&b, p)).map(|(_, d)| d);
        each.fold(0.0, f64::max)
    };
    one(a, b).max(one(b, a))
}

#[test]
fn each_edge_has_its_own_allowance_and_all_moves_to_the_middle() {
    let mut net = oblong([6.0, 10.0, 6.0, 4.0]);
    net.piece.drills = vec![At::new(50.0, 30.0)];
    net.piece.notches = vec![
        notch(30.0, 0.0, (0.0, 1.0)),
        notch(100.0, 20.0, (-1.0, 0.0)),
    ];
    net.makes[1].stitched = 6.0;
    let Allowed { piece, notes } = add(&net).unwrap();
    assert_eq!(notes, Vec::<String>::new());
    // 114 by 72, its middle at (53, 30) of the drawing.
    let corners = [(-57.0, -36.0), (57.0, -36.0), (57.0, 36.0), (-57.0, 36.0)];
    assert_eq!(piece.cut.len(), 1);
    assert!(
        corners
            .iter()
            .all(|&(x, y)| piece.cut[0].contains(&At::new(x, y)))
    );
    assert_eq!(piece.cut[0].len(), 4);
    assert_eq!(piece.drills[0], At::new(-3.0, 0.0));
    assert!(
        piece
            .edges
            .iter()
            .all(|e| piece.net[0].points.contains(&e.at))
    );
    // Half of 6; 1 mm short of the stitching 6 mm into 10.
    let at: Vec<_> = piece.notches.iter().map(|n| (n.at, n.depth)).collect();
    assert_eq!(
        at,
        [(At::new(-23.0, -36.0), 3.0), (At::new(57.0, -10.0), 3.0)]
    );
}

#[test]
fn a_notch_without_room_is_left_out_and_a_shallow_one_noted() {
    let mut net = oblong([2.4, 0.0, 6.0, 6.0]);
    net.piece.notches = vec![
        notch(30.0, 0.0, (0.0, 1.0)),
        notch(100.0, 20.0, (-1.0, 0.0)),
    ];
    let Allowed { piece, notes } = add(&net).unwrap();
    assert_eq!(piece.notches.len(), 1);
    assert!((piece.notches[0].depth - 1.2).abs() < 1e-12);
    assert_eq!(
        notes,
        [
            "notch 1 on edge \"1\" can only be 1.2 mm deep, too little to see well; mark it \
             another way too.",
            "notch 2 on edge \"2\" is left out: an allowance of 0 mm has no room to clip it; \
             mark it another way."
        ]
    );
}

#[test]
fn on_the_fold_there_is_no_allowance_and_the_neighbours_end_on_it() {
    // The fold on the left; neither neighbour meets it square.
    let mut net = net(
        &[(0.0, 0.0), (80.0, -10.0), (70.0, 60.0), (0.0, 50.0)],
        &[6.0, 8.0, 5.0, 9.0],
    );
    net.makes[3].on_fold = true;
    net.piece.notches = vec![notch(0.0, 0.0, (0.3, 0.9))];
    let Allowed { piece, notes } = add(&net).unwrap();
    assert_eq!(notes, Vec::<String>::new());
    let [fold] = piece.folds.as_slice() else {
        panic!("{:?}", piece.folds)
    };
    let edges: Vec<_> = pairs(&piece.cut[0]).collect();
    assert!(fold.windows(2).all(|w| edges.contains(&(w[0], w[1]))));
    let x = fold[0].x;
    assert!(fold.iter().all(|p| p.x == x) && piece.cut[0].iter().all(|p| p.x >= x));
    // 50 of net line; the allowances are longer along the fold than square to their edges.
    let long = 50.0 + 6.0 * 80.0f64.hypot(10.0) / 80.0 + 5.0 * 70.0f64.hypot(10.0) / 70.0;
    assert!((fold[0].y - fold[1].y - long).abs() < 1e-9);
    assert_eq!(piece.edges[3].allowance, Some(0.0));
    // The notch at the fold's end is clipped along the fold.
    assert!((piece.notches[0].at - fold[1]).length() < 1e-9);
    assert_eq!(piece.notches[0].inward, Vector::new(0.0, 1.0));
}

#[test]
fn sharp_corners_and_narrow_places_are_said() {
    let needle = net(&[(0.0, 0.0), (120.0, 6.0), (0.0, 12.0)], &[6.0; 3]);
    let notes = add(&needle).unwrap().notes;
    assert_eq!(
        notes,
        ["the corner where edge \"2\" begins is so sharp that its mitre is cut off."]
    );
    let slit = [
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 80.0),
        (52.0, 80.0),
        (50.0, 20.0),
        (48.0, 80.0),
        (0.0, 80.0),
    ];
    let notes = add(&net(&slit, &[6.0; 7])).unwrap().notes;
    assert_eq!(notes.len(), 1, "{notes:?}");
    assert!(notes[0].starts_with("the allowances of edges"), "{notes:?}");
    // Wide enough, it is nobody's business.
    let slot = [
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 80.0),
        (60.0, 80.0),
        (60.0, 20.0),
        (40.0, 20.0),
        (40.0, 80.0),
        (0.0, 80.0),
    ];
    assert_eq!(
        add(&net(&slot, &[6.0; 8])).unwrap().notes,
        Vec::<String>::new()
    );
}

#[test]
fn what_can_t_be_allowed_for_ends_in_a_sentence() {
    type Spoil = fn(&mut NetPiece);
    let cases: [(Spoil, &str); 12] = [
        (|n| n.piece.net[0].closed = false, "no closed net line"),
        (|n| n.piece.net[0].points.swap(0, 1), "counter-clockwise"),
        (
            |n| n.piece.net[0].points[2].x = f64::NAN,
            "out of all bounds",
        ),
        (
            |n| n.piece.net[0].points.insert(3, At::new(-40.0, -30.0)),
            "crosses itself",
        ),
        (|n| n.piece.edges[1].allowance = None, "no allowance"),
        (
            |n| n.piece.edges[1].allowance = Some(-1.0),
            "is not possible",
        ),
        (
            |n| n.piece.edges[1].allowance = Some(f64::INFINITY),
            "is not possible",
        ),
        (|n| n.piece.edges[1].at.x += 1e-9, "begin on the net line"),
        (|n| n.piece.edges[1].name = "1".into(), "two edges"),
        (|n| n.makes.clear(), "not told"),
        (
            |n| n.piece.notches = vec![notch(40.0, 9.0, (0.0, 1.0))],
            "not on the net line",
        ),
        (
            |n| n.piece.notches = vec![notch(40.0, 0.0, (0.0, 0.0))],
            "no depth or direction",
        ),
    ];
    for (k, (spoil, says)) in cases.into_iter().enumerate() {
        let mut net = oblong([6.0; 4]);
        spoil(&mut net);
        let fault = add(&net).unwrap_err().to_string();
        assert!(
            fault.contains(says) && fault.contains("flap"),
            "{k}: {fault}"
        );
    }
    let mut bowed = oblong([6.0; 4]);
    bowed.piece.net[0].points.insert(1, At::new(50.0, -1.0));
    bowed.makes[0].on_fold = true;
    assert!(add(&bowed).unwrap_err().what.contains("not straight"));
    let mut over = net(
        &[(0.0, 0.0), (50.0, 0.0), (100.0, -20.0), (90.0, 60.0)],
        &[6.0; 4],
    );
    over.makes[0].on_fold = true;
    assert!(add(&over).unwrap_err().what.contains("over its fold"));
}

#[test]
fn a_net_line_is_had_from_a_cut_line() {
    let mut drawn = PatternPiece::named("flap");
    let corners = [(-57.0, -36.0), (57.0, -36.0), (57.0, 36.0), (-57.0, 36.0)];
    drawn.cut = vec![corners.iter().map(|&(x, y)| At::new(x, y)).collect()];
    drawn.notches = vec![notch(-23.0, -36.0, (0.0, 1.0))];
    let Allowed { piece, notes } = net_of(&drawn, &[6.0, 10.0, 6.0, 4.0]).unwrap();
    let want = [(-53.0, -30.0), (47.0, -30.0), (47.0, 30.0), (-53.0, 30.0)];
    let want: Polyline = want.iter().map(|&(x, y)| At::new(x, y)).collect();
    assert!(off(&piece.net[0].points, &want) < 1e-9);
    let edges: Vec<_> = super::super::edges::edges(&piece);
    let told: Vec<_> = edges
        .iter()
        .map(|e| (e.name.as_str(), e.allowance, e.length))
        .collect();
    let expected = [
        ("1", 6.0, 100.0),
        ("2", 10.0, 60.0),
        ("3", 6.0, 100.0),
        ("4", 4.0, 60.0),
    ];
    assert_eq!(told.len(), 4);
    for (told, want) in told.iter().zip(expected) {
        assert_eq!((told.0, told.1), (want.0, Some(want.1)));
        assert!((told.2 - want.2).abs() < 1e-9);
    }
    assert_eq!(
        notes,
        [
            "notch 1 on edge \"1\" is drawn 5 mm deep; 3 mm is the most that keeps clear of the seam."
        ]
    );
    assert!(
        net_of(&drawn, &[36.0; 4])
            .unwrap_err()
            .what
            .contains("nothing is left")
    );
    assert!(
        net_of(&drawn, &[6.0; 3])
            .unwrap_err()
            .what
            .contains("3 allowances")
    );
    assert!(
        net_of(&piece, &[6.0; 4])
            .unwrap_err()
            .what
            .contains("already")
    );
    // Two ends and a neck too narrow for both its allowances.
    let neck = [
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 25.0),
        (90.0, 25.0),
        (90.0, 0.0),
        (150.0, 0.0),
        (150.0, 60.0),
        (90.0, 60.0),
        (90.0, 35.0),
        (60.0, 35.0),
        (60.0, 60.0),
        (0.0, 60.0),
    ];
    drawn.cut = vec![neck.iter().map(|&(x, y)| At::new(x, y)).collect()];
    drawn.notches.clear();
    assert!(
        net_of(&drawn, &[6.0; 12])
            .unwrap_err()
            .what
            .contains("into 2")
    );
}

/// A smooth shape with corners, all of it wider than any allowance.
fn leaf(seed: [f64; 4], n: usize) -> Vec<(f64, f64)> {
    let at = |k: usize| {
        let t = std::f64::consts::TAU * k as f64 / n as f64;
        let r = 120.0 + 12.0 * seed[0] * (2.0 * t).cos() + 8.0 * seed[1] * (3.0 * t).sin();
        let corner = 10.0 * seed[2] * (t / 2.0).sin().abs();
        let r = r + corner + 6.0 * seed[3] * (4.0 * t).cos();
        (r * t.cos(), r * t.sin())
    };
    (0..n).map(at).collect()
}

fn leaf_net(seed: [f64; 4], allowances: [f64; 4]) -> NetPiece {
    let corners = leaf(seed, 120);
    let mut all = net(&corners, &[0.0; 120]);
    let every = std::mem::take(&mut all.piece.edges);
    all.piece.edges = every.into_iter().step_by(30).collect();
    for (edge, mm) in all.piece.edges.iter_mut().zip(allowances) {
        edge.allowance = Some(mm);
    }
    all.makes.truncate(4);
    all
}

proptest! {
    // Hexagons whose corners are too blunt for their allowances are drawn again.
    #![proptest_config(ProptestConfig { max_global_rejects: 65_536, ..ProptestConfig::with_cases(64) })]

    #[test]
    fn net_of_undoes_add(
        seed in prop::array::uniform4(-1.0..1.0f64),
        one in 3.0..12.0f64,
    ) {
        // One allowance all round: where it changes on a smooth line, there is a step.
        let net = leaf_net(seed, [one; 4]);
        let Allowed { piece, notes } = add(&net).unwrap();
        prop_assert!(notes.is_empty(), "{:?}", notes);
        let mut bare = piece.clone();
        bare.net.clear();
        bare.edges.clear();
        let edges = super::super::edges::edges(&bare).len();
        let again = net_of(&bare, &vec![one; edges]).unwrap().piece;
        let off = off(&again.net[0].points, &piece.net[0].points);
        // As it is told of curves that bend in.
        let ring = &net.piece.net[0].points;
        let n = ring.len();
        let turn = |k: usize| {
            let (e, f) = (ring[(k + 1) % n] - ring[k], ring[(k + 2) % n] - ring[(k + 1) % n]);
            e.angle_to(f).radians
        };
        let inward = (0..n).map(turn).fold(0.0, f64::min);
        let told = one * (1.0 / (inward / 2.0).cos() - 1.0);
        prop_assert!(off < told + 0.002, "{} {}", off, told);
    }

    #[test]
    fn corners_and_allowances_of_a_polygon_come_back(
        radii in prop::array::uniform6(84.0..100.0f64),
        most in 2.0..12.0f64,
        shares in prop::array::uniform6(0.55..1.0f64),
    ) {
        // Beside one more than twice as wide, an allowance makes a step, not a corner.
        let allowances = shares.map(|s| s * most);
        let corner = |(k, r): (usize, &f64)| {
            let (sin, cos) = (k as f64 / 6.0 * std::f64::consts::TAU).sin_cos();
            (r * cos, r * sin)
        };
        let corners: Vec<_> = radii.iter().enumerate().map(corner).collect();
        let all = net(&corners, &allowances);
        let sharp = |k: usize| {
            let p = |k: usize| At::new(corners[k % 6].0, corners[k % 6].1);
            let (e, f) = (p(k + 1) - p(k), p(k + 2) - p(k + 1));
            e.angle_to(f).radians > 26f64.to_radians()
        };
        prop_assume!((0..6).all(sharp));
        let Allowed { piece, notes } = add(&all).unwrap();
        prop_assume!(notes.is_empty() && piece.cut[0].len() == 6);
        let mut bare = piece.clone();
        bare.net.clear();
        bare.edges.clear();
        // In the order of the cut line's edges.
        let found = super::super::edges::edges(&bare);
        let near = |line: &Polyline| {
            let m = line[0].lerp(line[1], 0.5);
            let d = |k: &usize| nearest(&[piece.net[0].points[*k], piece.net[0].points[(k + 1) % 6]], m).unwrap().1;
            (0..6).min_by(|a, b| d(a).total_cmp(&d(b))).unwrap()
        };
        let mm: Vec<f64> = found.iter().map(|e| allowances[near(&e.line)]).collect();
        let again = net_of(&bare, &mm).unwrap().piece;
        let off = off(&again.net[0].points, &piece.net[0].points);
        prop_assert!(off < 1e-6, "{}", off);
    }

    #[test]
    fn a_mirrored_piece_s_allowance_is_the_mirrored_allowance(
        seed in prop::array::uniform4(-1.0..1.0f64),
        allowances in prop::array::uniform4(2.0..14.0f64),
    ) {
        let plain = leaf_net(seed, allowances);
        let mut mirrored = plain.clone();
        let flip = |p: At| At::new(-p.x, p.y);
        mirrored.piece.net[0].points = plain.piece.net[0].points.iter().rev().map(|&p| flip(p)).collect();
        // An edge begins, mirrored, where it ended.
        let count = plain.piece.edges.len();
        for k in 0..count {
            mirrored.piece.edges[k].at = flip(plain.piece.edges[(k + 1) % count].at);
        }
        let a = add(&plain).unwrap().piece.cut.remove(0);
        let b = add(&mirrored).unwrap().piece.cut.remove(0);
        let b: Polyline = b.into_iter().rev().map(flip).collect();
        let (a, b) = (Region::ring(a), Region::ring(b));
        let strays = difference(&a, &b).area() + difference(&b, &a).area();
        prop_assert!(strays < 1e-2, "{}", strays);
        let off = off(&a.rings[0], &b.rings[0]);
        prop_assert!(off < 1e-4, "{}: {:?}", off, plain.piece.edges);
    }
}
