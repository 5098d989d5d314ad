//! The pattern: pieces as drawn, and the files they are read from.

mod edges;
mod net;
mod piece;
mod sewing;

pub mod read;
pub mod write;

pub use edges::{Edge, edges, walked};
pub use net::{Corner, EdgeMake, NetPiece};
pub use piece::{EdgeStart, Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
pub use sewing::{EdgeName, FitsAt, Ring, Seam, Sewing};
