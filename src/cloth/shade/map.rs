//! The map that is kept: mean XYZ of each cell of cloth.

use crate::colour::{Adaptation, D65, Xyz};
use crate::fault::{Fault, Outcome, short};
use crate::raster::Raster;
use crate::space::{Bounds, Point};

/// Side of a cell, mm, if nothing speaks for another: a few threads of canvas.
pub const CELL: f64 = 2.0;
/// Steps to the light of white. Up to twice as bright as white is kept; at L* 10 a step is
/// still less than 0.03 of lightness.
pub(super) const STEPS: f64 = 32_768.0;
/// Most cells: 8 m² of cloth at [`CELL`].
pub(super) const MOST: usize = 2_000_000;
/// A cell's sides that are of use, mm.
pub(super) const SIDES: std::ops::RangeInclusive<f64> = 0.25..=20.0;
/// Share of a cell that must be cloth for it to count.
const ENOUGH: f64 = 0.5;
/// Share of a cell's cloth that may be blown (our choice): the cell would look darker than it
/// is if the rest stood for it.
const BLOWN: f64 = 0.05;

/// What a sample of the light, or a cell, is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    Cloth,
    /// The table, a hole, a tag, outside of the photo.
    Other,
    /// Cloth, but too bright for the camera: how bright is not known.
    Blown,
}

/// What the photo itself may be wrong by, one standard error each: what is left of uneven
/// light and of the camera's ways, whatever the cloth. It can't be seen in the map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Of the colour at any place, CIEDE2000, ≥ 0.
    pub colour: f64,
    /// Of a slope of lightness, L* in 100 mm, ≥ 0.
    pub tilt: f64,
}

impl Doubt {
    pub const NONE: Self = Self {
        colour: 0.0,
        tilt: 0.0,
    };
}

impl Default for Doubt {
    /// *Estimate*: a photo from above in even light, made flat by the white beside the cloth.
    fn default() -> Self {
        Self {
            colour: 0.5,
            tilt: 0.2,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    /// In [`STEPS`].
    pub xyz: [u16; 3],
    pub ground: Ground,
}

impl Cell {
    pub(super) fn is_cloth(&self) -> bool {
        self.ground == Ground::Cloth
    }

    pub(super) fn colour(&self) -> Xyz {
        Xyz::from(self.xyz.map(|v| f64::from(v) / STEPS))
    }
}

/// Cells over a panel, each with the mean of its light as XYZ relative to white in D65, and
/// whether it is cloth. Values are kept in 16 bits from the start, so that a map that was
/// stored and read is the very same.
#[derive(Debug, Clone, PartialEq)]
pub struct ShadeMap<S> {
    pub(super) cells: Raster<Cell, S>,
    pub(super) white: [f64; 3],
    pub(super) doubt: Doubt,
}

impl<S> ShadeMap<S> {
    /// Averages light into cells of `cell` mm (see [`CELL`]).
    ///
    /// `light` is linear sRGB, made flat; `white` is what a perfect white would have there, in
    /// the same units (its colour is adapted to D65 by Bradford, so that a warm lamp does not
    /// count as warm cloth). `ground` says of a sample's column and row what it is of; light
    /// that is no number is [`Ground::Other`].
    ///
    /// Samples that lie across cells count in each by area. A cell counts if half of it is
    /// cloth, and is blown if a twentieth of its cloth is, or if it is twice as bright as white.
    ///
    /// # Errors
    /// If the white is none, cells are finer than the light, of a side that is of no use, or
    /// more than two million.
    pub fn measure(
        light: &Raster<[f32; 3], S>,
        white: [f64; 3],
        cell: f64,
        doubt: Doubt,
        mut ground: impl FnMut(usize, usize) -> Ground,
    ) -> Outcome<Self> {
        let to_d65 = Adaptation::between(Xyz::from_linear_srgb(white), D65).ok_or_else(|| {
            Fault::input(
                "the white beside the cloth is not white",
                "show the place of the white sheet again, or use another photo",
            )
        })?;
        if !SIDES.contains(&cell) {
            return Err(Fault::input(
                format!("cells of {} mm are of no use for shade", short(cell)),
                "take 2 mm",
            ));
        }
        let side = light.cell();
        if side > cell * (1.0 + 1e-9) {
            return Err(Fault::input(
                format!(
                    "the photo shows {} mm a point, coarser than cells of {} mm",
                    short(side),
                    short(cell)
                ),
                "take the photo from nearer",
            ));
        }
        let bounds = light.bounds();
        let many = (bounds.width() / cell).ceil() * (bounds.height() / cell).ceil();
        if many > MOST as f64 {
            return Err(Fault::input(
                "the shade of so large a cloth is too much at once",
                "take a photo for each part of it",
            ));
        }

        #[derive(Clone, Copy, Default)]
        struct Sum {
            rgb: [f64; 3],
            cloth: f64,
            blown: f64,
        }
        let mut sums = Raster::over(bounds, cell, |_, _, _| Sum::default());
        let across: Vec<_> = (0..light.width()).map(|c| shares(c, side / cell)).collect();
        for row in 0..light.height() {
            let down = shares(row, side / cell);
            for (column, across) in across.iter().enumerate() {
                let Some(rgb) = light.get(column, row) else {
                    continue;
                };
                let is = match ground(column, row) {
                    _ if rgb.iter().any(|v| !v.is_finite()) => Ground::Other,
                    is => is,
                };
                if is == Ground::Other {
                    continue;
                }
                for (r, height) in down {
                    for &(c, width) in across {
                        let share = width * height;
                        let Some(sum) = sums.get_mut(c, r).filter(|_| share > 0.0) else {
                            continue;
                        };
                        if is == Ground::Blown {
                            sum.blown += share;
                            continue;
                        }
                        sum.cloth += share;
                        for (sum, v) in sum.rgb.iter_mut().zip(rgb) {
                            *sum += share * f64::from(*v);
                        }
                    }
                }
            }
        }
        let cells = sums.map(|sum| {
            let other = Cell {
                xyz: [0; 3],
                ground: Ground::Other,
            };
            if sum.cloth + sum.blown < ENOUGH {
                return other;
            }
            let blown = Cell {
                ground: Ground::Blown,
                ..other
            };
            if sum.blown > BLOWN * (sum.cloth + sum.blown) {
                return blown;
            }
            let mean = Xyz::from_linear_srgb(sum.rgb.map(|v| v / sum.cloth));
            let steps = <[f64; 3]>::from(to_d65.apply(mean)).map(|v| (v * STEPS).round());
            if steps.iter().any(|v| *v > f64::from(u16::MAX)) {
                return blown;
            }
            Cell {
                // What is negative becomes 0.
                xyz: steps.map(|v| v as u16),
                ground: Ground::Cloth,
            }
        });
        Ok(Self {
            cells,
            white,
            doubt,
        })
    }

    /// What the cells cover.
    pub fn bounds(&self) -> Bounds<S> {
        self.cells.bounds()
    }

    /// Side of a cell, mm.
    pub fn cell(&self) -> f64 {
        self.cells.cell()
    }

    /// The white that the light was held against, linear sRGB in the photo's own units.
    pub fn white(&self) -> [f64; 3] {
        self.white
    }

    pub fn doubt(&self) -> Doubt {
        self.doubt
    }

    /// What is at a place; [`Ground::Other`] outside.
    pub fn ground(&self, p: Point<S>) -> Ground {
        self.cells.at(p).map_or(Ground::Other, |c| c.ground)
    }

    /// Mean colour of the cell at a place, relative to white in D65; `None` where that is not
    /// known.
    pub fn colour(&self, p: Point<S>) -> Option<Xyz> {
        self.cells.at(p).filter(|c| c.is_cloth()).map(Cell::colour)
    }
}

/// The two cells in a row that a sample lies in, with the share of a cell that it covers in
/// each; `side` is the sample's side in cells, at most about 1.
fn shares(index: usize, side: f64) -> [(usize, f64); 2] {
    let (from, to) = (index as f64 * side, (index + 1) as f64 * side);
    let first = from as usize;
    let edge = (first + 1) as f64;
    [
        (first, to.min(edge) - from),
        (first + 1, (to - edge).max(0.0)),
    ]
}
