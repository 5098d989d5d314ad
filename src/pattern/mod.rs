//! The pattern: pieces with their edges, notches and net lines, what is sewn to what, and what
//! is derived from them.

mod counts;
mod edges;
mod finding;
mod net;
mod piece;
mod sewing;
mod symmetry;
mod unfold;

pub mod allowance;
pub mod derive;

pub use allowance::Allowed;
pub use counts::{CountFinding, Kind, Miscount, check_counts, kind};
pub use derive::{Derived, Turn};
pub use edges::{CORNER, Edge, ON_FOLD, edges, walked};
pub use finding::{Finding, Severity, Spot, Topic};
pub use net::{Corner, EdgeMake, NetPiece};
pub use piece::{EdgeStart, Line, Notch, NotchKind, Pattern, PatternPiece, Polyline};
pub use sewing::{EdgeName, FitsAt, RING_TOLERANCE, Ring, SEAM_TOLERANCE, Seam, Sewing};
pub use symmetry::is_its_own_mirror;
pub use unfold::unfold;
