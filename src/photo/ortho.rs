//! The table seen straight from above: a photo's light, laid out in mm.

use super::{Picture, Pose};
use crate::fault::{Fault, Outcome, short};
use crate::raster::Raster;
use crate::space::{Bounds, Photo, Point, Table};
use rayon::prelude::*;

/// Side of a cell where nobody says, mm.
pub const CELL: f64 = 0.5;
/// Most cells: half a gigabyte.
const MOST: f64 = 40e6;
/// Rows that a core takes at a time, and how often before it is told how far all is.
const BAND: usize = 16;
const BANDS: usize = 8;
/// A reading between pixels already averages over one; apart by a little more is as good.
const APART: f64 = 1.25;
/// Most readings along a cell's side.
const READINGS: f64 = 64.0;

/// What part of the table is laid out, and how.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layout {
    pub bounds: Bounds<Table>,
    /// Side of a cell, mm, 0.05 to 50.
    pub cell: f64,
    /// How high above the table all that is seen lies, mm; needs the camera's place.
    pub height: f64,
}

/// Linear light (sRGB's primaries) of each cell; NaN in all channels where the photo does
/// not reach. Where the photo is finer than the cells, the mean over the cell; where it is
/// coarser, bilinear between pixels.
///
/// Runs on all processors. `watch` is told the share done, and stops it by `false`: then
/// there is no picture.
///
/// # Errors
/// If the cells are too many or of no size, or the photo shows nothing of the bounds.
pub fn ortho(
    picture: &Picture,
    pose: &Pose,
    layout: &Layout,
    watch: &mut dyn FnMut(f64) -> bool,
) -> Outcome<Option<Raster<[f32; 3], Table>>> {
    check(layout)?;
    let mut raster = Raster::over(layout.bounds, layout.cell, |_, _, _| [f32::NAN; 3]);
    let (width, rows) = (raster.width(), raster.height());
    let origin = raster.bounds().min;
    let from = Rows {
        picture,
        pose,
        origin,
        width,
        cell: layout.cell,
        height: layout.height,
    };
    // All cores go through one stretch of rows, the caller is told, and on to the next.
    let stretch = BANDS * BAND * rayon::current_num_threads();
    let stretches = raster.values_mut().chunks_mut(stretch * width);
    for (k, part) in stretches.enumerate() {
        let bands = part.par_chunks_mut(BAND * width).enumerate();
        bands.for_each(|(j, band)| from.fill(k * stretch + j * BAND, band));
        let done = ((k + 1) * stretch).min(rows);
        if !watch(done as f64 / rows as f64) {
            return Ok(None);
        }
    }
    debug_assert_eq!(raster.values().len(), width * rows);
    if raster.values().iter().all(|v| v[0].is_nan()) {
        return Err(Fault::input(
            "the photo shows nothing of this part of the table",
            "check the marks, or take a photo that shows it",
        ));
    }
    Ok(Some(raster))
}

fn check(layout: &Layout) -> Outcome<()> {
    let b = layout.bounds;
    let sound = b.min.is_finite() && b.max.is_finite() && b.width() > 0.0 && b.height() > 0.0;
    if !sound || !layout.height.is_finite() || !(0.05..=50.0).contains(&layout.cell) {
        return Err(Fault::input(
            "this part of the table has no size",
            "give its bounds in mm, and cells from 0.05 to 50 mm",
        ));
    }
    let cells = (b.width() / layout.cell).ceil() * (b.height() / layout.cell).ceil();
    if cells > MOST {
        return Err(Fault::input(
            format!(
                "{} by {} mm in cells of {} mm is more than fits into memory",
                short(b.width().round()),
                short(b.height().round()),
                short(layout.cell)
            ),
            "take larger cells, or a smaller part of the table",
        ));
    }
    Ok(())
}

/// What the rows of cells are read from.
struct Rows<'a> {
    picture: &'a Picture,
    pose: &'a Pose,
    origin: Point<Table>,
    width: usize,
    cell: f64,
    height: f64,
}

impl Rows<'_> {
    /// Rows of cells from `first` on.
    fn fill(&self, first: usize, band: &mut [[f32; 3]]) {
        let mut below = self.corners(first);
        for (r, row) in band.chunks_mut(self.width).enumerate() {
            let above = self.corners(first + r + 1);
            for (c, value) in row.iter_mut().enumerate() {
                // What a cell covers lies between four corners.
                if let (Some(a), Some(b), Some(c), Some(d)) =
                    (below[c], above[c], below[c + 1], above[c + 1])
                {
                    *value = self.mean(a, b, c, d);
                }
            }
            below = above;
        }
    }

    /// Where the cells' lower corners of a row are seen.
    fn corners(&self, row: usize) -> Vec<Option<Point<Photo>>> {
        let corner = |column: usize| {
            let by = Point::new(column as f64, row as f64) * self.cell;
            self.pose.pixel(self.origin + by.to_vector(), self.height)
        };
        (0..=self.width).map(corner).collect()
    }

    /// The mean over the patch that a cell is seen as: from `a` along the row to `c`, up to
    /// `b`. NaN if its middle lies outside the photo.
    fn mean(&self, a: Point<Photo>, b: Point<Photo>, c: Point<Photo>, d: Point<Photo>) -> [f32; 3] {
        let middle = (a.to_vector() + b.to_vector() + c.to_vector() + d.to_vector()) / 4.0;
        if !self.pose.holds(middle.to_point()) {
            return [f32::NAN; 3];
        }
        let along = ((c - a) + (d - b)) / 2.0;
        let up = ((b - a) + (d - c)) / 2.0;
        let many = |side: f64| (side / APART).ceil().clamp(1.0, READINGS) as i32;
        let (n, m) = (many(along.length()), many(up.length()));
        let mut sum = [0.0f32; 3];
        for j in 0..m {
            let t = (f64::from(j) + 0.5) / f64::from(m) - 0.5;
            for i in 0..n {
                let s = (f64::from(i) + 0.5) / f64::from(n) - 0.5;
                let at = middle + along * s + up * t;
                let one = self.between(at.x, at.y);
                for k in 0..3 {
                    sum[k] += one[k];
                }
            }
        }
        let share = 1.0 / (n * m) as f32;
        self.picture.settle(sum.map(|v| v * share))
    }

    /// Bilinear, in the photo's own primaries; held to the photo.
    #[inline]
    fn between(&self, x: f64, y: f64) -> [f32; 3] {
        let x = (x - 0.5).clamp(0.0, (self.picture.width - 1) as f64);
        let y = (y - 0.5).clamp(0.0, (self.picture.height - 1) as f64);
        let (c, r) = (x as usize, y as usize);
        let (fx, fy) = ((x - c as f64) as f32, (y - r as f64) as f32);
        let own = |c, r| self.picture.own(c, r);
        let [p, q, s, t] = [own(c, r), own(c + 1, r), own(c, r + 1), own(c + 1, r + 1)];
        std::array::from_fn(|k| {
            let upper = p[k] + fx * (q[k] - p[k]);
            let lower = s[k] + fx * (t[k] - s[k]);
            upper + fy * (lower - upper)
        })
    }
}

#[cfg(test)]
mod tests;
