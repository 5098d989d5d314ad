//! Faults of the seams: notches, lengths, corners, and what is sewn to what.

use super::*;
use crate::measure::Unit;
use crate::pattern::{NotchKind, Polyline};
use crate::shape::along;

#[test]
fn a_moved_notch_is_moved_back() {
    let (mut pieces, sewing) = demo();
    // The outer tread notch of the sole, 2.3 mm towards the toe: along its cut line.
    let sole = piece(&mut pieces, "sole");
    let cut: Polyline = sole.cut[0]
        .iter()
        .chain(sole.cut[0].first())
        .copied()
        .collect();
    let notch = sole
        .notches
        .iter_mut()
        .find(|n| n.kind == NotchKind::Double)
        .unwrap();
    let (s, _) = crate::shape::nearest(&cut, notch.at).unwrap();
    // The sole runs counter-clockwise from its inner side over the toe: back is towards it.
    notch.at = along(&cut, s - 2.3).unwrap().at;
    let proof = proven(&(pieces, sewing));
    let [said] = spoils(&proof).try_into().unwrap();
    assert!(said.starts_with(
        "the double notch on \"upper: lower\" and the double notch on \"sole: front\""
    ));
    // The net line is a little shorter than the cut line there.
    assert!(
        said.ends_with(
            "move the double notch on \"sole: front\" 2.2 mm towards the end at \"back\""
        ) || said.ends_with(
            "move the double notch on \"sole: front\" 2.3 mm towards the end at \"back\""
        ),
        "{said}"
    );
}

#[test]
fn a_forgotten_notch_is_told_where_to_add() {
    let (mut pieces, sewing) = demo();
    let band = piece(&mut pieces, "heel band");
    band.notches.retain(|n| n.kind != NotchKind::Vee);
    let proof = proven(&(pieces, sewing));
    let said = spoils(&proof);
    assert!(
        said.iter().any(|s| s.starts_with("the vee on \"sole: back\" meets no notch on \"heel band: lower\"; add a vee to \"heel band: lower\", in the middle, 124.0 mm from the end at")),
        "{said:?}"
    );
    let centre = proof
        .findings
        .iter()
        .any(|f| f.what == "the centre of \"heel band: lower\" has no mark");
    assert!(centre);
}

#[test]
fn a_long_edge_is_told_by_how_much() {
    let (mut pieces, sewing) = demo();
    // The whole lining 4 mm wider: moved out beyond the notch.
    let lining = piece(&mut pieces, "heel band lining");
    let at = lining.edges.iter().find(|e| e.name == "lower").unwrap().at;
    let far = |p: &mut crate::space::Point<crate::space::Piece>| {
        if p.x > at.x + 90.0 {
            p.x += 4.0;
        }
    };
    for p in lining.net.iter_mut().flat_map(|l| &mut l.points) {
        far(p);
    }
    for e in &mut lining.edges {
        far(&mut e.at);
    }
    let proof = proven(&(pieces, sewing));
    let said = spoils(&proof);
    let hit = said
        .iter()
        .any(|s| s.contains("4.0 mm too long for \"heel band: top, outer half\""));
    assert!(hit, "{said:?}");
    // In words that a maker says.
    let said = text(&proof, Unit::Mm);
    assert!(said.contains("or say that it is eased in."), "{said}");
    assert!(!said.contains("declar"), "{said}");
}

#[test]
fn two_kinds_that_meet_are_told() {
    let (mut pieces, sewing) = demo();
    for n in &mut piece(&mut pieces, "heel band").notches {
        if n.kind == NotchKind::Vee {
            n.kind = NotchKind::Double;
        }
    }
    let proof = proven(&(pieces, sewing));
    let hit = proof.findings.iter().any(|f| {
        f.severity == Severity::Spoils
            && f.what == "a double notch on \"heel band: lower\" meets a vee on \"sole: back\""
    });
    assert!(hit, "{:?}", proof.findings);
}

#[test]
fn a_corner_that_is_not_true_is_told_in_degrees_and_millimetres() {
    let (mut pieces, sewing) = demo();
    let upper = piece(&mut pieces, "upper");
    // The throat's outer end moved along by 4 mm: the side seam leans by atan(4/50).
    let at = upper
        .edges
        .iter()
        .find(|e| e.name == "outer side")
        .unwrap()
        .at;
    let corner = |p: &mut crate::space::Point<crate::space::Piece>| {
        if *p == at {
            p.y -= 4.0;
        }
    };
    for p in upper.net.iter_mut().flat_map(|l| &mut l.points) {
        corner(p);
    }
    for e in &mut upper.edges {
        corner(&mut e.at);
    }
    let proof = proven(&(pieces, sewing));
    let said: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.topic == Topic::Corner)
        .collect();
    assert!(!said.is_empty());
    // At the sole: 180° less atan(4/50) = 4.6°, seen 20 mm on: 20 · tan 4.6° = 1.6 mm.
    assert!(
        said.iter().any(|f| f.what.contains("4.6°, 1.6 mm off")),
        "{said:?}"
    );
}

#[test]
fn what_is_not_declared_is_proposed() {
    let pieces = demo().0;
    let none = Sewing::default();
    let proof = prove(&pieces, &none, &Asked::default());
    let pair = |one: &str, other: &str| {
        let mut all = proof.proposals.iter();
        all.find(|p| (p.one == one && p.other == other) || (p.one == other && p.other == one))
    };
    let back = pair("heel band: lower", "sole: back").unwrap();
    assert_eq!(back.notches, 3);
    assert!(back.score > 0.9);
    assert!(
        back.reason.ends_with("and their 3 notches meet"),
        "{}",
        back.reason
    );
    let said = text(&proof, Unit::Mm);
    assert!(said.contains("Could be seams") && !said.contains("declar"));
    let asked = Asked {
        propose: false,
        ..Asked::default()
    };
    assert!(prove(&pieces, &none, &asked).proposals.is_empty());
}

#[test]
fn an_edge_sewn_to_itself_is_told_where_there_is_one_of_it() {
    let (mut pieces, mut sewing) = demo();
    let side = sewing
        .seams
        .iter_mut()
        .find(|s| s.name == "side, inner")
        .unwrap();
    side.other = side.one.clone();
    let found = |pieces: &[PatternPiece]| {
        let proof = prove(pieces, &sewing, &Asked::default());
        spoils(&proof)
            .iter()
            .any(|s| s.contains("is sewn to itself"))
    };
    // Left is sewn to right.
    assert!(!found(&pieces));
    let upper = piece(&mut pieces, "upper");
    (upper.cut_count, upper.pair) = (1, false);
    assert!(found(&pieces));
}

#[test]
fn a_double_notch_that_meets_a_single_one_spoils_the_work() {
    let (mut pieces, sewing) = demo();
    let sole = piece(&mut pieces, "sole");
    let double = sole
        .notches
        .iter_mut()
        .find(|n| n.kind == NotchKind::Double)
        .unwrap();
    double.kind = NotchKind::Slit;
    let said = spoils(&proven(&(pieces.clone(), sewing.clone())));
    assert!(
        said.iter().any(|s| s.contains("often marks the back")),
        "{said:?}"
    );
    // A slit and a vee are two ways to clip the same.
    let (mut pieces, _) = demo();
    let sole = piece(&mut pieces, "sole");
    let vee = sole
        .notches
        .iter_mut()
        .find(|n| n.kind == NotchKind::Vee)
        .unwrap();
    vee.kind = NotchKind::Slit;
    let proof = proven(&(pieces, sewing));
    assert!(!proof.spoils(), "{:?}", spoils(&proof));
    assert!(
        proof
            .findings
            .iter()
            .any(|f| f.what.contains("a slit on") || f.what.contains("meets a slit"))
    );
}
