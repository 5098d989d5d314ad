//! What is cut by length lies along a ruler of light.

use crate::jobs::{AtTable, coat};
use ghostchalk::measure::Unit;
use ghostchalk::order::{Length, Tape, tape};
use ghostchalk::space::{Point, Table};
use ghostchalk::stand::Side;
use ghostchalk::work::{Act, Doing};

fn long(name: &str, mm: f64) -> (String, Tape) {
    let of = Length {
        name: name.into(),
        count: 2,
        length: Some(format!("{mm} mm")),
        ends: Some("10 mm".into()),
        ..Length::default()
    };
    ("1".into(), tape(&of, &|_| None, &|_| None).unwrap())
}

/// The light of the table at hand: 1200 by 800 mm.
fn lit(p: Point<Table>) -> bool {
    (0.0..=1200.0).contains(&p.x) && (0.0..=800.0).contains(&p.y)
}

#[test]
fn a_tape_is_laid_mark_by_mark_and_the_next_comes() {
    let mut table = AtTable::new(coat());
    assert!(table.act(Act::Lengths).said.unwrap().warning);
    table
        .bench
        .set_tapes(vec![long("stay tape", 340.0), long("cord", 700.0)]);
    for side in Side::ALL {
        table.done(Act::Stand(side));
        table.done(Act::Lengths);
        let ruler = table.bench.ruler().unwrap();
        let (start, end) = (ruler.place(0.0), ruler.place(360.0));
        assert!(lit(start) && lit(end), "{side:?}: {start:?} {end:?}");
        assert!(((end - start).length() - 360.0).abs() < 1e-9);
        // To the person's right, in the half that is near to them.
        let right = side.to_person(end - start);
        assert!(right.x > 359.9 && right.y.abs() < 1e-9, "{side:?}");
        let near = side.to_person(start - Point::new(600.0, 400.0));
        assert!(near.y < 0.0, "{side:?}");
        let marks: Vec<f64> = ruler.marks().map(|m| m.at).collect();
        assert_eq!(marks, [10.0, 180.0, 350.0]);
        let asks = table.bench.ruler_asks(Unit::Mm).unwrap();
        assert_eq!(asks[0], "2 x stay tape 1: 360.0 mm");
        assert!(asks[1].contains("cut at the double line"));
        table.done(Act::Finish);
        assert_eq!(table.bench.ruler().unwrap().tape.name, "cord");
        table.done(Act::Previous);
        assert_eq!(table.bench.ruler().unwrap().tape.name, "stay tape");
        table.done(Act::Leave);
        assert!(table.bench.doing().is_laying());
    }
}

#[test]
fn a_tape_that_is_longer_than_the_light_goes_on_from_its_last_mark() {
    let mut table = AtTable::new(coat());
    table.bench.set_tapes(vec![long("cord", 2500.0)]);
    table.done(Act::Lengths);
    let total = 2520.0;
    let mut seen = Vec::new();
    let mut covered = 0.0;
    for _ in 0..9 {
        let Some(ruler) = table.bench.ruler() else {
            break;
        };
        // Nothing is left out between one ruler and the next.
        assert!(
            ruler.from <= covered && ruler.to > covered,
            "{} {}",
            ruler.from,
            ruler.to
        );
        assert!(lit(ruler.place(ruler.from)) && lit(ruler.place(ruler.to)));
        covered = ruler.to;
        seen.extend(ruler.marks().map(|m| m.is.words().to_owned()));
        let asks = table.bench.ruler_asks(Unit::Inch).unwrap();
        assert_eq!(asks.len(), 2 + usize::from(ruler.from > 0.0), "{asks:?}");
        assert_eq!(asks.last().unwrap().contains("goes on"), ruler.to < total);
        table.act(Act::Finish);
    }
    assert!((covered - total).abs() < 1e-9);
    seen.dedup();
    assert_eq!(seen, ["start", "middle", "end"]);
    assert!(matches!(table.bench.doing(), Doing::Laying));
    assert!(table.bench.take_records().is_empty(), "it is no work");
}
