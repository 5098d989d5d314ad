//! The table's own marks: a small ring of light round each that is bare, so that a
//! bump is seen before the next cut; and crosses while the light is checked.

use super::pen::{DASHED, Line, Pen};
use crate::scene::{Figure, Level};
use crate::shape::Region;
use crate::space::{Point, Table};
use crate::work::{Bench, RING, Way};

/// Width of a ring, mm: thin, so that a mark beside its middle is seen to be.
const WIDTH: f64 = 1.2;

/// The marks that have a ring, from 0, and where: with guides that are lit.
pub fn watched(bench: &Bench) -> Vec<(usize, Point<Table>)> {
    match bench.ways().way {
        Way::Guides | Way::Hand => bench.watched_marks(),
        _ => Vec::new(),
    }
}

/// Marks lie on the table, and so does their light.
pub fn rings(watched: &[(usize, Point<Table>)], level: Level) -> Option<Figure> {
    let mut pen = Pen::default();
    for (_, at) in watched {
        let ring = Region::disc(*at, RING - WIDTH / 2.0);
        pen.outline(&ring, Line::Solid, WIDTH, level);
    }
    pen.finish(0.0)
}

/// A cross on each bare mark, and a dashed ring where it was pointed at.
pub fn crosses(bench: &Bench, pen: &mut Pen, level: Level) {
    let side = bench.ways().stands;
    for (_, at) in bench.bare_marks() {
        pen.cross(at, side, 24.0, 1.6, level);
    }
    for (_, at) in bench.doing().seen_marks().unwrap_or_default() {
        pen.outline(&Region::disc(*at, 9.0), DASHED, 1.2, level);
    }
}
