//! How well readings check one another: W. Baarda, *A Testing Procedure for Use in
//! Geodetic Networks* (Netherlands Geodetic Commission, 1968).

use nalgebra::{DMatrix, DVector};
use statrs::distribution::{ContinuousCDF, Normal};

/// A reading is called a slip if a sound one would look so bad once in a thousand.
pub const SLIP: f64 = 0.001;

/// A slip of the stated least size is noticed so often (Baarda's usual choice).
pub const POWER: f64 = 0.8;

/// What a reading is worth as a check, and what it looks like itself.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Checked {
    /// From 0, none other says anything of it, to 1, all others know it already.
    pub redundancy: f64,
    /// Its residual in the standard deviations of that residual; 0 where nothing
    /// checks it. Baarda's w.
    pub w: f64,
    /// The least slip, in standard deviations of the reading, that is noticed
    /// [`POWER`] of the time. Infinite where nothing checks it.
    pub least: f64,
}

impl Checked {
    /// Whether it looks like a slip ([`SLIP`], both ways).
    pub fn is_slip(&self) -> bool {
        self.w.abs() > critical()
    }
}

/// |w| beyond which a reading is called a slip: 3.29.
pub fn critical() -> f64 {
    quantile(1.0 - SLIP / 2.0)
}

/// Each reading, of residuals and slopes in standard deviations. The slopes may leave
/// unknowns loose (a map's place and turn).
pub fn reliability(slope: &DMatrix<f64>, residuals: &DVector<f64>) -> Vec<Checked> {
    let reach = quantile(1.0 - SLIP / 2.0) + quantile(POWER);
    let svd = slope.clone().svd(true, false);
    let Some(u) = svd.u else { return Vec::new() };
    let largest = svd.singular_values.max();
    let fixed = svd.singular_values.iter().map(|s| *s > 1e-9 * largest);
    let fixed: Vec<bool> = fixed.collect();
    let each = residuals.iter().enumerate().map(|(k, r)| {
        let row = u.row(k);
        let taken = row.iter().zip(&fixed).filter(|(_, f)| **f);
        let redundancy = 1.0 - taken.map(|(v, _)| v * v).sum::<f64>();
        // Rounding leaves something where there is nothing.
        if redundancy < 1e-9 {
            return Checked {
                redundancy: 0.0,
                w: 0.0,
                least: f64::INFINITY,
            };
        }
        let root = redundancy.sqrt();
        Checked {
            redundancy,
            w: r / root,
            least: reach / root,
        }
    });
    each.collect()
}

fn quantile(chance: f64) -> f64 {
    Normal::standard().inverse_cdf(chance)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_mean_of_equal_readings_checks_each_by_the_others() {
        // n readings of one length: r = 1 - 1/n (closed form).
        let slope = DMatrix::from_element(5, 1, 1.0);
        let r = DVector::from_vec(vec![0.1, -0.1, 0.0, 0.0, 4.0]);
        let all = reliability(&slope, &r);
        for c in &all {
            assert!((c.redundancy - 0.8).abs() < 1e-12);
            // δ₀ = 4.13 for α = 0.1 % and β = 80 %: Baarda's table.
            assert!((c.least * 0.8f64.sqrt() - 4.13).abs() < 0.005);
        }
        let slips: Vec<bool> = all.iter().map(Checked::is_slip).collect();
        assert_eq!(slips, [false, false, false, false, true]);
        assert!((critical() - 3.2905).abs() < 1e-3);
    }

    #[test]
    fn a_reading_that_nothing_checks_is_never_a_slip() {
        let slope = DMatrix::from_row_slice(3, 2, &[1.0, 0.0, 0.0, 1.0, 0.0, 1.0]);
        let all = reliability(&slope, &DVector::from_vec(vec![9.0, 0.1, -0.1]));
        assert_eq!((all[0].redundancy, all[0].w), (0.0, 0.0));
        assert!(all[0].least.is_infinite() && all[1].least.is_finite());
    }
}
