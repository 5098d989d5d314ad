//! Pieces laid as a person would: squared, turned over, doubled, mirrored.

use crate::jobs::{AtTable, STRAP, TONGUE, TONGUE_IN_LINING, TONGUE_OF_2, coat};
use ghostchalk::lay::Face;
use ghostchalk::shape::bounds;
use ghostchalk::space::{Point, Vector};
use ghostchalk::stand::Side;
use ghostchalk::work::Act;

fn lay(article: &str, piece: &str, panel: &str) -> Act {
    Act::Lay {
        article: article.into(),
        piece: piece.into(),
        panel: panel.into(),
    }
}

#[test]
fn the_grain_is_squared_to_the_warp_and_turned_to_the_bias() {
    let mut t = AtTable::new(coat());
    t.refused(Act::Square, "no piece is in hand");
    t.done(Act::Hold(TONGUE));
    let at = t.at(TONGUE);
    // It lies 10° off the warp (cloth 90°), on a panel that lies 3° askew.
    assert_eq!(t.done(Act::Square), "grain along the warp");
    assert!(t.placed(TONGUE).turn_deg.abs() < 1e-4);
    t.done(Act::Turn(7.0));
    assert_eq!(t.done(Act::Bias), "on the bias");
    assert!((t.placed(TONGUE).turn_deg - 45.0).abs() < 1e-4);
    // The short way: from 100° it is 10° to grain downwards across.
    t.done(Act::Turn(35.0));
    t.done(Act::Turn(95.0));
    t.done(Act::Square);
    assert!((t.placed(TONGUE).turn_deg - 180.0).abs() < 1e-4);
    assert!((t.at(TONGUE) - at).length() < 1e-3);
    t.done(Act::Hold(STRAP));
    t.refused(Act::Square, "strap has no grain line");
    t.done(Act::Lock);
    t.refused(Act::Bias, "strap 1 is locked");
}

#[test]
fn turned_over_only_where_the_order_has_that_hand() {
    let mut t = AtTable::new(coat());
    t.done(Act::Hold(TONGUE));
    // Two of each hand are ordered; one as drawn lies there.
    assert_eq!(t.done(Act::TurnOver), "mirrored");
    let p = t.placed(TONGUE).clone();
    assert_eq!(
        (p.face, p.x_mm, p.y_mm, p.turn_deg),
        (Face::Down, 100.0, 120.0, 10.0)
    );
    t.done(Act::Another);
    let second = t.bench.held().unwrap();
    assert_eq!(t.placed(second).face, Face::Down);
    t.refused(Act::Another, "one too many of that hand");
    t.done(Act::Partner);
    let third = t.bench.held().unwrap();
    assert_eq!(t.placed(third).face, Face::Up);
    // Two of one hand lie there already: the nearest of them is turned over with it.
    let said = t.done(Act::TurnOver);
    assert_eq!(
        said,
        "mirrored; 1 other is turned over with it, as the order asks"
    );
    let faces = |t: &AtTable| [TONGUE, second, third].map(|id| t.placed(id).face);
    assert_eq!(faces(&t), [Face::Down, Face::Up, Face::Down]);
    // In one step back.
    t.done(Act::Undo);
    assert_eq!(faces(&t), [Face::Down, Face::Down, Face::Up]);
    for id in [second, TONGUE] {
        t.done(Act::Hold(id));
        t.done(Act::Lock);
    }
    t.done(Act::Hold(third));
    t.refused(Act::TurnOver, "that one is locked; free it first");
    t.done(Act::Hold(second));
    t.done(Act::Lock);
    t.done(Act::Hold(third));
    t.done(Act::TakeAway);
    t.done(Act::Hold(second));
    t.done(Act::TurnOver);
    // Not a pair: all of one part lie alike.
    t.done(Act::Hold(TONGUE_IN_LINING));
    t.done(Act::TurnOver);
    t.done(Act::Another);
    t.done(Act::TurnOver);
    let second = t.bench.held().unwrap();
    for id in [TONGUE_IN_LINING, second] {
        assert_eq!(t.placed(id).face, Face::Up);
    }
    t.refused(Act::Another, "all 2 of tongue 1 are laid");
    t.refused(Act::Partner, "all 2 of tongue 1 are laid");
}

#[test]
fn another_and_a_partner_lie_clear_to_the_persons_right() {
    for side in Side::ALL {
        for (act, turn) in [
            (Act::Another, 0.0),
            (Act::Partner, 0.0),
            (Act::Partner, 63.0),
        ] {
            let mut t = AtTable::new(coat());
            t.act(Act::Stand(side));
            t.done(Act::Hold(TONGUE));
            t.done(Act::Turn(turn + 1.0));
            t.done(act.clone());
            let new = t.bench.held().unwrap();
            assert_ne!(new, TONGUE);
            let seen = |id| {
                let cut = t.cut(id).into_iter();
                let seen = cut.map(|p| side.to_person(p.to_vector()).to_point());
                bounds(seen).unwrap()
            };
            let gap = seen(new).min.x - seen(TONGUE).max.x;
            assert!((gap - 12.0).abs() < 1e-2, "{side:?} {act:?} {turn}: {gap}");
        }
    }
}

#[test]
fn the_partner_across_lies_at_the_mirrored_place() {
    let mut t = AtTable::new(coat());
    t.done(Act::Hold(TONGUE));
    t.done(Act::PartnerAcross);
    let new = t.bench.held().unwrap();
    let p = t.placed(new).clone();
    assert_eq!((p.panel.as_str(), p.face), ("right", Face::Down));
    assert!(
        (p.x_mm - 400.0).abs() < 1e-3 && (p.y_mm - 120.0).abs() < 1e-3,
        "{p:?}"
    );
    assert!((p.turn_deg + 10.0).abs() < 1e-3, "{p:?}");
    // Point for point, on the cloth: the right panel is the left one mirrored.
    let on = |panel: &str, id| {
        let back = t
            .bench
            .state()
            .panel(panel)
            .unwrap()
            .on_table
            .pose()
            .inverse();
        t.cut(id)
            .into_iter()
            .map(move |q| back.point(q))
            .collect::<Vec<_>>()
    };
    for (a, b) in on("left", TONGUE).iter().zip(on("right", new)) {
        assert!((Point::new(500.0 - a.x, a.y) - b).length() < 1e-3);
    }
    // Back across, it would lie on the one it came from: that hand is wanted once more.
    t.done(Act::PartnerAcross);
    let back = t.placed(t.bench.held().unwrap());
    assert_eq!((back.panel.as_str(), back.face), ("left", Face::Up));
    assert!((back.x_mm - 100.0).abs() < 1e-2 && (back.y_mm - 120.0).abs() < 1e-2);
}

#[test]
fn without_marks_two_panels_correspond_by_their_boxes() {
    let mut t = AtTable::new(coat());
    // All but one mark go: one can't tell.
    for _ in 0..2 {
        t.done(Act::DropMark {
            panel: "right".into(),
            at: 0,
        });
    }
    t.done(Act::Hold(TONGUE_OF_2));
    t.done(Act::PartnerAcross);
    let p = t.placed(t.bench.held().unwrap()).clone();
    // Both boxes are 0..500 × 0..400.
    assert!(
        (p.x_mm - 170.0).abs() < 1e-3 && (p.y_mm - 120.0).abs() < 1e-3,
        "{p:?}"
    );
    assert_eq!((p.panel.as_str(), p.face), ("right", Face::Down));
    // The flannel has no mirror; put away, the right panel is none either.
    t.done(Act::Hold(TONGUE_IN_LINING));
    t.refused(
        Act::PartnerAcross,
        "no panel on the table is the mirror of lining",
    );
    t.done(Act::Spread {
        panel: "right".into(),
        spread: false,
    });
    t.done(Act::Hold(TONGUE));
    t.refused(
        Act::PartnerAcross,
        "no panel on the table is the mirror of left",
    );
}

#[test]
fn pieces_are_laid_under_the_pointer_as_far_as_they_are_ordered() {
    let mut t = AtTable::new(coat());
    let at = t.on("right", 300.0, 150.0);
    t.act(Act::Point(at));
    t.done(lay("2", "tongue", "right"));
    let new = t.bench.held().unwrap();
    assert!((t.at(new) - at).length() < 1e-3);
    let p = t.placed(new).clone();
    assert_eq!((p.face, p.turn_deg), (Face::Up, 0.0));
    // Both of that hand are laid: the next is the other hand.
    t.done(lay("2", "tongue", "right"));
    assert_eq!(t.placed(t.bench.held().unwrap()).face, Face::Down);
    // The pointer is not on the left panel: in its middle, then.
    t.done(lay("2", "tongue", "left"));
    let middle = t.on("left", 250.0, 200.0);
    assert!((t.at(t.bench.held().unwrap()) - middle).length() < 1e-3);
    t.refused(lay("2", "tongue", "left"), "all 4 of tongue 2 are laid");
    t.refused(
        lay("2", "strap", "lining"),
        "strap 2 is not ordered in flannel",
    );
    t.refused(
        lay("2", "strap", "nowhere"),
        "there is no strap or no nowhere here",
    );
    t.refused(
        lay("3", "strap", "left"),
        "strap 3 is not ordered in canvas",
    );
    t.done(Act::Spread {
        panel: "left".into(),
        spread: false,
    });
    t.refused(
        lay("2", "strap", "left"),
        "left is put away: spread it first",
    );
}

#[test]
fn a_number_is_a_pieces_own_for_good() {
    let mut t = AtTable::new(coat());
    t.done(lay("1", "strap", "right"));
    let first = t.bench.held().unwrap();
    t.done(Act::TakeAway);
    t.done(lay("1", "strap", "right"));
    assert_ne!(t.bench.held().unwrap(), first);
}

#[test]
fn the_piece_in_hand_is_on_the_table_after_undo_too() {
    let mut t = AtTable::new(coat());
    t.done(Act::Spread {
        panel: "left".into(),
        spread: false,
    });
    t.refused(Act::Hold(TONGUE), "not on the table");
    t.done(Act::Undo);
    t.done(Act::Hold(TONGUE));
    t.done(Act::Redo);
    assert_eq!(t.bench.held(), None);
    t.refused(
        Act::Nudge {
            right: 1.0,
            away: 0.0,
        },
        "no piece is in hand",
    );
}

#[test]
fn steps_go_round_the_pieces_on_the_table() {
    let mut t = AtTable::new(coat());
    t.done(Act::Spread {
        panel: "lining".into(),
        spread: false,
    });
    let mut seen = Vec::new();
    for act in [
        Act::Next,
        Act::Next,
        Act::Next,
        Act::Next,
        Act::Previous,
        Act::Previous,
    ] {
        t.done(act);
        seen.push(t.bench.held().unwrap());
    }
    assert_eq!(
        seen,
        [TONGUE, STRAP, TONGUE_OF_2, TONGUE, TONGUE_OF_2, STRAP]
    );
}

#[test]
fn what_no_table_holds_changes_nothing() {
    let mut t = AtTable::new(coat());
    t.done(Act::Hold(TONGUE));
    for far in [1e6, -1e300, f64::MAX, f64::INFINITY, f64::NAN] {
        t.refused(
            Act::Nudge {
                right: far,
                away: 0.0,
            },
            "nothing was changed",
        );
        t.act(Act::Point(Point::new(far, 0.0)));
        assert_eq!(t.bench.state(), coat().state());
    }
    t.refused(Act::Turn(f64::NAN), "nothing was changed");
    t.done(Act::Nudge {
        right: 1.0,
        away: 0.0,
    });
    let from = coat();
    let moved = t.at(TONGUE) - from.pose(TONGUE).unwrap().shift.to_point();
    assert!((moved - Vector::new(1.0, 0.0)).length() < 1e-3);
}
