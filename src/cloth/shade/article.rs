//! One article keeps to one shade: which of its pieces don't.

use super::partners::MATCH;
use crate::colour::{Lab, ciede2000};

/// A piece that is off the article's shade.
#[derive(Debug, Clone, PartialEq)]
pub struct Off {
    pub name: String,
    /// CIEDE2000 from the article's shade.
    pub apart: f64,
    /// From the article's shade to the piece's: L*, a*, b*.
    pub step: Lab,
}

/// What keeps to one shade.
#[derive(Debug, Clone, PartialEq)]
pub struct OneShade {
    /// The article's shade: that of the piece which most others are like. `None` if no more
    /// than half of the pieces are like any one.
    pub shade: Option<Lab>,
    /// Pieces off it, the farthest first. Without a shade of the article: all that are not
    /// like the one that most are like.
    pub off: Vec<Off>,
}

/// Which pieces are off the shade of the most, by more than [`MATCH`]. Of pieces that are like
/// as many others, the one that is nearest to those is the measure.
pub fn one_shade(pieces: &[(&str, Lab)]) -> OneShade {
    let from = |shade: Lab| pieces.iter().map(move |(_, lab)| ciede2000(shade, *lab));
    let standing = |shade: Lab| {
        let like = from(shade).filter(|apart| *apart <= MATCH);
        like.fold((0, 0.0), |(count, far), apart| (count + 1, far + apart))
    };
    let best = pieces
        .iter()
        .map(|(_, lab)| (standing(*lab), *lab))
        // The first of equals.
        .min_by(|((a, far), _), ((b, other), _)| b.cmp(a).then(far.total_cmp(other)));
    let Some(((like, _), shade)) = best else {
        return OneShade {
            shade: None,
            off: Vec::new(),
        };
    };
    let mut off: Vec<Off> = pieces
        .iter()
        .zip(from(shade))
        .filter(|(_, apart)| *apart > MATCH)
        .map(|((name, lab), apart)| Off {
            name: (*name).to_owned(),
            apart,
            step: Lab::new(lab.l - shade.l, lab.a - shade.a, lab.b - shade.b),
        })
        .collect();
    off.sort_by(|a, b| b.apart.total_cmp(&a.apart));
    OneShade {
        shade: (2 * like > pieces.len()).then_some(shade),
        off,
    }
}
