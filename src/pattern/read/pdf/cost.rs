//! What reading a file has cost so far, so that a small one can't ask for too much.

use super::unpack::Unpacked;
use crate::fault::{Fault, Outcome};

/// Most operators followed.
pub const MAX_STEPS: usize = 20_000_000;

/// What reading the file has cost so far.
#[derive(Default)]
pub struct Cost {
    steps: usize,
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
            return Err(Fault::input(
                format!("the PDF {what}"),
                "take what is not pattern (pictures, hatching, pages of text) out of it, or pick its layers",
            ));
        }
        Ok(())
    }

    pub(super) fn step(&mut self) -> Outcome<()> {
        Self::spend(
            &mut self.steps,
            1,
            MAX_STEPS,
            "goes on for more than 20 million operators",
        )
    }
}
