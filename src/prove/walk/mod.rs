//! Walking the seams: two edges that are sewn together are laid against one another along
//! their net lines, from notch to notch.

mod form;
mod grows;
mod laid;
mod landing;
mod meet;
mod missing;
mod propose;
mod ring;
mod run;
mod say;
mod seam;
mod sense;
mod sewn;
mod trued;

#[cfg(test)]
mod reference;
#[cfg(test)]
mod tests;

pub use grows::{grows, sewn_length};
pub use laid::{Adrift, Dart, Laid, Mark};
pub use landing::{Landing, Meets, Stretch};
pub use missing::{at_fold, missing};
pub use propose::{Proposal, propose};
pub use ring::{
    BIAS_EASES, Grown, RULE_OF_THUMB, RingResult, RingSewn, RingVerdict, ring, thickness_ease,
};
pub use seam::{SeamResult, Verdict, walk};
pub use sense::Walked;
pub use sewn::Sewn;
pub use trued::{TRUED, trued};
