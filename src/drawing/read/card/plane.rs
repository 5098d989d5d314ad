//! From the photo to the table: the lens straightened, the sheet's plane laid flat.

use super::sheet::Sheet;
use crate::adjust::{Solved, gauss_newton};
use crate::fault::{Fault, Outcome};
use crate::photo::{Beforehand, Camera, Picture};
use crate::projection::{Homography, Lens};
use crate::space::{Photo, Point, Table};
use nalgebra::SMatrix;

/// A lens that is not this many times its standard error is taken as none: it could only
/// bend what is straight.
const EARNS: f64 = 4.0;
/// Neighbours that are taken together to see whether they err alike.
const BLOCK: usize = 8;

/// The table's plane as the photo shows it.
pub struct Plane {
    lens: Lens,
    /// From the table to the straightened photo.
    homography: Homography<Table, Photo>,
    back: Homography<Photo, Table>,
    size: [f64; 2],
    /// The sheet's corners in the straightened photo and, last, k1.
    unknowns: Vec<f64>,
    /// Of `unknowns`; with k1 fixed its row and column are 0.
    pub covariance: Vec<Vec<f64>>,
    /// Standard deviation of a place on a side, px.
    pub noise: f64,
}

impl Plane {
    /// From the places on the sheet's four sides: straight lines are straight when the lens
    /// is undone, so the four sides and k1 are found together, by least squares of the
    /// places' distances from their sides.
    ///
    /// # Errors
    /// If the sides do not fix four corners.
    pub fn of(picture: &Picture, sheet: &Sheet) -> Outcome<Self> {
        let loose = || {
            Fault::input(
                "the sheet's sides do not fix its corners",
                "lay the sheet flat, wholly in view, and take the photo from nearer",
            )
        };
        let start = start(sheet).ok_or_else(loose)?;
        let bare = lens(picture, 0.0);
        let straight =
            |lens: &Lens, p: Point<Photo>| Some(lens.straighten(p.cast_unit())?.cast_unit());
        let off = |corners: &[f64], lens: &Lens| -> Vec<f64> {
            let corner =
                |k: usize| Point::<Photo>::new(corners[2 * (k % 4)], corners[2 * (k % 4) + 1]);
            let side = |k: usize| {
                let (from, to) = (corner(k), corner(k + 1));
                let dir = (to - from).normalize();
                sheet.sides.places[k].iter().map(move |&p| {
                    straight(lens, p).map_or(f64::NAN, |p: Point<Photo>| dir.cross(p - from))
                })
            };
            (0..4).flat_map(side).collect()
        };
        let bent = |v: &[f64]| off(&v[..8], &lens(picture, v[8]));
        let plain = |v: &[f64]| off(v, &bare);
        let mut scale = vec![0.1; 9];
        scale[8] = 1e-4;
        let mut with = start.to_vec();
        with.push(0.0);
        let with = gauss_newton(&with, &scale, bent).map_err(|_| loose())?;
        let factor = error_factor(&with);
        let k1 = with.unknowns[8];
        let earns = k1.abs() > EARNS * (with.covariance[8][8]).sqrt() * factor;
        let solved = if earns {
            with
        } else {
            let mut solved = gauss_newton(&start, &scale[..8], plain).map_err(|_| loose())?;
            solved.unknowns.push(0.0);
            for row in &mut solved.covariance {
                row.push(0.0);
            }
            solved.covariance.push(vec![0.0; 9]);
            solved
        };
        let factor = error_factor(&solved);
        let noise = (solved.chi2 / solved.freedom as f64).sqrt();
        let mut covariance = solved.covariance;
        for v in covariance.iter_mut().flatten() {
            *v *= factor * factor;
        }
        Self::new(picture, sheet.size, solved.unknowns, covariance, noise).ok_or_else(loose)
    }

    fn new(
        picture: &Picture,
        size: [f64; 2],
        unknowns: Vec<f64>,
        covariance: Vec<Vec<f64>>,
        noise: f64,
    ) -> Option<Self> {
        let corner = |k: usize| Point::new(unknowns[2 * k], unknowns[2 * k + 1]);
        let [w, h] = size;
        let on_table = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(|(x, y)| Point::new(x, y));
        let homography = Homography::through(on_table, std::array::from_fn(corner))?;
        Some(Self {
            lens: lens(picture, unknowns[8]),
            back: homography.inverse()?,
            homography,
            size,
            covariance,
            noise,
            unknowns,
        })
    }

    /// The same plane with its unknowns moved: how errors get to the table.
    pub fn moved(&self, picture: &Picture, unknown: usize, by: f64) -> Option<Self> {
        let mut unknowns = self.unknowns.clone();
        unknowns[unknown] += by;
        Self::new(picture, self.size, unknowns, Vec::new(), self.noise)
    }

    /// Where the camera was above the sheet, from its `corners` and, if it was measured, its
    /// `height` above it, mm: what the card's height is allowed for with. `None` if no camera
    /// sees the sheet so.
    pub fn camera(
        &self,
        picture: &Picture,
        corners: [Point<Table>; 4],
        height: Option<f64>,
    ) -> Option<Camera> {
        let covariance = SMatrix::from_fn(|r, c| self.covariance[r][c]);
        let size = [picture.width, picture.height];
        let focal = picture.focal;
        let known = Beforehand { focal, height };
        Camera::of(&self.homography, corners, &covariance, size, &known)
    }

    /// The lens' k1, at a focal length of the picture's longer side; 0 if it has not earned
    /// its place.
    pub fn k1(&self) -> f64 {
        self.lens.k1
    }

    /// The place on the sheet's plane that is seen at `p`.
    pub fn table(&self, p: Point<Photo>) -> Option<Point<Table>> {
        self.back
            .point(self.lens.straighten(p.cast_unit())?.cast_unit())
    }

    /// Where in the photo a place on the sheet's plane is seen.
    pub fn photo(&self, p: Point<Table>) -> Option<Point<Photo>> {
        let ideal = self.homography.point(p)?;
        Some(self.lens.bend(ideal.cast_unit())?.cast_unit())
    }
}

/// A lens about the picture's middle. [`Lens`] speaks of projectors; in px a camera's is the
/// same.
fn lens(picture: &Picture, k1: f64) -> Lens {
    let (w, h) = (picture.width as f64, picture.height as f64);
    Lens {
        focal: w.max(h),
        centre: Point::new(w / 2.0, h / 2.0),
        k1,
        k2: 0.0,
        p1: 0.0,
        p2: 0.0,
    }
}

/// The corners where straight lines through the sides' outer places meet.
fn start(sheet: &Sheet) -> Option<[f64; 8]> {
    let line = |k: usize| {
        let side = &sheet.sides.places[k];
        Some((*side.first()?, *side.last()?))
    };
    let mut corners = [0.0; 8];
    for k in 0..4 {
        let ((a, b), (c, d)) = (line((k + 3) % 4)?, line(k)?);
        let share = (c - a).cross(d - c) / (b - a).cross(d - c);
        let at = a + (b - a) * share;
        (corners[2 * k], corners[2 * k + 1]) = (at.x, at.y);
    }
    corners.iter().all(|v| v.is_finite()).then_some(corners)
}

/// What the covariance's root is to be multiplied by: the places' standard deviation, more
/// where neighbours err alike (a table's grain, a wavy side), as the means of blocks tell.
fn error_factor(solved: &Solved) -> f64 {
    let variance = solved.chi2 / solved.freedom as f64;
    let blocks: Vec<f64> = solved
        .residuals
        .chunks_exact(BLOCK)
        .map(|b| b.iter().sum::<f64>() / BLOCK as f64)
        .collect();
    let of_means = blocks.iter().map(|m| m * m).sum::<f64>() / blocks.len().max(1) as f64;
    (of_means * BLOCK as f64).max(variance).sqrt()
}
