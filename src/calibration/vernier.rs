//! Vernier marks: a printed scale on each axis of a mark, and lit graduations a
//! little closer together, so that the eye reads a tenth of a millimetre though
//! a pixel is six.
//!
//! Printed line k stands [`PITCH`]·k from the mark's middle; lit line k is aimed
//! at [`LIT_PITCH`]·k. Light that lands d beside its aim puts lit line k on printed
//! line k where d = k·[`STEP`]: the number at the line that agrees is the light's
//! error in tenths of a millimetre. (The vernier principle, 1631. Whether two
//! lines agree is seen to some 10″, vernier acuity, which is 0.02 mm from half a
//! metre; from memory, not measured here.)
//!
//! **What is seen.** A lit line is [`WIDE_PX`] pixels wide, and which pixels carry
//! how much of it is told by exact coverage in linear light. It agrees where the
//! thin printed line stands in its middle, an equal sliver of light on either
//! side. As a middle of light (centroid) a line of a whole number of pixels would
//! be exact; but eyes see a half-lit pixel as more than half as bright. Of the
//! widths tried (1, 1½, 1¾, 2, 2¼, 3 px) 1¾ errs least by both. At any phase of
//! pixels and lines the reading is right within:
//!
//! | pixels of 0.5 to 0.8 mm, seen as | mm |
//! | --- | --- |
//! | geometry alone (half a step) | 0.05 |
//! | linear light, or lightness where the room gives a tenth of the light or more | 0.1 |
//! | lightness (a cube root, as in CIE 1976 L*), in a room that is quite dark | 0.16 |
//! | the same, if the lines on either side are seen to be off alike | 0.12 |
//! | lines of whole pixels, without partial ones | 0.2 and more |
//!
//! **How a reading is used.** Light aimed at the mark's place by the profile as
//! it stands lands beside it; [`reading`] is how far it must move. So the
//! pixel that lights the mark is that of `mark + reading`, and that is the row that
//! the mark gives to a fit. The graduations are then drawn about `mark + reading`
//! and read again, and readings add up, until both read nought: where all is
//! larger by a share s than the profile says (lens, printer), a reading r is
//! r·39·s too far, so only nought is free of it. What is left is the step, the eye,
//! and where the tape says the mark is.

mod page;
#[cfg(test)]
mod tests;

pub use page::vernier_sheet;

use crate::fault::{Fault, Outcome, short};
use crate::projection::Mapping;
use crate::space::{Point, Table, Vector};

/// Printed lines' distance, mm: room for a number, and dark between lit lines.
pub const PITCH: f64 = 4.0;

/// What one line reads, mm.
pub const STEP: f64 = 0.1;

/// Lit lines' distance on the table, mm.
pub const LIT_PITCH: f64 = PITCH - STEP;

/// Lines on either side of the middle: 1 mm of reading each way.
pub const LINES: i32 = 10;

/// A lit line's width in projector pixels.
pub const WIDE_PX: f64 = 1.75;

/// The least and the most width of a lit line, mm: the printed line must leave
/// light on both sides, and the first line must clear the middle's arms.
const WIDE: [f64; 2] = [0.7, 2.0];

/// Half a lit line's length, mm. Scales lie on the axes, with the axis through
/// the lines' middles, so that a sheet that lies a little turned reads the same:
/// 2° take 0.02 mm from the last line.
const HALF_LIT: f64 = 2.8;

/// One lit line: from end to end, and its width, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stroke {
    pub from: Point<Table>,
    pub to: Point<Table>,
    pub width: f64,
}

impl Stroke {
    /// Its outline, counter-clockwise.
    pub fn corners(&self) -> [Point<Table>; 4] {
        let along = (self.to - self.from).normalize();
        let half = Vector::new(along.y, -along.x) * (self.width / 2.0);
        [
            self.from + half,
            self.to + half,
            self.to - half,
            self.from - half,
        ]
    }
}

/// The lit graduations about `aim`: the mark's place on the table, and what has
/// been read there so far. `pixel` is a pixel's size along x and y there, mm
/// (see [`pixel_along`]). Strokes do not overlap; each is to be lit in full.
pub fn lit(aim: Point<Table>, pixel: [f64; 2]) -> Vec<Stroke> {
    let [wide_x, wide_y] = pixel.map(|p| (WIDE_PX * p).clamp(WIDE[0], WIDE[1]));
    let mut strokes = Vec::new();
    for k in -LINES..=LINES {
        let at = LIT_PITCH * f64::from(k);
        let upright = |y: [f64; 2]| y.map(|y| aim + Vector::new(at, y));
        let level = |x: [f64; 2]| x.map(|x| aim + Vector::new(x, at));
        let mut stroke = |[from, to]: [Point<Table>; 2], width| {
            strokes.push(Stroke { from, to, width });
        };
        stroke(upright([-HALF_LIT, HALF_LIT]), wide_x);
        if k == 0 {
            // The middle's two lines cross: the level one is lit beside the other.
            stroke(level([-HALF_LIT, -wide_x / 2.0]), wide_y);
            stroke(level([wide_x / 2.0, HALF_LIT]), wide_y);
        } else {
            stroke(level([-HALF_LIT, HALF_LIT]), wide_y);
        }
    }
    strokes
}

/// A pixel's size at `at` along the table's x and y, mm: what a move of one pixel
/// in the picture is there, straight along each. `None` where there is no light.
pub fn pixel_along(mapping: &Mapping, at: Point<Table>) -> Option<[f64; 2]> {
    // Central differences over 1 mm: the map is smooth on a scale of metres.
    let size = |way: Vector<Table>| {
        let moved = mapping.pixel(at + way, 0.0)? - mapping.pixel(at - way, 0.0)?;
        let px = moved.length();
        (px > 0.0).then(|| 1.0 / px)
    };
    Some([size(Vector::new(0.5, 0.0))?, size(Vector::new(0.0, 0.5))?])
}

/// Which way and how far the light must move, mm on the table, when the lines
/// numbered `x_line` and `y_line` agree. The light is off by the number, in tenths
/// of a millimetre: to the right and away from the person above nought. So
/// it must move by as much the other way. Between two lines, a half is read.
///
/// # Errors
/// If the printed scale has no such number.
pub fn reading(x_line: f64, y_line: f64) -> Outcome<Vector<Table>> {
    let most = f64::from(LINES);
    for (line, axis) in [(x_line, "across"), (y_line, "away")] {
        // Not a number is not within either.
        if !(-most..=most).contains(&line) {
            return Err(Fault::input(
                format!("a vernier mark has no line {} {axis}", short(line)),
                format!(
                    "read the number, -{most} to {most}, of the line that stands in the middle of \
                     its light; if none does, set the light nearer to the mark first"
                ),
            ));
        }
    }
    // Nought stays nought, not minus nought.
    Ok(Vector::new(0.0 - x_line * STEP, 0.0 - y_line * STEP))
}
