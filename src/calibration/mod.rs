//! From marks on the table to a profile that says where light lands.

pub mod account;
pub mod budget;
mod check_lines;
pub mod check_picture;
pub mod cut_test;
pub mod fit;
pub mod network;
mod off;
mod points;
mod profile;
pub mod raised;
pub mod reading;
pub mod still;
mod table_file;
pub mod table_marks;
pub mod tag_sheet;
pub mod target;
pub mod vernier;

pub use off::{Off, most_off};
pub use points::{HEADER, MarkRow, NamedRow, parse as parse_points, read_points};
pub use profile::{
    AsWritten, BelievedFile, CheckedFile, LensFile, LensPlaceFile, MarkFile, NO_OUTPUT,
    PROFILE_VERSION, Profile, light_on,
};
