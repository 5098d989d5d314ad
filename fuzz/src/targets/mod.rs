//! Fuzz targets: each takes whatever bytes there are, and panics only where the program is wrong.
//!
//! Readers must give a value or a fault, and what is written must be read back as it was. What
//! is drawn from shapes holds the rules of the light. It names the program and `std`
//! and no other, so that the program's own tests can include this folder.

pub mod bands;
mod bytes;
pub mod drafts;
pub mod jobs;
pub mod journals;
pub mod offsets;
pub mod orders;
mod outlines;
pub mod patterns;
pub mod photos;
pub mod places;
mod png;
pub mod saved;
pub mod seams;
pub mod shades;
pub mod sought;
pub mod tables;
pub mod typed;
pub mod walks;

/// One way of feeding the program.
pub struct Target {
    /// Its folder in `corpus`, `seeds`, `regressions` and `artifacts`, and its file in
    /// `fuzz_targets`.
    pub name: &'static str,
    pub run: fn(&[u8]),
    /// Files that it may begin with, by their paths from the repository's root; `*` stands for
    /// any part of a name.
    pub seeds: &'static [&'static str],
}

/// Whether a value equals itself: one with a number in it that is none does not, and can't be
/// compared with what is read back.
fn is_itself<T: PartialEq + Clone>(value: &T) -> bool {
    let same = value.clone();
    same == *value
}

/// All of them.
pub const ALL: &[Target] = &[
    patterns::SVG,
    patterns::PDF,
    patterns::DXF,
    drafts::DRAFT,
    drafts::FORMULA,
    seams::SEAMS,
    jobs::JOB,
    jobs::OFFCUT,
    saved::SAVED,
    journals::JOURNAL,
    orders::ORDER,
    tables::POINTS,
    tables::TAPE,
    tables::PROFILE,
    photos::PHOTO,
    photos::EXIF,
    photos::COLOURS,
    shades::SHADE,
    typed::LENGTH,
    typed::WORDS,
    typed::READING,
    offsets::OFFSET,
    walks::WALK,
    bands::BAND,
    places::PLACE,
    sought::SOUGHT,
    sought::FIT,
];
