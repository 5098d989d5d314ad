//! The pattern: pieces as drawn, and the files they are read from.

mod piece;

pub mod read;

pub use piece::{Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
