//! What a raw curve winds round, and which side each edge of that belongs to.

use super::super::boolean::{DECIMALS, to_path};
use super::super::{edge_distance, pairs, perimeter};
use super::Sided;
use super::raw::Curve;
use crate::space::Point;
use clipper::{ClipType, FillRule, PathsD};
use clipper2_rust as clipper;

/// Clipper2 works on a grid of 1e-6: what is nearer than this is the same place, mm.
const SAME: f64 = 1e-5;

/// Where strips cross each other more often than this, they are joined a few at a time.
const MANY: usize = 64;

/// How many points of the outline are taken at first then.
const FEW: usize = 16;

/// What the curves, raw ones of `outlines`, wind round a positive number of times together:
/// outer rings, the largest first, and holes.
pub fn wound<S>(
    outlines: &[Sided<S>],
    curves: &[Curve<S>],
    grow: bool,
) -> (Vec<Sided<S>>, Vec<Sided<S>>) {
    let found = if curves.len() == 1 && curves[0].crossings > MANY {
        let strips = strips(&outlines[0], &curves[0], grow);
        let whole = vec![to_path(&outlines[0].ring)];
        let kind = if grow {
            ClipType::Union
        } else {
            ClipType::Difference
        };
        clipper::boolean_op_d(kind, FillRule::Positive, &whole, &strips, DECIMALS)
    } else {
        let paths = curves.iter().map(|c| to_path(&c.points)).collect();
        clipper::union_subjects_d(&paths, FillRule::Positive, DECIMALS)
    };
    let (mut outer, mut holes) = (Vec::new(), Vec::new());
    let mut search = Search::new(curves);
    for path in found {
        let mut ring: Vec<Point<S>> = path.iter().map(|p| Point::new(p.x, p.y)).collect();
        tidy(&mut ring);
        let round = perimeter(&ring);
        let Some(mut found) = (ring.len() > 2).then(|| search.sided(ring)) else {
            continue;
        };
        // Thinner than the grid tells.
        if found.area().abs() <= SAME * round {
            continue;
        }
        drop_equal(&mut found);
        begin(&mut found);
        if found.area() > 0.0 {
            outer.push(found);
        } else {
            holes.push(found);
        }
    }
    outer.sort_by(|a, b| b.area().total_cmp(&a.area()));
    (outer, holes)
}

/// The strips between the outline and its raw curve, united: neighbours first, so that
/// never more than a few cross at once. (All at once, n strips that collapse cross n² times.)
fn strips<S>(outline: &Sided<S>, curve: &Curve<S>, grow: bool) -> PathsD {
    let (n, count) = (outline.ring.len(), curve.points.len());
    let Some(&first) = curve.foot.first() else {
        return PathsD::new();
    };
    let mut parts: Vec<PathsD> = Vec::new();
    let mut from = 0;
    while from < count {
        let foot = curve.foot[from];
        let enough = |k: &usize| curve.foot[*k] >= foot + FEW;
        let to = (from + 1..count).find(enough).unwrap_or(count);
        let end = curve.foot.get(to).copied().unwrap_or(first + n);
        let moved = (from..=to).map(|k| curve.points[k % count]);
        let back = (foot..=end).rev().map(|k| outline.ring[k % n]);
        let mut ring: Vec<Point<S>> = moved.chain(back).collect();
        if !grow {
            ring.reverse();
        }
        let ring = vec![to_path(&ring)];
        parts.push(clipper::union_subjects_d(
            &ring,
            FillRule::Positive,
            DECIMALS,
        ));
        from = to;
    }
    while parts.len() > 1 {
        let pairs = parts.chunks(2);
        let joined = pairs.map(|pair| {
            let all = pair.concat();
            clipper::union_subjects_d(&all, FillRule::Positive, DECIMALS)
        });
        parts = joined.collect();
    }
    parts.pop().unwrap_or_default()
}

/// Begins the ring where the first of its sides does: as the outline it came from, mostly.
fn begin<S>(found: &mut Sided<S>) {
    let n = found.side.len();
    let starts = |k: &usize| found.side[*k] != found.side[(*k + n - 1) % n];
    if let Some(k) = (0..n).filter(starts).min_by_key(|&k| found.side[k]) {
        found.ring.rotate_left(k);
        found.side.rotate_left(k);
    }
}

/// Drops points that are equal to their neighbours, and hairs: where the ring goes out and
/// comes back on itself.
fn tidy<S>(ring: &mut Vec<Point<S>>) {
    let off = |p: Point<S>, a: Point<S>, b: Point<S>| edge_distance((a, b), p);
    let mut kept: Vec<Point<S>> = Vec::with_capacity(ring.len());
    // Once round, and on past the seam for as long as something is dropped there.
    for &p in ring.iter() {
        kept.push(p);
        shorten(&mut kept, &off);
    }
    while kept.len() > 2 {
        let (n, first) = (kept.len(), kept[0]);
        let (last, before) = (kept[n - 1], kept[n - 2]);
        let next = kept[1];
        if is_hair(before, last, first, &off) {
            kept.pop();
        } else if is_hair(last, first, next, &off) {
            kept.remove(0);
        } else {
            break;
        }
    }
    *ring = kept;
}

/// Takes hairs off the end of a line.
fn shorten<S>(line: &mut Vec<Point<S>>, off: &dyn Fn(Point<S>, Point<S>, Point<S>) -> f64) {
    while let &[.., a, b, c] = line.as_slice() {
        if !is_hair(a, b, c, off) {
            return;
        }
        let n = line.len();
        line.remove(n - 2);
    }
    if matches!(line.as_slice(), &[a, b] if (b - a).length() < SAME) {
        line.pop();
    }
}

/// Whether the way from `a` by `b` to `c` is the way from `a` to `c`.
fn is_hair<S>(
    a: Point<S>,
    b: Point<S>,
    c: Point<S>,
    off: &dyn Fn(Point<S>, Point<S>, Point<S>) -> f64,
) -> bool {
    let (e, f) = (b - a, c - b);
    let back = e.dot(f) < 0.0 && (off(c, a, b) < SAME || off(a, b, c) < SAME);
    back || e.length() < SAME || f.length() < SAME
}

fn drop_equal<S>(found: &mut Sided<S>) {
    let n = found.ring.len();
    let keep: Vec<bool> = (0..n)
        .map(|k| found.ring[k] != found.ring[(k + 1) % n])
        .collect();
    let mut k = 0..n;
    found.ring.retain(|_| k.next().is_some_and(|k| keep[k]));
    let mut k = 0..n;
    found.side.retain(|_| k.next().is_some_and(|k| keep[k]));
}

/// Finds the edge of the raw curves that an edge of the answer lies on.
struct Search<S> {
    edges: Vec<(Point<S>, Point<S>, usize)>,
    /// Where the last was found: the next is mostly soon after it.
    last: usize,
}

impl<S> Search<S> {
    fn new(curves: &[Curve<S>]) -> Self {
        let edges = curves.iter().flat_map(|c| {
            let sides = c.side.iter();
            pairs(&c.points)
                .zip(sides)
                .map(|((p, q), &side)| (p, q, side))
        });
        Self {
            edges: edges.filter(|(p, q, _)| p != q).collect(),
            last: 0,
        }
    }

    /// The ring with its sides, its points moved from the grid to where they were.
    fn sided(&mut self, ring: Vec<Point<S>>) -> Sided<S> {
        let on: Vec<usize> = pairs(&ring).map(|(p, q)| self.under(p, q)).collect();
        let n = ring.len();
        let exact = |k: usize| self.exact(ring[k], on[(k + n - 1) % n], on[k]);
        Sided {
            ring: (0..n).map(exact).collect(),
            side: on.iter().map(|&k| self.edges[k].2).collect(),
        }
    }

    fn under(&mut self, p: Point<S>, q: Point<S>) -> usize {
        let (middle, along) = (p.lerp(q, 0.5), q - p);
        let n = self.edges.len();
        let off = |&(a, b, _): &(Point<S>, Point<S>, usize)| {
            if (b - a).dot(along) <= 0.0 {
                return f64::INFINITY;
            }
            edge_distance((a, b), middle)
        };
        let mut best = (f64::INFINITY, self.last);
        for k in 0..n {
            let k = (self.last + k) % n;
            let off = off(&self.edges[k]);
            if off < best.0 {
                best = (off, k);
            }
            if off < SAME {
                break;
            }
        }
        self.last = best.1;
        best.1
    }

    /// `p`, where the edges `before` and `after` of the raw curves meet or cross.
    fn exact(&self, p: Point<S>, before: usize, after: usize) -> Point<S> {
        let ((a, b, _), (c, d, _)) = (self.edges[before], self.edges[after]);
        let ends = [b, c, a, d].into_iter();
        if let Some(end) = ends.into_iter().find(|&e| (e - p).length() < SAME) {
            return end;
        }
        let (e, f) = (b - a, d - c);
        let turn = e.cross(f);
        if turn.abs() < 1e-3 * e.length() * f.length() {
            return p;
        }
        let x = a + e * ((c - a).cross(f) / turn);
        if (x - p).length() < 10.0 * SAME { x } else { p }
    }
}
