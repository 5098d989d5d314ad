//! Whether there is room for a piece somewhere.

use crate::pattern::PatternPiece;
use crate::shape::{Region, Ring, difference, near_boxed};
use crate::space::{Bounds, Piece, Point, Vector};

/// Areas up to this, mm², are rounding, not cloth.
const NOTHING: f64 = 0.5;

/// Places along a side at most: cloth of any size takes no longer.
const MOST: i32 = 400;

/// The area of a piece, its cut-outs not counted: nothing else fits into them.
pub fn inside_of(piece: &PatternPiece) -> Region<Piece> {
    Region::new(piece.cut.clone())
}

/// A room, and what of it is taken.
#[derive(Debug)]
pub struct Room<'a, S> {
    outline: &'a Region<S>,
    taken: Vec<(&'a Region<S>, Bounds<S>)>,
    gap: f64,
}

impl<'a, S> Room<'a, S> {
    /// A room in which `gap` mm are to be kept from all that is taken.
    pub fn new(outline: &'a Region<S>, taken: &'a [Region<S>], gap: f64) -> Self {
        let boxed = taken.iter().filter_map(|t| Some((t, t.bounds()?)));
        Self {
            outline,
            taken: boxed.collect(),
            gap,
        }
    }

    /// Where a shape fits, its origin moved there: of places `step` mm apart, those
    /// near the wish first.
    pub fn places(
        &self,
        shape: &Region<S>,
        step: f64,
        wish: Point<S>,
    ) -> impl Iterator<Item = Point<S>> {
        let within = self.outline.bounds().zip(shape.bounds());
        let mut all = Vec::new();
        if let Some((room, own)) = within {
            let count = |length: f64| ((length / step) as i32).min(MOST);
            let (across, up) = (count(room.width()), count(room.height()));
            for (i, j) in (0..=across).flat_map(|i| (0..=up).map(move |j| (i, j))) {
                let at = room.min + Vector::new(f64::from(i), f64::from(j)) * step;
                let there = own.translate(at.to_vector());
                // Boxes tell most places apart.
                if room.contains_box(&there) {
                    all.push(((at - wish).square_length(), at));
                }
            }
        }
        all.sort_by(|p, q| p.0.total_cmp(&q.0));
        let own = within.map_or(Bounds::zero(), |(_, own)| own);
        let fits = move |(_, at): (f64, Point<S>)| {
            let by = at.to_vector();
            let there = own.translate(by);
            let moved = |ring: &Ring<S>| ring.iter().map(|&p| p + by).collect();
            let rings = shape.rings.iter().map(moved).collect();
            self.takes(&Region { rings }, &there).then_some(at)
        };
        all.into_iter().filter_map(fits)
    }

    fn takes(&self, shape: &Region<S>, bounds: &Bounds<S>) -> bool {
        // One corner tells most of the rest, all of them what is left; what bulges
        // between them is an area.
        let mut corners = shape.rings.iter().flatten();
        let first = corners.next();
        first.is_some_and(|p| {
            self.outline.contains(*p) && !self.taken.iter().any(|(t, _)| t.contains(*p))
        }) && corners.all(|p| self.outline.contains(*p))
            && self
                .taken
                .iter()
                .all(|(t, b)| !near_boxed((shape, bounds), (t, b), self.gap))
            && difference(shape, self.outline).area() <= NOTHING
    }
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
        let fits = |room: &Region<Table>, taken: &[Region<Table>], x: f64, gap: f64| {
            let room = Room::new(room, taken, gap);
            let shape = square(x, 5.0, 40.0);
            room.places(&shape, 1.0, Point::zero()).next() == Some(Point::zero())
        };
        assert!(fits(&room, &taken, 5.0, 4.9));
        assert!(!fits(&room, &taken, 5.0, 5.1));
        assert!(!fits(&room, &[], -1.0, 0.0));
        // A hole in the room that no corner of the shape falls into.
        let mut holed = room.clone();
        let mut hole = square(20.0, 20.0, 5.0);
        hole.rings[0].reverse();
        holed.append(hole);
        assert!(!fits(&holed, &[], 5.0, 0.0));
    }

    #[test]
    fn the_place_nearest_the_wish_is_the_first() {
        let room = square(-10.0, 0.0, 100.0);
        let taken = [square(-10.0, 0.0, 30.0)];
        let room = Room::new(&room, &taken, 2.0);
        let shape = square(0.0, 0.0, 10.0);
        let all: Vec<_> = room.places(&shape, 5.0, Point::new(0.0, 0.0)).collect();
        // Not where something lies; of the rest in order.
        assert_eq!(all[0].to_vector().length(), 25.0, "{:?}", all[0]);
        let far = |p: &Point<Table>| p.to_vector().length();
        assert!(all.windows(2).all(|w| far(&w[0]) <= far(&w[1])));
        // 18 by 18 places within; 7 by 7 of them are too near the corner that is taken.
        assert_eq!(all.len(), 18 * 18 - 7 * 7);
    }
}
