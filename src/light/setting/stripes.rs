//! Stripes of whole pixels: does the projector rescale the picture, and by how
//! much?

use super::Page;
use super::sheet::Sheet;
use crate::fault::Outcome;
use crate::projection::Upright;

/// Which way stripes run, as the reader sees them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Run {
    /// Away from the reader: their bands are counted from left to right.
    Away,
    /// Across: their bands are counted from the far edge to the near one.
    Across,
}

/// A page of stripes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stripes {
    /// One pixel on, one off: left half away, right half across.
    Look,
    /// One on, one off over the whole picture, to count bands in.
    Count(Run),
    /// Two on, two off over the whole picture, to tell more from fewer.
    Pairs(Run),
}

const LOOK: &str = "An even grey, or clean stripes: good. Bands: the projector rescales the \
                    picture. Set it to native size in its menu.";
const COUNT: &str = "If the bands stay: count the places from edge to edge where the stripes \
                     fade out. Type how many.";
const PAIRS: &str = "Look closely where they faded: lines too wide, too narrow, or only soft? \
                     Say which.";

const WHITE: [u8; 3] = [255; 3];

/// Stripes over the picture, and at the reader's edge what to look for.
///
/// # Errors
/// If the bundled font can't be read.
pub fn stripes(on: &Upright, which: Stripes) -> Outcome<Page> {
    let mut sheet = Sheet::new(on)?;
    let [w, h] = sheet.size();
    let comb = |run: Run, pixels: u32| {
        move |column: u32, row: u32| {
            let along = match run {
                Run::Away => column,
                Run::Across => row,
            };
            (along / pixels).is_multiple_of(2).then_some(WHITE)
        }
    };
    let all = [0, 0, w, h];
    let words = match which {
        Stripes::Look => {
            sheet.raster().fill([0, 0, w / 2, h], comb(Run::Away, 1));
            sheet.raster().fill([w / 2, 0, w, h], comb(Run::Across, 1));
            LOOK
        }
        Stripes::Count(run) => {
            sheet.raster().fill(all, comb(run, 1));
            COUNT
        }
        Stripes::Pairs(run) => {
            sheet.raster().fill(all, comb(run, 2));
            PAIRS
        }
    };
    let room = sheet.foot(words);
    sheet.clear(room);
    Ok(sheet.finish())
}
