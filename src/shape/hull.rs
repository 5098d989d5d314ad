//! The convex hull of points: how far it reaches, and the nearest places of
//! two hulls. A straight line misses something that hangs together exactly
//! when it misses its hull.

use crate::space::{Point, Vector, mean};

/// The smallest convex area that holds some points.
#[derive(Debug, Clone)]
pub struct Hull<S> {
    /// Counter-clockwise, no three in line, in the order of the edges that
    /// start at them: by direction from +x.
    corners: Vec<Point<S>>,
    /// [`round`] of those edges, rising.
    edges: Vec<f64>,
}

/// How often two hulls are felt for their nearest places or a common tangent:
/// a handful of steps suffices, more is a circle among rounding errors.
const STEPS: usize = 64;

/// A number that rises with a vector's direction from +x, counter-clockwise,
/// in [0, 4): cheaper than an angle, and only compared.
fn round<S>(v: Vector<S>) -> f64 {
    let r = v.x / (v.x.abs() + v.y.abs());
    if v.y >= 0.0 { 1.0 - r } else { 3.0 + r }
}

fn left_of<S>(v: Vector<S>) -> Vector<S> {
    Vector::new(-v.y, v.x)
}

impl<S> Hull<S> {
    /// The hull of points; `None` if there are none, or one is not finite.
    pub fn of(points: impl IntoIterator<Item = Point<S>>) -> Option<Self> {
        let mut points: Vec<Point<S>> = points.into_iter().collect();
        if points.is_empty() || !points.iter().all(|p| p.is_finite()) {
            return None;
        }
        points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        points.dedup();
        let mut corners = half(points.iter().copied());
        corners.extend(half(points.iter().rev().copied()));
        if corners.is_empty() {
            corners = points; // a single point
        }
        let next = |k: usize| corners[(k + 1) % corners.len()];
        let edges = (0..corners.len()).map(|k| round(next(k) - corners[k]));
        let mut edges: Vec<f64> = edges.collect();
        let first = (0..edges.len()).min_by(|&a, &b| edges[a].total_cmp(&edges[b]));
        let by = first.unwrap_or(0);
        edges.rotate_left(by);
        corners.rotate_left(by);
        Some(Self { corners, edges })
    }

    /// Its corners, counter-clockwise.
    pub fn corners(&self) -> &[Point<S>] {
        &self.corners
    }

    /// The corner that lies farthest in a direction (of any length).
    pub fn far(&self, towards: Vector<S>) -> Point<S> {
        let turned = round(left_of(towards));
        let k = self.edges.partition_point(|e| *e < turned);
        self.corners[k % self.corners.len()]
    }

    /// From where to where it reaches along a direction: the least and the
    /// greatest product of its points with `along`.
    pub fn extent(&self, along: Vector<S>) -> (f64, f64) {
        let reach = |v: Vector<S>| self.far(v).to_vector().dot(along);
        (reach(-along), reach(along))
    }

    /// The nearest places of two hulls, this one's first; `None` if they meet.
    ///
    /// After E. G. Gilbert, D. W. Johnson and S. S. Keerthi (1988): the point
    /// nearest the origin of all differences between the two, found by going
    /// towards the origin from corner to corner.
    pub fn nearest(&self, other: &Self) -> Option<(Point<S>, Point<S>)> {
        let corner = |towards: Vector<S>| Pair {
            a: self.far(-towards),
            b: other.far(towards),
        };
        let mut edge = [corner(Vector::new(1.0, 0.0)); 2];
        let mut best = edge[0];
        for _ in 0..STEPS {
            let v = best.step();
            let size = v.square_length();
            if size <= 1e-18 {
                return None;
            }
            let next = corner(-v);
            if size - v.dot(next.step()) <= 1e-14 * size {
                break;
            }
            let [p, q] = [edge[0].step(), edge[1].step()];
            let w = next.step();
            let side = |a: Vector<S>, b: Vector<S>| a.cross(b);
            let turns = [side(p, q), side(q, w), side(w, p)];
            if turns.iter().all(|t| *t > 0.0) || turns.iter().all(|t| *t < 0.0) {
                return None;
            }
            let found = [[edge[0], next], [edge[1], next]].map(|e| (e, between(e)));
            let nearer = |k: usize| found[k].1.step().square_length();
            let k = usize::from(nearer(1) < nearer(0));
            if nearer(k) >= size {
                break;
            }
            (edge, best) = found[k];
        }
        Some((best.a, best.b))
    }

    /// The line that touches both hulls and has both on its right, seen from
    /// this hull towards the other: where it touches each. `None` if one hull
    /// hides the other, or if the two touch it at the same place.
    pub fn tangent(&self, other: &Self) -> Option<(Point<S>, Point<S>)> {
        let touched = |out: Vector<S>| (self.far(out), other.far(out));
        // How much farther the other hull reaches in a direction.
        let ahead = |out: Vector<S>| {
            let (a, b) = touched(out);
            (b - a).dot(out)
        };
        // It is ahead towards its own middle and behind the other way; the
        // line's outer side lies between, where neither is.
        let mut low = (mean(other.corners.iter().copied())? - mean(self.corners.iter().copied())?)
            .try_normalize()?;
        let mut high = -low;
        if ahead(low) <= 0.0 || ahead(high) >= 0.0 {
            return None;
        }
        let mut out = left_of(low);
        for _ in 0..STEPS {
            let (a, b) = touched(out);
            let normal = left_of(b - a).try_normalize()?;
            let beyond = |hull: &Self, p: Point<S>| (hull.far(normal) - p).dot(normal);
            // Corners on the line but for rounding are as good as any.
            if beyond(self, a) <= 1e-9 && beyond(other, b) <= 1e-9 {
                return Some((a, b));
            }
            if (b - a).dot(out) > 0.0 {
                low = out;
            } else {
                high = out;
            }
            out = (low + high).try_normalize()?;
        }
        None
    }
}

/// A place on either hull.
struct Pair<S> {
    a: Point<S>,
    b: Point<S>,
}

impl<S> Clone for Pair<S> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<S> Copy for Pair<S> {}

impl<S> Pair<S> {
    fn step(&self) -> Vector<S> {
        self.b - self.a
    }
}

/// The place on an edge of differences that lies nearest the origin.
fn between<S>([p, q]: [Pair<S>; 2]) -> Pair<S> {
    let edge = q.step() - p.step();
    let size = edge.square_length();
    let t = if size > 0.0 {
        (-p.step().dot(edge) / size).clamp(0.0, 1.0)
    } else {
        0.0
    };
    Pair {
        a: p.a + (q.a - p.a) * t,
        b: p.b + (q.b - p.b) * t,
    }
}

/// Half of a hull from points in order, without its last corner.
fn half<S>(points: impl Iterator<Item = Point<S>>) -> Vec<Point<S>> {
    let mut line: Vec<Point<S>> = Vec::new();
    for p in points {
        while let [.., a, b] = line[..] {
            if (b - a).cross(p - b) > 0.0 {
                break;
            }
            line.pop();
        }
        line.push(p);
    }
    line.pop();
    line
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;
    use rand::{RngExt, SeedableRng};
    use rand_chacha::ChaCha8Rng;

    fn cloud(rng: &mut ChaCha8Rng, n: usize, x: f64) -> Vec<Point<Table>> {
        let mut one = || rng.random_range(-20.0..20.0);
        (0..n).map(|_| Point::new(x + one(), one())).collect()
    }

    #[test]
    fn reach_and_nearest_places_are_those_of_the_points() {
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        for n in 1..60 {
            let (p, q) = (cloud(&mut rng, n, 0.0), cloud(&mut rng, 61 - n, 45.0));
            let (a, b) = (Hull::of(p.clone()).unwrap(), Hull::of(q.clone()).unwrap());
            for k in 0..30 {
                let (y, x) = (0.2 * f64::from(k)).sin_cos();
                let along = Vector::new(x, y);
                let far = p.iter().map(|p| p.to_vector().dot(along));
                let far = far.fold(f64::MIN, f64::max);
                assert!((a.extent(along).1 - far).abs() < 1e-12);
            }
            // Nearest: no direction parts the clouds by more than the gap, and
            // the gap's own direction parts them by as much.
            let (s, t) = a.nearest(&b).unwrap();
            let gap = (t - s).length();
            let parted = |d: Vector<Table>| b.extent(d).0 - a.extent(d).1;
            assert!((parted((t - s) / gap) - gap).abs() < 1e-9, "{n}");
            assert!(
                b.nearest(&a)
                    .is_some_and(|(u, v)| ((v - u).length() - gap).abs() < 1e-9)
            );
            let (s, t) = a.tangent(&b).unwrap();
            let mut all = p.iter().chain(&q);
            assert!(all.all(|p| (t - s).cross(*p - s) <= 1e-9));
        }
    }

    #[test]
    fn hulls_that_do_not_meet_have_a_tangent_on_either_side() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        for n in 0..3000 {
            let a = Hull::of(cloud(&mut rng, 2 + n % 29, 0.0)).unwrap();
            let b = Hull::of(cloud(&mut rng, 2 + n % 23, 41.0)).unwrap();
            for (a, b) in [(&a, &b), (&b, &a)] {
                let (s, t) = a.tangent(b).unwrap();
                let right =
                    |h: &Hull<Table>| h.corners.iter().all(|p| (t - s).cross(*p - s) < 1e-6);
                assert!(right(a) && right(b), "{n}");
            }
        }
    }

    #[test]
    fn hulls_that_meet_have_no_nearest_places() {
        let mut rng = ChaCha8Rng::seed_from_u64(4);
        for _ in 0..50 {
            let a = Hull::of(cloud(&mut rng, 30, 0.0)).unwrap();
            let b = Hull::of(cloud(&mut rng, 30, 15.0)).unwrap();
            assert!(a.nearest(&b).is_none());
        }
        assert!(Hull::<Table>::of([]).is_none());
        assert!(Hull::<Table>::of([Point::new(f64::NAN, 0.0)]).is_none());
    }
}
