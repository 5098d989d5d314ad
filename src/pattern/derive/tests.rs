use super::*;
use crate::pattern::edges::edges as edges_of;
use crate::pattern::piece::{EdgeStart, Notch, NotchKind, Polyline};
use crate::shape::signed_area;
use crate::space::{Point, Vector};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

type At = Point<Piece>;

fn ring(points: &[(f64, f64)]) -> Polyline {
    points.iter().map(|&(x, y)| At::new(x, y)).collect()
}

/// A piece with 6 mm round it and edges named from the net line's corners.
fn piece(points: &[(f64, f64)], names: &[(usize, &str)], fold: Option<&str>) -> PatternPiece {
    let mut piece = PatternPiece::named("heel band");
    let points = ring(points);
    piece.edges = names
        .iter()
        .map(|&(k, name)| EdgeStart {
            at: points[k],
            name: name.into(),
            allowance: Some(6.0),
        })
        .collect();
    let closed = true;
    piece.net = vec![Line { points, closed }];
    let make = |&(_, name): &(usize, &str)| EdgeMake {
        on_fold: fold == Some(name),
        ..EdgeMake::default()
    };
    piece.notches = vec![Notch {
        at: At::new(30.0, 0.0),
        inward: Vector::new(0.0, 1.0),
        depth: 2.5,
        kind: NotchKind::Slit,
    }];
    piece.grain = Some([At::new(20.0, 10.0), At::new(20.0, 50.0)]);
    piece.drills = vec![At::new(50.0, 8.0), At::new(50.0, 30.0)];
    let lines = [
        ring(&[(10.0, 4.0), (90.0, 4.0)]),
        ring(&[(80.0, 5.0), (80.0, 55.0)]),
    ];
    piece.lines = lines
        .map(|points| Line {
            points,
            closed: false,
        })
        .to_vec();
    let makes = names.iter().map(make).collect();
    add(&NetPiece { piece, makes }).unwrap().piece
}

const OBLONG: [(f64, f64); 4] = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)];
const NAMES: [(usize, &str); 4] = [(0, "top"), (1, "front"), (2, "bottom"), (3, "back")];

fn stiffener(less: f64, carve: &[(&str, f64)]) -> Derived {
    Derived {
        less,
        carve: carve.iter().map(|&(n, mm)| (n.to_owned(), mm)).collect(),
        keep_allowance: false,
        ..Derived::same("felt", "heel band")
    }
}

fn size(piece: &PatternPiece) -> (f64, f64) {
    let b = bounds(piece.cut.iter().flatten().copied()).unwrap();
    (b.width(), b.height())
}

#[test]
fn a_stiffener_is_cut_inside_the_net_line_and_carved_from_the_cut_edge() {
    let whole = piece(&OBLONG, &NAMES, None);
    let Allowed { piece: felt, notes } = derive(&whole, &stiffener(0.5, &[("top", 20.0)])).unwrap();
    // 20 from the cut edge is 14 from the net line; half a millimetre elsewhere.
    assert_eq!(size(&felt), (99.0, 45.5));
    assert_eq!(
        (felt.name.as_str(), felt.net.len(), felt.cut.len()),
        ("felt", 0, 1)
    );
    let told: Vec<_> = edges_of(&felt)
        .into_iter()
        .map(|e| (e.name, e.allowance, e.length))
        .collect();
    let want = [
        ("top", 99.0),
        ("front", 45.5),
        ("bottom", 99.0),
        ("back", 45.5),
    ];
    let want: Vec<_> = want
        .into_iter()
        .map(|(n, l)| (n.to_owned(), Some(0.0), l))
        .collect();
    assert_eq!(told, want);
    // The notch came in by 20 with its edge.
    let low = felt.cut[0]
        .iter()
        .map(|p| p.y)
        .fold(f64::INFINITY, f64::min);
    let [notch] = felt.notches.as_slice() else {
        panic!("{:?}", felt.notches)
    };
    assert!((notch.at - At::new(30.0 - 50.0, low)).length() < 1e-9);
    assert_eq!(notch.depth, 2.5);
    // What lay on what was carved off is said, and nothing else.
    assert_eq!((felt.drills.len(), felt.lines.len()), (1, 1));
    let said = [
        "the drill point at (0, -22) mm lies off the part.",
        "the line at (0, -26) mm lies off the part.",
        "the line at (30, 0) mm lies only partly on the part.",
    ];
    assert_eq!(notes, said);
    let grain = felt.grain.unwrap();
    assert_eq!(grain[1] - grain[0], Vector::new(0.0, 36.0));
}

#[test]
fn an_edge_carved_by_less_than_its_allowance_reaches_beyond_the_net_line() {
    let whole = piece(&OBLONG, &NAMES, None);
    for (carved, high) in [(0.0, 66.0), (2.0, 64.0), (6.0, 60.0), (25.0, 41.0)] {
        let felt = derive(&whole, &stiffener(0.0, &[("top", carved)]))
            .unwrap()
            .piece;
        assert_eq!(size(&felt), (100.0, high), "{carved}");
    }
}

#[test]
fn a_lining_is_the_same_and_larger_or_smaller_only_when_asked() {
    let whole = piece(&OBLONG, &NAMES, None);
    let same = derive(&whole, &Derived::same("lining", "heel band")).unwrap();
    assert_eq!((same.piece.cut, same.notes.len()), (whole.cut.clone(), 0));
    // Felt of 4 mm turned up at a right angle at the front and the back: 2π on each.
    let mut turned = Derived::same("cover", "heel band");
    turned.turn = Some(Turn {
        larger: true,
        thickness: 4.0,
        round: FRAC_PI_2,
        edges: vec!["front".into(), "back".into()],
    });
    let Allowed {
        piece: cover,
        notes,
    } = derive(&whole, &turned).unwrap();
    let (wide, high) = size(&cover);
    assert!((wide - 112.0 - 4.0 * PI).abs() < 1e-9 && (high - 72.0).abs() < 1e-9);
    assert_eq!(notes, ["its corners' allowances are mitred anew."]);
    assert_eq!(
        cover.edges.iter().map(|e| e.allowance).collect::<Vec<_>>(),
        [Some(6.0); 4]
    );
    assert_eq!(
        (cover.notches.len(), cover.drills.len(), cover.lines.len()),
        (1, 2, 2)
    );
    assert_eq!(cover.notches[0].depth, 2.5);
    if let Some(turn) = &mut turned.turn {
        (turn.larger, turn.round) = (false, TAU);
        turn.edges.clear();
        assert!((turn.moves() + 8.0 * PI).abs() < 1e-12);
    }
    turned.keep_allowance = false;
    let small = derive(&whole, &turned).unwrap().piece;
    assert!((size(&small).0 - 100.0 + 16.0 * PI).abs() < 1e-9);
}

#[test]
fn a_part_on_the_fold_stays_on_it() {
    let half = piece(&OBLONG, &NAMES, Some("back"));
    let felt = derive(&half, &stiffener(1.0, &[("top", 16.0)]))
        .unwrap()
        .piece;
    assert_eq!(size(&felt), (99.0, 49.0));
    let [fold] = felt.folds.as_slice() else {
        panic!("{:?}", felt.folds)
    };
    let left = felt.cut[0]
        .iter()
        .map(|p| p.x)
        .fold(f64::INFINITY, f64::min);
    assert!(fold.iter().all(|p| p.x == left && felt.cut[0].contains(p)));
    let fault = derive(&half, &stiffener(1.0, &[("back", 16.0)])).unwrap_err();
    assert!(fault.what.contains("lies on the fold"), "{fault}");
}

const NECK: [(f64, f64); 12] = [
    (0.0, 0.0),
    (60.0, 0.0),
    (60.0, 22.0),
    (90.0, 22.0),
    (90.0, 0.0),
    (150.0, 0.0),
    (150.0, 60.0),
    (90.0, 60.0),
    (90.0, 38.0),
    (60.0, 38.0),
    (60.0, 60.0),
    (0.0, 60.0),
];
const NECK_NAMES: [(usize, &str); 6] = [
    (0, "heel"),
    (2, "waist inside"),
    (3, "toe"),
    (8, "waist outside"),
    (9, "heel again"),
    (11, "end"),
];

#[test]
fn a_neck_that_vanishes_and_a_part_that_falls_apart_are_said() {
    let sole = piece(&NECK, &NECK_NAMES, None);
    // 15 from either cut edge is 9 from either net line: 18 of the neck's 16.
    let waist = [("waist inside", 15.0), ("waist outside", 15.0)];
    let Allowed { piece: felt, notes } = derive(&sole, &stiffener(0.0, &waist)).unwrap();
    assert_eq!(felt.cut.len(), 2);
    assert!(felt.cut.iter().all(|r| signed_area(r) > 3000.0));
    assert!(
        notes
            .iter()
            .any(|n| n.starts_with("the part falls into 2: ")),
        "{notes:?}"
    );
    assert!(
        notes.contains(&"edge \"waist inside\" is carved away.".to_owned()),
        "{notes:?}"
    );
    let gone = notes
        .iter()
        .find(|n| n.contains("is narrower than what is taken off"));
    assert!(
        gone.is_some_and(|n| n.contains("\"waist inside\"")),
        "{notes:?}"
    );
    // Two millimetres less of each, and 2 of the 16 hold.
    let waist = [("waist inside", 13.0), ("waist outside", 13.0)];
    let Allowed { piece: felt, notes } = derive(&sole, &stiffener(0.0, &waist)).unwrap();
    assert_eq!(felt.cut.len(), 1);
    assert!(
        notes
            .iter()
            .all(|n| !n.contains("narrower") && !n.contains("falls")),
        "{notes:?}"
    );
    assert_eq!(edges_of(&felt).len(), 6);
}

#[test]
fn nothing_left_and_what_can_t_be_end_in_a_sentence() {
    let strip = piece(
        &[(0.0, 0.0), (100.0, 0.0), (100.0, 12.0), (0.0, 12.0)],
        &NAMES,
        None,
    );
    let cases = [
        (stiffener(1.0, &[("top", 25.0)]), "nothing is left"),
        (stiffener(1.1, &[]), "1.1 mm is not possible"),
        (stiffener(f64::NAN, &[]), "is not possible"),
        (stiffener(0.0, &[("top", 25.5)]), "25.5 mm is not possible"),
        (stiffener(0.0, &[("topp", 5.0)]), "no edge \"topp\""),
        (
            stiffener(0.0, &[("top", 5.0), ("top", 5.0)]),
            "carved twice",
        ),
    ];
    for (derived, says) in cases {
        let fault = derive(&strip, &derived).unwrap_err().to_string();
        assert!(
            fault.contains(says) && fault.contains("felt"),
            "{says}: {fault}"
        );
    }
    let mut bare = strip.clone();
    bare.net.clear();
    assert!(
        derive(&bare, &stiffener(0.0, &[]))
            .unwrap_err()
            .what
            .contains("no closed net line")
    );
    let mut untold = strip;
    untold.edges[0].allowance = None;
    let fault = derive(&untold, &stiffener(0.0, &[("top", 9.0)])).unwrap_err();
    assert!(fault.what.contains("has no allowance"), "{fault}");
}

#[test]
fn a_cutout_is_carried_or_cut_into_the_edge() {
    let mut whole = piece(&OBLONG, &NAMES, None);
    // Clockwise. One well inside, one that carving reaches, one that is carved off.
    let square = |x: f64, y: f64| ring(&[(x, y), (x, y + 6.0), (x + 6.0, y + 6.0), (x + 6.0, y)]);
    whole.cutouts = vec![square(0.0, 0.0), square(20.0, -19.0), square(-20.0, -29.0)];
    whole.notches.clear();
    let Allowed { piece: felt, notes } = derive(&whole, &stiffener(0.0, &[("top", 20.0)])).unwrap();
    assert_eq!((felt.cut.len(), felt.cutouts.len()), (1, 1));
    assert!(notes.iter().any(|n| n.contains("cut into it")), "{notes:?}");
    assert!(
        notes
            .iter()
            .any(|n| n.starts_with("the cutout at") && n.contains("off the part"))
    );
    // 100 by 46, less a bite of 6 by 3 and a hole of 36.
    let area: f64 = felt
        .cut
        .iter()
        .chain(&felt.cutouts)
        .map(|r| signed_area(r))
        .sum();
    assert!((area - 4600.0 + 18.0 + 36.0).abs() < 1e-3, "{area}");
    assert_eq!(edges_of(&felt).len(), 4);
}

#[test]
fn a_carved_edge_is_not_turned_and_that_is_said() {
    let whole = piece(&OBLONG, &NAMES, None);
    let turned = |edges: &[&str]| {
        let turn = Turn {
            larger: true,
            thickness: 2.0,
            round: FRAC_PI_2,
            edges: edges.iter().map(|&e| e.to_owned()).collect(),
        };
        let part = Derived {
            turn: Some(turn),
            ..stiffener(0.5, &[("top", 9.0)])
        };
        derive(&whole, &part).unwrap()
    };
    let said = |part: &Allowed| part.notes.iter().any(|n| n.contains("turn of cloth"));
    // 60 less 3 beyond the allowance at the top; the bottom is 0.5 in and π out, or not.
    for (edges, high, named) in [
        (&["top", "bottom"][..], 57.0 - 0.5 + PI, true),
        (&["top"], 57.0 - 0.5, true),
        (&["bottom"], 57.0 - 0.5 + PI, false),
        (&[], 57.0 - 0.5 + PI, false),
    ] {
        let part = turned(edges);
        assert!(
            (size(&part.piece).1 - high).abs() < 1e-6,
            "{edges:?} {:?}",
            size(&part.piece)
        );
        assert_eq!(said(&part), named, "{edges:?}: {:?}", part.notes);
    }
}

#[test]
fn a_bend_is_told_in_degrees() {
    let whole = piece(&OBLONG, &NAMES, None);
    let mut turned = Derived::same("cover", "heel band");
    turned.turn = Some(Turn {
        larger: true,
        thickness: 4.0,
        round: 400f64.to_radians(),
        edges: Vec::new(),
    });
    let fault = derive(&whole, &turned).unwrap_err();
    assert_eq!(
        (fault.what.as_str(), fault.remedy.as_str()),
        ("a bend of 400° is not possible", "give one from 0 to 360°")
    );
}
