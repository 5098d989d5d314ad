//! The seams file: what is sewn to what, for a pattern that is a drawing. TOML; lengths
//! are text as people type them.
//!
//! A drawing's edges have only numbers, counter-clockwise from corner to corner, as the
//! report shows them. The file names those that it speaks of: by number, or from one
//! corner or notch to another (`from = "notch 2"`, `to = "corner 3"`, counter-clockwise;
//! corner k is where edge k begins, notches are counted round the cut line). A length
//! beside the name is only compared: if the drawing has changed, that is noted.

mod apply;
mod text;
mod to_text;
mod written;

#[cfg(test)]
mod tests;

pub use apply::Applied;
pub use written::Written;

use crate::pattern::Sewing;

/// The key that says what kind of file it is, and of which version.
pub const STAMP: &str = "ghostchalk_seams";
/// The version that is read and written.
pub const VERSION: i64 = 1;

/// Where a run of outline begins or ends, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    Corner(usize),
    Notch(usize),
}

/// Which part of an outline is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    /// The edge of that number.
    Number(usize),
    /// Counter-clockwise; the same place twice is the whole outline.
    Between(Place, Place),
}

/// A name for an edge of a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeNaming {
    pub piece: String,
    pub along: Along,
    pub name: String,
    /// What it measured when it was named, mm.
    pub length: Option<f64>,
    /// Net line to cut line, mm, if it is to be told.
    pub allowance: Option<f64>,
    /// In the file; 0 if it is not from one.
    pub line: usize,
}

/// A seams file, read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SeamsFile {
    pub edges: Vec<EdgeNaming>,
    pub sewing: Sewing,
}
