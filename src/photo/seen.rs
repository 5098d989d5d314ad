//! A place of the table that a photo shows.

use crate::space::{Photo, Point, Table};

/// Where a known place of the table is seen in a photo: what a camera's pose is fitted to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Where it is seen, px.
    pub at: Point<Photo>,
    /// Where it is, mm.
    pub is: Point<Table>,
    /// Standard error of `at` along each of x and y, px: that of reading it and, as far as it
    /// is known, that of `is`, seen from where the photo was taken.
    pub sigma_px: f64,
}
