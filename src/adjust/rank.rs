//! Numbers by their rank: the middle one, and the one that a share lies under.

use std::cmp::Ordering;

/// Numbers that all have a rank, whatever they are: a NaN has one, too.
pub trait Ranked: Copy + Default + Into<f64> {
    /// Which comes first; `total_cmp` of the standard library.
    fn order(&self, other: &Self) -> Ordering;
}

impl Ranked for f32 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }
}

impl Ranked for f64 {
    fn order(&self, other: &Self) -> Ordering {
        self.total_cmp(other)
    }
}

/// The middle value, of an even count the upper of the two in the middle; 0 of none. The
/// values are put in another order.
pub fn median<T: Ranked>(values: &mut [T]) -> T {
    if values.is_empty() {
        return T::default();
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, T::order).1
}

/// The value that a `share` of all, 0 to 1, lie under, linearly between ranks; `None` of none.
/// The values are put in another order.
pub fn quantile<T: Ranked>(values: &mut [T], share: f64) -> Option<f64> {
    let rank = share * values.len().checked_sub(1)? as f64;
    let (_, low, above) = values.select_nth_unstable_by(rank as usize, T::order);
    let low: f64 = (*low).into();
    let next = above.iter().copied().min_by(T::order);
    let next = next.map_or(low, Into::into);
    Some(low + (next - low) * rank.fract())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_an_even_count_is_the_upper_one() {
        assert_eq!(median(&mut [5.0, 1.0, 3.0]), 3.0);
        assert_eq!(median(&mut [5.0_f32, 1.0, 3.0, 4.0]), 4.0);
        assert_eq!(median(&mut [7.0]), 7.0);
        assert_eq!(median::<f64>(&mut []), 0.0);
    }

    #[test]
    fn what_is_no_number_comes_last() {
        assert_eq!(median(&mut [f64::NAN, 2.0, 1.0]), 2.0);
    }

    #[test]
    fn between_two_ranks_a_share_is_linear() {
        assert_eq!(quantile(&mut [2.0, 1.0], 0.25), Some(1.25));
        assert_eq!(quantile(&mut [30.0_f32, 10.0, 20.0], 0.75), Some(25.0));
        assert_eq!(quantile(&mut [7.0], 0.95), Some(7.0));
        assert_eq!(quantile(&mut [3.0, 1.0], 1.0), Some(3.0));
        assert_eq!(quantile::<f64>(&mut [], 0.95), None);
    }
}
