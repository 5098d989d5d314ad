//! What one more mark would buy.

use super::{Adjusted, Network, Reading};
use crate::adjust::reliability;
use crate::calibration::table_marks::TAPE;
use crate::space::{Point, Table};
use nalgebra::{DMatrix, DVector};

/// Places that are tried, across and deep.
const TRIED: usize = 9;

/// One more mark, read from all others.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Worth {
    pub place: Point<Table>,
    /// The least slip that is noticed, mm, with it.
    pub least_slip: f64,
    /// How many readings a slip leaves in doubt, on average over them all, with it.
    pub in_doubt: f64,
}

/// Where one more mark would make slips show best, among places inside the marks.
pub fn one_more(net: &Network, now: &Adjusted) -> Option<Worth> {
    let x = |f: fn(f64, f64) -> f64, start| now.marks.iter().map(|m| m.x).fold(start, f);
    let y = |f: fn(f64, f64) -> f64, start| now.marks.iter().map(|m| m.y).fold(start, f);
    let (left, right) = (x(f64::min, f64::MAX), x(f64::max, f64::MIN));
    let (near, far) = (y(f64::min, f64::MAX), y(f64::max, f64::MIN));
    let inner = |k: usize, a: f64, b: f64| a + (b - a) * (k + 1) as f64 / (TRIED + 1) as f64;
    let places = (0..TRIED * TRIED)
        .map(|k| Point::new(inner(k % TRIED, left, right), inner(k / TRIED, near, far)));
    let free = places.filter(|p| now.marks.iter().all(|m| (*m - *p).length() > 60.0));
    let each = free.filter_map(|p| with(net, now, p));
    let (best, slope) = each.min_by(|a, b| a.0.least_slip.total_cmp(&b.0.least_slip))?;
    Some(Worth {
        in_doubt: in_doubt(&slope),
        ..best
    })
}

/// What it would be worth there, but for [`Worth::in_doubt`], and the slopes.
fn with(net: &Network, now: &Adjusted, place: Point<Table>) -> Option<(Worth, DMatrix<f64>)> {
    let mut net = net.clone();
    let mut marks = now.marks.clone();
    for (k, m) in now.marks.iter().enumerate() {
        net.readings.push(Reading {
            from: k,
            to: marks.len(),
            mm: (place - *m).length(),
            sigma: TAPE,
        });
    }
    net.names.push(String::new());
    marks.push(place);
    let (_, slope) = net.slopes_at(&marks)?;
    let checks = reliability(&slope, &DVector::zeros(net.readings.len()));
    let worst = checks.iter().map(|c| c.least).fold(0.0, f64::max);
    let least_slip = worst.is_finite().then_some(worst * net.sigma())?;
    let worth = Worth {
        place,
        least_slip,
        in_doubt: 0.0,
    };
    Some((worth, slope))
}

/// How many readings look like the slip as well as the one that is: their residuals go
/// together by 0.95 or more.
fn in_doubt(slope: &DMatrix<f64>) -> f64 {
    let svd = slope.clone().svd(true, false);
    let Some(u) = svd.u else { return 0.0 };
    let largest = svd.singular_values.max();
    let n = slope.nrows();
    let mut q = DMatrix::<f64>::identity(n, n);
    for (c, s) in svd.singular_values.iter().enumerate() {
        if *s > 1e-9 * largest {
            q -= u.column(c) * u.column(c).transpose();
        }
    }
    let alike = |i: usize, j: usize| {
        let scale = (q[(i, i)] * q[(j, j)]).sqrt();
        scale > 1e-9 && (q[(i, j)] / scale).abs() >= 0.95
    };
    let all = (0..n).map(|i| (0..n).filter(|j| alike(i, *j)).count());
    all.sum::<usize>() as f64 / n as f64
}
