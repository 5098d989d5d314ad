//! Strips that are as high as what they say: one is laid out by the height that it had in the
//! picture before, so what has grown or shrunk is right in the next picture only.

/// So often in a row another picture is asked for: heights that never came to rest would else
/// keep the processor at work while nothing happens.
const AT_MOST: u8 = 8;

/// How high the strips were.
#[derive(Debug, Clone, Default)]
pub struct Settling {
    high: [f32; 3],
    in_a_row: u8,
}

impl Settling {
    /// Whether another picture is due, now that the strips are so high, points.
    pub fn is_due(&mut self, high: [f32; 3]) -> bool {
        let rests = |(was, is): (&f32, &f32)| (was - is).abs() < 0.5;
        if self.high.iter().zip(&high).all(rests) {
            self.in_a_row = 0;
            return false;
        }
        self.high = high;
        self.in_a_row = self.in_a_row.saturating_add(1);
        self.in_a_row <= AT_MOST
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strip_of_another_height_is_shown_again_until_it_rests() {
        let mut settling = Settling::default();
        assert!(settling.is_due([60.0, 56.0, 112.0]));
        assert!(!settling.is_due([60.0, 56.0, 112.0]));
        assert!(settling.is_due([60.0, 56.0, 138.0]));
        assert!(settling.is_due([60.0, 56.0, 160.0]));
        assert!(!settling.is_due([60.0, 56.0, 160.0]));
        assert!(settling.is_due([94.0, 56.0, 160.0]));
        assert!(!settling.is_due([94.0, 56.0, 160.0]));
    }

    #[test]
    fn heights_that_never_rest_are_given_up() {
        let mut settling = Settling::default();
        let mut restless = (0..100).map(|k| settling.is_due([60.0 + (k % 2) as f32, 56.0, 112.0]));
        assert_eq!(restless.by_ref().take_while(|due| *due).count(), 8);
        assert!(restless.all(|due| !due));
        // Once they rest they are waited for again.
        settling.is_due([60.0, 56.0, 112.0]);
        settling.is_due([60.0, 56.0, 112.0]);
        assert!(settling.is_due([94.0, 56.0, 112.0]));
    }
}
