//! Whether there is room for a piece somewhere.

use crate::pattern::PatternPiece;
use crate::shape::{Region, difference, near};
use crate::space::{Piece, Point, Vector};

/// Areas up to this, mm², are rounding, not cloth.
const NOTHING: f64 = 0.5;

/// Places along a side at most: cloth of any size takes no longer.
const MOST: i32 = 400;

/// The area of a piece, its cut-outs not counted: nothing else fits into them.
pub fn inside_of(piece: &PatternPiece) -> Region<Piece> {
    Region::new(piece.cut.clone())
}

/// Whether a shape lies within a room and keeps `gap` mm from all that is taken.
pub fn fits<S>(shape: &Region<S>, room: &Region<S>, taken: &[Region<S>], gap: f64) -> bool {
    // Corners tell most places apart; what bulges between them is an area.
    shape.rings.iter().flatten().all(|p| room.contains(*p))
        && taken.iter().all(|t| !near(shape, t, gap))
        && difference(shape, room).area() <= NOTHING
}

/// Places `step` mm apart all over a region's box, those near the wish first.
pub fn places_near<S>(room: &Region<S>, step: f64, wish: Point<S>) -> Vec<Point<S>> {
    let Some(b) = room.bounds() else {
        return Vec::new();
    };
    let count = |length: f64| ((length / step) as i32).min(MOST);
    let (across, up) = (count(b.width()), count(b.height()));
    let row = |i: i32| (0..=up).map(move |j| Vector::new(f64::from(i), f64::from(j)) * step);
    let mut all: Vec<Point<S>> = (0..=across).flat_map(row).map(|v| b.min + v).collect();
    all.sort_by(|p, q| (*p - wish).length().total_cmp(&(*q - wish).length()));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    fn square(x: f64, y: f64, side: f64) -> Region<Table> {
        let corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    }

    #[test]
    fn a_square_fits_where_nothing_is_nearer_than_the_gap() {
        let room = square(0.0, 0.0, 100.0);
        let taken = [square(50.0, 0.0, 50.0)];
        assert!(fits(&square(5.0, 5.0, 40.0), &room, &taken, 4.9));
        assert!(!fits(&square(5.0, 5.0, 40.0), &room, &taken, 5.1));
        assert!(!fits(&square(-1.0, 5.0, 40.0), &room, &[], 0.0));
        // A hole in the room that no corner of the shape falls into.
        let mut holed = room.clone();
        let mut hole = square(20.0, 20.0, 5.0);
        hole.rings[0].reverse();
        holed.append(hole);
        assert!(!fits(&square(5.0, 5.0, 40.0), &holed, &[], 0.0));
    }
}
