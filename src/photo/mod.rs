//! A photo of the table: what the camera wrote, in linear light, what is found in it, and
//! where on the table that is.

pub mod even;
pub mod mark;
mod notes;
pub mod ortho;
mod picture;
pub mod pose;
mod profile;
mod seen;
pub mod tags;
pub mod warn;
mod whole;

pub use even::{Ground, Light, Patch};
pub use mark::{Look, Snap, snap};
pub use notes::Notes;
pub use ortho::{Layout, ortho};
pub use picture::Picture;
pub use pose::{Beforehand, Camera, Mark, Pose, Sure};
pub use seen::Seen;

#[cfg(test)]
mod tests;
