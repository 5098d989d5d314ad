//! What a projector that rescales the picture makes of a pixel that is sent.
//!
//! A mapping from marks takes sent pixels to the table whatever is done to them
//! on the way: rescaling is one more affine step, and a homography holds it. So
//! all of ours stays in sent pixels. What does change is the finest light: no
//! line is narrower than a pixel of the projector.

use crate::fault::{Fault, Outcome};

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bands_are_the_difference_in_pixels() {
        let at = |seen| effective_pixel(8, 640, seen).unwrap();
        assert!((at(InBands::Wide) - 640.0 / 648.0).abs() < 1e-15);
        assert!((at(InBands::Narrow) - 640.0 / 632.0).abs() < 1e-15);
        assert_eq!(at(InBands::Soft), at(InBands::Narrow));
        assert_eq!(effective_pixel(0, 640, InBands::Soft), Ok(1.0));
        assert!(effective_pixel(81, 640, InBands::Soft).is_err());
        assert!(effective_pixel(u32::MAX, 640, InBands::Wide).is_err());
    }
}
