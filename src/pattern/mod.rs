//! The pattern: pieces as drawn, and the files they are read from.

mod edges;
mod finding;
mod net;
mod piece;
mod seams_file;
mod sewing;

pub mod grain;
pub mod prove;
pub mod read;
pub mod walk;

pub use edges::{Edge, edges, walked};
pub use finding::{Finding, Severity, Spot, Topic};
pub use net::{Corner, EdgeMake, NetPiece};
pub use piece::{EdgeStart, Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
pub use seams_file::{Applied, SeamsFile};
pub use sewing::{EdgeName, FitsAt, Ring, Seam, Sewing};
