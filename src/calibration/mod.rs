//! From marks on the table to a profile that says where light lands.

pub mod check_picture;
mod points;
mod profile;
pub mod reading;
pub mod table_marks;
pub mod target;

pub use points::{HEADER, MarkRow, read_points};
pub use profile::{LensFile, LensPlaceFile, MarkFile, PROFILE_VERSION, Profile};
