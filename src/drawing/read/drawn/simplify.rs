//! Fewer points for the same line: what an over-fine or shaky drawing has too
//! many of is dropped, and nothing moves.
//!
//! From every point kept, a cone holds the directions in which one edge passes
//! all points since within the tolerance (Williams, 1978). Unlike halving at
//! the farthest point this takes linear time whatever is drawn.

use crate::pattern::Polyline;
use crate::space::{Piece, Point, Vector};

/// Most points looked at beyond the last that an edge could end at. It bounds
/// the work on a line made to keep the cone open and never end.
const AHEAD: usize = 64;

/// Some of `points`, in their order, such that neither line is farther than
/// `within` mm from the other. An open line keeps its ends; a closed one may
/// lose its first point, and is returned whole if too little would be left of
/// it to enclose anything.
pub fn simplify(points: &Polyline, closed: bool, within: f64) -> Polyline {
    let count = points.len();
    if count < 3 || within <= 0.0 {
        return points.clone();
    }
    if !closed {
        return kept(count - 1, within, |index| points[index])
            .into_iter()
            .map(|index| points[index])
            .collect();
    }
    // Wherever the line was begun, its leftmost point is a corner of its hull,
    // so an edge from there cuts nothing off.
    let before = |a: Point<Piece>, b: Point<Piece>| (a.x, a.y) < (b.x, b.y);
    let start = (1..count).fold(0, |best, index| {
        if before(points[index], points[best]) {
            index
        } else {
            best
        }
    });
    let mut indices: Vec<usize> = kept(count, within, |index| points[(start + index) % count])
        .into_iter()
        .map(|index| (start + index) % count)
        .collect();
    // The last is the first again.
    indices.pop();
    if indices.len() < 3 {
        return points.clone();
    }
    indices.sort_unstable();
    indices.into_iter().map(|index| points[index]).collect()
}

/// The indices kept of `0..=last`, both ends among them.
fn kept(last: usize, within: f64, at: impl Fn(usize) -> Point<Piece>) -> Vec<usize> {
    let mut kept = vec![0];
    let mut anchor = 0;
    while anchor < last {
        let mut end = anchor + 1;
        let mut cone = Cone::new(within);
        for index in anchor + 1..=last {
            let along = at(index) - at(anchor);
            if cone.allows(along) {
                end = index;
            }
            if index > end + AHEAD || !cone.narrow(along) {
                break;
            }
        }
        kept.push(end);
        anchor = end;
    }
    kept
}

/// The directions from a point in which an edge passes others closely.
struct Cone {
    within: f64,
    /// Its sides, right and left, less than half a turn apart; none yet if
    /// every direction will do.
    sides: Option<(Vector<Piece>, Vector<Piece>)>,
    /// How far out the farthest point so far is: an edge that ends nearer
    /// would fall short of it.
    reach: f64,
}

impl Cone {
    fn new(within: f64) -> Self {
        Self {
            within,
            sides: None,
            reach: 0.0,
        }
    }

    fn holds(&self, along: Vector<Piece>) -> bool {
        self.sides
            .is_none_or(|(right, left)| right.cross(along) >= 0.0 && along.cross(left) >= 0.0)
    }

    /// Whether an edge may end at `along`.
    fn allows(&self, along: Vector<Piece>) -> bool {
        let length = along.length();
        length > 0.0 && length >= self.reach && self.holds(along)
    }

    /// Takes the point at `along` in; false if no direction is left.
    fn narrow(&mut self, along: Vector<Piece>) -> bool {
        let length = along.length();
        self.reach = self.reach.max(length);
        if length <= self.within {
            // As near to the edge's beginning, wherever that goes.
            return true;
        }
        let sin = self.within / length;
        let cos = (1.0 - sin * sin).sqrt();
        let turned =
            |sin: f64| Vector::new(along.x * cos - along.y * sin, along.x * sin + along.y * cos);
        let (right, left) = (turned(-sin), turned(sin));
        let Some((old_right, old_left)) = self.sides else {
            self.sides = Some((right, left));
            return true;
        };
        let (right_in, left_in) = (self.holds(right), self.holds(left));
        if !right_in && !left_in && (right.cross(old_right) < 0.0 || old_right.cross(left) < 0.0) {
            return false;
        }
        self.sides = Some((
            if right_in { right } else { old_right },
            if left_in { left } else { old_left },
        ));
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::cell::Cell;

    /// The farthest that a point of `a` is from the line `b`.
    fn off(a: &Polyline, b: &Polyline, closed: bool) -> f64 {
        let edges = b.len() - usize::from(!closed);
        let distance = |p: Point<Piece>| {
            (0..edges)
                .map(|i| crate::shape::edge_distance((b[i], b[(i + 1) % b.len()]), p))
                .fold(f64::INFINITY, f64::min)
        };
        a.iter().map(|&p| distance(p)).fold(0.0, f64::max)
    }

    fn circle(count: u32, shake: f64) -> Polyline {
        let point = |i: u32| {
            let angle = f64::from(i) / f64::from(count) * std::f64::consts::TAU;
            let radius = 90.0 + shake * f64::from(i % 2);
            Point::new(radius * angle.cos(), radius * angle.sin())
        };
        (0..count).map(point).collect()
    }

    #[test]
    fn a_fine_circle_loses_almost_all_of_its_points() {
        let fine = circle(40_000, 0.0);
        let coarse = simplify(&fine, true, 0.005);
        assert!((250..400).contains(&coarse.len()), "{}", coarse.len());
        assert!(off(&fine, &coarse, true) <= 0.005 + 1e-9);
    }

    #[test]
    fn a_closed_line_is_the_same_wherever_it_begins() {
        let mut fine: Polyline = Vec::new();
        for (x, y) in [(0., 0.), (100., 0.), (100., 100.), (0., 100.)] {
            let (dx, dy) = match (x, y) {
                (0., 0.) => (1., 0.),
                (100., 0.) => (0., 1.),
                (100., 100.) => (-1., 0.),
                _ => (0., -1.),
            };
            fine.extend((0..100).map(|i| {
                let i = f64::from(i);
                Point::new(x + dx * i, y + dy * i)
            }));
        }
        for turn in [0, 1, 50, 399] {
            let mut begun = fine.clone();
            begun.rotate_left(turn);
            assert_eq!(simplify(&begun, true, 0.005).len(), 4, "{turn}");
        }
    }

    #[test]
    fn ends_and_slivers_are_kept() {
        let at = |list: &[(f64, f64)]| -> Polyline { list.iter().map(|&p| p.into()).collect() };
        let line = at(&[(0., 0.), (1., 0.001), (2., -0.001), (3., 0.)]);
        assert_eq!(simplify(&line, false, 0.005), at(&[(0., 0.), (3., 0.)]));
        // Back along itself: the far end is no stray point.
        let spike = at(&[(0., 0.), (5., 0.), (2., 0.)]);
        assert_eq!(simplify(&spike, false, 0.005), spike);
        let sliver = at(&[(0., 0.), (5., 0.), (5., 0.001)]);
        assert_eq!(simplify(&sliver, true, 0.005), sliver);
    }

    /// It swings to and fro on one straight, each swing a little shorter: from every point one
    /// edge could pass all that follow, and can end at none but the next.
    #[test]
    fn a_line_made_to_keep_every_edge_waiting_takes_linear_time() {
        let count = 5000;
        let swings: Polyline = (0..count)
            .map(|i| Point::new(100.0 * (-0.999_f64).powi(i), 0.0))
            .collect();
        let last = swings.len() - 1;
        let looks = Cell::new(0);
        let kept = kept(last, 0.005, |index| {
            looks.set(looks.get() + 1);
            swings[index]
        });
        assert_eq!(kept.len(), swings.len());
        // Each look at a point goes with one at the edge's beginning.
        let bound = 2 * (AHEAD + 2) * last;
        assert!(looks.get() <= bound, "{} looks", looks.get());
        // Were each edge tried against all that wait, they would be the square of the points.
        assert!(20 * bound < last * last);
    }

    proptest! {
        #[test]
        fn neither_line_is_farther_from_the_other_than_said(
            steps in prop::collection::vec((-9..10i32, -9..10i32), 3..60),
            grain in 0.0005..0.01,
            closed in any::<bool>(),
        ) {
            let mut at = Point::new(0.0, 0.0);
            let mut fine = vec![at];
            for (dx, dy) in steps.into_iter().filter(|&step| step != (0, 0)) {
                at += Vector::new(f64::from(dx), f64::from(dy)) * grain;
                fine.push(at);
            }
            let coarse = simplify(&fine, closed, 0.005);
            prop_assume!(coarse.len() > 1);
            prop_assert!(off(&fine, &coarse, closed) <= 0.005 + 1e-9);
            prop_assert!(off(&coarse, &fine, closed) <= 1e-12);
        }
    }
}
