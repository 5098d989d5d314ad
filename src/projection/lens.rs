//! The lens that bends straight lines: Brown–Conrady, as OpenCV defines it.

use crate::space::{Point, Projector};

/// Radial (`k1`, `k2`) and tangential (`p1`, `p2`) distortion about a centre.
///
/// With x = (u − cx)/f, y = (v − cy)/f and r² = x² + y², an ideal pixel moves
/// to x·(1 + k1 r² + k2 r⁴) + 2 p1 x y + p2 (r² + 2x²), and
/// y·(1 + k1 r² + k2 r⁴) + p1 (r² + 2y²) + 2 p2 x y.
/// Source: OpenCV, *Camera Calibration and 3D Reconstruction*, `projectPoints`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lens {
    /// Focal length in px; scales the coefficients.
    pub focal: f64,
    /// Where the optical axis meets the picture; outside it for a shifted lens.
    pub centre: Point<Projector>,
    pub k1: f64,
    pub k2: f64,
    pub p1: f64,
    pub p2: f64,
}

impl Lens {
    /// Where the light of an ideal (pinhole) pixel has to start.
    pub fn bend(&self, ideal: Point<Projector>) -> Point<Projector> {
        let (x, y) = self.normalised(ideal);
        let (bx, by) = self.bent(x, y);
        self.pixel(bx, by)
    }

    /// The ideal pixel of a real one: the inverse of [`Lens::bend`], by Newton.
    /// `None` where the lens folds over, far outside the picture.
    pub fn straighten(&self, real: Point<Projector>) -> Option<Point<Projector>> {
        let (tx, ty) = self.normalised(real);
        let (mut x, mut y) = (tx, ty);
        for _ in 0..50 {
            let (bx, by) = self.bent(x, y);
            let (ex, ey) = (bx - tx, by - ty);
            if ex.hypot(ey) < 1e-14 {
                return Some(self.pixel(x, y));
            }
            let [[a, b], [c, d]] = self.slope(x, y);
            let det = a * d - b * c;
            if det.abs() < 1e-6 {
                return None;
            }
            x -= (d * ex - b * ey) / det;
            y -= (a * ey - c * ex) / det;
        }
        let (bx, by) = self.bent(x, y);
        ((bx - tx).hypot(by - ty) < 1e-12).then(|| self.pixel(x, y))
    }

    fn normalised(&self, p: Point<Projector>) -> (f64, f64) {
        (
            (p.x - self.centre.x) / self.focal,
            (p.y - self.centre.y) / self.focal,
        )
    }

    fn pixel(&self, x: f64, y: f64) -> Point<Projector> {
        Point::new(
            self.centre.x + self.focal * x,
            self.centre.y + self.focal * y,
        )
    }

    fn bent(&self, x: f64, y: f64) -> (f64, f64) {
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k1 + r2 * self.k2);
        (
            x * radial + 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x),
            y * radial + self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y,
        )
    }

    /// The Jacobian of [`Lens::bent`].
    fn slope(&self, x: f64, y: f64) -> [[f64; 2]; 2] {
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k1 + r2 * self.k2);
        let dr = 2.0 * (self.k1 + 2.0 * r2 * self.k2);
        let cross = x * y * dr + 2.0 * (self.p1 * x + self.p2 * y);
        [
            [
                radial + x * x * dr + 2.0 * self.p1 * y + 6.0 * self.p2 * x,
                cross,
            ],
            [
                cross,
                radial + y * y * dr + 6.0 * self.p1 * y + 2.0 * self.p2 * x,
            ],
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn straighten_undoes_bend(
            x in 0.0..1920.0f64, y in 0.0..1080.0f64,
            k1 in -0.08..0.08f64, k2 in -0.02..0.02f64,
            p1 in -0.004..0.004f64, p2 in -0.004..0.004f64,
        ) {
            let lens = Lens { focal: 2000.0, centre: Point::new(960.0, 1080.0), k1, k2, p1, p2 };
            let p = Point::new(x, y);
            let back = lens.straighten(lens.bend(p)).unwrap();
            prop_assert!((back - p).length() < 1e-8);
        }
    }
}
