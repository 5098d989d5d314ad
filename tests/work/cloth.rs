//! Cloth drawn, marked, moved and put in plies as a person would.

use crate::jobs::{AtTable, coat};
use ghostchalk::space::{Point, Rigid, Table, Vector};
use ghostchalk::work::{Act, Doing, Task, samples};

fn draw(t: &mut AtTable, task: Task, corners: &[(f64, f64)]) {
    t.done(Act::Begin(task));
    for &(x, y) in corners {
        t.press(Point::new(x, y));
    }
}

#[test]
fn an_outline_may_be_closed_by_pressing_on_its_first_corner_again() {
    let mut t = AtTable::new(coat());
    let closed = [
        (100.0, 100.0),
        (300.0, 100.0),
        (300.0, 250.0),
        (100.2, 100.1),
    ];
    draw(&mut t, Task::Outline("left".into()), &closed);
    t.done(Act::Finish);
    assert_eq!(t.bench.state().panel("left").unwrap().outline_mm.len(), 3);
    // A corner pressed twice is one.
    let twice = [
        (100.0, 100.0),
        (300.0, 100.0),
        (300.0, 100.0),
        (300.0, 250.0),
    ];
    draw(&mut t, Task::KeepOut("left".into()), &twice);
    t.done(Act::Finish);
    let panel = t.bench.state().panel("left").unwrap();
    assert_eq!(panel.keep_out[0].outline_mm.len(), 3);
    // Three presses on one place are no outline.
    draw(&mut t, Task::KeepOut("left".into()), &[(50.0, 50.0); 4]);
    t.refused(Act::Finish, "three corners or more");
}

#[test]
fn an_outline_may_have_two_edges_on_one_line_but_not_cross_itself() {
    let mut t = AtTable::new(coat());
    // Two legs whose feet stand on one line.
    let legs = [
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 200.0),
        (200.0, 200.0),
        (200.0, 0.0),
        (300.0, 0.0),
        (300.0, 300.0),
        (0.0, 300.0),
    ];
    draw(&mut t, Task::Outline("lining".into()), &legs);
    t.done(Act::Finish);
    let bow = [(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 60.0)];
    draw(&mut t, Task::Outline("lining".into()), &bow);
    t.refused(Act::Finish, "the outline crosses itself");
    t.act(Act::BackUp);
    t.done(Act::Finish);
    assert_eq!(t.bench.state().panel("lining").unwrap().outline_mm.len(), 3);
}

#[test]
fn an_outline_is_kept_in_the_cloths_own_space() {
    let mut t = AtTable::new(coat());
    let want = [[10.0, 20.0], [210.0, 20.0], [110.0, 160.0]];
    // Drawn clockwise, on cloth that lies askew.
    let drawn: Vec<(f64, f64)> = want
        .iter()
        .rev()
        .map(|&[x, y]| t.on("right", x, y).to_tuple())
        .collect();
    draw(&mut t, Task::KeepOut("right".into()), &drawn);
    t.done(Act::Finish);
    let kept = &t.bench.state().panel("right").unwrap().keep_out[0];
    assert_eq!(kept.name, "bad place 1");
    for (a, b) in kept.outline_mm.iter().zip(want) {
        assert!(
            (a[0] - b[0]).abs() < 1e-3 && (a[1] - b[1]).abs() < 1e-3,
            "{kept:?}"
        );
    }
}

fn moved() -> Rigid<Table, Table> {
    Rigid::new(false, 0.2, Vector::new(150.0, -30.0))
}

#[test]
fn marks_carry_the_lay_and_undo_puts_it_back() {
    let mut t = AtTable::new(coat());
    let begun = t.bench.state().clone();
    let before = t.pose(1);
    let marks = [(40.0, 40.0), (440.0, 60.0), (60.0, 350.0)].map(|(x, y)| t.on("left", x, y));
    t.done(Act::Begin(Task::Moved("left".into())));
    for m in marks {
        t.press(moved().point(m));
    }
    let said = t.done(Act::Finish);
    assert!(
        said.starts_with("three marks: carried; they lie 0.0 mm"),
        "{said}"
    );
    assert!(said.contains("the lay lies true to 0."), "{said}");
    let want = before.then(&moved());
    let off = want.shift - t.pose(1).shift;
    assert!(off.length() < 1e-3 && (want.turn - t.pose(1).turn).abs() < 1e-6);
    t.done(Act::Undo);
    assert_eq!(t.bench.state(), &begun);
}

/// Mark C is given anew elsewhere, that is undone while the marks are being
/// pointed at: the places pointed at must not be taken for other marks.
#[test]
fn marks_that_change_by_undo_end_the_carrying() {
    let mut t = AtTable::new(coat());
    t.done(Act::DropMark {
        panel: "left".into(),
        at: 0,
    });
    t.done(Act::Begin(Task::Moved("left".into())));
    let (b, c) = (t.on("left", 440.0, 60.0), t.on("left", 60.0, 350.0));
    t.press(b);
    t.press(c);
    t.done(Act::Undo);
    assert_eq!(t.bench.doing(), &Doing::Laying);
    let before = t.bench.state().clone();
    t.done(Act::Finish);
    assert_eq!(t.bench.state(), &before);
}

#[test]
fn stretched_cloth_is_said_before_it_is_carried() {
    let mut t = AtTable::new(coat());
    let marks = [(40.0, 40.0), (440.0, 60.0), (60.0, 350.0)].map(|(x, y)| t.on("left", x, y));
    t.done(Act::Begin(Task::Moved("left".into())));
    t.press(marks[0]);
    t.press(marks[1] + Vector::new(9.0, 0.5));
    t.press(marks[2]);
    t.refused(Act::Finish, "go on again (Enter) to carry it all the same");
    t.done(Act::Finish);
    assert_ne!(t.bench.state(), coat().state());
}

#[test]
fn a_mark_passed_over_does_not_carry() {
    let mut t = AtTable::new(coat());
    let at = |t: &AtTable, x, y| t.on("left", x, y) + Vector::new(25.0, 10.0);
    t.done(Act::Begin(Task::Moved("left".into())));
    let (a, c) = (at(&t, 40.0, 40.0), at(&t, 60.0, 350.0));
    t.press(a);
    t.act(Act::PassOver);
    t.press(c);
    let said = t.done(Act::Finish);
    assert!(said.starts_with("two marks: carried"), "{said}");
    let on = t.bench.state().panel("left").unwrap().on_table;
    assert!(
        (on.x_mm - 75.0).abs() < 1e-3 && (on.y_mm - 60.0).abs() < 1e-3,
        "{on:?}"
    );
}

#[test]
fn two_plies_and_no_third() {
    let under = |panel: &str, top: Option<&str>| Act::Under {
        panel: panel.into(),
        top: top.map(str::to_owned),
    };
    let mut t = AtTable::new(coat());
    t.done(under("lining", Some("left")));
    t.refused(under("left", Some("lining")), "itself lies under");
    t.refused(under("right", Some("lining")), "itself lies under");
    // The other way round it would be the same three plies.
    t.refused(under("left", Some("right")), "lining lies under left");
    t.refused(
        under("left", Some("left")),
        "not on the table to lie over left",
    );
    t.done(under("lining", None));
    t.done(under("left", Some("right")));
}

/// Where the first sample lies.
fn first_sample(t: &AtTable) -> Point<Table> {
    match t.bench.doing() {
        Doing::Samples { at } => *at,
        other => panic!("{other:?}"),
    }
}

#[test]
fn no_sample_is_taken_before_the_pointer_is_put_on_it() {
    let mut t = AtTable::new(coat());
    let begun = t.bench.ways().brightness;
    t.done(Act::Point(Point::new(300.0, 200.0)));
    t.done(Act::Begin(Task::Samples));
    t.refused(Act::Press, "put the pointer on the one you want");
    let side = t.bench.ways().stands;
    let third = samples::places(first_sample(&t), side)[2];
    assert_eq!(t.bench.ways().brightness, begun);
    t.press(third.0);
    assert_eq!(t.bench.ways().brightness, third.1);
    assert!(t.bench.doing().is_laying());
}

#[test]
fn with_no_pointer_samples_and_the_strip_lie_in_the_middle_and_a_press_says_why() {
    let mut t = AtTable::new(coat());
    t.done(Act::Away);
    t.done(Act::Begin(Task::Samples));
    let side = t.bench.ways().stands;
    let middle = Point::new(600.0, 400.0);
    let off = samples::places(first_sample(&t), side)[3].0 - middle;
    assert!(off.length() < 20.0, "{off:?}");
    t.refused(Act::Press, "put the pointer on the one you want");
    t.done(Act::Begin(Task::Strip));
    assert_eq!(*t.bench.doing(), Doing::Strip { at: middle });
    t.refused(Act::Press, "put it where the scrap lies");
}
