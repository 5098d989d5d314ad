//! Where the camera was: what cloth of a thickness is allowed for with.

use crate::adjust::gauss_newton;
use crate::projection::Homography;
use crate::space::{Photo, Point, Table};
use nalgebra::{DMatrix, Matrix3, Rotation3, SMatrix, Vector3};

/// Focal length as a share of the picture's diagonal where nothing is known: between a
/// telephone's (26 mm on film's 43) and a camera's (50 mm), with the standard deviation of
/// its logarithm. *Estimate.*
const USUAL: (f64, f64) = (0.78, 0.35);
/// Standard deviation of the logarithm of a noted focal length: it is rounded, and cameras
/// crop a little. *Estimate.*
const NOTED: f64 = 0.05;
/// How far the optical axis lies off the picture's middle, as a share of the diagonal: lens
/// and sensor are set so, and pictures moved to steady them. *Estimate.*
const CENTRED: f64 = 0.006;
/// A camera's height by a person's tape: a share, and mm. *Estimate.*
const TAPE: (f64, f64) = (0.01, 8.0);
/// px; no place is known better, for lenses have more than k1 and k2. *Estimate.*
const FINEST: f64 = 0.1;

/// What is known of the camera beside the photo itself.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Beforehand {
    /// Focal length, px ([`Picture::focal`](crate::photo::Picture::focal)).
    pub focal: Option<f64>,
    /// Height of the lens above the table, by tape, mm.
    pub height: Option<f64>,
}

/// The camera's place above the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// The point of the table straight below it; it may lie off the table.
    pub foot: Point<Table>,
    /// mm above the table.
    pub height: f64,
    /// Standard error of its height, mm.
    pub height_error: f64,
    /// Standard error of its foot on each axis, mm.
    pub foot_error: f64,
    /// Between the optical axis and straight down, radians.
    pub tilt: f64,
}

impl Camera {
    /// From four places in the ideal picture with their covariance (x and y in turn, px²),
    /// the picture's `size`, px, and what is known of the lens.
    ///
    /// Square pixels and an optical axis near the picture's middle leave of the eight
    /// numbers of a homography one for the focal length (Hartley & Zisserman, *Multiple View
    /// Geometry*, 8.8; Z. Zhang, *A Flexible New Technique for Camera Calibration*, 2000).
    /// Straight from above they tell nothing of it; so what is known beforehand goes into
    /// the same least squares with its own standard deviation.
    ///
    /// `None` if no camera sees the table so.
    pub fn of(
        homography: &Homography<Table, Photo>,
        places: [Point<Table>; 4],
        covariance: &SMatrix<f64, 8, 8>,
        size: [usize; 2],
        known: &Beforehand,
    ) -> Option<Self> {
        let [w, h] = size.map(|v| v as f64);
        let (diagonal, middle) = (w.hypot(h), [w / 2.0, h / 2.0]);
        let (focal, sure) = known
            .focal
            .map_or((USUAL.0 * diagonal, USUAL.1), |f| (f, NOTED));
        let start = Stand::of(homography, focal, middle)?;
        let noise = covariance + SMatrix::<f64, 8, 8>::identity() * (FINEST * FINEST);
        let whiten = noise.cholesky()?.l().try_inverse()?;
        let mut seen = [[0.0; 2]; 4];
        for (seen, place) in seen.iter_mut().zip(places) {
            *seen = homography.point(place)?.to_array();
        }
        // Unknowns: turns about the start (3), place (3), log of focal length, axis (2).
        let stand = |v: &[f64]| Stand {
            turn: Rotation3::from_scaled_axis(Vector3::new(v[0], v[1], v[2])) * start.turn,
            eye: start.eye + Vector3::new(v[3], v[4], v[5]),
            focal: focal * v[6].exp(),
            axis: [middle[0] + v[7], middle[1] + v[8]],
        };
        let residuals = |v: &[f64]| {
            let stand = stand(v);
            let off = DMatrix::from_fn(8, 1, |r, _| {
                stand.see(places[r / 2])[r % 2] - seen[r / 2][r % 2]
            });
            let mut out: Vec<f64> = (whiten * off).iter().copied().collect();
            out.push(v[6] / sure);
            out.push(v[7] / (CENTRED * diagonal));
            out.push(v[8] / (CENTRED * diagonal));
            if let Some(height) = known.height {
                out.push((stand.eye.z - height) / (TAPE.0 * height).hypot(TAPE.1));
            }
            out
        };
        let mm = 1e-4 * start.eye.z;
        let scale = [1e-4, 1e-4, 1e-4, mm, mm, mm, 1e-4, 0.1, 0.1];
        let solved = gauss_newton(&[0.0; 9], &scale, residuals).ok()?;
        let found = stand(&solved.unknowns);
        let looks = found.turn.inverse() * Vector3::z();
        let variance = |k: usize| solved.covariance[k][k].max(0.0);
        (found.eye.z > 0.0).then(|| Self {
            foot: Point::new(found.eye.x, found.eye.y),
            height: found.eye.z,
            height_error: variance(5).sqrt(),
            foot_error: ((variance(3) + variance(4)) / 2.0).sqrt(),
            tilt: (-looks.z).clamp(-1.0, 1.0).acos(),
        })
    }

    /// Where the table plane is hidden by `p` at `height` mm: similar triangles, d·t/(h − t)
    /// further out from the foot. `None` at or above the camera.
    pub fn shadow(&self, p: Point<Table>, height: f64) -> Option<Point<Table>> {
        let clear = self.height - height;
        (clear > 0.0).then(|| p + (p - self.foot) * (height / clear))
    }

    /// What is seen at `p` of the table plane if it lies at `height` mm: the way back of
    /// [`Camera::shadow`]. `None` at or above the camera.
    pub fn lifted(&self, p: Point<Table>, height: f64) -> Option<Point<Table>> {
        let share = (self.height - height) / self.height;
        (share > 0.0).then(|| self.foot + (p - self.foot) * share)
    }

    /// Standard error of [`Camera::lifted`] on each axis, mm, by what is not known of the
    /// camera.
    pub(super) fn error(&self, p: Point<Table>, height: f64) -> f64 {
        let clear = (self.height - height).max(1.0);
        let by_height = (p - self.foot).length() * height / (clear * clear) * self.height_error;
        // Along one direction only: the root mean square over both axes.
        (by_height / std::f64::consts::SQRT_2).hypot(height / clear * self.foot_error)
    }
}

/// A pinhole camera.
struct Stand {
    /// From the table's axes to the camera's: x right, y down, z ahead.
    turn: Rotation3<f64>,
    eye: Vector3<f64>,
    focal: f64,
    axis: [f64; 2],
}

impl Stand {
    /// At a given focal length, from the homography (Zhang 2000, section 3.1).
    fn of(map: &Homography<Table, Photo>, focal: f64, middle: [f64; 2]) -> Option<Self> {
        let h = map.rows();
        let column = |c: usize| {
            Vector3::new(
                (h[0][c] - middle[0] * h[2][c]) / focal,
                (h[1][c] - middle[1] * h[2][c]) / focal,
                h[2][c],
            )
        };
        let (a, b, c) = (column(0), column(1), column(2));
        let scale = (a.norm() * b.norm()).sqrt();
        let (a, b, c) = (a / scale, b / scale, c / scale);
        let rough = Matrix3::from_columns(&[a, b, a.cross(&b)]);
        if !rough.iter().chain(c.iter()).all(|v| v.is_finite()) {
            return None;
        }
        let svd = rough.svd(true, true);
        let turn = svd.u? * svd.v_t?;
        if turn.determinant() <= 0.0 {
            return None;
        }
        let turn = Rotation3::from_matrix_unchecked(turn);
        Some(Self {
            eye: -(turn.inverse() * c),
            turn,
            focal,
            axis: middle,
        })
    }

    fn see(&self, p: Point<Table>) -> [f64; 2] {
        let v = self.turn * (Vector3::new(p.x, p.y, 0.0) - self.eye);
        [
            self.axis[0] + self.focal * v.x / v.z,
            self.axis[1] + self.focal * v.y / v.z,
        ]
    }
}
