//! Draws from the normal distribution.

use std::f64::consts::TAU;

use rand::{Rng, RngExt};

/// Two independent draws of mean 0 and standard deviation 1, after Box and
/// Muller, *A Note on the Generation of Random Normal Deviates* (1958).
pub(super) fn pair(rng: &mut impl Rng) -> [f64; 2] {
    // `random` may be 0, whose logarithm is not finite; 1 minus it may not.
    let radius = (-2.0 * (1.0 - rng.random::<f64>()).ln()).sqrt();
    let (sin, cos) = (TAU * rng.random::<f64>()).sin_cos();
    [radius * cos, radius * sin]
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn moments_are_those_of_the_normal_distribution() {
        let mut rng = ChaCha8Rng::seed_from_u64(7);
        let draws: Vec<[f64; 2]> = (0..50_000).map(|_| pair(&mut rng)).collect();
        let mean = |f: &dyn Fn(&[f64; 2]) -> f64| draws.iter().map(f).sum::<f64>() / 50_000.0;
        // Each bound is above four standard errors.
        assert!(mean(&|d| d[0]).abs() < 0.02);
        assert!(mean(&|d| d[1]).abs() < 0.02);
        assert!(mean(&|d| d[0] * d[1]).abs() < 0.02);
        assert!((mean(&|d| d[0] * d[0]) - 1.0).abs() < 0.03);
        assert!((mean(&|d| d[1].powi(4)) - 3.0).abs() < 0.18);
    }
}
