//! What is fitted: a homography from the table to an ideal picture, and a lens that bends
//! it about its middle.

use crate::projection::many::{Frame, begin, matrix, plain};
use crate::projection::{Homography, Lens};
use crate::space::{Photo, Point, Table};
use nalgebra::{DVector, Matrix2, SMatrix};

/// Eight of the homography, k1 and k2.
pub(super) const UNKNOWNS: usize = 10;

/// What is believed of k1 and k2 before any mark: standard deviations, as shares of the
/// distance from the picture's middle at its corner. Telephones and newer cameras correct
/// their pictures to about that. *Estimate.*
pub(super) const BELIEVED: [f64; 2] = [0.01, 0.005];

/// A 2×10 matrix: how a place moves with the unknowns.
pub(super) type Slope = SMatrix<f64, 2, UNKNOWNS>;

/// Where a place of the table is seen, and how that depends on everything.
#[derive(Debug, Clone, Copy)]
pub(super) struct Seen {
    pub px: Point<Photo>,
    /// ∂ px / ∂ unknowns.
    pub by_unknown: Slope,
    /// ∂ px / ∂ place, px/mm.
    pub by_place: Matrix2<f64>,
    /// ∂ px without the lens / ∂ the homography's unknowns.
    pub ideal_by: SMatrix<f64, 2, 8>,
}

/// The form for certain marks and a picture's size. Unknowns: the entries of the homography
/// between normalised coordinates but the last, which is 1; then k1 and k2 about the
/// picture's middle, in units of half its diagonal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Model {
    table: Frame,
    px: Frame,
    centre: [f64; 2],
    half: f64,
}

impl Model {
    pub fn new(marks: &[(Point<Table>, Point<Photo>)], size: [usize; 2]) -> Self {
        let [w, h] = size.map(|v| v as f64);
        Self {
            table: Frame::of(marks.iter().map(|m| m.0)),
            px: Frame::of(marks.iter().map(|m| m.1)),
            centre: [w / 2.0, h / 2.0],
            half: w.hypot(h) / 2.0,
        }
    }

    /// Unknowns to start with: the homography of [`begin`], and no lens. `None` if the marks
    /// fix no homography.
    pub fn start(&self, marks: &[(Point<Table>, Point<Photo>)]) -> Option<DVector<f64>> {
        let own = begin(marks, [self.table, self.px])?;
        Some(DVector::from_iterator(
            UNKNOWNS,
            own.into_iter().chain([0.0; 2]),
        ))
    }

    pub fn lens(&self, unknowns: &DVector<f64>) -> Lens {
        Lens {
            focal: self.half,
            centre: self.centre.into(),
            k1: unknowns[8],
            k2: unknowns[9],
            p1: 0.0,
            p2: 0.0,
        }
    }

    /// Table to ideal picture. `None` if it can't be turned back.
    pub fn homography(&self, unknowns: &DVector<f64>) -> Option<Homography<Table, Photo>> {
        plain(unknowns.as_slice(), [self.table, self.px])
    }

    /// Where a place of the table plane is seen. `None` behind the camera, or where the
    /// lens folds.
    pub fn seen(&self, unknowns: &DVector<f64>, place: Point<Table>) -> Option<Seen> {
        let [x, y] = self.table.into(place);
        let h = matrix(unknowns.as_slice());
        let [n, m, w]: [f64; 3] =
            std::array::from_fn(|r| h[(r, 0)] * x + h[(r, 1)] * y + h[(r, 2)]);
        if w <= 0.0 {
            return None;
        }
        let (u, v) = (n / w, m / w);
        let unit = self.px.unit;
        let ideal = Point::new(self.px.middle[0] + unit * u, self.px.middle[1] + unit * v);
        let mut by = SMatrix::<f64, 2, 8>::zeros();
        for (r, at) in [u, v].into_iter().enumerate() {
            for (c, value) in [x, y, 1.0].into_iter().enumerate() {
                by[(r, 3 * r + c)] = value / w * unit;
            }
            by[(r, 6)] = -at * x / w * unit;
            by[(r, 7)] = -at * y / w * unit;
        }
        let place = |r: usize, at: f64, c: usize| (h[(r, c)] - at * h[(2, c)]) / w;
        let flat = Matrix2::new(
            place(0, u, 0),
            place(0, u, 1),
            place(1, v, 0),
            place(1, v, 1),
        );
        let lens = self.lens(unknowns);
        // The lens counts projector px; a photo's are as good.
        let px = lens.bend(ideal)?.cast_unit();
        let bend = lens.slope_at(ideal);
        let bend = Matrix2::new(bend[0][0], bend[0][1], bend[1][0], bend[1][1]);
        let mut by_unknown = Slope::zeros();
        by_unknown.fixed_columns_mut::<8>(0).copy_from(&(bend * by));
        let out = [
            (ideal.x - self.centre[0]) / self.half,
            (ideal.y - self.centre[1]) / self.half,
        ];
        let r2 = out[0] * out[0] + out[1] * out[1];
        for (r, at) in out.into_iter().enumerate() {
            by_unknown[(r, 8)] = self.half * at * r2;
            by_unknown[(r, 9)] = self.half * at * r2 * r2;
        }
        Some(Seen {
            px,
            by_unknown,
            by_place: bend * flat * (unit / self.table.unit),
            ideal_by: by,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slopes_are_those_of_small_steps() {
        let marks: Vec<_> = [[0.0, 0.0], [1200.0, 0.0], [1200.0, 800.0], [0.0, 800.0]]
            .into_iter()
            .zip([
                [310.0, 2700.0],
                [3800.0, 2650.0],
                [3500.0, 300.0],
                [530.0, 280.0],
            ])
            .map(|(t, p)| (Point::from(t), Point::from(p)))
            .collect();
        let model = Model::new(&marks, [4000, 3000]);
        let mut unknowns = model.start(&marks).unwrap();
        unknowns[8] = -0.04;
        unknowns[9] = 0.015;
        let place = Point::new(937.0, 161.0);
        let seen = model.seen(&unknowns, place).unwrap();
        for k in 0..UNKNOWNS {
            let at = |by: f64| {
                let mut moved = unknowns.clone();
                moved[k] += by;
                model.seen(&moved, place).unwrap().px
            };
            let step = (at(1e-6) - at(-1e-6)) / 2e-6;
            let off = (step.x - seen.by_unknown[(0, k)]).hypot(step.y - seen.by_unknown[(1, k)]);
            assert!(off < 1e-3, "{k}: {step:?}");
        }
        for (c, by) in [[1e-3, 0.0], [0.0, 1e-3]].into_iter().enumerate() {
            let at = |s: f64| {
                let moved = Point::new(place.x + s * by[0], place.y + s * by[1]);
                model.seen(&unknowns, moved).unwrap().px
            };
            let step = (at(1.0) - at(-1.0)) / 2e-3;
            assert!((step.x - seen.by_place[(0, c)]).abs() < 1e-6);
            assert!((step.y - seen.by_place[(1, c)]).abs() < 1e-6);
        }
    }
}
