//! Lengths as units of physical size, and as people type and read them.
//! Everything inside is millimetres.

mod length;
mod lines;
mod numbers;
mod sentence;
mod sides;
pub mod typed;
mod xml;

pub use length::{LONGEST, Unit, parse_length, two_ways};
pub use lines::{fitted, lines};
pub use numbers::numbers;
pub use sides::{parse_sides, split_sides};
pub use xml::{xml_attribute, xml_text};

/// 1959 international yard and pound agreement: exactly.
pub const MM_PER_INCH: f64 = 25.4;

/// A CSS or SVG px is 1/96 in (W3C CSS Values 3).
pub const PX_PER_INCH: f64 = 96.0;

/// A typographic point is 1/72 in (W3C CSS Values 3; ISO 32000 user unit).
pub const PT_PER_INCH: f64 = 72.0;

/// Millimetres in one CSS px: 0.264583…
pub const MM_PER_PX: f64 = MM_PER_INCH / PX_PER_INCH;

/// Millimetres in one typographic point: 0.352777…
pub const MM_PER_PT: f64 = MM_PER_INCH / PT_PER_INCH;
