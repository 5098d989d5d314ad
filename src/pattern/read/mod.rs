//! Reading patterns from files. One module a format; each gives a whole
//! pattern or a fault, never a part of one.

mod drawn;
mod scale;
#[cfg(test)]
mod testing;

pub mod dxf;
pub mod strokes;
pub mod svg;
