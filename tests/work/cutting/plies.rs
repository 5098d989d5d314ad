//! A pair cut in two plies, and what goes wrong with it.

use super::{back, go_on, list, pair, phase};
use crate::jobs::AtTable;
use ghostchalk::cloth::Stack;
use ghostchalk::lay::Face;
use ghostchalk::space::{Point, Vector};
use ghostchalk::work::cutting::{Item, Of, Phase};
use ghostchalk::work::{Act, Task};

/// A spoilt part is offered a place only where it comes off alone and as its words say.
#[test]
fn no_place_is_offered_on_cloth_that_is_stacked_or_lies_over() {
    for (layers, wrong_side_up, offered) in [(1, false, true), (2, false, false), (1, true, false)]
    {
        let mut table = pair();
        let stack = Stack {
            layers,
            turned: false,
            wrong_side_up,
        };
        table.done(Act::Stack {
            panel: "remnant".into(),
            stack,
        });
        table.done(Act::BeginCutting);
        go_on(&mut table);
        while let Phase::Marks { .. } = phase(&table) {
            go_on(&mut table);
        }
        list(&mut table, Item::Spoilt);
        back(&mut table);
        let again = matches!(phase(&table), Phase::Again { .. });
        assert_eq!(
            again,
            offered,
            "{layers} {wrong_side_up}: {:?}",
            phase(&table)
        );
    }
}

#[test]
fn a_pair_cut_in_two_plies_comes_back_as_the_one_hand_that_was_spoilt() {
    let mut table = pair();
    let counts = |t: &AtTable| {
        let c = &t.bench.counts()[0];
        (c.laid, c.cut, c.to_cut())
    };
    let (laid, ..) = counts(&table);
    assert_eq!((laid.up, laid.down), (1, 1), "one outline, both hands");
    // The light lands on the upper of two plies.
    assert_eq!(table.bench.laid().1[0].height, 1.6);
    table.done(Act::BeginCutting);
    let prompt = table.bench.prompt().unwrap().lines;
    assert!(prompt[0].contains("2 plies"), "{prompt:?}");
    assert!(prompt[1].contains("all 3 notches"), "{prompt:?}");
    assert_eq!(go_on(&mut table), "tongue 1 cut, 2 plies");
    while let Phase::Marks { .. } = phase(&table) {
        go_on(&mut table);
    }
    assert_eq!(*phase(&table), Phase::Over);
    let parts = table.bench.state().cuts.parts.clone();
    assert_eq!(parts.len(), 2);
    assert_eq!((parts[0].face, &parts[0].panel[..]), (Face::Up, "left"));
    assert_eq!((parts[1].face, &parts[1].panel[..]), (Face::Down, "right"));

    // The left is laid back; its second notch is missing, and clipped now.
    list(&mut table, Item::LayBack);
    go_on(&mut table);
    let chosen = table.bench.prompt().unwrap().lines[0].clone();
    assert_eq!(chosen, "tongue 1 canvas, as drawn");
    back(&mut table);
    assert_eq!(
        *phase(&table),
        Phase::LaidBack {
            of: Of::Part(1),
            over: false
        }
    );
    let mirrored = |over| table.bench.lying(Of::Part(1), over).unwrap().pose.mirrored;
    assert!(!mirrored(false) && mirrored(true));
    list(&mut table, Item::NotchByNotch);
    assert_eq!(
        *phase(&table),
        Phase::Notches {
            of: Of::Part(1),
            at: 0,
            over: false
        }
    );
    go_on(&mut table);
    back(&mut table);
    go_on(&mut table);
    assert_eq!(table.bench.state().cuts.part(1).unwrap().clipped_late, [2]);
    assert_eq!(
        *phase(&table),
        Phase::LaidBack {
            of: Of::Part(1),
            over: false
        }
    );
    go_on(&mut table);

    // The right is spoilt: one right is asked for, single ply, on free cloth.
    list(&mut table, Item::Spoilt);
    let said = back(&mut table);
    assert!(
        said.contains("one is to be cut again, single, mirrored, cloth face side up"),
        "{said}"
    );
    let (laid, cut, left) = counts(&table);
    assert_eq!((laid.sum(), cut.up, cut.down), (0, 1, 0));
    assert_eq!((left.up, left.down), (0, 1));
    let Phase::Again {
        part: 2, places, ..
    } = phase(&table).clone()
    else {
        panic!("{:?}", phase(&table));
    };
    assert!(
        places
            .iter()
            .all(|s| s.panel == "remnant" && s.face == Face::Down)
    );
    assert_eq!(
        table.bench.partner_of(&parts[1]),
        Some(1),
        "its partner is shown"
    );
    // A left is refused meanwhile, and so is any on two plies.
    let lay = |panel: &str| Act::Lay {
        article: "1".into(),
        piece: "tongue".into(),
        panel: panel.into(),
    };
    table.refused(lay("left"), "two plies");
    go_on(&mut table);
    let new = *table.bench.state().placed.keys().last().unwrap();
    assert_eq!(table.placed(new).face, Face::Down);
    table.refused(lay("remnant"), "all 2");
    table.done(Act::Hold(new));
    table.refused(Act::TurnOver, "under the blade");
    assert_eq!(*phase(&table), Phase::Piece { id: new });

    // A second ply slipped under the remnant would make two of it.
    let under = Act::Under {
        panel: "right".into(),
        top: Some("remnant".into()),
    };
    table.refused(under, "take one of them away");
    assert!(go_on(&mut table).contains("mirrored"));
    while let Phase::Marks { .. } = phase(&table) {
        go_on(&mut table);
    }
    let (_, cut, left) = counts(&table);
    assert_eq!((cut.up, cut.down, left.sum()), (1, 1, 0));
}

#[test]
fn two_plies_with_marks_are_spread_under_them_with_one_signal() {
    let mut table = marked_pair();
    let said = table.bench.prompt().unwrap().lines;
    assert_eq!(
        said[0],
        "spread right wrong side up and left on it, wrong sides together"
    );
    assert!(said[1].contains("in the crosses"), "{said:?}");
    go_on(&mut table);
    assert!(matches!(phase(&table), Phase::Piece { .. }));
    assert!(table.bench.prompt().unwrap().lines[0].contains("2 plies"));
}

#[test]
fn the_lower_ply_is_pointed_at_before_the_upper_one_covers_it() {
    let mut table = marked_pair();
    let spread = |t: &AtTable, name: &str| t.bench.state().panel(name).unwrap().spread;
    for (name, words) in [
        (
            "right",
            "spread right wrong side up and left on it, wrong sides together",
        ),
        ("left", "spread left on right, wrong sides together"),
    ] {
        let asked = Phase::Stack {
            panel: "left".into(),
        };
        assert_eq!(*phase(&table), asked);
        assert_eq!(table.bench.prompt().unwrap().lines[0], words);
        // It lies elsewhere than before.
        list(&mut table, Item::Moved);
        assert!(spread(&table, name) && spread(&table, "left") == (name == "left"));
        let marks = table.bench.marks_in_work();
        assert_eq!(marks.len(), 2);
        let pose = table.bench.state().panel(name).unwrap().on_table.pose();
        let by = Vector::new(14.0, -9.0);
        let now: Vec<_> = marks.iter().map(|(_, at)| pose.point(*at) + by).collect();
        for at in &now {
            table.press(*at);
        }
        table.done(Act::Finish);
        let pose = table.bench.state().panel(name).unwrap().on_table.pose();
        assert!((pose.point(marks[0].1) - now[0]).length() < 0.01);
    }
    assert!(matches!(phase(&table), Phase::Piece { .. }));
    assert!(table.bench.prompt().unwrap().lines[0].contains("2 plies"));
}

/// The pair in two plies, both marked, and both put away when cutting begins.
fn marked_pair() -> AtTable {
    let mut bench = pair().bench;
    for (name, corner) in [("left", 20.0), ("right", 30.0)] {
        bench.act(Act::Begin(Task::Marks(name.into())), 0.0);
        for (x, y) in [(corner, corner), (350.0, 250.0)] {
            let panel = bench.state().panel(name).unwrap();
            let at = panel.on_table.pose().point(Point::new(x, y));
            bench.act(Act::Point(at), 0.0);
            bench.act(Act::Press, 0.0);
        }
        bench.act(Act::Finish, 0.0);
    }
    for panel in ["right", "left"] {
        let put_away = Act::Spread {
            panel: panel.into(),
            spread: false,
        };
        bench.act(put_away, 0.0);
    }
    let mut table = AtTable::new(bench);
    table.done(Act::BeginCutting);
    table
}
