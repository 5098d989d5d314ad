//! The pattern: pieces as drawn, and the files they are read from.

mod counts;
pub mod draft;
mod edges;
mod finding;
mod net;
mod piece;
mod seams_file;
mod sewing;
mod symmetry;
mod unfold;

pub mod allowance;
pub mod derive;
pub mod grain;
pub mod prove;
pub mod read;
pub mod walk;
pub mod write;

pub use allowance::Allowed;
pub use counts::{CountFinding, Kind, Miscount, check_counts, kind};
pub use derive::{Derived, Turn};
pub use edges::{Edge, edges, walked};
pub use finding::{Finding, Severity, Spot, Topic};
pub use net::{Corner, EdgeMake, NetPiece};
pub use piece::{EdgeStart, Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
pub use seams_file::{Applied, SeamsFile, Written};
pub use sewing::{EdgeName, FitsAt, Ring, Seam, Sewing};
pub use symmetry::is_its_own_mirror;
pub use unfold::unfold;
