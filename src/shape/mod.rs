//! Closed outlines and what can be done with them: the only room that talks
//! to a polygon library.
//!
//! A [`Region`] is a set of rings under the even rule of orientation: outer
//! rings counter-clockwise, holes clockwise, no two crossing. So its area is
//! the plain sum of its rings' signed areas, which is also how it is lit.

mod arc;
mod boolean;
mod chord;
mod connected;
mod edgewise;
mod hull;
mod middle;
mod near;
mod offset;
mod ray;
mod segment;
mod trim;

pub use arc::{Station, along, dashes, length, nearest, part, perimeter};
pub use boolean::{difference, intersection, union};
pub use chord::{Chord, chords, cut_apart};
pub use connected::connected;
pub use edgewise::{Join, MITRE_LIMIT, Offset, Side, Sided, edgewise};
pub use hull::Hull;
pub use middle::{centroid, surrounds};
pub use near::{distance, gap, near, near_boxed};
pub use offset::{ARC_ERROR, Caps, offset, offset_roughly, stroke};
pub use ray::{ray, within};
pub use segment::{edge_distance, edge_foot, edge_share};
pub use trim::trimmed;

use crate::space::{Bounds, Point, Rigid};

/// A closed run of straight edges; the first point is not repeated.
pub type Ring<S> = Vec<Point<S>>;

/// An area with holes; see the module's comment.
#[derive(Debug, Clone, PartialEq)]
pub struct Region<S> {
    pub rings: Vec<Ring<S>>,
}

impl<S> Default for Region<S> {
    fn default() -> Self {
        Self { rings: Vec::new() }
    }
}

impl<S> Region<S> {
    /// A region from rings that already follow the orientation rule.
    pub fn new(rings: Vec<Ring<S>>) -> Self {
        Self { rings }
    }

    /// A region of one counter-clockwise ring.
    pub fn ring(ring: Ring<S>) -> Self {
        Self { rings: vec![ring] }
    }

    /// A disc as a regular polygon whose sagitta is at most [`ARC_ERROR`].
    pub fn disc(centre: Point<S>, radius: f64) -> Self {
        let half = (1.0 - ARC_ERROR / radius.max(2.0 * ARC_ERROR)).acos();
        let n = (std::f64::consts::PI / half).ceil().max(8.0) as usize;
        let ring = (0..n)
            .map(|k| {
                let (sin, cos) = (std::f64::consts::TAU * k as f64 / n as f64).sin_cos();
                Point::new(centre.x + radius * cos, centre.y + radius * sin)
            })
            .collect();
        Self::ring(ring)
    }

    pub fn is_empty(&self) -> bool {
        self.rings.is_empty()
    }

    /// Square units of `S`; holes count negative.
    pub fn area(&self) -> f64 {
        // The sum of none is −0 in Rust, and would be said so.
        0.0 + self.rings.iter().map(|r| signed_area(r)).sum::<f64>()
    }

    /// The smallest box that holds the region, or `None` if it is empty.
    pub fn bounds(&self) -> Option<Bounds<S>> {
        bounds(self.rings.iter().flatten().copied())
    }

    /// Whether `p` lies inside (on the boundary: either answer).
    pub fn contains(&self, p: Point<S>) -> bool {
        self.rings.iter().map(|r| winding(r, p)).sum::<i32>() != 0
    }

    /// The region moved rigidly; the orientation rule is kept when the motion
    /// turns it over.
    pub fn moved<T>(&self, by: &Rigid<S, T>) -> Region<T> {
        let map = by.mapper();
        let rings = self.rings.iter().map(|ring| {
            let mut out: Ring<T> = ring.iter().map(|&p| map(p)).collect();
            if by.mirrored {
                out.reverse();
            }
            out
        });
        Region::new(rings.collect())
    }

    /// Adds another region that is known not to overlap this one.
    pub fn append(&mut self, other: Region<S>) {
        self.rings.extend(other.rings);
    }
}

/// Signed area of a ring: positive if counter-clockwise (y up).
pub fn signed_area<S>(ring: &[Point<S>]) -> f64 {
    let Some(&origin) = ring.first() else {
        return 0.0;
    };
    // Relative to a vertex, so that a ring far from the origin keeps its digits.
    pairs(ring)
        .map(|(a, b)| (a - origin).cross(b - origin))
        .sum::<f64>()
        / 2.0
}

/// The ring, turned round if it runs clockwise (y up).
pub fn counter_clockwise<S>(mut ring: Ring<S>) -> Ring<S> {
    if signed_area(&ring) < 0.0 {
        ring.reverse();
    }
    ring
}

/// Winding number of a ring about a point (crossing form).
fn winding<S>(ring: &[Point<S>], p: Point<S>) -> i32 {
    let mut n = 0;
    for (a, b) in pairs(ring) {
        let side = (b - a).cross(p - a);
        if a.y <= p.y && b.y > p.y && side > 0.0 {
            n += 1;
        } else if a.y > p.y && b.y <= p.y && side < 0.0 {
            n -= 1;
        }
    }
    n
}

/// The edges of a ring, the closing one last.
pub fn pairs<S>(ring: &[Point<S>]) -> impl Iterator<Item = (Point<S>, Point<S>)> + '_ {
    let closing = ring.last().copied().zip(ring.first().copied());
    ring.windows(2).map(|w| (w[0], w[1])).chain(closing)
}

/// The smallest box that holds all points, or `None` if there are none.
pub fn bounds<S>(points: impl IntoIterator<Item = Point<S>>) -> Option<Bounds<S>> {
    let mut points = points.into_iter();
    let first = points.next()?;
    let mut b = Bounds::new(first, first);
    for p in points {
        b.min = b.min.min(p);
        b.max = b.max.max(p);
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Table, Vector};

    fn square(side: f64) -> Region<Table> {
        Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(side, 0.0),
            Point::new(side, side),
            Point::new(0.0, side),
        ])
    }

    #[test]
    fn a_ring_is_turned_round_only_if_it_runs_clockwise() {
        let ring = square(10.0).rings.remove(0);
        let mut other = ring.clone();
        other.reverse();
        assert_eq!(counter_clockwise(ring.clone()), ring);
        assert_eq!(counter_clockwise(other), ring);
    }

    #[test]
    fn a_disc_has_the_area_of_its_circle_within_the_arc_error() {
        let r = 40.0;
        let short = std::f64::consts::PI * r * r - Region::<Table>::disc(Point::origin(), r).area();
        // A chord of sagitta e loses about 2/3 of e along the whole circumference.
        assert!(short > 0.0 && short < std::f64::consts::TAU * r * ARC_ERROR);
    }

    #[test]
    fn turning_over_keeps_the_area_positive() {
        let pose: Rigid<Table, Table> = Rigid::new(true, 0.7, Vector::new(3.0, 4.0));
        assert!((square(5.0).moved(&pose).area() - 25.0).abs() < 1e-12);
    }

    #[test]
    fn a_hole_is_outside() {
        let mut region = square(10.0);
        let mut hole = Region::disc(Point::new(5.0, 5.0), 2.0);
        hole.rings[0].reverse();
        region.append(hole);
        assert!(region.contains(Point::new(1.0, 1.0)));
        assert!(!region.contains(Point::new(5.0, 5.0)));
        assert!(!region.contains(Point::new(-1.0, 5.0)));
    }
}
