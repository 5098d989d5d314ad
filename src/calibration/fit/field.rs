//! How sure the light is of its place, anywhere on the table: first-order covariance
//! (Hartley & Zisserman, *Multiple View Geometry*, chapter 5).

use super::{Fit, Sighted};
use crate::shape::{Hull, edge_distance};
use crate::space::{Point, Table, Vector, mean};
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
        let along = normals(outline)?;
        self.shape_at(&along.0, &along)
    }

    /// The same along one edge of an outline: the shift and turn that are taken out are
    /// those of the whole piece.
    pub fn edge_shape(&self, outline: Along<'_>, edge: Along<'_>) -> Option<ShapeError> {
        self.shape_at(&normals(outline)?.0, &edge_normals(edge)?)
    }

    /// Across the line at some places, with the best shift and turn of others taken out.
    fn shape_at(&self, whole: &[Point<Table>], along: &Normals) -> Option<ShapeError> {
        let (places, normals) = along;
        let n = places.len();
        let all = self.slopes(places)?;
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
        let middle = mean(whole.iter().copied())?;
        let rigid = rigid(whole, middle);
        let normal = rigid.tr_mul(&rigid).try_inverse()?;
        let best = normal * rigid.tr_mul(&self.slopes(whole)?);
        let left = &all - self::rigid(places, middle) * best;
        Some(ShapeError {
            place: across(&all),
            shape: across(&left),
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

/// Finer than errors change, mm; and never fewer places than this round an outline, and
/// along an edge.
const STEP: f64 = 10.0;
const LEAST: usize = 24;
const LEAST_ON_EDGE: usize = 5;

/// Places at the middles of a closed outline's edges, finely split, and the normals there.
pub(in crate::calibration) fn normals(outline: Along<'_>) -> Option<Normals> {
    let closed: Vec<Point<Table>> = outline.iter().chain(outline.first()).copied().collect();
    let found = (outline.len() >= 3).then(|| split(&closed, LEAST))??;
    (found.0.len() >= 3).then_some(found)
}

/// The same along an open line that runs as the outline does.
pub(in crate::calibration) fn edge_normals(edge: Along<'_>) -> Option<Normals> {
    split(edge, LEAST_ON_EDGE)
}

/// Even along the line, so that a finely drawn curve counts for no more than it is long.
fn split(line: Along<'_>, least: usize) -> Option<Normals> {
    let lengths: Vec<f64> = line.windows(2).map(|w| (w[1] - w[0]).length()).collect();
    let long: f64 = lengths.iter().sum();
    if !(long > 1e-6 && long.is_finite()) {
        return None;
    }
    let count = ((long / STEP).ceil() as usize).clamp(least, 4000);
    let (mut places, mut normals) = (Vec::new(), Vec::new());
    let (mut k, mut before) = (0, 0.0);
    for i in 0..count {
        let at = long * (i as f64 + 0.5) / count as f64;
        while k + 1 < lengths.len() && before + lengths[k] < at {
            before += lengths[k];
            k += 1;
        }
        if lengths[k] < 1e-9 {
            continue;
        }
        let way = (line[k + 1] - line[k]) / lengths[k];
        places.push(line[k] + way * (at - before));
        normals.push(Vector::new(way.y, -way.x));
    }
    (!places.is_empty()).then_some((places, normals))
}

/// How places move with a shift along each axis and a turn about `middle`.
fn rigid(places: &[Point<Table>], middle: Point<Table>) -> DMatrix<f64> {
    let mut rigid = DMatrix::zeros(2 * places.len(), 3);
    for (k, p) in places.iter().enumerate() {
        let r = *p - middle;
        rigid[(2 * k, 0)] = 1.0;
        rigid[(2 * k + 1, 1)] = 1.0;
        rigid[(2 * k, 2)] = -r.y;
        rigid[(2 * k + 1, 2)] = r.x;
    }
    rigid
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
        let edge = (corners[k], corners[(k + 1) % n]);
        edge_distance(edge, p)
    });
    edges.fold(f64::INFINITY, f64::min)
}
