//! A set of errors in a few numbers.

/// What a set of signed errors amounts to, in the unit of the errors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// How many errors there are.
    pub count: usize,
    /// The mean with sign: a bias.
    pub mean: f64,
    /// The root of the mean square.
    pub rms: f64,
    /// The size that 95 % of the errors do not exceed (nearest rank).
    pub p95: f64,
    /// The greatest size.
    pub worst: f64,
}

impl Spread {
    /// `None` if there are no errors to speak of.
    pub fn of(errors: impl IntoIterator<Item = f64>) -> Option<Self> {
        let errors: Vec<f64> = errors.into_iter().collect();
        let mut sizes: Vec<f64> = errors.iter().map(|e| e.abs()).collect();
        sizes.sort_by(f64::total_cmp);
        let worst = *sizes.last()?;
        let count = sizes.len();
        let rank = (0.95 * count as f64).ceil() as usize;
        Some(Self {
            count,
            mean: errors.iter().sum::<f64>() / count as f64,
            rms: (sizes.iter().map(|s| s * s).sum::<f64>() / count as f64).sqrt(),
            p95: sizes[rank.clamp(1, count) - 1],
            worst,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_to_hundred_with_sign() {
        let alternating = (1..=100).map(|i| f64::from(if i % 2 == 0 { i } else { -i }));
        let spread = Spread::of(alternating).expect("errors");
        assert_eq!([spread.mean, spread.p95, spread.worst], [0.5, 95.0, 100.0]);
        // Σi² = 100·101·201/6
        assert!((spread.rms - 3383.5_f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn one_error_is_every_number_and_none_is_none() {
        let spread = Spread::of([-2.0]).expect("an error");
        assert_eq!([spread.mean, spread.rms], [-2.0, 2.0]);
        assert_eq!([spread.p95, spread.worst], [2.0, 2.0]);
        assert_eq!(Spread::of([]), None);
    }
}
