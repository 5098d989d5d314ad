//! Lens distortion after Brown and Conrady.

use nalgebra::{Matrix2, Vector2};

/// How far the undistorted position may still move, in normalised
/// coordinates, when Newton's method is called settled.
const SETTLED: f64 = 1e-12;

/// Newton converges quadratically; a lens that needs more steps than this is
/// one the picture point cannot be reached through.
const STEPS: usize = 30;

/// Distortion coefficients, dimensionless, in the sense and with the names of
/// the OpenCV camera model (documentation of the module `calib3d`).
///
/// They act on normalised coordinates (x, y) = (X/Z, Y/Z) in the projector's
/// frame: with r² = x² + y² and s = 1 + k1·r² + k2·r⁴ + k3·r⁶,
///
/// * x″ = x·s + 2·p1·x·y + p2·(r² + 2x²)
/// * y″ = y·s + p1·(r² + 2y²) + 2·p2·x·y
///
/// The default is a perfect lens.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lens {
    /// Radial, on r².
    pub k1: f64,
    /// Radial, on r⁴.
    pub k2: f64,
    /// Tangential, first.
    pub p1: f64,
    /// Tangential, second.
    pub p2: f64,
    /// Radial, on r⁶.
    pub k3: f64,
}

impl Lens {
    /// Where the ideal position `ideal` is seen through the lens. Both are in
    /// normalised coordinates.
    pub fn distort(&self, ideal: Vector2<f64>) -> Vector2<f64> {
        let (x, y) = (ideal.x, ideal.y);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3));
        Vector2::new(
            x * radial + 2.0 * self.p1 * x * y + self.p2 * (r2 + 2.0 * x * x),
            y * radial + self.p1 * (r2 + 2.0 * y * y) + 2.0 * self.p2 * x * y,
        )
    }

    /// The ideal position seen at `seen`, to 10⁻¹² by Newton's method.
    ///
    /// `None` where the method does not settle, or settles beyond the fold at
    /// which a strong lens starts to turn the picture inside out.
    pub fn undistort(&self, seen: Vector2<f64>) -> Option<Vector2<f64>> {
        let mut ideal = seen;
        for _ in 0..STEPS {
            let slope = self.slope(ideal);
            let step = slope.try_inverse()? * (seen - self.distort(ideal));
            ideal += step;
            if step.norm() <= SETTLED * (1.0 + ideal.norm()) {
                let unfolded = self.slope(ideal).determinant() > 0.0;
                return unfolded.then_some(ideal);
            }
        }
        None
    }

    /// The Jacobian of [`Self::distort`].
    fn slope(&self, ideal: Vector2<f64>) -> Matrix2<f64> {
        let (x, y) = (ideal.x, ideal.y);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (self.k1 + r2 * (self.k2 + r2 * self.k3));
        // The derivative of `radial` by r².
        let steep = self.k1 + r2 * (2.0 * self.k2 + r2 * 3.0 * self.k3);
        let mixed = 2.0 * (x * y * steep + self.p1 * x + self.p2 * y);
        Matrix2::new(
            radial + 2.0 * (x * x * steep + self.p1 * y + 3.0 * self.p2 * x),
            mixed,
            mixed,
            radial + 2.0 * (y * y * steep + 3.0 * self.p1 * y + self.p2 * x),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_lens_that_folds_the_picture_has_no_way_back_beyond_the_fold() {
        // x·(1 − x²) never exceeds 0.385.
        let lens = Lens {
            k1: -1.0,
            ..Lens::default()
        };
        assert!(lens.undistort(Vector2::new(0.5, 0.0)).is_none());
        assert!(lens.undistort(Vector2::new(0.3, 0.0)).is_some());
        assert!(lens.undistort(Vector2::new(f64::NAN, 0.0)).is_none());
    }

    proptest! {
        #[test]
        fn undistorting_undoes_distorting(
            k1 in -0.1..0.1f64, k2 in -0.02..0.02f64, k3 in -0.01..0.01f64,
            p1 in -0.01..0.01f64, p2 in -0.01..0.01f64,
            x in -0.7..0.7f64, y in -0.7..0.7f64,
        ) {
            let lens = Lens { k1, k2, p1, p2, k3 };
            let ideal = Vector2::new(x, y);
            let back = lens.undistort(lens.distort(ideal));
            prop_assert!(back.is_some_and(|b| (b - ideal).norm() < 1e-12));
        }
    }
}
