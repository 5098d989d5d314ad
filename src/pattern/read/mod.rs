//! Reading patterns from files. One module a format; each gives a whole
//! [`Pattern`](crate::pattern::piece::Pattern) or a fault, never a part of one.

pub mod svg;
