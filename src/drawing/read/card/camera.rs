//! Where the camera was: what the card's height is allowed for with.

use super::plane::Plane;
use crate::adjust::gauss_newton;
use crate::photo::Picture;
use crate::space::{Point, Table};
use nalgebra::{DMatrix, Matrix3, Rotation3, Vector3};

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
/// A camera's height by a person's tape: a share, and mm.
const TAPE: (f64, f64) = (0.01, 8.0);
/// px; no corner is known better, for lenses have more than a k1.
const FINEST: f64 = 0.1;

/// The camera's place above the sheet's plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// The point of the table straight below it.
    pub foot: Point<Table>,
    /// mm above the sheet.
    pub height: f64,
    /// Standard error of its height, mm.
    pub height_error: f64,
    /// Between the optical axis and straight down, radians.
    pub tilt: f64,
}

impl Camera {
    /// From the sheet's corners, and what is known of the lens: square pixels and an optical
    /// axis near the picture's middle leave of the eight numbers of a homography one for the
    /// focal length (Hartley & Zisserman, *Multiple View Geometry*, 8.8; Z. Zhang, *A
    /// Flexible New Technique for Camera Calibration*, 2000). Straight from above they tell
    /// nothing of it; so what is known beforehand (the noted focal length, the given height,
    /// or what cameras usually have) goes into the same least squares with its own standard
    /// deviation, and the error of the height comes out as what it is.
    ///
    /// `None` if no camera sees the sheet so.
    pub fn of(
        picture: &Picture,
        plane: &Plane,
        corners: [Point<Table>; 4],
        height: Option<f64>,
    ) -> Option<Self> {
        let diagonal = picture.diagonal();
        let middle = [picture.width as f64 / 2.0, picture.height as f64 / 2.0];
        let (focal, sure) = picture
            .focal
            .map_or((USUAL.0 * diagonal, USUAL.1), |f| (f, NOTED));
        let start = Pose::of(plane, focal, middle)?;
        // Unknowns: turns about the start (3), place (3), log of focal length, axis (2).
        let whiten = whitener(plane)?;
        let pose = |v: &[f64]| Pose {
            turn: Rotation3::from_scaled_axis(Vector3::new(v[0], v[1], v[2])) * start.turn,
            eye: start.eye + Vector3::new(v[3], v[4], v[5]),
            focal: focal * v[6].exp(),
            axis: [middle[0] + v[7], middle[1] + v[8]],
        };
        let residuals = |v: &[f64]| {
            let pose = pose(v);
            let off = DMatrix::from_fn(8, 1, |r, _| {
                let [x, y] = pose.see(corners[r / 2]);
                let seen = if r % 2 == 0 { x } else { y };
                seen - plane.unknowns[r]
            });
            let mut out: Vec<f64> = (&whiten * off).iter().copied().collect();
            out.push(v[6] / sure);
            out.push(v[7] / (CENTRED * diagonal));
            out.push(v[8] / (CENTRED * diagonal));
            if let Some(height) = height {
                out.push((pose.eye.z - height) / (TAPE.0 * height).hypot(TAPE.1));
            }
            out
        };
        let far = start.eye.z;
        let mm = 1e-4 * far;
        let scale = [1e-4, 1e-4, 1e-4, mm, mm, mm, 1e-4, 0.1, 0.1];
        let solved = gauss_newton(&[0.0; 9], &scale, residuals).ok()?;
        let found = pose(&solved.unknowns);
        let looks = found.turn.inverse() * Vector3::z();
        (found.eye.z > 0.0).then(|| Self {
            foot: Point::new(found.eye.x, found.eye.y),
            height: found.eye.z,
            height_error: solved.covariance[5][5].max(0.0).sqrt(),
            tilt: (-looks.z).clamp(-1.0, 1.0).acos(),
        })
    }

    /// Where a place at height `t` lies that is seen at `p` on the sheet's plane: light from
    /// d off the foot meets the plane d·t/(h − t) further out (similar triangles). `None`
    /// at or above the camera.
    pub fn lowered(&self, p: Point<Table>, t: f64) -> Option<Point<Table>> {
        let share = (self.height - t) / self.height;
        (share > 0.0).then(|| self.foot + (p - self.foot) * share)
    }
}

/// A pinhole camera.
struct Pose {
    /// From the table's axes to the camera's: x right, y down, z ahead.
    turn: Rotation3<f64>,
    eye: Vector3<f64>,
    focal: f64,
    axis: [f64; 2],
}

impl Pose {
    /// At a given focal length, from the homography (Zhang 2000, section 3.1).
    fn of(plane: &Plane, focal: f64, middle: [f64; 2]) -> Option<Self> {
        let h = plane.homography.rows();
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
        (turn.determinant() > 0.0).then_some(())?;
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

/// What makes the corners' errors independent and of unit size.
fn whitener(plane: &Plane) -> Option<DMatrix<f64>> {
    let covariance = DMatrix::from_fn(8, 8, |r, c| {
        plane.covariance[r][c] + if r == c { FINEST * FINEST } else { 0.0 }
    });
    covariance.cholesky()?.l().try_inverse()
}
