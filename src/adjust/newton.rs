//! Least squares where the measured things are not linear in the unknowns:
//! Gauss–Newton with a step that is halved until it helps.

use nalgebra::{DMatrix, DVector};
use std::fmt;

/// How often the unknowns are improved before giving up.
const ROUNDS: usize = 50;

/// What [`gauss_newton`] found.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    pub unknowns: Vec<f64>,
    /// Residuals as `residuals` gave them at the end, each in standard
    /// deviations.
    pub residuals: Vec<f64>,
    /// Their sum of squares: χ² with [`Solved::freedom`] degrees of freedom.
    pub chi2: f64,
    /// Residuals less unknowns.
    pub freedom: usize,
    /// Covariance of the unknowns, (JᵀJ)⁻¹, row by row.
    pub covariance: Vec<Vec<f64>>,
}

/// Why there is no answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stuck {
    /// Fewer residuals than unknowns.
    TooFew,
    /// The residuals do not fix all the unknowns.
    Loose,
    /// It does not settle, or leaves where the residuals are numbers.
    Astray,
}

impl fmt::Display for Stuck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Stuck::TooFew => "there are fewer readings than unknowns",
            Stuck::Loose => "the readings do not fix all the unknowns",
            Stuck::Astray => "no unknowns come near the readings",
        })
    }
}

impl std::error::Error for Stuck {}

/// The unknowns, near `start`, that make the sum of squared `residuals` least.
/// Residuals are in standard deviations. `scale` is a small step of each
/// unknown, for central differences: where the residuals bend little over it.
///
/// Gauss–Newton with halved steps: Å. Björck, *Numerical Methods for Least
/// Squares Problems* (1996), section 9.2.
///
/// # Errors
/// See [`Stuck`].
pub fn gauss_newton(
    start: &[f64],
    scale: &[f64],
    residuals: impl Fn(&[f64]) -> Vec<f64>,
) -> Result<Solved, Stuck> {
    let mut at = start.to_vec();
    let mut now = usable(residuals(&at))?;
    if now.len() < at.len() {
        return Err(Stuck::TooFew);
    }
    for _ in 0..ROUNDS {
        let slope = slope(&at, scale, &residuals)?;
        let (step, _) = solve(&slope, &now)?;
        // What the step promises to take away, if the slope held.
        let promised = (&slope * &step).norm_squared();
        let bottom = promised <= 1e-10 * now.norm_squared();
        let small = step.iter().zip(scale).all(|(s, h)| s.abs() <= 1e-6 * h);
        let better = (0..20).find_map(|halvings| {
            let part = 0.5_f64.powi(halvings);
            let tried: Vec<f64> = at.iter().zip(&step).map(|(a, s)| a - part * s).collect();
            let left = usable(residuals(&tried)).ok()?;
            (left.norm_squared() <= now.norm_squared()).then_some((tried, left))
        });
        match better {
            Some(next) => (at, now) = next,
            // At the bottom, rounding decides; anywhere else it is lost.
            None if small || bottom => {}
            None => return Err(Stuck::Astray),
        }
        if small || bottom {
            let (_, covariance) = solve(&self::slope(&at, scale, &residuals)?, &now)?;
            return Ok(Solved {
                chi2: now.norm_squared(),
                freedom: now.len() - at.len(),
                residuals: now.iter().copied().collect(),
                covariance: (0..at.len())
                    .map(|r| covariance.row(r).iter().copied().collect())
                    .collect(),
                unknowns: at,
            });
        }
    }
    Err(Stuck::Astray)
}

fn usable(values: Vec<f64>) -> Result<DVector<f64>, Stuck> {
    let finite = values.iter().all(|v| v.is_finite());
    finite
        .then(|| DVector::from_vec(values))
        .ok_or(Stuck::Astray)
}

fn slope(
    at: &[f64],
    scale: &[f64],
    residuals: &impl Fn(&[f64]) -> Vec<f64>,
) -> Result<DMatrix<f64>, Stuck> {
    let mut columns = Vec::with_capacity(at.len());
    for (k, h) in scale.iter().enumerate() {
        let side = |sign: f64| {
            let mut moved = at.to_vec();
            moved[k] += sign * h;
            usable(residuals(&moved))
        };
        columns.push((side(1.0)? - side(-1.0)?) / (2.0 * h));
    }
    Ok(DMatrix::from_columns(&columns))
}

/// The Gauss–Newton step and (JᵀJ)⁻¹.
fn solve(slope: &DMatrix<f64>, now: &DVector<f64>) -> Result<(DVector<f64>, DMatrix<f64>), Stuck> {
    // Columns of unit length, so that metres and radians weigh alike.
    let lengths: Vec<f64> = slope.column_iter().map(|c| c.norm()).collect();
    if !lengths.iter().all(|l| *l > 0.0) {
        return Err(Stuck::Loose);
    }
    let even = DMatrix::from_fn(slope.nrows(), slope.ncols(), |r, c| {
        slope[(r, c)] / lengths[c]
    });
    let svd = even.svd(true, true);
    if svd.singular_values.min() <= 1e-7 * svd.singular_values.max() {
        return Err(Stuck::Loose);
    }
    let inverse = svd.pseudo_inverse(0.0).map_err(|_| Stuck::Loose)?;
    let inverse = DMatrix::from_fn(inverse.nrows(), inverse.ncols(), |r, c| {
        inverse[(r, c)] / lengths[r]
    });
    Ok((&inverse * now, &inverse * inverse.transpose()))
}
