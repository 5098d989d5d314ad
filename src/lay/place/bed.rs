//! The cloth as a place for one piece: what must hold it, what it must keep off.

use super::cells::{Cells, Grid, Run};
use crate::shape::{Region, difference, intersection, near, offset};
use crate::space::{Bounds, Cloth, Point, Rigid, Vector};
use std::f64::consts::PI;

/// Added to the gap, mm: more than round joins and rounding take off it.
const SURELY: f64 = 0.01;

/// Areas up to this, mm², are rounding, not cloth.
const ROUNDING: f64 = 0.05;

/// How far a half plane reaches, mm: past all that a job can hold.
const FAR: f64 = 1e6;

/// One panel and what lies on it, cloth space.
#[derive(Debug, Clone, Default)]
pub struct Bed {
    /// Each of these must hold the whole piece: the panel, the ply beneath, the light.
    pub within: Vec<Region<Cloth>>,
    /// The piece may touch these and not lie on them: places to keep out of, holes.
    pub clear_of: Vec<Region<Cloth>>,
    /// Other pieces, kept `gap` mm from.
    pub taken: Vec<Region<Cloth>>,
    /// mm, ≥ 0: the guide band's width at least.
    pub gap: f64,
    /// Warp direction, degrees counter-clockwise from +x; the way of the nap.
    pub warp_deg: f64,
}

impl Bed {
    /// The least box about all cloth that may be cut; `None` if there is none.
    pub fn bounds(&self) -> Option<Bounds<Cloth>> {
        let boxes = self.within.iter().map(Region::bounds);
        let common = boxes.reduce(|a, b| a?.intersection(&b?))??;
        (common.min.is_finite() && common.max.is_finite()).then_some(common)
    }

    /// The cells of which every point is free. With a gap: to lay cloth in, not to put
    /// its edge on.
    pub(super) fn free(
        &self,
        grid: &Grid<Cloth>,
        width: usize,
        height: usize,
        pad: usize,
    ) -> Cells {
        let rows = height as i32;
        let holds = |region: &Region<Cloth>| grid.within(region, 0, rows);
        let bars = |region: &Region<Cloth>| grid.touched(region, 0, rows);
        let none = Cells::none(width, height, pad);
        self.cells(&none, (holds, bars), self.gap.max(0.0) + SURELY)
    }

    /// The cells that are not wholly taken: what of a piece may perhaps lie there. With a
    /// piece's inner cells it tells where it can't be.
    pub(super) fn perhaps(
        &self,
        grid: &Grid<Cloth>,
        width: usize,
        height: usize,
        pad: usize,
    ) -> Cells {
        let rows = height as i32;
        let holds = |region: &Region<Cloth>| grid.touched(region, 0, rows);
        let bars = |region: &Region<Cloth>| grid.within(region, 0, rows);
        let none = Cells::none(width, height, pad);
        self.cells(&none, (holds, bars), self.gap.max(0.0))
    }

    /// The cells that all that must hold a piece holds, less those that anything else bars,
    /// pieces grown by `gap` mm.
    fn cells(
        &self,
        none: &Cells,
        (holds, bars): (
            impl Fn(&Region<Cloth>) -> Vec<Run>,
            impl Fn(&Region<Cloth>) -> Vec<Run>,
        ),
        gap: f64,
    ) -> Cells {
        let all = self.within.iter().map(|region| {
            let mut held = none.clone();
            for run in holds(region) {
                held.put(run, true);
            }
            held
        });
        let mut left = all
            .reduce(|mut a, b| {
                a.keep(&b);
                a
            })
            .unwrap_or_else(|| none.clone());
        let mut bar = |region: &Region<Cloth>| {
            for run in bars(region) {
                left.put(run, false);
            }
        };
        self.clear_of.iter().for_each(&mut bar);
        for piece in &self.taken {
            bar(&offset(piece, gap));
        }
        left
    }

    /// Whether a piece lies well, to the last micrometre: it is held, lies on nothing that
    /// it must be clear of, and keeps the gap. Areas up to 0.05 mm² are rounding.
    pub(super) fn takes(&self, piece: &Region<Cloth>) -> bool {
        let Some(own) = piece.bounds() else {
            return false;
        };
        let held = |w: &Region<Cloth>| difference(piece, w).area() <= ROUNDING;
        let lies_on = |c: &Region<Cloth>| {
            let meets = c.bounds().is_some_and(|b| b.intersects(&own));
            meets && intersection(piece, c).area() > ROUNDING
        };
        !self.within.is_empty()
            && !self.taken.iter().any(|t| near(piece, t, self.gap))
            && !self.clear_of.iter().any(lies_on)
            && self.within.iter().all(held)
    }

    /// The same bed, turned about the cloth's origin.
    pub(super) fn turned(&self, radians: f64) -> Bed {
        let by: Rigid<Cloth, Cloth> = Rigid::new(false, radians, Vector::zero());
        let moved = |all: &[Region<Cloth>]| all.iter().map(|r| r.moved(&by)).collect();
        Bed {
            within: moved(&self.within),
            clear_of: moved(&self.clear_of),
            taken: moved(&self.taken),
            gap: self.gap,
            warp_deg: self.warp_deg + radians.to_degrees(),
        }
    }

    /// The places on one side of a line at which a piece fits, and at which its mirror
    /// image does too, on the other side; `left` of the line's direction or right of it.
    pub(super) fn folded(&self, fold: &Fold, left: bool) -> Bed {
        let over = fold.over();
        let both = |all: &[Region<Cloth>]| -> Vec<Region<Cloth>> {
            let images = all.iter().map(|r| r.moved(&over));
            all.iter().cloned().chain(images).collect()
        };
        let mut bed = Bed {
            within: both(&self.within),
            clear_of: both(&self.clear_of),
            taken: both(&self.taken),
            ..*self
        };
        bed.within.push(fold.side(left, self.gap / 2.0 + SURELY));
        bed
    }
}

/// A line on the cloth about which a pair is laid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fold {
    pub at: Point<Cloth>,
    /// Degrees counter-clockwise from +x.
    pub runs_deg: f64,
}

impl Fold {
    /// The mirroring about the line.
    pub fn over(&self) -> Rigid<Cloth, Cloth> {
        let turn = 2.0 * self.runs_deg.to_radians() - PI;
        let linear: Rigid<Cloth, Cloth> = Rigid::new(true, turn, Vector::zero());
        let at = self.at.to_vector();
        Rigid::new(true, turn, at - linear.vector(at))
    }

    /// All that lies on one side of the line, farther than `from` mm.
    fn side(&self, left: bool, from: f64) -> Region<Cloth> {
        let (sin, cos) = self.runs_deg.to_radians().sin_cos();
        let along = Vector::new(cos, sin) * FAR;
        let out = Vector::new(-sin, cos) * if left { 1.0 } else { -1.0 };
        let (near, far) = (self.at + out * from, self.at + out * FAR);
        let mut ring = vec![near - along, near + along, far + along, far - along];
        if !left {
            ring.reverse();
        }
        Region::ring(ring)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fold_mirrors_about_its_line_and_keeps_to_a_side() {
        let fold = Fold {
            at: Point::new(10.0, 0.0),
            runs_deg: 90.0,
        };
        let image = fold.over().point(Point::new(12.0, 7.0));
        assert!((image - Point::new(8.0, 7.0)).length() < 1e-9);
        let slanting = Fold {
            at: Point::new(0.0, 5.0),
            runs_deg: 45.0,
        };
        let image = slanting.over().point(Point::new(3.0, 5.0));
        assert!((image - Point::new(0.0, 8.0)).length() < 1e-9);
        assert!(fold.side(true, 2.0).contains(Point::new(7.9, 3.0)));
        assert!(!fold.side(true, 2.0).contains(Point::new(8.1, 3.0)));
        assert!(fold.side(false, 2.0).contains(Point::new(12.1, 3.0)));
        assert!(fold.side(false, 2.0).area() > 0.0);
    }
}
