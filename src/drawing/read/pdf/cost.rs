//! What reading a file has cost so far, so that a small one can't ask for too much.

use std::time::{Duration, Instant};

use super::unpack::Unpacked;
use crate::fault::{Fault, Outcome};

const TAKE_OUT: &str =
    "take what is not pattern (pictures, hatching, pages of text) out of it, or pick its layers";
/// Most operators followed.
pub const MAX_STEPS: usize = 20_000_000;

/// The longest that the operators are followed. A single one may look at all of the file.
const MAX_TIME: Duration = Duration::from_secs(120);
/// The clock is looked at once in so many.
const LOOK: usize = 128;

/// What reading the file has cost so far.
#[derive(Default)]
pub struct Cost {
    steps: usize,
    begun: Option<Instant>,
    pub(super) forms: usize,
    pub(super) unpacked: Unpacked,
    pub(super) texts: usize,
    pub(super) strokes: usize,
    pub(super) points: usize,
}

impl Cost {
    pub(super) fn spend(of: &mut usize, by: usize, most: usize, what: &str) -> Outcome<()> {
        *of = of.saturating_add(by);
        if *of > most {
            return Err(Fault::input(format!("the PDF {what}"), TAKE_OUT));
        }
        Ok(())
    }

    pub(super) fn step(&mut self) -> Outcome<()> {
        self.steps(1)
    }

    /// What counts for `count` operators.
    pub(super) fn steps(&mut self, count: usize) -> Outcome<()> {
        let looked = self.steps / LOOK;
        Self::spend(
            &mut self.steps,
            count,
            MAX_STEPS,
            "goes on for more than 20 million drawing steps",
        )?;
        let begun = self.begun.get_or_insert_with(Instant::now);
        if self.steps / LOOK > looked && begun.elapsed() > MAX_TIME {
            return Err(Fault::input(
                "the PDF takes more than two minutes to read",
                TAKE_OUT,
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_takes_too_long_is_refused() {
        let mut cost = Cost::default();
        cost.steps(5).unwrap();
        cost.begun = Instant::now().checked_sub(MAX_TIME * 2);
        for _ in 5..LOOK - 1 {
            cost.step().unwrap();
        }
        let fault = cost.step().unwrap_err().to_string();
        assert!(fault.contains("two minutes"), "{fault}");
        let fault = Cost::default()
            .steps(MAX_STEPS + 1)
            .unwrap_err()
            .to_string();
        assert!(fault.contains("20 million drawing steps"), "{fault}");
    }
}
