//! Outlines as the search takes them: one ring in f32, as few corners as serve, never less
//! than the part and never more than the free area.

use crate::lay::Face;
use crate::shape::{Hull, Region, Ring, edge_distance, offset, signed_area};
use crate::space::{Piece, Point, Rigid, Vector};

/// What parts are grown and free areas shrunk by besides, mm: room for fewer corners and for
/// the engine's f32, which is right to 0.0001 mm within a metre.
pub(super) const SLACK: f64 = 0.05;

/// Of the slack, corners may take so much, mm; arcs of an offset fall short by
/// [`crate::shape::ARC_ERROR`] = 0.003.
const CORNERS: f64 = 0.04;

/// Corners nearer than this are one, mm.
const SAME: f64 = 1e-3;

/// The outer ring as it is; `None` if there is no such.
pub(super) fn exact<S>(region: &Region<S>) -> Option<Vec<[f32; 2]>> {
    let rings = region.rings.iter();
    let outer = rings.max_by(|a, b| signed_area(a).total_cmp(&signed_area(b)))?;
    in_f32(outer, Vector::zero())
}

/// Rings of f32, from `origin`; `None` if fewer than three corners differ.
pub(super) fn in_f32<S>(ring: &[Point<S>], origin: Vector<S>) -> Option<Vec<[f32; 2]>> {
    let near = |a: &Point<S>, b: &Point<S>| (*a - *b).length() < SAME;
    let mut kept: Vec<Point<S>> = Vec::with_capacity(ring.len());
    for p in ring {
        if !kept.last().is_some_and(|q| near(p, q)) {
            kept.push(*p);
        }
    }
    while kept.len() > 1 && near(&kept[0], &kept[kept.len() - 1]) {
        kept.pop();
    }
    let ring = kept.iter().map(|p| *p - origin);
    (kept.len() > 2).then(|| ring.map(|p| [p.x as f32, p.y as f32]).collect())
}

/// Outlines that hold a part grown by `by` mm, turned over if it lies face down: the nearest
/// first, then coarser ones for where that one crosses itself in f32.
pub(super) fn grown(part: &Region<Piece>, face: Face, by: f64) -> Vec<Vec<[f32; 2]>> {
    let over: Rigid<Piece, Piece> = Rigid::new(face == Face::Down, 0.0, Vector::zero());
    let wide = offset(&part.moved(&over), by + SLACK);
    let mut outer = wide.rings.iter().filter(|r| signed_area(r) > 0.0);
    let mut tries: Vec<Ring<Piece>> = Vec::new();
    if let (Some(ring), None) = (outer.next(), outer.next()) {
        tries.push(simple(ring, CORNERS));
        tries.push(ring.clone());
    }
    let all = wide.rings.iter().flatten().copied();
    tries.extend(Hull::of(all).map(|h| h.corners().to_vec()));
    let tries = tries.iter();
    tries.filter_map(|r| in_f32(r, Vector::zero())).collect()
}

/// The ring with fewer corners: none of its points moves by more than `tolerance`.
///
/// Ramer (1972) and Douglas & Peucker (1973), from two corners far apart.
pub(super) fn simple<S>(ring: &[Point<S>], tolerance: f64) -> Ring<S> {
    let n = ring.len();
    if n < 4 {
        return ring.to_vec();
    }
    let far = |from: usize| {
        let length = |k: &usize| (ring[*k] - ring[from]).square_length();
        (0..n).max_by(|a, b| length(a).total_cmp(&length(b)))
    };
    // The ends of the longest way are corners that stay whatever is done.
    let first = far(0).unwrap_or(0);
    let second = far(first).unwrap_or(0);
    let turned: Vec<Point<S>> = (0..=n).map(|k| ring[(first + k) % n]).collect();
    let middle = (second + n - first) % n;
    let mut keep = vec![false; n + 1];
    (keep[0], keep[middle], keep[n]) = (true, true, true);
    let mut runs = vec![(0, middle), (middle, n)];
    while let Some((from, to)) = runs.pop() {
        let edge = (turned[from], turned[to]);
        let off = |k: usize| edge_distance(edge, turned[k]);
        let worst = (from + 1..to).max_by(|&j, &k| off(j).total_cmp(&off(k)));
        if let Some(k) = worst.filter(|&k| off(k) > tolerance) {
            keep[k] = true;
            runs.extend([(from, k), (k, to)]);
        }
    }
    (0..n).filter(|&k| keep[k]).map(|k| turned[k]).collect()
}

/// Free area, shrunk by `by` mm and a little more, in rings of few corners.
pub(super) fn shrunk<S>(area: &Region<S>, by: f64) -> Region<S> {
    offset(area, -(by + SLACK))
}

/// As [`simple`], as far as free areas may.
pub(super) fn fewer<S>(ring: &[Point<S>]) -> Ring<S> {
    simple(ring, CORNERS)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::difference;

    fn region(ring: &[[f32; 2]]) -> Region<Piece> {
        let at = |p: &[f32; 2]| Point::new(f64::from(p[0]), f64::from(p[1]));
        Region::ring(ring.iter().map(at).collect())
    }

    fn wave() -> Region<Piece> {
        let at = |k: usize| {
            let t = std::f64::consts::TAU * k as f64 / 3000.0;
            let r = 80.0 + 25.0 * (5.0 * t).cos() + 6.0 * (11.0 * t).sin();
            Point::new(r * t.cos(), r * t.sin())
        };
        Region::ring((0..3000).map(at).collect())
    }

    #[test]
    fn the_grown_outline_holds_the_part_and_its_margin_in_few_corners() {
        for face in [Face::Up, Face::Down] {
            let over: Rigid<Piece, Piece> = Rigid::new(face == Face::Down, 0.0, Vector::zero());
            let exact = offset(&wave(), 1.5).moved(&over);
            let ours = grown(&wave(), face, 1.5);
            let near = region(&ours[0]);
            assert!(difference(&exact, &near).area() < 1e-9);
            assert!(difference(&near, &exact).area() < 0.1 * 700.0);
            assert!(ours[0].len() < 400, "{}", ours[0].len());
            // The hull is the last resort.
            assert!(difference(&exact, &region(ours.last().unwrap())).area() < 1e-9);
        }
    }

    #[test]
    fn what_falls_in_two_parts_goes_in_its_hull() {
        let mut two = Region::<Piece>::disc(Point::new(-30.0, 0.0), 5.0);
        two.append(Region::disc(Point::new(30.0, 0.0), 5.0));
        let ours = grown(&two, Face::Up, 1.0);
        assert_eq!(ours.len(), 1);
        assert!(difference(&offset(&two, 1.0), &region(&ours[0])).area() < 1e-9);
    }

    #[test]
    fn a_square_with_points_along_its_sides_is_a_square() {
        let ring: Ring<Piece> = (0..40)
            .map(|k| {
                let at = f64::from(k % 10);
                [(at, 0.0), (10.0, at), (10.0 - at, 10.0), (0.0, 10.0 - at)][k as usize / 10]
            })
            .map(|(x, y)| Point::new(x, y))
            .collect();
        assert_eq!(simple(&ring, 1e-9).len(), 4);
        assert_eq!(signed_area(&simple(&ring, 1e-9)), 100.0);
    }
}
