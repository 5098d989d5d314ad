//! Looking at the cloth: a photo of the table becomes each panel's map of shade, what is laid is
//! judged by it, and places are sought on it.

mod laid;
mod photo;
mod seek;

pub use laid::{Partnered, ShadeOf, Shaded, shades};
pub use photo::{Asked, Click, Looked, look};
pub use seek::{Shades, Unlaid, Wanted, WholeLay, fit_all, lab_of, places, unlaid};
