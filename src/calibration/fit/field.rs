//! How sure the light is of its place, anywhere on the table: first-order covariance
//! (Hartley & Zisserman, *Multiple View Geometry*, chapter 5).

use super::{Fit, Sighted};
use crate::shape::Hull;
use crate::space::{Point, Table, Vector};
use nalgebra::{DMatrix, DVector, Matrix2};

/// Standard errors of a piece's shape, mm, from the mapping alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShapeError {
    /// Of place: root mean square of the light's displacement across its cut line.
    pub place: f64,
    /// Of shape: the same after the best shift and turn.
    pub shape: f64,
}

/// A line whose length is asked for, as its corners.
pub type Along<'a> = &'a [Point<Table>];

/// How the light moves, place by place, with the unknowns of a fit.
#[derive(Debug, Clone)]
pub struct Field<'a> {
    fit: &'a Fit,
    /// The outermost marks; `None` if there are none.
    hull: Option<Hull<Table>>,
}

impl Fit {
    /// The field of errors round the marks it was made from.
    pub fn field<'a>(&'a self, marks: &[Sighted]) -> Field<'a> {
        Field {
            fit: self,
            hull: outer(marks),
        }
    }
}

impl Field<'_> {
    /// ∂ place of the light / ∂ unknowns, mm, for light meant for `p`. `None` where there
    /// is no light.
    fn slope(&self, p: Point<Table>) -> Option<DMatrix<f64>> {
        let lit = self.fit.model.lit(&self.fit.minimum.unknowns, p)?;
        let [a, b] = lit.by_place;
        // With other unknowns another pixel would light p; this one lights a place as
        // far to the other side.
        let back = -Matrix2::new(a[0], a[1], b[0], b[1]).try_inverse()?;
        let n = self.fit.form.unknowns();
        let mut m = DMatrix::zeros(2, n);
        for c in 0..n {
            let (u, v) = (lit.by_unknown[0][c], lit.by_unknown[1][c]);
            m[(0, c)] = back[(0, 0)] * u + back[(0, 1)] * v;
            m[(1, c)] = back[(1, 0)] * u + back[(1, 1)] * v;
        }
        Some(m)
    }

    fn slopes(&self, places: &[Point<Table>]) -> Option<DMatrix<f64>> {
        let mut all = DMatrix::zeros(2 * places.len(), self.fit.form.unknowns());
        for (k, p) in places.iter().enumerate() {
            all.rows_mut(2 * k, 2).copy_from(&self.slope(*p)?);
        }
        Some(all)
    }

    /// Covariance of the light's place at `p`, mm².
    pub fn covariance(&self, p: Point<Table>) -> Option<[[f64; 2]; 2]> {
        let s = self.slope(p)?;
        let c = &s * &self.fit.minimum.covariance * s.transpose();
        Some([[c[(0, 0)], c[(0, 1)]], [c[(1, 0)], c[(1, 1)]]])
    }

    /// Standard error of place across a line through `p`, root mean square over all
    /// directions, mm.
    pub fn across(&self, p: Point<Table>) -> Option<f64> {
        let c = self.covariance(p)?;
        Some(((c[0][0] + c[1][1]) / 2.0).sqrt())
    }

    /// How far `p` lies outside the marks, mm; 0 inside.
    pub fn beyond(&self, p: Point<Table>) -> f64 {
        beyond(&self.hull, p)
    }

    /// Standard errors of a closed outline's place and shape across its line. `None`
    /// where it has fewer than three corners or some of it is not lit.
    pub fn shape(&self, outline: Along<'_>) -> Option<ShapeError> {
        let (places, normals) = normals(outline)?;
        let n = places.len();
        let all = self.slopes(&places)?;
        let c = &self.fit.minimum.covariance;
        let across = |m: &DMatrix<f64>| {
            let mut rows = DMatrix::zeros(n, m.ncols());
            for (k, normal) in normals.iter().enumerate() {
                let row = m.row(2 * k) * normal.x + m.row(2 * k + 1) * normal.y;
                rows.set_row(k, &row);
            }
            let variances = (&rows * c).component_mul(&rows).sum();
            (variances / n as f64).max(0.0).sqrt()
        };
        Some(ShapeError {
            place: across(&all),
            shape: across(&without_rigid(&places, all)?),
        })
    }

    /// Standard error of the whole length of some lines, mm: their edges' errors with
    /// what they share.
    pub fn length(&self, lines: &[Along<'_>]) -> Option<f64> {
        let mut by = DVector::zeros(self.fit.form.unknowns());
        for line in lines {
            for pair in line.windows(2) {
                let along = pair[1] - pair[0];
                let length = along.length();
                if length < 1e-9 {
                    continue;
                }
                let way = along / length;
                let (a, b) = (self.slope(pair[0])?, self.slope(pair[1])?);
                let d = b - a;
                by += (d.row(0) * way.x + d.row(1) * way.y).transpose();
            }
        }
        let c = &self.fit.minimum.covariance;
        Some((by.transpose() * c * &by)[(0, 0)].max(0.0).sqrt())
    }
}

/// Places along an outline, and the outward normal at each.
pub(in crate::calibration) type Normals = (Vec<Point<Table>>, Vec<Vector<Table>>);

/// Places at the middles of an outline's edges, finely split, and the normals there.
pub(in crate::calibration) fn normals(outline: Along<'_>) -> Option<Normals> {
    /// Finer than errors change, mm; and never fewer places than this.
    const STEP: f64 = 10.0;
    const LEAST: usize = 24;
    let n = outline.len();
    let edge = |k: usize| (outline[k], outline[(k + 1) % n]);
    let lengths: Vec<f64> = (0..n).map(|k| (edge(k).1 - edge(k).0).length()).collect();
    let round: f64 = lengths.iter().sum();
    if n < 3 || !(round > 1e-6 && round.is_finite()) {
        return None;
    }
    let count = ((round / STEP).ceil() as usize).clamp(LEAST, 4000);
    let (mut places, mut normals) = (Vec::new(), Vec::new());
    // Even along the line, so that a finely drawn curve counts for no more than it is long.
    let (mut k, mut before) = (0, 0.0);
    for i in 0..count {
        let at = round * (i as f64 + 0.5) / count as f64;
        while k + 1 < n && before + lengths[k] < at {
            before += lengths[k];
            k += 1;
        }
        let (a, b) = edge(k);
        if lengths[k] < 1e-9 {
            continue;
        }
        let way = (b - a) / lengths[k];
        places.push(a + way * (at - before));
        normals.push(Vector::new(way.y, -way.x));
    }
    (places.len() >= 3).then_some((places, normals))
}

/// The same displacements less, of each column, the best shift and turn.
fn without_rigid(places: &[Point<Table>], all: DMatrix<f64>) -> Option<DMatrix<f64>> {
    let n = places.len() as f64;
    let sum = places.iter().fold(Vector::zero(), |s, p| s + p.to_vector());
    let middle = sum / n;
    let mut rigid = DMatrix::zeros(2 * places.len(), 3);
    for (k, p) in places.iter().enumerate() {
        let r = p.to_vector() - middle;
        rigid[(2 * k, 0)] = 1.0;
        rigid[(2 * k + 1, 1)] = 1.0;
        rigid[(2 * k, 2)] = -r.y;
        rigid[(2 * k + 1, 2)] = r.x;
    }
    let normal = rigid.tr_mul(&rigid).try_inverse()?;
    let best = &rigid * (normal * rigid.tr_mul(&all));
    Some(all - best)
}

/// The outermost marks.
pub(super) fn outer(marks: &[Sighted]) -> Option<Hull<Table>> {
    Hull::of(marks.iter().map(|m| m.table))
}

/// How far a place lies outside a hull, mm; without one, everything does.
pub(super) fn beyond(hull: &Option<Hull<Table>>, p: Point<Table>) -> f64 {
    let Some(hull) = hull else {
        return f64::INFINITY;
    };
    let corners = hull.corners();
    let n = corners.len();
    // Corners run counter-clockwise: inside is on the left.
    let inside = (0..n).all(|k| {
        let (a, b) = (corners[k], corners[(k + 1) % n]);
        (b - a).cross(p - a) >= -1e-6
    });
    if inside {
        return 0.0;
    }
    let edges = (0..n).map(|k| {
        let (a, b) = (corners[k], corners[(k + 1) % n]);
        let along = b - a;
        let t = ((p - a).dot(along) / along.square_length()).clamp(0.0, 1.0);
        (p - (a + along * t)).length()
    });
    edges.fold(f64::INFINITY, f64::min)
}
