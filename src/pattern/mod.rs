//! The pattern: pieces as drawn, and the files they are read from.

mod edges;
mod piece;
mod sewing;

pub mod read;

pub use edges::{Edge, edges, walked};
pub use piece::{EdgeStart, Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
pub use sewing::{EdgeName, FitsAt, Ring, Seam, Sewing};
