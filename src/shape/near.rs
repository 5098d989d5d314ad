//! Whether two regions come near each other, and how near.

use super::{Region, edge_distance, pairs};
use crate::space::{Bounds, Point};

/// Whether any point of `a` lies within `reach` of any point of `b`
/// (overlapping and containing count).
pub fn near<S>(a: &Region<S>, b: &Region<S>, reach: f64) -> bool {
    match (a.bounds(), b.bounds()) {
        (Some(ba), Some(bb)) => near_boxed((a, &ba), (b, &bb), reach),
        _ => false,
    }
}

/// [`near`], for regions whose boxes are known.
pub fn near_boxed<S>(
    (a, ba): (&Region<S>, &Bounds<S>),
    (b, bb): (&Region<S>, &Bounds<S>),
    reach: f64,
) -> bool {
    // Most pieces are told apart by their boxes alone.
    let apart = (ba.min - bb.max).max(bb.min - ba.max);
    if apart.x >= reach || apart.y >= reach {
        return false;
    }
    // Only edges in the common part of the grown boxes can be that close.
    let common = ba
        .inflate(reach, reach)
        .intersection(&bb.inflate(reach, reach));
    let Some(common) = common else { return false };
    let close = |region: &Region<S>| -> Vec<(Point<S>, Point<S>)> {
        region
            .rings
            .iter()
            .flat_map(|r| pairs(r))
            .filter(|(p, q)| touches(&common, *p, *q))
            .collect()
    };
    let ea = close(a);
    let eb = if ea.is_empty() { Vec::new() } else { close(b) };
    if ea
        .iter()
        .any(|e| eb.iter().any(|f| edges_near(*e, *f, reach)))
    {
        return true;
    }
    // No edges near: a ring may still lie wholly within the other region.
    let holds = |outer: &Region<S>, within: &Bounds<S>, inner: &Region<S>| {
        let mut firsts = inner.rings.iter().filter_map(|r| r.first());
        firsts.any(|p| within.contains(*p) && outer.contains(*p))
    };
    holds(b, bb, a) || holds(a, ba, b)
}

/// Whether an edge's own box meets `area`.
fn touches<S>(area: &Bounds<S>, p: Point<S>, q: Point<S>) -> bool {
    let (low, high) = (p.min(q), p.max(q));
    low.x <= area.max.x && high.x >= area.min.x && low.y <= area.max.y && high.y >= area.min.y
}

fn edges_near<S>(e: (Point<S>, Point<S>), f: (Point<S>, Point<S>), reach: f64) -> bool {
    let grown = Bounds::new(e.0.min(e.1), e.0.max(e.1)).inflate(reach, reach);
    if !touches(&grown, f.0, f.1) {
        return false;
    }
    crossing(e, f) || ends_gap(e, f) < reach
}

/// How far a point is from a region; 0 within it, infinity from nothing.
pub fn distance<S>(region: &Region<S>, p: Point<S>) -> f64 {
    if region.contains(p) {
        return 0.0;
    }
    let edges = region.rings.iter().flat_map(|r| pairs(r));
    let far = edges.map(|e| edge_distance(e, p));
    far.fold(f64::INFINITY, f64::min)
}

/// The least distance between the outlines of two regions, or `within` if
/// that is less. (One that lies wholly within another is as far from it as
/// their outlines are.)
pub fn gap<S>(a: &Region<S>, b: &Region<S>, within: f64) -> f64 {
    let mut best = within;
    let (Some(ba), Some(bb)) = (a.bounds(), b.bounds()) else {
        return best;
    };
    let close = |region: &Region<S>, to: &Bounds<S>| -> Vec<(Point<S>, Point<S>)> {
        let grown = to.inflate(within, within);
        let edges = region.rings.iter().flat_map(|r| pairs(r));
        edges.filter(|(p, q)| touches(&grown, *p, *q)).collect()
    };
    let theirs = close(b, &ba);
    for e in close(a, &bb) {
        let own = Bounds::new(e.0.min(e.1), e.0.max(e.1));
        for f in &theirs {
            if !touches(&own.inflate(best, best), f.0, f.1) {
                continue;
            }
            if crossing(e, *f) {
                return best.min(0.0);
            }
            best = best.min(ends_gap(e, *f));
        }
    }
    best
}

/// Distance between two edges that do not cross.
fn ends_gap<S>(e: (Point<S>, Point<S>), f: (Point<S>, Point<S>)) -> f64 {
    let ends = [
        edge_distance(e, f.0),
        edge_distance(e, f.1),
        edge_distance(f, e.0),
        edge_distance(f, e.1),
    ];
    ends.into_iter().fold(f64::INFINITY, f64::min)
}

fn crossing<S>(e: (Point<S>, Point<S>), f: (Point<S>, Point<S>)) -> bool {
    let side = |(a, b): (Point<S>, Point<S>), p: Point<S>| (b - a).cross(p - a);
    side(e, f.0) * side(e, f.1) < 0.0 && side(f, e.0) * side(f, e.1) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    #[test]
    fn distance_between_discs_is_what_counts() {
        let disc = |x: f64, r: f64| Region::<Table>::disc(Point::new(x, 0.0), r);
        assert!(near(&disc(0.0, 10.0), &disc(25.0, 10.0), 5.1));
        assert!(!near(&disc(0.0, 10.0), &disc(25.0, 10.0), 4.9));
        assert!(near(&disc(0.0, 10.0), &disc(1.0, 2.0), 0.1));
        let far = |x: f64| distance(&disc(0.0, 10.0), Point::new(x, 0.0));
        assert!(far(9.0) == 0.0 && (far(25.0) - 15.0).abs() < 0.01);
        // One of two parts lies wholly within.
        let mut two = disc(100.0, 1.0);
        two.append(disc(1.0, 2.0));
        assert!(near(&disc(0.0, 10.0), &two, 0.1) && near(&two, &disc(0.0, 10.0), 0.1));
        assert!((gap(&disc(0.0, 10.0), &disc(25.0, 10.0), 50.0) - 5.0).abs() < 0.01);
        assert!((gap(&disc(0.0, 10.0), &disc(1.0, 2.0), 50.0) - 7.0).abs() < 0.01);
        assert_eq!(gap(&disc(0.0, 10.0), &disc(12.0, 10.0), 50.0), 0.0);
        assert_eq!(gap(&disc(0.0, 10.0), &disc(80.0, 10.0), 50.0), 50.0);
        // Boxes meet, discs do not.
        let corner = Region::<Table>::disc(Point::new(16.0, 16.0), 10.0);
        assert!(!near(&disc(0.0, 10.0), &corner, 2.0));
    }
}
