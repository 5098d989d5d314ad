//! The pattern: pieces as drawn, and the files they are read from.

mod edges;
mod piece;

pub mod read;

pub use edges::{Edge, edges};
pub use piece::{Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
