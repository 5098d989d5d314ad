//! From cells to outlines: where a field crosses zero, and what of its corners is needed.

use crate::raster::Raster;
use crate::shape::{Ring, signed_area};
use crate::space::{Point, Vector};
use std::collections::HashMap;

/// Closed lines along which `field` is zero, linear between the cells' middles, what is positive
/// on their left: outer rings run counter-clockwise, holes clockwise. Beyond the raster, and
/// where it is no number, the field counts as negative.
///
/// Marching squares (W. E. Lorensen & H. E. Cline, *Marching cubes*, 1987, in the plane).
pub(super) fn zero_lines<S>(field: &Raster<f32, S>) -> Vec<Ring<S>> {
    let (w, h) = (field.width() as i64, field.height() as i64);
    let value = |c: i64, r: i64| {
        let inside = c >= 0 && r >= 0 && c < w && r < h;
        let v = if inside {
            field.values()[(r * w + c) as usize]
        } else {
            -1.0
        };
        if v.is_nan() { -1.0 } else { f64::from(v) }
    };
    // A crossing is named by the cell at its lower left and whether it lies along x.
    type Crossing = (i64, i64, bool);
    let mut next: HashMap<Crossing, Crossing> = HashMap::new();
    for r in -1..h {
        for c in -1..w {
            let corners = [
                value(c, r),
                value(c + 1, r),
                value(c + 1, r + 1),
                value(c, r + 1),
            ];
            let case = (0..4)
                .filter(|k| corners[*k] > 0.0)
                .map(|k| 1 << k)
                .sum::<u32>();
            let (bottom, top) = ((c, r, true), (c, r + 1, true));
            let (left, right) = ((c, r, false), (c + 1, r, false));
            let mut add = |a, b| next.insert(a, b);
            match case {
                1 => add(bottom, left),
                2 => add(right, bottom),
                3 => add(right, left),
                4 => add(top, right),
                5 => {
                    add(bottom, left);
                    add(top, right)
                }
                6 => add(top, bottom),
                7 => add(top, left),
                8 => add(left, top),
                9 => add(bottom, top),
                10 => {
                    add(right, bottom);
                    add(left, top)
                }
                11 => add(right, top),
                12 => add(left, right),
                13 => add(bottom, right),
                14 => add(left, bottom),
                _ => None,
            };
        }
    }
    let place = |(c, r, along): Crossing| {
        let (dc, dr) = if along { (1, 0) } else { (0, 1) };
        let (a, b) = (value(c, r), value(c + dc, r + dr));
        let t = a / (a - b);
        let first = field.centre(0, 0);
        let at = Vector::new(c as f64 + t * dc as f64, r as f64 + t * dr as f64);
        first + at * field.cell()
    };
    let mut starts: Vec<Crossing> = next.keys().copied().collect();
    starts.sort_unstable();
    let mut rings = Vec::new();
    for start in starts {
        let mut ring = Vec::new();
        let mut at = start;
        while let Some(to) = next.remove(&at) {
            ring.push(place(at));
            at = to;
        }
        if ring.len() > 2 {
            rings.push(ring);
        }
    }
    rings
}

/// A ring with a corner every `step` mm or so, along its edges.
pub(super) fn evenly<S>(ring: &[Point<S>], step: f64) -> Ring<S> {
    let length = crate::shape::perimeter(ring);
    let n = ((length / step).round() as usize).max(8);
    let mut out = Vec::with_capacity(n);
    let (mut gone, mut k) = (0.0, 0);
    for (a, b) in crate::shape::pairs(ring) {
        let own = (b - a).length();
        while k < n && length * k as f64 / n as f64 <= gone + own {
            let t = (length * k as f64 / n as f64 - gone) / own.max(1e-12);
            out.push(a.lerp(b, t.clamp(0.0, 1.0)));
            k += 1;
        }
        gone += own;
    }
    out
}

/// A ring with fewer corners, none of those left out further than `within` mm from it (D. H.
/// Douglas & T. K. Peucker, 1973).
pub(super) fn simpler<S>(ring: &[Point<S>], within: f64) -> Ring<S> {
    if ring.len() < 4 {
        return ring.to_vec();
    }
    let far = |from: Point<S>| {
        let off = |k: &usize| (ring[*k] - from).square_length();
        (0..ring.len())
            .max_by(|a, b| off(a).total_cmp(&off(b)))
            .unwrap_or(0)
    };
    // Two corners that surely stay: the ends of about the longest line across it.
    let a = far(ring[0]);
    let b = far(ring[a]);
    let (a, b) = (a.min(b), a.max(b));
    let mut keep = vec![false; ring.len()];
    keep[a] = true;
    keep[b] = true;
    let mut open = vec![(a, b), (b, a + ring.len())];
    while let Some((from, to)) = open.pop() {
        let (p, q) = (ring[from % ring.len()], ring[to % ring.len()]);
        let along = q - p;
        let mut most = (within, None);
        for k in from + 1..to {
            let by = ring[k % ring.len()] - p;
            let t = (by.dot(along) / along.square_length().max(1e-12)).clamp(0.0, 1.0);
            let off = (by - along * t).length();
            if off > most.0 {
                most = (off, Some(k));
            }
        }
        if let Some(k) = most.1 {
            keep[k % ring.len()] = true;
            open.extend([(from, k), (k, to)]);
        }
    }
    let kept = ring.iter().zip(keep).filter(|(_, keep)| *keep);
    let out: Ring<S> = kept.map(|(p, _)| *p).collect();
    if out.len() < 3 || signed_area(&out) == 0.0 {
        return ring.to_vec();
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Bounds, Table};

    fn disc(hole: f64) -> Vec<Ring<Table>> {
        let bounds = Bounds::new(Point::new(-60.0, -60.0), Point::new(60.0, 60.0));
        let field = Raster::over(bounds, 1.0, |_, _, p: Point<Table>| {
            let off = (p - Point::zero()).length();
            (50.0 - off).min(off - hole) as f32
        });
        zero_lines(&field)
    }

    /// π r² in closed form; a chord of 1 mm lies 1 / 8r inside.
    #[test]
    fn a_disc_comes_back_with_its_area_and_its_hole_the_other_way_round() {
        let rings = disc(20.0);
        let mut areas: Vec<f64> = rings.iter().map(|r| signed_area(r)).collect();
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas.len(), 2);
        let pi = std::f64::consts::PI;
        assert!((areas[0] + pi * 400.0).abs() < 2.0, "{areas:?}");
        assert!((areas[1] - pi * 2500.0).abs() < 5.0, "{areas:?}");
    }

    #[test]
    fn simpler_keeps_within_what_it_was_told() {
        let ring = &disc(-1.0)[0];
        let few = simpler(ring, 0.15);
        assert!(few.len() < 90 && few.len() > 20, "{}", few.len());
        let few = crate::shape::Region::ring(few);
        for p in ring {
            let off = crate::shape::pairs(&few.rings[0])
                .map(|edge| crate::shape::edge_distance(edge, *p))
                .fold(f64::MAX, f64::min);
            assert!(off < 0.1501, "{off}");
        }
        assert!((evenly(ring, 2.0).len() as f64 - 157.0).abs() < 3.0);
    }
}
