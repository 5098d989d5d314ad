//! Which outlines touch, and which lie within which: one sweep for both.
//!
//! A sweep from left to right that keeps the edges under it in order (Shamos
//! and Hoey, 1976) finds a touch if there is one in O(n log n), and what lies
//! right below an outline's leftmost point says what it lies within. All of
//! it is decided in whole nanometres, where no rounding can mislead it.

use std::cmp::Ordering;
use std::collections::BTreeSet;
use std::ops::Bound::{Excluded, Unbounded};

use crate::pattern::Polyline;
use crate::space::{Piece, Point};

const PER_MM: f64 = 1e6;

/// A place where two edges touch or cross that are not neighbours, or fold
/// back on each other if they are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Touch {
    pub at: Point<Piece>,
    /// The outlines that touch; twice the same if it touches itself.
    pub rings: (usize, usize),
}

/// For each of `rings` (closed, at least three points each, no two
/// consecutive ones within a nanometre) the one that it lies directly within.
///
/// # Errors
///
/// The leftmost touch found, if any two edges touch that should not.
pub fn nest(rings: &[Polyline]) -> Result<Vec<Option<usize>>, Touch> {
    let mut edges = Vec::new();
    let mut turns_left = Vec::new();
    for (ring, points) in rings.iter().enumerate() {
        let grid: Vec<Grid> = points.iter().map(|&p| Grid::of(p)).collect();
        turns_left.push(twice_area(&grid) > 0);
        edges.extend((0..grid.len()).map(|index| {
            let (from, to) = (grid[index], grid[(index + 1) % grid.len()]);
            Edge {
                left: from.min(to),
                right: from.max(to),
                forward: from < to,
                ring,
                index,
                of: grid.len(),
            }
        }));
    }
    let mut events: Vec<(Grid, Change, usize)> = Vec::with_capacity(2 * edges.len());
    for (at, edge) in edges.iter().enumerate() {
        events.push((edge.left, Change::Begins, at));
        events.push((edge.right, Change::Ends, at));
    }
    events.sort_unstable();
    // At every corner two edges meet: more would be another corner there.
    if let Some(corner) = events.windows(3).find(|three| three[0].0 == three[2].0) {
        return Err(Touch {
            at: corner[0].0.point(),
            rings: (edges[corner[0].2].ring, edges[corner[2].2].ring),
        });
    }

    let mut parents: Vec<Option<Option<usize>>> = vec![None; rings.len()];
    let mut swept: BTreeSet<Edge> = BTreeSet::new();
    for (_, change, at) in events {
        let edge = edges[at];
        if change == Change::Ends && !swept.remove(&edge) {
            // Only an order upset by a touch can hide an edge.
            return Err(edge.touch_with(&edge));
        }
        let below = swept.range(..edge).next_back();
        let above = swept.range((Excluded(edge), Unbounded)).next();
        if change == Change::Ends {
            check(below, above)?;
            continue;
        }
        check(below, Some(&edge))?;
        check(Some(&edge), above)?;
        if parents[edge.ring].is_none() {
            parents[edge.ring] = Some(below.and_then(|below| {
                if below.forward == turns_left[below.ring] {
                    Some(below.ring)
                } else {
                    parents[below.ring].flatten()
                }
            }));
        }
        swept.insert(edge);
    }
    Ok(parents.into_iter().map(Option::flatten).collect())
}

fn check(below: Option<&Edge>, above: Option<&Edge>) -> Result<(), Touch> {
    match (below, above) {
        (Some(a), Some(b)) if a.touches(b) => Err(a.touch_with(b)),
        _ => Ok(()),
    }
}

/// What an event does to the edge. Ends come first, so that a chain of edges
/// is never in the sweep twice at its joints.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Change {
    Ends,
    Begins,
}

/// A point in nanometres; ordered by x, then y.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Grid {
    x: i64,
    y: i64,
}

impl Grid {
    fn of(p: Point<Piece>) -> Self {
        Self {
            x: (p.x * PER_MM).round() as i64,
            y: (p.y * PER_MM).round() as i64,
        }
    }

    fn point(self) -> Point<Piece> {
        Point::new(self.x as f64 / PER_MM, self.y as f64 / PER_MM)
    }
}

/// The sign of the turn a → b → c: 1 to the left, −1 to the right, 0 for
/// straight on or back.
fn turn(a: Grid, b: Grid, c: Grid) -> i8 {
    let wide = |v: i64| i128::from(v);
    let left = wide(b.x - a.x) * wide(c.y - a.y);
    let right = wide(b.y - a.y) * wide(c.x - a.x);
    match left.cmp(&right) {
        Ordering::Less => -1,
        Ordering::Equal => 0,
        Ordering::Greater => 1,
    }
}

fn twice_area(ring: &[Grid]) -> i128 {
    let next = ring.iter().cycle().skip(1);
    let cross = |(a, b): (&Grid, &Grid)| {
        i128::from(a.x) * i128::from(b.y) - i128::from(a.y) * i128::from(b.x)
    };
    ring.iter().zip(next).map(cross).sum()
}

#[derive(Debug, Clone, Copy)]
struct Edge {
    left: Grid,
    right: Grid,
    /// Whether the ring runs from left to right here.
    forward: bool,
    ring: usize,
    index: usize,
    /// Number of edges in the ring.
    of: usize,
}

impl Edge {
    /// The end of the edge, as the ring runs.
    fn end(&self) -> Grid {
        if self.forward { self.right } else { self.left }
    }

    fn other(&self, end: Grid) -> Grid {
        if end == self.left {
            self.right
        } else {
            self.left
        }
    }

    /// The point that `self` shares with its neighbour `other`, if it is one.
    fn joint(&self, other: &Edge) -> Option<Grid> {
        if self.ring != other.ring {
            None
        } else if (self.index + 1) % self.of == other.index {
            Some(self.end())
        } else if (other.index + 1) % other.of == self.index {
            Some(other.end())
        } else {
            None
        }
    }

    fn touches(&self, other: &Edge) -> bool {
        if let Some(joint) = self.joint(other) {
            let (p, q) = (self.other(joint), other.other(joint));
            // Straight on is fine, straight back is not.
            return turn(joint, p, q) == 0 && (p < joint) == (q < joint);
        }
        let apart = |a: &Edge, b: &Edge| {
            let (low, high) = (a.left.y.min(a.right.y), a.left.y.max(a.right.y));
            a.right.x < b.left.x || high < b.left.y.min(b.right.y) || low > b.left.y.max(b.right.y)
        };
        let splits = |a: &Edge, b: &Edge| {
            turn(a.left, a.right, b.left) * turn(a.left, a.right, b.right) <= 0
        };
        !apart(self, other) && !apart(other, self) && splits(self, other) && splits(other, self)
    }

    fn touch_with(&self, other: &Edge) -> Touch {
        let (a, b) = (self.left.point(), other.left.point());
        let (u, v) = (self.right.point() - a, other.right.point() - b);
        let denominator = u.cross(v);
        let at = if denominator == 0.0 {
            self.left.max(other.left).point()
        } else {
            a + u * ((b - a).cross(v) / denominator).clamp(0.0, 1.0)
        };
        Touch {
            at,
            rings: (self.ring, other.ring),
        }
    }

    /// Where a point lies as seen from this edge.
    fn side(&self, p: Grid) -> Ordering {
        // Left of an edge that runs to the right is above it.
        turn(self.left, self.right, p).cmp(&0)
    }
}

/// Bottom to top, for edges that the sweep line crosses at once.
impl Ord for Edge {
    fn cmp(&self, other: &Self) -> Ordering {
        let order = if self.left <= other.left {
            self.side(other.left)
                .then_with(|| self.side(other.right))
                .reverse()
        } else {
            other.side(self.left).then_with(|| other.side(self.right))
        };
        order.then_with(|| (self.ring, self.index).cmp(&(other.ring, other.index)))
    }
}

impl PartialOrd for Edge {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Edge {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Edge {}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn ring(points: &[(f64, f64)]) -> Polyline {
        points.iter().map(|&p| Point::from(p)).collect()
    }

    fn square(x: f64, y: f64, side: f64) -> Polyline {
        ring(&[(x, y), (x + side, y), (x + side, y + side), (x, y + side)])
    }

    #[test]
    fn rings_know_what_they_lie_within() {
        let mut turned = square(1.0, 1.0, 3.0);
        turned.reverse();
        let rings = [
            square(0.0, 0.0, 10.0),
            turned,
            square(2.0, 2.0, 1.0),
            square(5.0, 1.0, 2.0),
            square(20.0, 0.0, 3.0),
            ring(&[(15.0, -9.0), (16.0, 20.0), (14.0, 20.0)]),
        ];
        let parents = nest(&rings).unwrap();
        assert_eq!(parents, [None, Some(0), Some(1), Some(0), None, None]);
    }

    #[test]
    fn a_figure_of_eight_is_found_where_it_crosses() {
        let touch = nest(&[ring(&[(0., 0.), (4., 4.), (4., 0.), (0., 4.)])]).unwrap_err();
        assert!((touch.at - Point::new(2.0, 2.0)).length() < 1e-6);
        assert_eq!(touch.rings, (0, 0));
    }

    #[test]
    fn every_kind_of_touch_is_found() {
        let at_a_vertex = [(0., 0.), (2., 2.), (4., 0.), (4., 4.), (2., 2.), (0., 4.)];
        let on_an_edge = [(0., 0.), (9., 0.), (9., 5.), (5., 0.), (0., 5.)];
        let along_an_edge = [(0., 0.), (9., 0.), (9., 5.), (6., 0.), (3., 0.), (0., 5.)];
        let spike = [(0., 0.), (9., 0.), (5., 0.), (5., 5.)];
        let upright_spike = [(0., 0.), (4., 0.), (4., 9.), (4., 3.), (0., 3.)];
        for points in [
            &at_a_vertex[..],
            &on_an_edge,
            &along_an_edge,
            &spike,
            &upright_spike,
        ] {
            assert!(nest(&[ring(points)]).is_err(), "{points:?}");
            let turned: Vec<_> = points.iter().map(|&(x, y)| (-y, x)).collect();
            assert!(nest(&[ring(&turned)]).is_err(), "{turned:?}");
        }
        assert!(nest(&[square(0., 0., 4.), square(4., 1., 2.)]).is_err());
        assert!(nest(&[square(0., 0., 4.), square(4., 4., 2.)]).is_err());
        assert!(nest(&[square(0., 0., 4.), square(0., 0., 4.)]).is_err());
    }

    #[test]
    fn straight_on_and_needle_sharp_corners_are_fine() {
        assert!(nest(&[ring(&[(0., 0.), (2., 0.), (4., 0.), (4., 4.), (0., 4.)])]).is_ok());
        assert!(nest(&[ring(&[(0., 0.), (500., 1e-5), (500., 0.)])]).is_ok());
    }

    /// A long saw of slanting teeth, where edges share almost all of their
    /// boxes, must not cost a step for every pair.
    #[test]
    fn slanting_teeth_by_the_hundred_thousand_are_swept_in_time() {
        let mut points = Vec::new();
        for tooth in 0..100_000 {
            let angle = f64::from(tooth) / 100_000.0 * std::f64::consts::TAU;
            let radius = if tooth % 2 == 0 { 100.0 } else { 400.0 };
            points.push((radius * angle.cos(), radius * angle.sin()));
        }
        assert_eq!(nest(&[ring(&points)]), Ok(vec![None]));
    }

    fn brute(points: &[(i32, i32)]) -> bool {
        let ring = ring(
            &points
                .iter()
                .map(|&(x, y)| (x.into(), y.into()))
                .collect::<Vec<_>>(),
        );
        let grid: Vec<Grid> = ring.iter().map(|&p| Grid::of(p)).collect();
        let n = grid.len();
        let edge = |index: usize| {
            let (from, to) = (grid[index], grid[(index + 1) % n]);
            let (left, right) = (from.min(to), from.max(to));
            Edge {
                left,
                right,
                forward: from < to,
                ring: 0,
                index,
                of: n,
            }
        };
        (0..n).any(|i| (0..i).any(|j| edge(i).touches(&edge(j))))
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(3000))]
        #[test]
        fn the_sweep_finds_a_touch_exactly_when_some_pair_touches(
            points in prop::collection::vec((0..7i32, 0..7i32), 3..9)
        ) {
            let n = points.len();
            prop_assume!((0..n).all(|i| points[i] != points[(i + 1) % n]));
            let list: Vec<_> = points.iter().map(|&(x, y)| (x.into(), y.into())).collect();
            prop_assert_eq!(nest(&[ring(&list)]).is_err(), brute(&points));
        }
    }
}
