//! What is fitted: a homography from the table to an ideal picture, and a lens that bends
//! it about its middle.

use crate::projection::{Homography, Lens};
use crate::space::{Photo, Point, Table};
use nalgebra::{DMatrix, DVector, Matrix2, Matrix3, SMatrix};

/// Eight of the homography, k1 and k2.
pub(super) const UNKNOWNS: usize = 10;

/// What is believed of k1 and k2 before any mark: standard deviations, as shares of the
/// distance from the picture's middle at its corner. Telephones and newer cameras correct
/// their pictures to about that. *Estimate.*
pub(super) const BELIEVED: [f64; 2] = [0.01, 0.005];

/// A 2×10 matrix: how a place moves with the unknowns.
pub(super) type Slope = SMatrix<f64, 2, UNKNOWNS>;

/// Coordinates about a middle, in units of a mean distance over √2: numbers near one
/// (Hartley & Zisserman, *Multiple View Geometry*, 4.4.4).
#[derive(Debug, Clone, Copy, PartialEq)]
struct Frame {
    middle: [f64; 2],
    unit: f64,
}

impl Frame {
    fn of(points: impl Iterator<Item = [f64; 2]> + Clone) -> Self {
        let n = points.clone().count().max(1) as f64;
        let sum = |k: usize| points.clone().map(|p| p[k]).sum::<f64>();
        let middle = [sum(0) / n, sum(1) / n];
        let far = |p: [f64; 2]| (p[0] - middle[0]).hypot(p[1] - middle[1]);
        let unit = points.map(far).sum::<f64>() / n / std::f64::consts::SQRT_2;
        Self { middle, unit }
    }

    fn into(self, p: [f64; 2]) -> [f64; 2] {
        std::array::from_fn(|k| (p[k] - self.middle[k]) / self.unit)
    }

    /// From its own numbers to plain ones.
    fn out(self) -> Matrix3<f64> {
        let (s, [x, y]) = (self.unit, self.middle);
        Matrix3::new(s, 0.0, x, 0.0, s, y, 0.0, 0.0, 1.0)
    }
}

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
            table: Frame::of(marks.iter().map(|m| m.0.to_array())),
            px: Frame::of(marks.iter().map(|m| m.1.to_array())),
            centre: [w / 2.0, h / 2.0],
            half: w.hypot(h) / 2.0,
        }
    }

    /// Unknowns to begin with: the normalised DLT (Hartley & Zisserman, algorithm 4.2), and
    /// no lens. `None` if the marks fix no homography.
    pub fn start(&self, marks: &[(Point<Table>, Point<Photo>)]) -> Option<DVector<f64>> {
        // Zeros below make the matrix tall enough for all nine right singular vectors.
        let mut a = DMatrix::zeros((2 * marks.len()).max(9), 9);
        for (k, (table, px)) in marks.iter().enumerate() {
            let [x, y] = self.table.into(table.to_array());
            let [u, v] = self.px.into(px.to_array());
            let rows = [
                [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u],
                [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v],
            ];
            for (r, row) in rows.iter().enumerate() {
                for (c, value) in row.iter().enumerate() {
                    a[(2 * k + r, c)] = *value;
                }
            }
        }
        if a.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let svd = a.try_svd(false, true, 1e-14, 500)?;
        let v = svd.v_t?;
        let mut order: Vec<usize> = (0..9).collect();
        let s = &svd.singular_values;
        order.sort_by(|a, b| s[*a].total_cmp(&s[*b]));
        // Two vanishing values: more than one homography goes through the marks.
        if s[order[1]] <= 1e-7 * s[order[8]] {
            return None;
        }
        let h = v.row(order[0]);
        let last = h[8];
        if last.abs() <= 1e-9 {
            return None;
        }
        let own = h.iter().take(8).map(|v| v / last);
        Some(DVector::from_iterator(UNKNOWNS, own.chain([0.0; 2])))
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

    fn normalised(unknowns: &DVector<f64>) -> Matrix3<f64> {
        let h = |k: usize| unknowns[k];
        Matrix3::new(h(0), h(1), h(2), h(3), h(4), h(5), h(6), h(7), 1.0)
    }

    /// Table to ideal picture. `None` if it can't be turned back.
    pub fn homography(&self, unknowns: &DVector<f64>) -> Option<Homography<Table, Photo>> {
        let back = self.table.out().try_inverse()?;
        let m = self.px.out() * Self::normalised(unknowns) * back;
        let m = m / if m[(2, 2)] > 1e-12 { m[(2, 2)] } else { 1.0 };
        Homography::from_rows(std::array::from_fn(|r| std::array::from_fn(|c| m[(r, c)])))
    }

    /// Where a place of the table plane is seen. `None` behind the camera, or where the
    /// lens folds.
    pub fn seen(&self, unknowns: &DVector<f64>, place: Point<Table>) -> Option<Seen> {
        let [x, y] = self.table.into(place.to_array());
        let h = Self::normalised(unknowns);
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
