//! Faults of single pieces, and of how many are cut of them.

use super::*;
use crate::measure::Unit;
use crate::pattern::{NotchKind, Polyline};

#[test]
fn pieces_are_checked_for_themselves() {
    let (mut pieces, sewing) = demo();
    // The sole's net line grown by 5 mm: 1 mm of allowance is left; by 8: it is outside.
    let grown = |pieces: &mut [PatternPiece], by: f64| {
        let net = &mut piece(pieces, "upper").net[0].points;
        let out = crate::shape::Region::ring(net.clone());
        let mut ring = crate::shape::offset(&out, by).rings.remove(0);
        std::mem::swap(net, &mut ring);
        piece(pieces, "upper").edges.clear();
    };
    let mut outside = pieces.clone();
    grown(&mut pieces, 5.0);
    let proof = prove(&pieces, &Sewing::default(), &Asked::default());
    assert!(
        proof
            .findings
            .iter()
            .any(|f| f.what == "there is only 1.0 mm between net line and cut line"),
        "{:?}",
        proof.findings
    );
    grown(&mut outside, 8.0);
    let proof = proven(&(outside, sewing));
    assert!(
        spoils(&proof)
            .iter()
            .any(|s| s.starts_with("the net line lies 2.0 mm outside the cut line"))
    );
    // Its edges have lost their names, too.
    assert!(spoils(&proof).iter().any(|s| s.starts_with(
        "it names the edge \"upper: lower\", which isn't there; the edges of \"upper\" are"
    )));
}

/// 5000 pinked teeth, a notch on every tenth, more darts and edges than are looked at.
#[test]
fn a_piece_with_far_too_much_on_it_is_proven_too() {
    use crate::pattern::{Line, Notch};
    use crate::space::{Point, Vector};
    let ring = |r: f64| -> Polyline {
        (0..10_000u32)
            .map(|k| {
                let (sin, cos) = (f64::from(k) / 10_000.0 * std::f64::consts::TAU).sin_cos();
                let r = r - f64::from(k % 2);
                Point::new(r * cos, r * sin)
            })
            .collect()
    };
    let mut piece = PatternPiece::named("p");
    piece.cut = vec![ring(900.0)];
    piece.net = vec![Line {
        points: ring(894.0),
        closed: true,
    }];
    piece.notches = ring(900.0)
        .into_iter()
        .step_by(10)
        .map(|at| Notch {
            at,
            inward: Vector::new(-at.x, -at.y) / 900.0,
            depth: 1.0,
            kind: NotchKind::Slit,
        })
        .collect();
    piece.darts = vec![
        vec![
            Point::new(900.0, -5.0),
            Point::new(850.0, 0.0),
            Point::new(900.0, 5.0)
        ];
        200
    ];
    let mut other = piece.clone();
    other.name = "q".into();
    let proof = prove(&[piece, other], &Sewing::default(), &Asked::default());
    assert_eq!(proof.pieces[0].edges.len(), 10_000);
    for what in [
        "only the first 500 notches are walked",
        "only the first 100 darts are closed",
    ] {
        assert!(proof.findings.iter().any(|f| f.what == what), "{what}");
    }
    assert!(!text(&proof, Unit::Mm).is_empty());
}

#[test]
fn a_pair_of_an_odd_number_spoils_the_work_without_any_order() {
    let (mut pieces, sewing) = demo();
    for (count, pair, spoilt) in [
        (1, true, true),
        (3, true, true),
        (2, true, false),
        (3, false, false),
    ] {
        let sole = piece(&mut pieces, "sole");
        (sole.cut_count, sole.pair) = (count, pair);
        let proof = proven(&(pieces.clone(), sewing.clone()));
        let found = proof.findings.iter().find(|f| f.topic == Topic::Count);
        assert_eq!(proof.spoils(), spoilt, "{count} {pair}: {found:?}");
        assert_eq!(found.is_some(), spoilt);
    }
    // Its own mirror image: nobody can tell left from right.
    let sole = piece(&mut pieces, "sole");
    (sole.cut_count, sole.pair) = (2, true);
    let band = piece(&mut pieces, "binding");
    (band.cut_count, band.pair) = (1, true);
    let proof = proven(&(pieces, sewing));
    let found = proof
        .findings
        .iter()
        .find(|f| f.topic == Topic::Count)
        .unwrap();
    assert_eq!(found.severity, Severity::Check);
    assert!(!proof.spoils());
}
