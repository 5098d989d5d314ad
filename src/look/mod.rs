//! Looking at the cloth: a photo of the table becomes each panel's map of shade, and what is
//! laid is judged by it.

mod laid;
mod photo;

pub use laid::{Partnered, ShadeOf, Shaded, shades};
pub use photo::{Asked, Click, Looked, look};
