//! Looking at the cloth: a photo of the table becomes each panel's map of shade, what is laid is
//! judged by it, places are sought on it, and whether its guides are seen is told.

mod beneath;
mod elsewhere;
mod find;
mod held;
mod laid;
mod lying;
mod photo;
mod seek;
mod seen;
mod sought;
mod taken;
mod whole;
mod wishing;

pub use elsewhere::elsewhere;
pub use find::{Proposed, name_of, propose};
pub use held::{HeldShade, held_shade};
pub use laid::{Partnered, ShadeOf, Shaded, shades};
pub use lying::{Lying, OwnMarks};
pub use photo::{Asked, Click, Looked, look};
pub use seek::{Shades, Wanted, lab_of, pair_places, places};
pub use seen::{SeenLay, SeenPiece, Stretch, seen};
pub use sought::sought;
pub use taken::Item;
pub use whole::{Over, Unlaid, WholeLay, fit_all, long_enough, unlaid};
