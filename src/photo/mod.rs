//! A photo: what the camera wrote, in linear light.

mod picture;

pub use picture::Picture;
