//! From what is drawn to pieces, whatever format it was drawn in.
//!
//! A reader lays every shape on the page in millimetres and says what it is to
//! which piece (`drawing`); `assemble` makes sound pieces of that.

pub mod assemble;
pub mod drawing;
pub mod flatten;
mod fold;
pub mod foot;
pub mod inside;
mod join;
pub mod left_out;
pub mod limits;
mod marks;
mod nest;
pub mod outline;
pub mod place;
mod plain;
pub mod roles;
pub mod simplify;
