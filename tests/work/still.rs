//! Is the light still on its marks: which are bare, what the person is told when
//! they point at them, what is kept of it, and when it is asked for.

use crate::jobs::{AtTable, MARKS, coat, demo};
use ghostchalk::lay::{DROP_RADIUS, Laid, inside};
use ghostchalk::space::{Point, Table, Vector};
use ghostchalk::work::cutting::{Item, Phase};
use ghostchalk::work::signals::Told;
use ghostchalk::work::{Act, Doing, Task};

fn mark(k: usize) -> Point<Table> {
    Point::from(MARKS[k])
}

fn numbers(of: &[(usize, Point<Table>)]) -> Vec<usize> {
    of.iter().map(|(k, _)| k + 1).collect()
}

/// Puts the lining's corner at a place.
fn lining_at(table: &mut AtTable, to: Point<Table>) {
    let mut panels = table.bench.state().panels.clone();
    let lining = panels.iter_mut().find(|p| p.name == "lining").unwrap();
    lining.on_table.x_mm = to.x;
    lining.on_table.y_mm = to.y;
    let placed = table.bench.state().placed.values().cloned();
    let state = ghostchalk::work::State::new(panels, placed, *table.bench.ways());
    let goods = table.bench.goods.clone();
    table.bench = crate::jobs::lit(ghostchalk::work::Bench::new(
        goods,
        state,
        ghostchalk::work::History::default(),
    ));
}

#[test]
fn a_mark_under_cloth_has_no_ring_and_no_cross() {
    let mut table = AtTable::new(coat());
    assert_eq!(numbers(&table.bench.bare_marks()), [1, 2, 3, 4]);
    assert_eq!(numbers(&table.bench.watched_marks()), [1, 2, 3, 4]);
    // Over the fourth mark, and then only so near that its ring would be on it.
    for corner in [
        mark(3) - Vector::new(50.0, 50.0),
        mark(3) + Vector::new(5.0, 0.0),
    ] {
        lining_at(&mut table, corner);
        assert_eq!(numbers(&table.bench.bare_marks()), [1, 2, 3]);
        assert_eq!(numbers(&table.bench.watched_marks()), [1, 2, 3]);
    }
    lining_at(&mut table, mark(3) + Vector::new(9.0, 0.0));
    assert_eq!(numbers(&table.bench.bare_marks()), [1, 2, 3, 4]);
    // Put away, it covers nothing.
    lining_at(&mut table, mark(3) - Vector::new(50.0, 50.0));
    table.done(Act::Spread {
        panel: "lining".into(),
        spread: false,
    });
    assert_eq!(numbers(&table.bench.bare_marks()), [1, 2, 3, 4]);
}

#[test]
fn a_piece_dragged_over_a_mark_takes_its_ring_and_gives_it_back() {
    let mut table = AtTable::new(coat());
    let id = crate::jobs::STRAP;
    let from = table.at(id);
    table.act(Act::Point(from));
    table.act(Act::Press);
    table.act(Act::Point(mark(0)));
    assert_eq!(numbers(&table.bench.watched_marks()), [2, 3, 4]);
    // Bare it is all the same: nothing but light lies there.
    assert_eq!(table.bench.bare_marks().len(), 4);
    table.act(Act::Point(from));
    table.act(Act::Release);
    assert_eq!(table.bench.watched_marks().len(), 4);
    table.done(Act::Watch(false));
    assert!(table.bench.watched_marks().is_empty());
    table.done(Act::Undo);
    assert_eq!(table.bench.watched_marks().len(), 4);
}

#[test]
fn no_ring_is_lit_in_a_drop_place_while_cutting() {
    let mut table = AtTable::new(demo());
    table.done(Act::BeginCutting);
    let drops = table.bench.doing().cutting().unwrap().drops.clone();
    // In each, on its ring of light, and beside it.
    let places = drops.iter().flat_map(|d| {
        let beside = |by: f64| d.at + Vector::new(0.0, by);
        [d.at, beside(DROP_RADIUS), beside(-DROP_RADIUS - 20.0)]
    });
    table.bench.set_table_marks(places.collect());
    let in_a_drop = |(_, at): &(usize, Point<Table>)| {
        drops
            .iter()
            .any(|d| (d.at - *at).length() < DROP_RADIUS + 7.0)
    };
    let bare = table.bench.bare_marks();
    assert!(bare.iter().any(in_a_drop), "{bare:?}");
    let watched = table.bench.watched_marks();
    assert!(
        !watched.is_empty() && !watched.iter().any(in_a_drop),
        "{watched:?}"
    );
    // Of the light of pieces, too, all rings keep clear.
    let (_, laid) = table.bench.laid();
    for (_, at) in table.bench.watched_marks() {
        let near = |l: &Laid| {
            inside(l)
                .rings
                .iter()
                .flatten()
                .any(|p| (*p - at).length() < 9.0)
        };
        assert!(!laid.iter().any(near));
    }
}

#[test]
fn while_laying_the_marks_are_pointed_at_in_any_order_and_the_finding_is_kept() {
    let mut table = AtTable::new(coat());
    let said = table.done(Act::Begin(Task::Check));
    assert_eq!(said, "all 4 marks are bare");
    assert!(table.bench.watched_marks().is_empty(), "crosses instead");
    let bump = Vector::new(6.0, -4.0);
    for k in [2, 0, 3] {
        let said = table.press(mark(k) + bump).said.unwrap();
        assert!(said.warning && said.words.contains("7.2 mm"), "{said:?}");
    }
    assert!(
        table.bench.take_checks().is_empty(),
        "not all are pointed at"
    );
    // Once more at the same mark is no other mark.
    table.press(mark(3) + bump);
    let said = table.press(mark(1) + bump).said.unwrap().words;
    assert!(said.contains("table or mount"), "{said}");
    let noted = table.bench.take_checks();
    assert_eq!(noted.len(), 1);
    assert_eq!((noted[0].marks, noted[0].finding.as_str()), (4, "shift"));
    assert!((noted[0].rms_mm.unwrap() - 7.21).abs() < 1e-9, "{noted:?}");
    table.act(Act::Point(Point::new(600.0, 400.0)));
    table.refused(Act::Press, "no bare mark");
    // What was found is a warning to the end.
    table.refused(Act::Finish, "beside the marks");
    assert!(table.bench.doing().is_laying());
    assert!(table.bench.take_checks().is_empty(), "noted once");
}

#[test]
fn all_crosses_on_their_marks_is_still_by_eye_and_leaving_says_nothing() {
    let mut table = AtTable::new(coat());
    table.done(Act::Begin(Task::Check));
    table.done(Act::Leave);
    assert!(table.bench.take_checks().is_empty());
    table.done(Act::Begin(Task::Check));
    table.done(Act::Finish);
    let noted = table.bench.take_checks();
    assert_eq!((noted[0].marks, noted[0].rms_mm), (4, None));
    // It could not be kept: it comes back with the next, and is not asked for before.
    table.bench.put_checks_back(noted.clone());
    assert!(table.bench.take_checks().is_empty());
    table.done(Act::Begin(Task::Check));
    table.done(Act::Finish);
    assert_eq!(table.bench.take_checks(), [&noted[..], &noted[..]].concat());
    // Some of them: what was found so far.
    table.done(Act::Begin(Task::Check));
    table.press(mark(1) + Vector::new(0.3, 0.2));
    table.press(mark(2) + Vector::new(0.1, 0.2));
    table.done(Act::BackUp);
    assert_eq!(
        table.bench.doing(),
        &Doing::Checking {
            seen: vec![(1, mark(1) + Vector::new(0.3, 0.2))],
        }
    );
    let said = table.done(Act::Finish);
    assert!(said.starts_with("still true: of 1 mark"), "{said}");
    assert_eq!(table.bench.take_checks()[0].finding, "still");
    // Nothing bare, nothing to check.
    table.bench.set_table_marks(vec![Point::new(200.0, 200.0)]);
    table.refused(Act::Begin(Task::Check), "all 1 marks are covered");
}

#[test]
fn while_cutting_no_is_answered_by_pointing() {
    let mut table = AtTable::new(demo());
    table.done(Act::BeginCutting);
    let said = table.done(Act::Take(Item::Check));
    let bare = table.bench.bare_marks();
    assert!(bare.len() >= 2, "{said}: {bare:?}");
    table.done(Act::Signal(Told::Back));
    let lines = table.bench.prompt().unwrap().lines;
    assert!(lines[0].contains("cut nothing"), "{lines:?}");
    assert!(lines[1].contains("in any order"), "{lines:?}");
    for (k, (_, at)) in bare.iter().enumerate() {
        let said = table.press(*at + Vector::new(-8.0, 2.0)).said.unwrap();
        assert!(said.warning && said.words.contains("8.2 mm"), "{said:?}");
        let lines = table.bench.prompt().unwrap().lines;
        let n = format!("{} of {} marks pointed at", k + 1, bare.len());
        assert!(lines.contains(&n), "{lines:?}");
    }
    assert_eq!(table.bench.take_checks().len(), 1);
    // Back takes the last point away; a second time, the one before it.
    table.done(Act::Signal(Told::Back));
    let Some(Phase::Check { off: true, seen }) = table.bench.doing().cutting().map(|c| &c.phase)
    else {
        panic!("{:?}", table.bench.doing());
    };
    assert_eq!(seen.len(), bare.len() - 1);
    // Said once; who means it goes on, and the light says it on and on.
    let lines = table.bench.prompt().unwrap().lines;
    assert_eq!(lines.last().unwrap(), "go on: cut all the same");
    table.refused(Act::Signal(Told::GoOn), "off the table's marks");
    table.done(Act::Signal(Told::GoOn));
    assert!(table.bench.unchecked().unwrap().contains("found off"));
    assert_eq!(table.bench.take_checks()[0].finding, "shift");
    let phase = &table.bench.doing().cutting().unwrap().phase;
    assert!(!matches!(phase, Phase::Check { .. }), "{phase:?}");
    // And a yes by eye.
    table.done(Act::Take(Item::Check));
    table.done(Act::Signal(Told::GoOn));
    assert_eq!(table.bench.take_checks()[0].rms_mm, None);
    assert_eq!(table.bench.unchecked(), None);

    // What was pointed at is of no use once the table was set anew.
    table.done(Act::Take(Item::Check));
    table.done(Act::Signal(Told::Back));
    table.press(bare[0].1 + Vector::new(-8.0, 2.0));
    table.bench.table_is_set(900.0);
    table.done(Act::Signal(Told::GoOn));
    assert_eq!(table.bench.unchecked(), None);
}

#[test]
fn a_light_that_was_found_off_stands_and_is_said_before_cutting() {
    let check = |table: &mut AtTable, by: Vector<Table>| {
        table.done(Act::Begin(Task::Check));
        for k in 0..MARKS.len() {
            table.press(mark(k) + by);
        }
        table.act(Act::Finish).said.unwrap()
    };
    let off = Vector::new(12.0, 4.0);
    let mut table = AtTable::new(coat());
    assert!(check(&mut table, off).warning);
    assert!(table.bench.unchecked().unwrap().contains("found off"));
    // Each time cutting begins it is said once.
    for _ in 0..2 {
        table.refused(Act::BeginCutting, "found off");
        assert!(!table.bench.is_cutting());
        table.done(Act::BeginCutting);
        assert!(table.bench.is_cutting() && table.bench.unchecked().is_some());
        table.act(Act::Leave);
    }
    // Found still, it is said no more.
    assert!(!check(&mut table, Vector::new(0.1, 0.2)).warning);
    assert_eq!(table.bench.unchecked(), None);
    table.done(Act::BeginCutting);
    table.act(Act::Leave);
    // Nor where the table was set anew.
    check(&mut table, off);
    table.bench.table_is_set(500.0);
    assert_eq!(table.bench.unchecked(), None);
    table.done(Act::BeginCutting);
}

#[test]
fn once_warm_the_light_asks_to_be_checked_and_only_once() {
    let mut bench = coat();
    assert_eq!(bench.warm_at(), None, "no light yet");
    bench.first_light(30.0);
    // The windows are opened again: the lamp did not cool.
    bench.first_light(500.0);
    assert_eq!(bench.warm_at(), Some(1230.0));
    bench.tick(1229.0);
    assert_eq!(bench.due(), None);
    bench.tick(1231.0);
    let said = bench.due().unwrap();
    assert_eq!(
        (said.words.as_str(), said.warning),
        (
            "the projector is warm now: check the light before the next cut (V)",
            false
        )
    );
    assert_eq!((bench.due(), bench.warm_at()), (None, None));
    // A table that was set warm need not be checked for it; one set cold must.
    for (set, asks) in [(1300.0, false), (600.0, true)] {
        let mut bench = coat();
        bench.first_light(30.0);
        bench.table_is_set(set);
        bench.tick(1400.0);
        assert_eq!(bench.due().is_some(), asks);
    }
    let mut bare = coat();
    bare.set_table_marks(Vec::new());
    bare.first_light(0.0);
    assert_eq!(bare.warm_at(), None, "nothing to check by");
}
