//! What is fitted: a homography, or a homography and a lens that bends.

use crate::projection::many::{Frame, begin, matrix, plain};
use crate::projection::{Lens, Mapping};
use crate::space::{Point, Projector, Table};
use nalgebra::{DVector, Matrix2, SMatrix};

/// The most unknowns that a form has.
pub(super) const MOST: usize = 12;

/// What is fitted to the marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// A homography: eight unknowns.
    Plane,
    /// With k1, p1 and p2, which also stand for a lens that is shifted: eleven.
    Lens,
    /// With k2, too: twelve.
    LensK2,
}

impl Form {
    /// How many unknowns it has.
    pub fn unknowns(self) -> usize {
        match self {
            Form::Plane => 8,
            Form::Lens => 11,
            Form::LensK2 => 12,
        }
    }
}

/// Where a place is lit, and how that depends on everything.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lit {
    pub pixel: Point<Projector>,
    /// ∂ pixel / ∂ unknowns, px; of a form with fewer unknowns the first so many.
    pub by_unknown: [[f64; MOST]; 2],
    /// ∂ pixel / ∂ place, px/mm.
    pub by_place: [[f64; 2]; 2],
}

/// A form for certain marks and a picture. Its unknowns are the entries of the
/// homography between normalised coordinates but the last, which is 1, and then k1, p1,
/// p2, k2 about the picture's middle at a focal length of the picture's width: one
/// plane can't fix either (see [`Lens`]).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Model {
    pub form: Form,
    table: Frame,
    px: Frame,
    centre: Point<Projector>,
    focal: f64,
}

impl Model {
    pub fn new(form: Form, marks: &[(Point<Table>, Point<Projector>)], size: [u32; 2]) -> Self {
        let [w, h] = size.map(f64::from);
        Self {
            form,
            table: Frame::of(marks.iter().map(|m| m.0)),
            px: Frame::of(marks.iter().map(|m| m.1)),
            centre: Point::new(w / 2.0, h / 2.0),
            focal: w,
        }
    }

    /// Unknowns to start with: the homography of [`begin`], and no lens. `None` if the marks
    /// fix no homography.
    pub fn start(&self, marks: &[(Point<Table>, Point<Projector>)]) -> Option<DVector<f64>> {
        let own = begin(marks, [self.table, self.px])?;
        let none = std::iter::repeat_n(0.0, self.form.unknowns() - 8);
        Some(DVector::from_iterator(
            self.form.unknowns(),
            own.into_iter().chain(none),
        ))
    }

    pub fn lens(&self, unknowns: &DVector<f64>) -> Option<Lens> {
        let at = |k: usize| unknowns.get(k).copied().unwrap_or(0.0);
        (self.form != Form::Plane).then(|| Lens {
            focal: self.focal,
            centre: self.centre,
            k1: at(8),
            p1: at(9),
            p2: at(10),
            k2: at(11),
        })
    }

    /// The mapping that the unknowns describe. `None` if it can't be turned back.
    pub fn mapping(&self, unknowns: &DVector<f64>) -> Option<Mapping> {
        Some(Mapping {
            homography: plain(unknowns.as_slice(), [self.table, self.px])?,
            lens: self.lens(unknowns),
            lens_place: None,
        })
    }

    /// Where a place of the table is lit. `None` behind the projector, or where the
    /// lens folds.
    pub fn lit(&self, unknowns: &DVector<f64>, place: Point<Table>) -> Option<Lit> {
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
        // By the entries of the homography, and by the place.
        let mut by = [[0.0; MOST]; 2];
        by[0][..3].copy_from_slice(&[x / w, y / w, 1.0 / w]);
        by[1][3..6].copy_from_slice(&[x / w, y / w, 1.0 / w]);
        for (row, at) in by.iter_mut().zip([u, v]) {
            row[6] = -at * x / w;
            row[7] = -at * y / w;
        }
        let place =
            |r: usize, at: f64, c: usize| (h[(r, c)] - at * h[(2, c)]) / w * unit / self.table.unit;
        let mut by_place = [
            [place(0, u, 0), place(0, u, 1)],
            [place(1, v, 0), place(1, v, 1)],
        ];
        for value in by.iter_mut().flatten() {
            *value *= unit;
        }
        let Some(lens) = self.lens(unknowns) else {
            return Some(Lit {
                pixel: ideal,
                by_unknown: by,
                by_place,
            });
        };
        let pixel = lens.bend(ideal)?;
        let slope = lens.slope_at(ideal);
        let slope = Matrix2::new(slope[0][0], slope[0][1], slope[1][0], slope[1][1]);
        let homography: SMatrix<f64, 2, 8> = SMatrix::from_fn(|r, c| by[r][c]);
        let homography = slope * homography;
        for (r, row) in by.iter_mut().enumerate() {
            row[..8].copy_from_slice(&std::array::from_fn::<f64, 8, _>(|c| homography[(r, c)]));
        }
        let place: Matrix2<f64> = slope * Matrix2::from_fn(|r, c| by_place[r][c]);
        by_place = std::array::from_fn(|r| std::array::from_fn(|c| place[(r, c)]));
        let (x, y) = (
            (ideal.x - self.centre.x) / self.focal,
            (ideal.y - self.centre.y) / self.focal,
        );
        let r2 = x * x + y * y;
        let lens_by = [
            [x * r2, y * r2],
            [2.0 * x * y, r2 + 2.0 * y * y],
            [r2 + 2.0 * x * x, 2.0 * x * y],
            [x * r2 * r2, y * r2 * r2],
        ];
        for (c, column) in lens_by.iter().enumerate() {
            for r in 0..2 {
                by[r][8 + c] = self.focal * column[r];
            }
        }
        Some(Lit {
            pixel,
            by_unknown: by,
            by_place,
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
                [110.0, 980.0],
                [1800.0, 950.0],
                [1700.0, 100.0],
                [230.0, 80.0],
            ])
            .map(|(t, p)| (Point::from(t), Point::from(p)))
            .collect();
        let model = Model::new(Form::LensK2, &marks, [1920, 1080]);
        let mut unknowns = model.start(&marks).unwrap();
        for (k, v) in [(8, -0.05), (9, 0.004), (10, -0.003), (11, 0.02)] {
            unknowns[k] = v;
        }
        let place = Point::new(937.0, 161.0);
        let lit = model.lit(&unknowns, place).unwrap();
        let mapped = model.mapping(&unknowns).unwrap().pixel(place, 0.0).unwrap();
        assert!((mapped - lit.pixel).length() < 1e-9);
        for k in 0..MOST {
            let at = |by: f64| {
                let mut moved = unknowns.clone();
                moved[k] += by;
                model.lit(&moved, place).unwrap().pixel
            };
            let step = (at(1e-6) - at(-1e-6)) / 2e-6;
            let own = [lit.by_unknown[0][k], lit.by_unknown[1][k]];
            let off = (step.x - own[0]).hypot(step.y - own[1]);
            assert!(off < 1e-4, "{k}: {step:?} {own:?}");
        }
        let at = |dx: f64, dy: f64| {
            let moved = Point::new(place.x + dx, place.y + dy);
            model.lit(&unknowns, moved).unwrap().pixel
        };
        for (c, (dx, dy)) in [(1e-3, 0.0), (0.0, 1e-3)].into_iter().enumerate() {
            let step = (at(dx, dy) - at(-dx, -dy)) / 2e-3;
            assert!((step.x - lit.by_place[0][c]).abs() < 1e-6);
            assert!((step.y - lit.by_place[1][c]).abs() < 1e-6);
        }
    }
}
