//! Bias strips from a rectangle: how many, how long each, how long joined.

use crate::fault::{Fault, Outcome, short};
use std::f64::consts::SQRT_2;

/// Strips at 45° to the sides of a rectangle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strips {
    /// So many run from one long side to the other.
    pub count: u32,
    /// mm, along the middle of each: as long as each of its two edges.
    pub each: f64,
    /// All joined, along the middle, mm; 0 if there is none.
    pub joined: f64,
    /// Joins in that.
    pub joins: u32,
    /// With both ends cut square, mm.
    pub square: f64,
}

/// Strips `width` mm wide at 45° from a rectangle of `sides` mm, joined end on end along the
/// grain, with `allowance` mm of each end in each join.
///
/// A strip between the long sides, h apart, is a parallelogram: both its edges are h√2 long,
/// and along a long side each takes width·√2. The corner triangles, h along the side at
/// either end together, give none of full length. The ends lie at 45° to the strip, so that
/// an allowance square to a join takes allowance·√2 of either strip's length; cutting both
/// ends of the whole square takes its width. (Closed form; plane geometry.)
///
/// # Errors
/// If a length is none: not positive, or for the allowance negative.
pub fn strips(sides: [f64; 2], width: f64, allowance: f64) -> Outcome<Strips> {
    let sound = |what: &str, mm: f64, least: f64| {
        if mm >= least && mm < 1e6 {
            return Ok(());
        }
        Err(Fault::input(
            format!("{what} is {} mm", short(mm)),
            "give a length in mm that can be cut",
        ))
    };
    for mm in sides {
        sound("a side of the cloth", mm, f64::MIN_POSITIVE)?;
    }
    sound("the strips' width", width, 0.5)?;
    sound("the allowance", allowance, 0.0)?;
    let [h, w] = match sides[0] < sides[1] {
        true => sides,
        false => [sides[1], sides[0]],
    };
    // What is a hair's breadth short is none the less a strip.
    let count = ((w - h) / (width * SQRT_2) + 1e-9).floor().max(0.0) as u32;
    let each = h * SQRT_2;
    let joins = count.saturating_sub(1);
    let joined = f64::from(count) * each - f64::from(joins) * 2.0 * allowance * SQRT_2;
    let is_lost = 2.0 * allowance * SQRT_2 >= each;
    if count > 1 && is_lost {
        return Err(Fault::input(
            format!(
                "joins of {} mm take more than each strip is long",
                short(allowance)
            ),
            "take a larger piece of cloth, or less allowance",
        ));
    }
    Ok(Strips {
        count,
        each,
        joined,
        joins,
        square: (joined - width).max(0.0),
    })
}

impl Strips {
    /// So many of them, joined and cut square, make `length` mm; `None` if all do not.
    pub fn for_length(&self, length: f64, width: f64, allowance: f64) -> Option<u32> {
        let each = self.each - 2.0 * allowance * SQRT_2;
        let more = (length + width - self.each).max(0.0);
        if more == 0.0 {
            return (self.count >= 1).then_some(1);
        }
        // Joins that take all of a strip make nothing longer.
        let joined = (each > 0.0).then(|| (more / each - 1e-9).ceil().max(0.0) as u32)?;
        let count = joined.saturating_add(1);
        (count <= self.count).then_some(count)
    }
}
