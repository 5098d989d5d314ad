//! Shade: how light and what colour the cloth is, place by place, and what that is for pieces
//! laid on it.
//!
//! ```text
//! light of a photo on the cloth ─▶ ShadeMap ─▶ Shading ─▶ Under      a piece on it
//!   (linear, flat, beside white)   cells,      low-passed  Partners   left against right
//!                                  kept in                 OneShade   an article's pieces
//!                                  the job
//! ```
//!
//! * Light is averaged as light, in XYZ; lightness (L*) and differences (CIEDE2000) are taken
//!   of averages, never averaged from what is finer than a cell. See [`crate::colour`] for
//!   observer and illuminant.
//! * **Shade is what is left when the weave and the stripes are passed over**: the low pass is
//!   [`WINDOW`] wide or one repeat of the stripes, whatever is more ([`Shading`]). A piece's
//!   mean is of its cells alone; the low-passed shade of a place within it takes the cloth
//!   round about into account, beyond the net line too.
//! * What a photo can't tell is said: its [`Doubt`] goes with the map and into every verdict.
//!
//! Pieces come as what lies inside their *net line*: the allowance disappears into the seam.

mod article;
mod fill;
mod map;
mod partners;
mod plane;
mod shading;
mod smooth;
mod stored;
#[cfg(test)]
mod tests;
mod under;
mod words;

pub use article::{Off, OneShade, one_shade};
pub use map::{CELL, Doubt, Ground, ShadeMap};
pub use partners::{Apart, Half, MATCH, NEAR, Partners, Verdict, differences, partners};
pub use shading::{Shading, WINDOW};
pub use stored::Written;
pub use under::{COUNTS, Fading, Place, Slope, Spread, Under};
pub use words::Ends;
