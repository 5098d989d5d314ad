//! Stripes of whole pixels: does the projector rescale the picture, and by how
//! much?

use super::Page;
use super::sheet::Sheet;
use crate::fault::{Fault, Outcome};
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

/// What the stripes of two pixels look like where those of one pixel fade.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InBands {
    /// Lines of three pixels: the projector repeats pixels, it has more of them.
    Wide,
    /// Lines of one pixel: it leaves pixels out, it has fewer.
    Narrow,
    /// Only soft: it mixes neighbours, and either can be.
    Soft,
}

/// More bands than this share of the picture's pixels can't be counted: they
/// come every eight pixels.
const MOST_BANDS: f64 = 1.0 / 8.0;

/// The length of a pixel of the projector, in pixels of the picture, from the
/// bands counted across the whole picture of `picture` px.
///
/// Pixel j of N is fed from the place (j + ½)·W/N − ½ of W. Where that falls on
/// a picture pixel's middle the stripes are kept; half-way between two, one on
/// and one off mix to grey. Its fraction runs through all values |N − W| times
/// from edge to edge, so n bands mean N = W ± n, whatever filter is used.
///
/// Which of the two can't be told from the contrast: the fraction φ and its
/// mirror 1 − φ mix the same two pixels. It can be where the projector repeats
/// or leaves out whole pixels (two lit, two dark become three lit, or one).
/// Where it mixes, the longer pixel W/(W − n) is taken: it makes guide bands
/// wider, which does no harm.
///
/// # Errors
/// If there are too many bands for a count to mean anything.
pub fn effective_pixel(bands: u32, picture: u32, seen: InBands) -> Outcome<f64> {
    let (n, w) = (f64::from(bands), f64::from(picture));
    if n > MOST_BANDS * w {
        return Err(Fault::input(
            format!("{bands} bands over {picture} px are too close together to be counted"),
            "set the computer's output to the projector's native size, and look again",
        ));
    }
    Ok(match seen {
        InBands::Wide => w / (w + n),
        InBands::Narrow | InBands::Soft => w / (w - n).max(1.0),
    })
}
