//! Moving a piece by hand: what is written meanwhile, what undo takes back,
//! and which panel it comes to lie on.

use crate::jobs::{AtTable, STRAP, TONGUE, TONGUE_IN_LINING, TONGUE_OF_2, coat};
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::stand::Side;
use ghostchalk::work::{Act, Record, WRITTEN_EVERY, replay};

fn close(a: Point<Table>, b: Point<Table>) -> bool {
    // Places are kept to 0.1 µm, turns to 0.000 01°.
    (a - b).length() < 2e-3
}

#[test]
fn a_drag_is_written_four_times_a_second_and_undone_in_one_step() {
    let mut t = AtTable::new(coat());
    let begun = t.bench.state().clone();
    let from = t.at(TONGUE);
    t.bench.act(Act::Point(from), 10.0);
    t.bench.act(Act::Press, 10.0);
    let mut written = Vec::new();
    // A second of moves, fifty of them, and then the hand rests.
    let mut unwritten = None;
    for k in 1..=50 {
        let now = 10.0 + 0.02 * f64::from(k);
        let to = from + Vector::new(2.0 * f64::from(k), f64::from(k));
        t.bench.act(Act::Point(to), now);
        let new = t.bench.take_records();
        // What is not yet on its way to the disk is never older than that.
        let since = *unwritten.get_or_insert(now);
        assert!(now - since <= WRITTEN_EVERY + 0.021, "{now} after {since}");
        if !new.is_empty() {
            unwritten = None;
        }
        written.extend(new);
    }
    assert_eq!(written.len(), 3);
    // Nobody moves: the clock says when to write, and then it is written.
    let due = t.bench.written_by().expect("a drag under way");
    t.bench.tick(due - 0.001);
    assert_eq!(t.bench.take_records(), []);
    t.bench.tick(due);
    written.extend(t.bench.take_records());
    assert_eq!((written.len(), t.bench.written_by()), (4, None));
    assert!(t.bench.is_gripped());
    t.bench
        .act(Act::Point(from + Vector::new(60.0, 0.0)), due + 1.0);
    t.bench.act(Act::Release, due + 1.01);
    written.extend(t.bench.take_records());
    assert_eq!(written.len(), 5);
    let one = |r: &Record| matches!(r, Record::Do { ops, gesture: Some(1) } if ops.len() == 1);
    assert!(written.iter().all(one), "{written:?}");
    assert!(close(t.at(TONGUE), from + Vector::new(60.0, 0.0)));
    // The journal cut off anywhere fits; all of it is one step.
    for n in 0..=written.len() {
        let mut state = begun.clone();
        assert_eq!(replay(&mut state, &written[..n], 0).1, None);
    }
    t.act(Act::Undo);
    assert_eq!(t.bench.state(), &begun);
    t.refused(Act::Undo, "nothing to undo");
    t.done(Act::Redo);
    assert!(close(t.at(TONGUE), from + Vector::new(60.0, 0.0)));
}

#[test]
fn another_drag_is_another_step() {
    let mut t = AtTable::new(coat());
    let from = t.at(TONGUE);
    for k in 1..=2 {
        let at = t.at(TONGUE);
        t.act(Act::Point(at));
        t.act(Act::Press);
        t.act(Act::Point(from + Vector::new(0.0, 10.0 * f64::from(k))));
        t.act(Act::Release);
    }
    t.act(Act::Undo);
    assert!(close(t.at(TONGUE), from + Vector::new(0.0, 10.0)));
}

#[test]
fn undo_in_mid_drag_ends_the_drag_where_it_began() {
    let mut t = AtTable::new(coat());
    let begun = t.bench.state().clone();
    let from = t.at(TONGUE);
    t.act(Act::Point(from));
    t.act(Act::Press);
    t.act(Act::Point(from + Vector::new(50.0, 0.0)));
    t.act(Act::Undo);
    assert_eq!(t.bench.state(), &begun);
    assert!(!t.bench.is_gripped());
    t.act(Act::Point(from + Vector::new(90.0, 0.0)));
    assert_eq!(t.bench.state(), &begun);
}

#[test]
fn a_piece_dragged_on_to_another_panel_of_its_cloth_belongs_to_it() {
    let mut t = AtTable::new(coat());
    let turn = t.pose(TONGUE).turn;
    let from = t.at(TONGUE);
    t.act(Act::Point(from));
    t.act(Act::Press);
    let to = t.on("right", 250.0, 200.0);
    t.act(Act::Point(to));
    let p = t.placed(TONGUE);
    assert_eq!(p.panel, "right");
    assert!(
        (p.x_mm - 250.0).abs() < 1e-3 && (p.y_mm - 200.0).abs() < 1e-3,
        "{p:?}"
    );
    // On the table it did not turn: 10° + 3° − (−4°) in the right's own space.
    assert!((p.turn_deg - 17.0).abs() < 1e-4, "{p:?}");
    assert!((t.pose(TONGUE).turn - turn).abs() < 1e-6);
    // Over the lining, which is other cloth, it still is the right's.
    let to = t.on("lining", 200.0, 200.0);
    t.act(Act::Point(to));
    assert_eq!(t.placed(TONGUE).panel, "right");
    assert!(close(t.at(TONGUE), to));
    // The canvas that is put away takes no piece.
    t.act(Act::Release);
    let away = Act::Spread {
        panel: "left".into(),
        spread: false,
    };
    let at = t.on("left", 200.0, 300.0);
    t.done(away);
    t.act(Act::Point(to));
    t.act(Act::Press);
    t.act(Act::Point(at));
    assert_eq!(t.placed(TONGUE).panel, "right");
    // All of it back.
    for _ in 0..3 {
        t.done(Act::Undo);
    }
    assert_eq!(t.bench.state(), coat().state());
}

#[test]
fn a_piece_turned_in_the_hand_turns_about_the_hand() {
    let mut t = AtTable::new(coat());
    let grip = t.at(TONGUE) + Vector::new(15.0, -5.0);
    t.act(Act::Point(grip));
    t.act(Act::Press);
    let held_at = t.pose(TONGUE).inverse().point(grip);
    t.act(Act::Turn(30.0));
    assert!(close(t.pose(TONGUE).point(held_at), grip));
    t.act(Act::Point(grip + Vector::new(40.0, 20.0)));
    assert!(close(
        t.pose(TONGUE).point(held_at),
        grip + Vector::new(40.0, 20.0)
    ));
    let turned = t.placed(TONGUE).turn_deg;
    assert!((turned - 40.0).abs() < 1e-4, "{turned}");
    // Turned and moved in one hold: one step.
    t.act(Act::Release);
    t.done(Act::Undo);
    assert_eq!(t.bench.state(), coat().state());
}

#[test]
fn nudges_go_where_the_person_looks_from_every_side() {
    let table = |x, y| Vector::<Table>::new(x, y);
    let sides = [
        (Side::Front, table(1.0, 0.0), table(0.0, 1.0)),
        (Side::Right, table(0.0, 1.0), table(-1.0, 0.0)),
        (Side::Back, table(-1.0, 0.0), table(0.0, -1.0)),
        (Side::Left, table(0.0, -1.0), table(1.0, 0.0)),
    ];
    for (side, right, away) in sides {
        let mut t = AtTable::new(coat());
        t.act(Act::Stand(side));
        t.done(Act::Hold(TONGUE));
        let from = t.at(TONGUE);
        t.done(Act::Nudge {
            right: 10.0,
            away: 0.0,
        });
        assert!(close(t.at(TONGUE), from + right * 10.0), "{side:?}");
        t.done(Act::Nudge {
            right: 0.0,
            away: 0.1,
        });
        assert!(
            close(t.at(TONGUE), from + right * 10.0 + away * 0.1),
            "{side:?}"
        );
    }
}

#[test]
fn presses_in_a_run_are_undone_together_and_a_pause_parts_them() {
    let mut t = AtTable::new(coat());
    t.done(Act::Hold(TONGUE));
    let from = t.at(TONGUE);
    let nudge = Act::Nudge {
        right: 1.0,
        away: 0.0,
    };
    for k in 0..5 {
        t.bench.act(nudge.clone(), 100.0 + 0.5 * f64::from(k));
    }
    t.bench.act(nudge, 104.0);
    t.bench.act(Act::Undo, 105.0);
    assert!(close(t.at(TONGUE), from + Vector::new(5.0, 0.0)));
    t.bench.act(Act::Undo, 106.0);
    assert!(close(t.at(TONGUE), from));
}

#[test]
fn one_articles_pieces_move_as_one_but_for_the_locked() {
    let mut t = AtTable::new(coat());
    t.done(Act::Hold(TONGUE_IN_LINING));
    t.done(Act::Lock);
    t.done(Act::Hold(TONGUE));
    t.done(Act::Together(true));
    let all = [TONGUE, STRAP, TONGUE_OF_2, TONGUE_IN_LINING];
    let before = all.map(|id| t.at(id));
    t.done(Act::Nudge {
        right: 20.0,
        away: -3.0,
    });
    let moved = Vector::new(20.0, -3.0);
    let want = [before[0] + moved, before[1] + moved, before[2], before[3]];
    assert!(all.iter().zip(want).all(|(id, at)| close(t.at(*id), at)));
    // Turned as one, about the middle of the piece in hand.
    let arm = t.at(STRAP) - t.at(TONGUE);
    t.done(Act::Turn(90.0));
    assert!(close(t.at(TONGUE), want[0]));
    assert!(close(t.at(STRAP), want[0] + Vector::new(-arm.y, arm.x)));
    assert!(close(t.at(TONGUE_OF_2), want[2]));
    // One step each; the piece in hand stays in hand.
    t.done(Act::Undo);
    assert_eq!(t.bench.held(), Some(TONGUE));
    assert!(all.iter().zip(want).all(|(id, at)| close(t.at(*id), at)));
    t.done(Act::Together(false));
    t.done(Act::Nudge {
        right: 20.0,
        away: 0.0,
    });
    assert!(close(t.at(STRAP), want[1]));
}
