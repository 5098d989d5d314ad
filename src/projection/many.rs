//! A homography from any number of marks: coordinates in which it is well told, where to
//! begin, and marks that tell none.

use super::Homography;
use crate::space::Point;
use nalgebra::{DMatrix, Matrix3};

/// Coordinates about the marks' middle, in units of their mean distance from it over √2:
/// numbers near one (Hartley & Zisserman, *Multiple View Geometry*, 4.4.4).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Frame {
    /// In mm or px.
    pub middle: [f64; 2],
    /// Of one of these coordinates, in mm or px.
    pub unit: f64,
}

impl Frame {
    /// Of one kind of places of all marks.
    pub fn of<S>(points: impl Iterator<Item = Point<S>> + Clone) -> Self {
        let n = points.clone().count().max(1) as f64;
        let sum = points
            .clone()
            .fold([0.0; 2], |s, p| [s[0] + p.x, s[1] + p.y]);
        let middle = sum.map(|v| v / n);
        let far = |p: Point<S>| (p.x - middle[0]).hypot(p.y - middle[1]);
        let unit = points.map(far).sum::<f64>() / n / std::f64::consts::SQRT_2;
        Self { middle, unit }
    }

    /// A place in these coordinates.
    pub fn into<S>(self, p: Point<S>) -> [f64; 2] {
        let [x, y] = self.middle;
        [(p.x - x) / self.unit, (p.y - y) / self.unit]
    }

    /// From these coordinates to plain ones.
    fn out(self) -> Matrix3<f64> {
        let (s, [x, y]) = (self.unit, self.middle);
        Matrix3::new(s, 0.0, x, 0.0, s, y, 0.0, 0.0, 1.0)
    }
}

/// The homography between two frames whose entries are, row by row, the first eight of some
/// unknowns; the last is 1.
///
/// # Panics
/// If there are fewer.
pub fn matrix(unknowns: &[f64]) -> Matrix3<f64> {
    let h = |k: usize| unknowns[k];
    Matrix3::new(h(0), h(1), h(2), h(3), h(4), h(5), h(6), h(7), 1.0)
}

/// [`matrix`], but between plain coordinates. `None` if it can't be turned back.
pub fn plain<A, B>(unknowns: &[f64], [from, to]: [Frame; 2]) -> Option<Homography<A, B>> {
    let back = from.out().try_inverse()?;
    let m = to.out() * matrix(unknowns) * back;
    let m = m / if m[(2, 2)] > 1e-12 { m[(2, 2)] } else { 1.0 };
    Homography::from_rows(std::array::from_fn(|r| std::array::from_fn(|c| m[(r, c)])))
}

/// The eight entries from marks: the normalised direct linear transform (Hartley & Zisserman,
/// algorithm 4.2), which does not yet weigh errors in mm or px. `None` if the marks fix no
/// homography.
pub fn begin<A, B>(marks: &[(Point<A>, Point<B>)], [from, to]: [Frame; 2]) -> Option<[f64; 8]> {
    // Zeros below make the matrix tall enough for all nine right singular vectors.
    let mut a = DMatrix::zeros((2 * marks.len()).max(9), 9);
    for (k, (p, q)) in marks.iter().enumerate() {
        let [x, y] = from.into(*p);
        let [u, v] = to.into(*q);
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
    (last.abs() > 1e-9).then(|| std::array::from_fn(|k| h[k] / last))
}

/// Whether all the points are in a line, or all but one: which. In a line are points of which
/// the scatter across is at most `thin` of that along.
pub fn in_line(points: &[[f64; 2]], thin: f64) -> Option<Option<usize>> {
    if is_thin(points.iter(), thin) {
        return Some(None);
    }
    let but = |k: usize| {
        let rest = points.iter().enumerate().filter(move |(i, _)| *i != k);
        is_thin(rest.map(|(_, p)| p), thin)
    };
    (0..points.len()).find(|k| but(*k)).map(Some)
}

/// By the principal axes.
fn is_thin<'a>(points: impl Iterator<Item = &'a [f64; 2]> + Clone, thin: f64) -> bool {
    let n = points.clone().count() as f64;
    let mean: [f64; 2] = std::array::from_fn(|k| points.clone().map(|p| p[k]).sum::<f64>() / n);
    let moment = |a: usize, b: usize| {
        let each = points.clone().map(|p| (p[a] - mean[a]) * (p[b] - mean[b]));
        each.sum::<f64>()
    };
    let (xx, yy, xy) = (moment(0, 0), moment(1, 1), moment(0, 1));
    let (half, root) = ((xx + yy) / 2.0, ((xx - yy) / 2.0).hypot(xy));
    half - root <= thin * thin * (half + root)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Projector, Table};

    fn marks() -> Vec<(Point<Table>, Point<Projector>)> {
        let rows = [[1.2, 0.1, 30.0], [0.05, -1.1, 900.0], [1e-4, 2e-4, 1.0]];
        let map: Homography<Table, Projector> = Homography::from_rows(rows).unwrap();
        [
            (0.0, 0.0),
            (900.0, 0.0),
            (900.0, 600.0),
            (0.0, 600.0),
            (300.0, 250.0),
        ]
        .map(Point::from)
        .map(|p| (p, map.point(p).unwrap()))
        .to_vec()
    }

    fn frames(marks: &[(Point<Table>, Point<Projector>)]) -> [Frame; 2] {
        [
            Frame::of(marks.iter().map(|m| m.0)),
            Frame::of(marks.iter().map(|m| m.1)),
        ]
    }

    #[test]
    fn marks_without_error_give_their_homography_back() {
        let marks = marks();
        let frames = frames(&marks);
        let entries = begin(&marks, frames).unwrap();
        let map: Homography<Table, Projector> = plain(&entries, frames).unwrap();
        for (p, q) in marks {
            assert!((map.point(p).unwrap() - q).length() < 1e-8);
        }
    }

    #[test]
    fn three_marks_give_none() {
        let marks = &marks()[..3];
        assert_eq!(begin(marks, frames(marks)), None);
    }

    #[test]
    fn a_line_is_told_and_so_is_the_one_mark_beside_it() {
        let on = [[0.0, 0.0], [10.0, 10.0], [20.0, 20.0], [35.0, 35.0]];
        assert_eq!(in_line(&on, 1e-3), Some(None));
        let mut one = on;
        one[1] = [10.0, 30.0];
        assert_eq!(in_line(&one, 1e-3), Some(Some(1)));
        let square = [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        assert_eq!(in_line(&square, 1e-3), None);
    }
}
