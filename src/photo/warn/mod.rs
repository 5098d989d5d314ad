//! What is wrong with a photo that would be believed otherwise: each in a sentence, with
//! what to do.

mod banding;
mod blown;
mod cast;
mod moved;
mod tone;

pub use banding::banding;
pub use blown::{blown, blown_within};
pub use cast::cast;
pub use moved::moved;
pub use tone::tone;

use crate::space::{Point, Table};

/// What a warning is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum About {
    /// Parts so bright that the camera wrote its highest code.
    Blown,
    /// Light of a strong colour, or of two.
    Cast,
    /// The cloth lies elsewhere than in another photo.
    Moved,
    /// The camera brightened some parts more than others.
    Tone,
    /// Stripes of the lamp's flicker or a projector's colours.
    Banding,
}

/// One warning.
#[derive(Debug, Clone, PartialEq)]
pub struct Warning {
    pub about: About,
    /// What is wrong and what to do: one sentence.
    pub text: String,
    /// Where it is worst, if it is anywhere.
    pub at: Option<Point<Table>>,
}

/// The eye's weight of red, green and blue light (IEC 61966-2-1).
fn luminance(v: [f32; 3]) -> f32 {
    0.2126 * v[0] + 0.7152 * v[1] + 0.0722 * v[2]
}

/// The middle value; 0 of none.
fn median(all: &mut [f64]) -> f64 {
    if all.is_empty() {
        return 0.0;
    }
    let middle = all.len() / 2;
    *all.select_nth_unstable_by(middle, f64::total_cmp).1
}
