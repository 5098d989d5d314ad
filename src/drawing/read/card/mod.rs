//! A photo of a card template beside a sheet of paper of known size becomes a piece: the
//! sheet says what a millimetre is and from where the camera looked, and the card's edge is
//! where its light gives way to the table's, half and half, in linear light.

mod agree;
mod coarse;
mod contour;
mod corner;
mod edge;
mod ground;
mod hole;
mod notes;
mod piece;
mod plane;
mod redraw;
mod sheet;
mod sides;
mod wall;

pub use notes::DOUBTFUL;

use crate::fault::{Fault, Outcome, short};
use crate::measure::LONGEST;
use crate::pattern::Pattern;
use crate::photo::Picture;

/// What is known of the photo.
#[derive(Debug, Clone, PartialEq)]
pub struct CardPhoto {
    /// The sheet's two sides, mm, in either order.
    pub sheet: [f64; 2],
    /// The card's thickness, mm, ≥ 0; at 0 nothing is allowed for.
    pub thickness: f64,
    /// From the lens straight down to the sheet, mm, if it was measured.
    pub camera_height: Option<f64>,
    /// The piece's name.
    pub name: String,
    /// The sheet's corners, px, in any order, if it is not to be looked for.
    pub sheet_corners: Option<[[f64; 2]; 4]>,
    /// A place on the card, px, if it is not the largest thing beside the sheet.
    pub card_at: Option<[f64; 2]>,
}

/// A card template, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Card {
    /// One piece: the card's edge is its cut line, y up as in the photo. Holes 8 mm across
    /// and larger are cutouts, smaller ones drill points.
    pub pattern: Pattern,
    /// Standard error of a place on the outline, mm (root mean square along it): of the
    /// edge as seen, the sheet's corners and lens, the camera's height and the card's edge
    /// where it is seen from the side. The sheet's own size is taken as true.
    pub standard_error: f64,
    /// Share of the outline, 0 to 1, along which card and ground are hardly told apart, or a
    /// shadow may have been taken for card: of that the standard error says nothing.
    pub doubtful: f64,
    /// A place there, px of the photo.
    pub doubtful_at: Option<[f64; 2]>,
    /// From the lens to the sheet, mm; `None` if the card's thickness is 0 and nothing
    /// tells it to a tenth.
    pub camera_height: Option<f64>,
    /// What the person should check, one sentence each; also in the pattern's notes.
    pub notes: Vec<String>,
}

/// Thickest card, mm.
const THICKEST: f64 = 50.0;

/// Reads the card in a photo (PNG or JPEG, up to 60 million pixels; turned as EXIF says).
///
/// # Errors
///
/// An input fault when the bytes are no such photo, the sheet or the card can't be found,
/// is cut off or hidden, there are two sheets, the card lies across the sheet's side, or a
/// thick card's allowance can't be told to 0.15 mm because nothing tells the camera's height.
pub fn read(bytes: &[u8], how: &CardPhoto) -> Outcome<Card> {
    check(how)?;
    let picture = Picture::read(bytes)?;
    let coarse = coarse::Coarse::of(&picture);
    let sheet = match how.sheet_corners {
        Some(corners) => sheet::near(&picture, corners, how.sheet)?,
        None => sheet::find(&picture, &coarse, how.sheet)?,
    };
    let plane = plane::Plane::of(&picture, &sheet)?;
    let found = ground::find(&coarse, &plane, sheet.size, how.card_at)?;
    let seen = edge::Seen::of(&picture, &coarse, &found, &plane)?;
    let camera = plane.camera(&picture, sheet.on_table(), how.camera_height);
    let mut outlines = wall::lowered(&found, &seen, camera, how, sheet.sides.blur)?;
    let above = camera.filter(|_| how.thickness > 0.0);
    let above = above.map(|c| (c, how.thickness));
    let agreed = agree::agreed(&seen, &plane, above, outlines.blur, &outlines);
    let agreed = agreed.ok_or_else(edge::lost)?;
    notes::told_apart(&agreed.looks)?;
    outlines.rings = agreed.rings;
    piece::card(
        &picture,
        &plane,
        &sheet,
        &found,
        &seen,
        &outlines,
        &agreed.looks,
        camera,
        how,
    )
}

fn check(how: &CardPhoto) -> Outcome<()> {
    let wrong = |what: String, remedy: &str| Err(Fault::input(what, remedy));
    if !how.sheet.iter().all(|v| (50.0..=2000.0).contains(v)) {
        return wrong(
            format!(
                "a sheet of {} by {} mm is no use",
                short(how.sheet[0]),
                short(how.sheet[1])
            ),
            "give the sheet's two sides in mm, each from 50 to 2000",
        );
    }
    if !(0.0..=THICKEST).contains(&how.thickness) {
        return wrong(
            format!(
                "a card {} mm thick is not allowed for",
                short(how.thickness)
            ),
            "give its thickness in mm, from 0 to 50",
        );
    }
    if let Some(h) = how.camera_height
        && !(h > 2.0 * how.thickness && h > 50.0 && h < LONGEST)
    {
        return wrong(
            format!("the camera can't have been {} mm above the sheet", short(h)),
            "measure from the lens straight down to the sheet: it is more than 50 mm, and more than twice the card's thickness",
        );
    }
    Ok(())
}

#[cfg(test)]
mod tests;
