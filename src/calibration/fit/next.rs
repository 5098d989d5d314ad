//! Which mark to set next.

use super::{Believed, Fit, Places};
use crate::space::{Point, Table};
use nalgebra::{DMatrix, Matrix2};

/// Places over the table where the error is looked at and marks are tried, across and
/// deep. About 5 × 4 marks are enough, the outer ones within 25 mm of the table's edge.
pub const EVERYWHERE: [usize; 2] = [9, 7];

/// A mark keeps so far from the table's edge, mm, and from another mark.
const INSET: f64 = 20.0;
const APART: f64 = 60.0;

/// The place where one more mark takes most of the error across the table (corners
/// front left and back right), and the root mean square error across it before and
/// after, mm. `None` if no place of it is free or lit.
pub fn next_mark(
    fit: &Fit,
    marks: &[Point<Table>],
    believed: &Believed,
    table: [Point<Table>; 2],
) -> Option<(Point<Table>, [f64; 2])> {
    let all = grid(table, 0.0);
    let n = fit.form.unknowns();
    // The mean variance across the table is the trace of C·S.
    let mut sum = DMatrix::zeros(n, n);
    let mut lit = 0.0;
    for p in &all {
        if let Some((unknown, place)) = slopes(fit, *p) {
            let back = place.try_inverse()?;
            let back = DMatrix::from_fn(2, 2, |r, c| back[(r, c)]);
            let s = back * unknown;
            sum += s.tr_mul(&s);
            lit += 1.0;
        }
    }
    if lit == 0.0 {
        return None;
    }
    let covariance = &fit.minimum.covariance;
    let error = |c: &DMatrix<f64>| ((c * &sum).trace() / (2.0 * lit)).max(0.0).sqrt();
    let before = error(covariance);
    let tried = grid(table, INSET);
    let free = tried
        .into_iter()
        .filter(|p| marks.iter().all(|m| (*m - *p).length() >= APART));
    let with = free.filter_map(|p| {
        let (a, place) = slopes(fit, p)?;
        let own = match &believed.places {
            Places::Each(mm) => mm * mm,
            Places::Covariance(c) => c.trace() / c.nrows() as f64,
        };
        let noise = place * place.transpose() * own
            + Matrix2::identity() * (believed.hand_px * believed.hand_px);
        // Kalman's update: the covariance after one more reading.
        let noise = DMatrix::from_fn(2, 2, |r, c| noise[(r, c)]);
        let seen = covariance * a.transpose();
        let gain = (&a * &seen + noise).try_inverse()?;
        let after = covariance - &seen * gain * seen.transpose();
        Some((p, error(&after)))
    });
    let (place, after) = with.min_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((place, [before, after]))
}

fn slopes(fit: &Fit, p: Point<Table>) -> Option<(DMatrix<f64>, Matrix2<f64>)> {
    let lit = fit.model.lit(&fit.minimum.unknowns, p)?;
    let n = fit.form.unknowns();
    let unknown = DMatrix::from_fn(2, n, |r, c| lit.by_unknown[r][c]);
    let [a, b] = lit.by_place;
    Some((unknown, Matrix2::new(a[0], a[1], b[0], b[1])))
}

fn grid([from, to]: [Point<Table>; 2], inset: f64) -> Vec<Point<Table>> {
    let [across, deep] = EVERYWHERE;
    let at = |k: usize, n: usize, a: f64, b: f64| {
        let t = k as f64 / (n - 1) as f64;
        (a + inset) + t * (b - a - 2.0 * inset)
    };
    let rows = (0..deep).flat_map(|r| {
        (0..across).map(move |c| Point::new(at(c, across, from.x, to.x), at(r, deep, from.y, to.y)))
    });
    rows.collect()
}
