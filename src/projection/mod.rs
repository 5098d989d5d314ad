//! From a place on the table to the projector pixel that lights it: homography,
//! lens and height plane, and the way back. Pixel coordinates are those of
//! [`crate::space`]: the top left pixel's centre is (0.5, 0.5).

pub mod grid;
mod homography;
mod lens;
pub mod many;
mod mapping;
pub mod rescaled;
mod upright;
pub mod wedge;

pub use homography::{Homography, Orientation, from_marks};
pub use lens::Lens;
pub use mapping::{LensPlace, Mapping};
pub use upright::{Reader, Upright};
