//! The cut test at the table: what is noted, that it is off until it is wanted, and that
//! a refocused projector is not forgotten.

use crate::jobs::{AtTable, MARKS, coat};
use ghostchalk::measure::Unit;
use ghostchalk::space::{Point, Vector};
use ghostchalk::work::{Act, CutStrip, Task};

fn strip(tool: &str, plies: u32, left: f64) -> Act {
    let read = |mm: f64| [0.1, -0.1].map(|e| format!("{:.2}", mm + 2.0 * left + e));
    Act::CutStrip(Box::new(CutStrip {
        tool: tool.into(),
        cloth: "canvas".into(),
        plies,
        length: read(240.0),
        width: read(60.0),
        unit: Unit::Mm,
    }))
}

fn lit(table: &AtTable) -> Vec<f64> {
    let (_, laid) = table.bench.laid();
    let canvas = laid.iter().filter(|l| l.cloth == "canvas");
    canvas.map(|l| l.trim).collect()
}

fn all(table: &AtTable, mm: f64) -> bool {
    let lit = lit(table);
    !lit.is_empty() && lit.iter().all(|t| (t - mm).abs() < 1e-9)
}

#[test]
fn a_trim_is_noted_off_and_lit_only_while_it_is_on() {
    let mut table = AtTable::new(coat());
    let said = table.done(strip("shears", 1, 0.4));
    assert!(
        said.contains("0.40 mm outside each edge") && said.contains("if that is wanted"),
        "{said}"
    );
    assert!(all(&table, 0.0), "never silently");
    assert_eq!(
        table.done(Act::Trim { at: 0, on: true }),
        "the trim for shears in canvas, one ply on"
    );
    assert!(all(&table, 0.4));
    // No other cloth is trimmed.
    let (_, laid) = table.bench.laid();
    assert!(laid.iter().any(|l| l.cloth != "canvas"));
    assert!(laid.iter().all(|l| l.cloth == "canvas" || l.trim == 0.0));
    // Two of one cloth and plies are not on at once; two plies are another thing.
    table.done(strip("wheel", 1, 0.2));
    table.done(strip("wheel", 2, 0.9));
    table.done(Act::Trim { at: 2, on: true });
    assert!(all(&table, 0.4));
    table.done(Act::Trim { at: 1, on: true });
    assert!(all(&table, 0.2));
    let on: Vec<bool> = table.bench.state().trims.iter().map(|t| t.on).collect();
    assert_eq!(on, [false, true, true]);
    table.done(Act::Undo);
    assert!(all(&table, 0.4));
    // The same test again takes the place of the last, and is off.
    table.done(strip("shears", 1, 0.5));
    assert_eq!(table.bench.state().trims.len(), 3);
    assert!(all(&table, 0.0));
    table.done(Act::DropTrim(0));
    assert_eq!(table.bench.state().trims.len(), 2);
}

#[test]
fn a_slip_a_wrong_scale_and_a_strange_hand_are_refused() {
    let mut table = AtTable::new(coat());
    table.refused(strip("shears", 1, 20.0), "strip's length is given as");
    table.refused(strip("shears", 1, 3.5), "not the hand alone");
    table.refused(strip(" ", 1, 0.4), "what it was cut with");
    table.refused(strip("shears", 51, 0.4), "not the hand alone");
    let Act::CutStrip(mut long) = strip("shears", 1, 0.1) else {
        unreachable!()
    };
    long.length = ["243".into(), "243".into()];
    table.refused(Act::CutStrip(long.clone()), "light is the wrong");
    long.width = ["60".into(), "about 60".into()];
    table.refused(Act::CutStrip(long), "about 60");
    assert!(table.bench.state().trims.is_empty());
    table.refused(Act::Trim { at: 0, on: true }, "no such trim");
}

#[test]
fn a_refocused_projector_stands_in_the_light_until_it_is_found_still() {
    let mut table = AtTable::new(coat());
    assert_eq!(table.bench.unchecked(), None);
    assert_eq!(table.done(Act::Refocused), "all 4 marks are bare");
    assert!(table.bench.unchecked().is_some());
    // Left: it is not forgotten.
    table.done(Act::Leave);
    assert!(table.bench.unchecked().is_some());
    // Found off: neither.
    table.done(Act::Begin(Task::Check));
    for mark in MARKS {
        let middle = Point::new(600.0, 400.0);
        table.press(Point::from(mark) + (Point::from(mark) - middle) * 0.01);
    }
    table.refused(Act::Finish, "too small");
    assert!(table.bench.unchecked().is_some());
    table.done(Act::Begin(Task::Check));
    for mark in MARKS {
        table.press(Point::from(mark) + Vector::new(0.1, 0.1));
    }
    assert_eq!(table.bench.unchecked(), None);
    // Set anew is as good.
    table.done(Act::Finish);
    table.done(Act::Refocused);
    table.bench.table_is_set(5.0);
    assert_eq!(table.bench.unchecked(), None);
}
