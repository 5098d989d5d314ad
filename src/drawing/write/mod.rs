//! Writing pieces to files that other programs, and our own readers, can read.

mod dxf;
pub(crate) mod row;
mod svg;

#[cfg(test)]
mod tests;

pub use dxf::dxf;
pub use svg::svg;

/// How many are cut, and whether as pairs: as every reader takes it. An odd number makes
/// no pairs, and a piece is cut 1 to 999 times.
fn counted(piece: &crate::pattern::PatternPiece) -> (u32, bool) {
    let count = piece.cut_count.clamp(1, 999);
    (count, piece.pair && count.is_multiple_of(2))
}
