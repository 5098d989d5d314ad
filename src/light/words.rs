//! Text on the table, upright for the person wherever they stand.

use super::text::Letters;
use crate::shape::Region;
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::Side;

/// Words set on the table.
#[derive(Debug, Clone, PartialEq)]
pub struct Lettering {
    pub lit: Region<Table>,
    /// The room each line takes, table mm.
    pub lines: Vec<Bounds<Table>>,
}

/// Sets lines of words centred on each other, the block's middle at `middle`,
/// upright for a person at `side`.
pub fn lettering(
    letters: &mut Letters,
    lines: &[String],
    middle: Point<Table>,
    side: Side,
) -> Lettering {
    let block = letters.block(lines);
    let at = middle.to_vector();
    let shifted = |r: Region<Table>| {
        let ring = |ring: Vec<Point<Table>>| ring.into_iter().map(|p| p + at).collect();
        Region::new(r.rings.into_iter().map(ring).collect())
    };
    let room = |b: &Bounds<Table>| {
        let (a, b) = (back(side, b.min) + at, back(side, b.max) + at);
        Bounds::new(a.min(b), a.max(b))
    };
    Lettering {
        lit: shifted(back_from(side, block.lit)),
        lines: block.lines.iter().map(room).collect(),
    }
}

/// A table point, turned about the origin so that a person at `side` sees it as
/// one at the front sees the original. Exact.
fn seen(side: Side, p: Point<Table>) -> Point<Table> {
    side.to_person(p.to_vector()).cast_unit().to_point()
}

/// The turn back.
fn back(side: Side, p: Point<Table>) -> Point<Table> {
    let v: Vector<crate::stand::Person> = p.to_vector().cast_unit();
    side.to_table(v).to_point()
}

fn turned(region: Region<Table>, turn: impl Fn(Point<Table>) -> Point<Table>) -> Region<Table> {
    let ring = |ring: Vec<Point<Table>>| ring.into_iter().map(&turn).collect();
    Region::new(region.rings.into_iter().map(ring).collect())
}

/// A region turned about the table's origin, as a person at `side` sees it.
pub(super) fn seen_from(side: Side, region: Region<Table>) -> Region<Table> {
    match side {
        Side::Front => region,
        _ => turned(region, |p| seen(side, p)),
    }
}

/// The turn back, from as a person at `side` sees it.
pub(super) fn back_from(side: Side, region: Region<Table>) -> Region<Table> {
    match side {
        Side::Front => region,
        _ => turned(region, |p| back(side, p)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_run_to_the_persons_right_and_lines_towards_them() {
        let mut letters = Letters::new(12.0).unwrap();
        let lines = ["heel".to_owned(), "stiffener".to_owned()];
        let middle = Point::new(700.0, 300.0);
        for side in Side::ALL {
            let set = lettering(&mut letters, &lines, middle, side);
            let [first, second] = [0, 1].map(|k| set.lines[k].center() - middle);
            let towards = side.to_person(second - first);
            assert!(towards.y < -12.0 && towards.x.abs() < 1.0, "{side:?}");
            let long = side.to_person(set.lines[1].size().to_vector());
            assert!(long.x.abs() > 3.0 * long.y.abs());
            // Ink and room agree, and the ink's area is that of the front.
            let all = set.lines[0].union(&set.lines[1]);
            assert!(all.contains_box(&set.lit.bounds().unwrap()));
            let front = letters.block(&lines).lit.area();
            assert!((set.lit.area() - front).abs() < 1e-6);
        }
    }

    #[test]
    fn an_f_reads_f() {
        // Its arms point to the reader's right, the longer one is the far one.
        let mut letters = Letters::new(12.0).unwrap();
        for side in Side::ALL {
            let set = lettering(
                &mut letters,
                &["F".to_owned()],
                Point::new(50.0, -20.0),
                side,
            );
            let spot = |right: f64, away: f64| {
                let b = set.lit.bounds().unwrap();
                let half = side.to_person(b.size().to_vector() / 2.0);
                let v = Vector::new(right * half.x.abs(), away * half.y.abs());
                set.lit.contains(b.center() + side.to_table(v))
            };
            assert!(spot(-0.8, -0.9) && spot(0.8, 0.9), "{side:?}");
            assert!(!spot(0.8, -0.9), "{side:?}");
        }
    }
}
