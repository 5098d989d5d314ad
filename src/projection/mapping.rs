//! The whole way from a place at some height above the table to a pixel.

use super::{Homography, Lens};
use crate::space::{Point, Projector, Table, Vector};

/// Where the lens is: what height corrections need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LensPlace {
    /// The point of the table straight below the lens; it may lie off the table.
    pub foot: Point<Table>,
    /// Height of the lens above the table, mm, > 0.
    pub height: f64,
}

/// Table to projector: height plane, then homography, then lens.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mapping {
    pub homography: Homography<Table, Projector>,
    pub lens: Option<Lens>,
    pub lens_place: Option<LensPlace>,
}

impl Mapping {
    /// A mapping without lens or height: what four marks can tell.
    pub fn plane(homography: Homography<Table, Projector>) -> Self {
        Self {
            homography,
            lens: None,
            lens_place: None,
        }
    }

    /// The mapping for pages that are drawn in px: what stands for table mm is
    /// px, y *down*. Its orientation comes out as mirrored, which is right:
    /// an outline of positive area in y-down numbers runs clockwise to the eye.
    pub fn pixels() -> Self {
        let rows = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
        Self::plane(Homography::from_rows(rows).expect("the identity can be undone"))
    }

    /// Where on the table plane to aim so that the light meets `p` at
    /// `height` mm above the table: light that lands d from the lens foot must
    /// aim d·t/(h−t) further out (similar triangles). Without a known lens
    /// place, `p` itself. `None` at or above the lens.
    #[inline]
    pub fn aim(&self, p: Point<Table>, height: f64) -> Option<Point<Table>> {
        let Some(lens) = self.lens_place else {
            return Some(p);
        };
        let clear = lens.height - height;
        (clear > 0.0).then(|| p + (p - lens.foot) * (height / clear))
    }

    /// The projector pixel that lights `p` at `height` mm above the table.
    /// `None` behind the projector, or beyond what the lens can reach.
    #[inline]
    pub fn pixel(&self, p: Point<Table>, height: f64) -> Option<Point<Projector>> {
        let ideal = self.homography.point(self.aim(p, height)?)?;
        match &self.lens {
            Some(lens) => lens.bend(ideal),
            None => Some(ideal),
        }
    }

    /// How far in front of the projector's horizon the aim of `p` lies, as a
    /// positive number; zero or less cannot be lit.
    #[inline]
    pub fn depth(&self, p: Point<Table>, height: f64) -> f64 {
        self.aim(p, height)
            .map_or(f64::NEG_INFINITY, |aim| self.homography.depth(aim))
    }

    /// The place on the table plane that pixel `q` lights.
    pub fn place(&self, q: Point<Projector>) -> Option<Point<Table>> {
        let ideal = match &self.lens {
            Some(lens) => lens.straighten(q)?,
            None => q,
        };
        self.homography.inverse()?.point(ideal)
    }

    /// The size of a projector pixel at `p` in its longest direction, mm.
    /// `None` where there is no light.
    pub fn pixel_size(&self, p: Point<Table>, height: f64) -> Option<f64> {
        // Central differences over 1 mm: the map is smooth on a scale of metres.
        let step = 0.5;
        let at = |dx: f64, dy: f64| self.pixel(p + Vector::new(dx, dy), height);
        let du = at(step, 0.0)? - at(-step, 0.0)?;
        let dv = at(0.0, step)? - at(0.0, -step)?;
        // The smaller singular value of the Jacobian, in px per mm.
        let (e, f) = (du.square_length() + dv.square_length(), du.cross(dv));
        let small = ((e - (e * e - 4.0 * f * f).max(0.0).sqrt()) / 2.0)
            .max(0.0)
            .sqrt();
        (small > 0.0).then(|| 1.0 / small)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain() -> Mapping {
        // 2 px to the millimetre along x, 4 along y, y down.
        let rows = [[2.0, 0.0, 10.0], [0.0, -4.0, 900.0], [0.0, 0.0, 1.0]];
        let h = Homography::from_rows(rows).unwrap();
        Mapping::plane(h)
    }

    #[test]
    fn the_coarsest_side_of_a_pixel_counts() {
        let size = plain().pixel_size(Point::new(100.0, 100.0), 0.0).unwrap();
        assert!((size - 0.5).abs() < 1e-9);
    }

    #[test]
    fn light_for_thick_cloth_aims_further_out() {
        let mut map = plain();
        map.lens_place = Some(LensPlace {
            foot: Point::new(0.0, 0.0),
            height: 1500.0,
        });
        // Similar triangles: lens 1500 mm up, 600 mm out, cloth of 5 mm: 2 mm.
        let aim = map.aim(Point::new(600.0, 0.0), 5.0).unwrap();
        assert!((aim.x - 600.0 - 600.0 * 5.0 / 1495.0).abs() < 1e-12);
        assert!(map.aim(Point::new(600.0, 0.0), 1500.0).is_none());
    }
}
