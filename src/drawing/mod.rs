//! Pattern files: drawings read into pieces, and pieces written as drawings.

pub mod read;
pub mod write;
