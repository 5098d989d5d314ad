//! A straight line across a region, and the region cut apart along it.

use super::{Region, Ring};
use crate::space::{Point, Vector};

/// A place on a region's outline.
#[derive(Debug)]
struct Stop<S> {
    ring: usize,
    /// The edge from this corner of the ring to the next, and how far along.
    edge: usize,
    share: f64,
    at: Point<S>,
}

/// A straight stretch inside a region, from outline to outline.
#[derive(Debug)]
pub struct Chord<S> {
    ends: [Stop<S>; 2],
}

impl<S> Chord<S> {
    pub fn from(&self) -> Point<S> {
        self.ends[0].at
    }

    pub fn to(&self) -> Point<S> {
        self.ends[1].at
    }

    /// In units of `S`.
    pub fn length(&self) -> f64 {
        (self.to() - self.from()).length()
    }
}

/// Where the line through `at` in the direction `along` lies inside the
/// region: its stretches, in that direction. A corner on the line counts as
/// left of it. Empty too if the outline crosses itself on the line.
pub fn chords<S>(region: &Region<S>, at: Point<S>, along: Vector<S>) -> Vec<Chord<S>> {
    let mut met: Vec<(f64, bool, Stop<S>)> = Vec::new();
    for (k, ring) in region.rings.iter().enumerate() {
        let Some(&last) = ring.last() else { continue };
        let mut from = (ring.len() - 1, last, along.cross(last - at));
        for (edge, &q) in ring.iter().enumerate() {
            let side = along.cross(q - at);
            let (start, p, before) = std::mem::replace(&mut from, (edge, q, side));
            if (before >= 0.0) == (side >= 0.0) {
                continue;
            }
            let share = before / (before - side);
            let stop = Stop {
                ring: k,
                edge: start,
                share,
                at: p + (q - p) * share,
            };
            // The region is left of its edges: one that goes from the line's
            // left to its right is where the line enters.
            let enters = before >= 0.0;
            met.push(((stop.at - at).dot(along), enters, stop));
        }
    }
    met.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Two that lie at the same place may stand in either order.
    for k in (0..met.len().saturating_sub(1)).step_by(2) {
        if !met[k].1 {
            met.swap(k, k + 1);
        }
    }
    let in_turn = met.iter().enumerate().all(|(k, m)| m.1 == (k % 2 == 0));
    if !in_turn || met.len() % 2 == 1 {
        return Vec::new();
    }
    let mut stops = met.into_iter().map(|m| m.2);
    let mut chords = Vec::new();
    while let (Some(a), Some(b)) = (stops.next(), stops.next()) {
        chords.push(Chord { ends: [a, b] });
    }
    chords
}

/// The region cut along chords of its own that do not cross: the same area,
/// with every chord part of its outline, on both sides.
pub fn cut_apart<S>(region: &Region<S>, chords: &[&Chord<S>]) -> Region<S> {
    // All stops, by chord and end, in their order round each ring.
    let stop = |(chord, end): (usize, usize)| &chords[chord].ends[end];
    let mut order: Vec<(usize, usize)> = (0..chords.len()).flat_map(|c| [(c, 0), (c, 1)]).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (stop(a), stop(b));
        let place = (a.ring, a.edge).cmp(&(b.ring, b.edge));
        place.then(a.share.total_cmp(&b.share))
    });
    // Where each stands in that order, and which follows it on its ring.
    let mut rank = vec![[0; 2]; chords.len()];
    for (k, &(chord, end)) in order.iter().enumerate() {
        rank[chord][end] = k;
    }
    let ring_of = |k: usize| stop(order[k]).ring;
    let first = |k: usize| {
        (0..=k)
            .rev()
            .take_while(|&j| ring_of(j) == ring_of(k))
            .last()
    };
    let next = |k: usize| match order.get(k + 1) {
        Some(_) if ring_of(k + 1) == ring_of(k) => k + 1,
        _ => first(k).unwrap_or(k),
    };
    let whole = |k: &usize| (0..order.len()).all(|j| ring_of(j) != *k);
    let untouched = (0..region.rings.len()).filter(whole);
    let mut rings: Vec<Ring<S>> = untouched.map(|k| region.rings[k].clone()).collect();
    let mut left = vec![false; order.len()];
    for start in 0..order.len() {
        let mut ring = Ring::new();
        let mut k = start;
        // From a stop forward along its ring to the next one, and there across
        // to that chord's other end; each stop is left once.
        while !std::mem::replace(&mut left[k], true) {
            let to = next(k);
            let (a, b) = (stop(order[k]), stop(order[to]));
            ring.push(a.at);
            corners_between(&region.rings[a.ring], a, b, to <= k, &mut ring);
            ring.push(b.at);
            let (chord, end) = order[to];
            k = rank[chord][1 - end];
        }
        ring.dedup();
        while ring.len() > 1 && ring.first() == ring.last() {
            ring.pop();
        }
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    Region::new(rings)
}

/// The corners that are passed from one stop to another of the same ring;
/// `wraps` if the ring's first corner is among them.
fn corners_between<S>(ring: &[Point<S>], a: &Stop<S>, b: &Stop<S>, wraps: bool, out: &mut Ring<S>) {
    if wraps {
        out.extend(ring[a.edge + 1..].iter().chain(&ring[..=b.edge]));
    } else {
        out.extend(&ring[a.edge + 1..=b.edge]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::connected;
    use crate::space::Table;

    fn ring(points: &[(f64, f64)]) -> Ring<Table> {
        points.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    /// A comb of three teeth up, with a square hole in its back.
    fn comb() -> Region<Table> {
        let outer = [
            (0.0, 0.0),
            (50.0, 0.0),
            (50.0, 40.0),
            (40.0, 40.0),
            (40.0, 20.0),
            (30.0, 20.0),
            (30.0, 40.0),
            (20.0, 40.0),
            (20.0, 20.0),
            (10.0, 20.0),
            (10.0, 40.0),
            (0.0, 40.0),
        ];
        let hole = [(20.0, 5.0), (20.0, 15.0), (30.0, 15.0), (30.0, 5.0)];
        Region::new(vec![ring(&outer), ring(&hole)])
    }

    fn across(region: &Region<Table>, y: f64) -> Vec<Chord<Table>> {
        chords(region, Point::new(-7.0, y), Vector::new(1.0, 0.0))
    }

    fn areas(region: &Region<Table>, cut: &[&Chord<Table>]) -> Vec<f64> {
        let parts = connected(&cut_apart(region, cut));
        let mut areas: Vec<f64> = parts.iter().map(Region::area).collect();
        areas.sort_by(f64::total_cmp);
        areas
    }

    #[test]
    fn a_line_across_teeth_has_a_stretch_in_each_and_each_cuts_its_own() {
        let comb = comb();
        let found = across(&comb, 30.0);
        let ends: Vec<(f64, f64)> = found.iter().map(|c| (c.from().x, c.to().x)).collect();
        assert_eq!(ends, [(0.0, 10.0), (20.0, 30.0), (40.0, 50.0)]);
        let all: Vec<&Chord<Table>> = found.iter().collect();
        assert_eq!(areas(&comb, &all), [100.0, 100.0, 100.0, 1200.0]);
        assert_eq!(areas(&comb, &all[1..2]), [100.0, 1400.0]);
        assert_eq!(areas(&comb, &[]), [1500.0]);
    }

    #[test]
    fn a_hole_is_opened_by_one_stretch_and_parted_by_two() {
        let comb = comb();
        let found = across(&comb, 10.0);
        assert_eq!(found.len(), 2);
        let all: Vec<&Chord<Table>> = found.iter().collect();
        assert_eq!(areas(&comb, &all[..1]), [1500.0]);
        assert_eq!(cut_apart(&comb, &all[..1]).rings.len(), 1);
        assert_eq!(areas(&comb, &all), [450.0, 1050.0]);
    }

    #[test]
    fn corners_on_the_line_do_not_confuse_it() {
        let comb = comb();
        for y in [0.0, 5.0, 15.0, 20.0, 40.0] {
            let found = across(&comb, y);
            let all: Vec<&Chord<Table>> = found.iter().collect();
            let total: f64 = areas(&comb, &all).iter().sum();
            assert!((total - 1500.0).abs() < 1e-9, "{y}");
        }
        assert_eq!(across(&comb, 41.0).len(), 0);
        // Along the back's upper edge the line passes below its corners.
        let found = across(&comb, 20.0);
        let all: Vec<&Chord<Table>> = found.iter().collect();
        assert_eq!(areas(&comb, &all), [600.0, 900.0]);
    }
}
