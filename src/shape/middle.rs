//! The middle of an area, and whether a single ring goes round a place.

use super::{Region, Ring, bounds, pairs};
use crate::space::{Point, Vector};

impl<S> Region<S> {
    /// Its centre of gravity; where [`centroid`] has none the middle of its box, of nothing the
    /// origin.
    pub fn middle(&self) -> Point<S> {
        let Some(area) = self.bounds() else {
            return Point::origin();
        };
        let near = area.center();
        centroid(&self.rings, near).unwrap_or(near)
    }
}

/// The centre of gravity of what rings enclose, those that run the other way taken off.
/// `near`: a place nearby, so that digits are kept far from the origin.
///
/// `None` of no area, or of so little, being thin or crossing itself so that its loops take each
/// other off, that it comes out beside the rings' box.
pub fn centroid<S>(rings: &[Ring<S>], near: Point<S>) -> Option<Point<S>> {
    let (mut twice, mut sum) = (0.0, Vector::zero());
    let edges = rings.iter().flat_map(|r| pairs(r));
    for (a, b) in edges.map(|(a, b)| (a - near, b - near)) {
        let part = a.cross(b);
        twice += part;
        sum += (a + b) * (part / 3.0);
    }
    let at = (twice != 0.0).then(|| near + sum / twice)?;
    let around = bounds(rings.iter().flatten().copied())?;
    around.contains_inclusive(at).then_some(at)
}

/// Whether a ring goes round a place, whichever way it runs and even where it crosses itself:
/// by the crossings to the right of it. On the ring: either answer.
pub fn surrounds<S>(ring: &[Point<S>], p: Point<S>) -> bool {
    let crossed = pairs(ring).filter(|(a, b)| {
        let straddles = (a.y > p.y) != (b.y > p.y);
        straddles && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    });
    crossed.count() % 2 == 1
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    fn block(x: f64, y: f64, w: f64, h: f64) -> Ring<Table> {
        let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        corners.map(|(x, y)| Point::new(x, y)).to_vec()
    }

    #[test]
    fn the_middle_is_drawn_away_from_a_hole() {
        let mut hole = block(1020.0, 10.0, 20.0, 20.0);
        hole.reverse();
        let region = Region::new(vec![block(1000.0, 0.0, 40.0, 40.0), hole.clone()]);
        // 1600 mm² about 1020, less 400 about 1030.
        let at = region.middle();
        assert!((at.x - (1600.0 * 20.0 - 400.0 * 30.0) / 1200.0 - 1000.0).abs() < 1e-9);
        assert!((at.y - 20.0).abs() < 1e-9);
        // The hole by itself, though it runs clockwise.
        let own = centroid(&[hole], Point::origin()).unwrap();
        assert!((own - Point::new(1030.0, 20.0)).length() < 1e-9);
    }

    #[test]
    fn what_has_no_area_has_the_middle_of_its_box() {
        let flat = Region::ring(block(10.0, 4.0, 20.0, 0.0));
        assert_eq!(flat.middle(), Point::new(20.0, 4.0));
        assert_eq!(Region::<Table>::default().middle(), Point::origin());
    }

    #[test]
    fn loops_that_take_each_other_off_have_the_middle_of_their_box() {
        // A bow tie whose halves differ by 0.02 mm²: by division its middle lay 267 m away.
        let corners = [(0.0, 0.0), (40.0, 20.001), (40.0, 0.0), (0.0, 20.0)];
        let tie: Ring<Table> = corners.map(|(x, y)| Point::new(x, y)).to_vec();
        assert_eq!(centroid(std::slice::from_ref(&tie), tie[0]), None);
        let region = Region::ring(tie);
        assert_eq!(region.middle(), region.bounds().unwrap().center());
    }

    #[test]
    fn a_sliver_has_its_middle_within_its_box() {
        // There and back along one line, which is not quite one in numbers.
        for turn in 0..360 {
            let (sin, cos) = f64::from(turn).to_radians().sin_cos();
            let at = |far: f64| Point::<Table>::new(900.0 + far * cos, 400.0 + far * sin);
            let sliver = Region::ring([0.0, 70.0, 300.0, 110.0].map(at).to_vec());
            let middle = sliver.middle();
            let around = sliver.bounds().unwrap();
            assert!(around.contains_inclusive(middle), "{turn}: {middle:?}");
        }
    }

    #[test]
    fn a_ring_surrounds_what_is_within_whichever_way_it_runs() {
        let mut ring = block(0.0, 0.0, 40.0, 20.0);
        for _ in 0..2 {
            assert!(surrounds(&ring, Point::new(30.0, 5.0)));
            assert!(!surrounds(&ring, Point::new(-1.0, 5.0)));
            assert!(!surrounds(&ring, Point::new(30.0, 25.0)));
            ring.reverse();
        }
    }
}
