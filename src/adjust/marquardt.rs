//! Least squares with given slopes: Levenberg–Marquardt.

use super::Stuck;
use nalgebra::{DMatrix, DVector};

/// How often a step is tried before giving up.
const TRIES: usize = 200;

/// Where the sum of squared residuals is least.
#[derive(Debug, Clone, PartialEq)]
pub struct Minimum {
    pub unknowns: DVector<f64>,
    /// In standard deviations.
    pub residuals: DVector<f64>,
    /// ∂ residuals / ∂ unknowns, at the minimum.
    pub slope: DMatrix<f64>,
    /// Covariance of the unknowns, (JᵀJ)⁻¹.
    pub covariance: DMatrix<f64>,
}

impl Minimum {
    /// The sum of squared residuals: χ² with [`Minimum::freedom`] degrees of freedom.
    pub fn chi2(&self) -> f64 {
        self.residuals.norm_squared()
    }

    /// Residuals less unknowns.
    pub fn freedom(&self) -> usize {
        self.residuals.len() - self.unknowns.len()
    }
}

/// The unknowns, near `start`, that make the sum of squared residuals least. `at` gives
/// residuals, in standard deviations, and their slopes; `None` where there are none.
///
/// Damping after H. B. Nielsen, *Damping Parameter in Marquardt's Method* (IMM, Technical
/// University of Denmark, 1999); the step is scaled by the columns' lengths (J. J. Moré,
/// *The Levenberg–Marquardt Algorithm*, 1978).
///
/// # Errors
/// See [`Stuck`].
pub fn marquardt(
    start: DVector<f64>,
    at: impl Fn(&DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)>,
) -> Result<Minimum, Stuck> {
    let look = |x: &DVector<f64>| {
        let found = at(x);
        found.filter(|(r, j)| r.iter().chain(j.iter()).all(|v| v.is_finite()))
    };
    let mut x = start;
    let (mut r, mut j) = look(&x).ok_or(Stuck::Astray)?;
    if r.len() < x.len() {
        return Err(Stuck::TooFew);
    }
    let (mut damping, mut growth) = (1e-3, 2.0);
    for _ in 0..TRIES {
        let (even, lengths) = evened(&j)?;
        let gradient = even.tr_mul(&r);
        let normal = even.tr_mul(&even);
        let damped = &normal + DMatrix::identity(x.len(), x.len()) * damping;
        let Some(found) = damped.cholesky() else {
            damping *= growth;
            growth *= 2.0;
            continue;
        };
        let step = found.solve(&gradient);
        let moved = &x - step.component_div(&lengths);
        let promised = step.dot(&(&step * damping + &gradient));
        let floor = 1e-14 * (1.0 + r.norm_squared());
        match look(&moved) {
            Some((next, slope)) if next.norm_squared() <= r.norm_squared() => {
                let gained = r.norm_squared() - next.norm_squared();
                let trust = gained / promised.max(f64::MIN_POSITIVE);
                (x, r, j) = (moved, next, slope);
                damping *= (1.0 - (2.0 * trust - 1.0).powi(3)).max(1.0 / 3.0);
                growth = 2.0;
                if promised <= floor {
                    return finish(x, &look);
                }
            }
            // At the bottom, rounding decides.
            _ if promised <= floor => return finish(x, &look),
            _ => {
                damping *= growth;
                growth *= 2.0;
            }
        }
        if !damping.is_finite() || damping > 1e30 {
            return Err(Stuck::Astray);
        }
    }
    Err(Stuck::Astray)
}

/// Columns of unit length, so that coefficients of any size weigh alike; and their
/// lengths before.
fn evened(slope: &DMatrix<f64>) -> Result<(DMatrix<f64>, DVector<f64>), Stuck> {
    let lengths = DVector::from_iterator(slope.ncols(), slope.column_iter().map(|c| c.norm()));
    if !lengths.iter().all(|l| *l > 0.0) {
        return Err(Stuck::Loose);
    }
    let mut even = slope.clone();
    for (mut column, length) in even.column_iter_mut().zip(lengths.iter()) {
        column /= *length;
    }
    Ok((even, lengths))
}

/// Undamped steps to the last bits, and the covariance there.
fn finish(
    mut x: DVector<f64>,
    look: &impl Fn(&DVector<f64>) -> Option<(DVector<f64>, DMatrix<f64>)>,
) -> Result<Minimum, Stuck> {
    for round in 0..2 {
        let (r, j) = look(&x).ok_or(Stuck::Astray)?;
        let (even, lengths) = evened(&j)?;
        let qr = even.qr();
        let root = qr.r();
        let sizes = root.singular_values();
        if sizes.min() <= 1e-9 * sizes.max() {
            return Err(Stuck::Loose);
        }
        // (JᵀJ)⁻¹ = R⁻¹ R⁻ᵀ.
        let mut inverse = root.try_inverse().ok_or(Stuck::Loose)?;
        for (mut row, length) in inverse.row_iter_mut().zip(lengths.iter()) {
            row /= *length;
        }
        if round == 1 {
            let covariance = &inverse * inverse.transpose();
            return Ok(Minimum {
                unknowns: x,
                residuals: r,
                slope: j,
                covariance,
            });
        }
        x -= inverse * qr.q().tr_mul(&r);
    }
    Err(Stuck::Astray)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rosenbrocks_valley_is_followed_to_its_end() {
        // Moré, Garbow & Hillstrom (1981), problem 1: the minimum is 0 at (1, 1).
        let valley = |x: &DVector<f64>| {
            let r = DVector::from_vec(vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]]);
            let j = DMatrix::from_row_slice(2, 2, &[-20.0 * x[0], 10.0, -1.0, 0.0]);
            Some((r, j))
        };
        let found = marquardt(DVector::from_vec(vec![-1.2, 1.0]), valley).unwrap();
        assert!((found.unknowns - DVector::from_vec(vec![1.0, 1.0])).norm() < 1e-12);
    }

    #[test]
    fn what_is_not_fixed_is_said() {
        let flat = |x: &DVector<f64>| {
            let r = DVector::from_vec(vec![x[0] + x[1] - 1.0; 3]);
            Some((r, DMatrix::from_element(3, 2, 1.0)))
        };
        let start = DVector::from_vec(vec![0.0, 0.0]);
        assert_eq!(marquardt(start, flat), Err(Stuck::Loose));
        let few = |x: &DVector<f64>| Some((x.rows(0, 1).into_owned(), DMatrix::zeros(1, 2)));
        let start = DVector::from_vec(vec![0.0, 0.0]);
        assert_eq!(marquardt(start, few), Err(Stuck::TooFew));
    }
}
