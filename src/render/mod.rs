//! One scene through one projection to a picture, on the graphics processor.
//!
//! 1. *edges*: every outline is split, projected vertex by vertex in f64 and
//!    rounded to 1/65536 px: the GPU knows pixels, not lenses.
//! 2. *cover* (compute): each edge adds its exact signed area to the pixels it
//!    crosses, in integers.
//! 3. *cover* again: sums along each row give the light in each pixel, encoded
//!    to sRGB once into a picture that is kept; only the changed rectangle is
//!    drawn again.

mod canvas;
mod device;
mod edges;
mod encode;
mod gpu;
mod painter;
mod parcel;
mod rect;
mod screen;

pub use canvas::{Canvas, Picture};
pub use device::{Device, Drivers, Wanted};
pub use edges::{Drawn, draw, draw_all};
pub use painter::{Painter, Pixels};
pub use rect::Rect;
pub use screen::{Screen, Shown, configured};
