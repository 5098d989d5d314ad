//! Writing pieces to files that other programs, and our own readers, can read.

mod dxf;
mod row;
mod svg;

#[cfg(test)]
mod tests;

pub use dxf::dxf;
pub use svg::svg;
