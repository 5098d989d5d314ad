//! Limits on what is drawn, whatever the format.

/// Most points in all outlines and lines of a file together.
pub const MAX_POINTS: usize = 4_000_000;
/// Farthest from the page's corner that anything may be drawn, in mm.
pub const MAX_MM: f64 = 1e5;
