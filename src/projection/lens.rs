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
    /// Where the light of an ideal (pinhole) pixel has to start. `None` beyond
    /// the circle where the model folds back on itself: a far place must not
    /// come out as a near pixel.
    pub fn bend(&self, ideal: Point<Projector>) -> Option<Point<Projector>> {
        let (x, y) = self.normalised(ideal);
        if self.folds_by(x * x + y * y) {
            return None;
        }
        let (bx, by) = self.bent(x, y);
        Some(self.pixel(bx, by))
    }

    /// Whether the radius stops growing, d/dr r(1 + k1 r² + k2 r⁴) ≤ 0, anywhere
    /// out to the squared radius `r2`.
    fn folds_by(&self, r2: f64) -> bool {
        let growth = |s: f64| 1.0 + s * (3.0 * self.k1 + s * 5.0 * self.k2);
        let least = -0.3 * self.k1 / self.k2;
        let turning = (least > 0.0 && least < r2).then(|| growth(least));
        growth(r2).min(turning.unwrap_or(1.0)) <= 0.0 || !r2.is_finite()
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
                break;
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
        let met = (bx - tx).hypot(by - ty) < 1e-12 && !self.folds_by(x * x + y * y);
        met.then(|| self.pixel(x, y))
    }

    /// How the real pixel follows the ideal one: ∂ [`Lens::bend`], rows x and y.
    pub fn slope_at(&self, ideal: Point<Projector>) -> [[f64; 2]; 2] {
        let (x, y) = self.normalised(ideal);
        self.slope(x, y)
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
            let back = lens.straighten(lens.bend(p).unwrap()).unwrap();
            prop_assert!((back - p).length() < 1e-8);
        }
    }

    #[test]
    fn far_places_do_not_come_back_as_near_pixels() {
        let lens = Lens {
            focal: 1500.0,
            centre: Point::new(960.0, 540.0),
            k1: -0.25,
            k2: 0.0,
            p1: 0.0,
            p2: 0.0,
        };
        // 1 + 3 k1 r² = 0 at r = 1.1547: 1732 px from the centre.
        assert!(lens.bend(Point::new(960.0 + 1700.0, 540.0)).is_some());
        assert!(lens.bend(Point::new(960.0 + 1760.0, 540.0)).is_none());
        assert!(lens.straighten(Point::new(960.0 + 1400.0, 540.0)).is_none());
    }
}
