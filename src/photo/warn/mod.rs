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
