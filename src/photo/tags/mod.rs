//! AprilTags 36h11 in a photo: found, told, and their corners to a small part of a pixel.
//!
//! Made smaller to where a tag of 50 mm is some 80 px wide, and again by halves, the photo is
//! split into what is darker than its surroundings and what is not; dark patches with four
//! corners are read as tags; and what reads as one is found again in the photo at full
//! resolution, side by side (see `edge.rs`).

mod bits;
mod blobs;
mod board;
mod codes;
mod edge;
mod family;
mod grey;
mod quad;
mod refine;
#[cfg(test)]
mod tests;

pub use board::{ACROSS, ALONG, Board, PITCH, PRINTED, SIZE, Sighting};
pub use family::{CELLS, COUNT, MOST_WRONG, black};

use crate::photo::Picture;
use crate::space::{Photo, Point, mean};
use bits::Reading;
use edge::Lost;
use grey::Grey;

/// A tag, whole and flat enough to be measured from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tag {
    /// Its number in the family 36h11.
    pub id: u16,
    /// Corners of the black square, px. With the tag upright as printed: lower left, lower
    /// right, upper right, upper left.
    pub corners: [Point<Photo>; 4],
    /// Standard error of each corner along each of x and y, px.
    pub sigma_px: [f64; 4],
    /// Bits that were put right, 0 to [`MOST_WRONG`].
    pub wrong_bits: u32,
    /// How far cells are from being half way between black and white, mean: 0 to 1.
    pub margin: f64,
    /// Root mean square of what single places of the sides differ from straight (or evenly
    /// bent) by, px.
    pub scatter_px: f64,
    /// Standard deviation of the photo's blur at the sides, px.
    pub blur_px: f64,
}

impl Tag {
    /// Mean of the corners, px.
    pub fn middle(&self) -> Point<Photo> {
        mean(self.corners).unwrap_or_default()
    }
}

/// Why something that looks like a tag is none that can be measured from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It, or the white about it, is partly hidden.
    Covered,
    /// It is too small or too blurred.
    Blurred,
    /// Its paper doesn't lie flat.
    Crumpled,
    /// The photo is mirrored.
    Mirrored,
    /// Its bits are none of the family's.
    Unknown,
}

/// Something that looks like a tag.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Doubt {
    /// Its number, where that can be read.
    pub id: Option<u16>,
    /// Its middle, px.
    pub at: Point<Photo>,
    pub why: Why,
}

/// All that was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Found {
    /// In order of their numbers; a number may be there twice.
    pub tags: Vec<Tag>,
    pub doubts: Vec<Doubt>,
}

/// Looks for tags everywhere in a photo. A tag must lie whole within it, with white of a cell's
/// width about it, and be 20 px of the photo's 2400th part along the longer side: 1/120 of that.
pub fn find(picture: &Picture) -> Found {
    let mut found = Found::default();
    let mut level = Some(Grey::finest(picture));
    while let Some(grey) = level {
        let step = grey.step as f64;
        for hull in blobs::hulls(&grey) {
            let Some(corners) = quad::corners(&hull) else {
                continue;
            };
            let corners = corners.map(|[x, y]| Point::new(step * x, step * y));
            let at = mean(corners).unwrap_or_default();
            // Seen on a finer level already.
            if !found.tags.iter().any(|tag| same(tag, at)) {
                match looked(picture, &grey, corners) {
                    Ok(Some(tag)) => found.tags.push(tag),
                    Ok(None) => {}
                    Err((id, why)) => found.doubts.push(Doubt { id, at, why }),
                }
            }
        }
        level = grey.coarser();
    }
    found.tags.sort_by_key(|tag| tag.id);
    sift(&mut found);
    found
}

/// A tag, nothing, or what looks like a tag and why it is none.
fn looked(
    picture: &Picture,
    grey: &Grey,
    corners: [Point<Photo>; 4],
) -> Result<Option<Tag>, (Option<u16>, Why)> {
    let told = match bits::read(grey, corners) {
        Reading::None => return Ok(None),
        Reading::Unknown => return Err((None, Why::Unknown)),
        Reading::Covered(id) => return Err((id, Why::Covered)),
        Reading::Mirrored(id) => return Err((Some(id), Why::Mirrored)),
        Reading::Tag(told) => told,
    };
    let id = Some(told.id);
    let fine = refine::refined(picture, corners, 1.5 * grey.step as f64).map_err(|lost| {
        let why = match lost {
            Lost::Covered => Why::Covered,
            Lost::Blurred => Why::Blurred,
            Lost::Crumpled => Why::Crumpled,
        };
        (id, why)
    })?;
    // The sides that were found must be those of the tag that was read.
    match bits::read(grey, fine.corners) {
        Reading::Tag(again) if again.id == told.id && again.upper_left == told.upper_left => {
            let order = [3, 2, 1, 0].map(|k| (again.upper_left + k) % 4);
            Ok(Some(Tag {
                id: told.id,
                corners: order.map(|k| fine.corners[k]),
                sigma_px: order.map(|k| fine.sigma[k]),
                wrong_bits: again.wrong,
                margin: again.margin,
                scatter_px: fine.scatter,
                blur_px: fine.blur,
            }))
        }
        _ => Err((id, Why::Covered)),
    }
}

/// Leaves one doubt a place, and none of what is a tag after all.
fn sift(found: &mut Found) {
    let doubts = std::mem::take(&mut found.doubts);
    // Finer levels come first: they saw more.
    for doubt in doubts {
        let told = found.tags.iter().any(|tag| same(tag, doubt.at));
        let again = |other: &Doubt| (other.at - doubt.at).length() < 20.0;
        if !told && !found.doubts.iter().any(again) {
            found.doubts.push(doubt);
        }
    }
}

/// Whether a middle is a tag's: nearer than a quarter of its side.
fn same(tag: &Tag, at: Point<Photo>) -> bool {
    let side = (tag.corners[1] - tag.corners[0]).length();
    (tag.middle() - at).length() < 0.25 * side
}
