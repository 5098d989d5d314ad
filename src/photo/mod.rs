//! A photo of the table: what the camera wrote, in linear light.

mod notes;
mod picture;
mod profile;
mod whole;

pub use notes::Notes;
pub use picture::Picture;
