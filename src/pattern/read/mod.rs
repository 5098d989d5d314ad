//! Reading patterns from files. One module a format; each gives a whole
//! pattern or a fault, never a part of one.

pub mod card;
pub mod svg;
