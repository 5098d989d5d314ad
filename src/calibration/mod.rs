//! From marks on the table to a profile that says where light lands.

pub mod check_picture;
mod off;
mod points;
mod profile;
pub mod reading;
pub mod still;
pub mod table_marks;
pub mod target;

pub use off::{Off, most_off};
pub use points::{HEADER, MarkRow, read_points};
pub use profile::{CheckedFile, LensFile, LensPlaceFile, MarkFile, PROFILE_VERSION, Profile};
