//! What `calibrate` says beside the figures: of the tape, of the lens' place, of odd marks.

use super::Words;
use crate::calibration::fit::Sighted;
use crate::calibration::network::{Adjusted, Network, one_more};
use crate::calibration::raised::{LensFound, TIMES};
use crate::cli::unit;
use crate::fault::{Outcome, short};
use crate::measure::Unit;

/// What the tape's readings say of one another.
pub(super) fn of_tape(net: &Network, adjusted: &Adjusted, words: &Words) -> Vec<String> {
    let unit = words.unit;
    let mut notes = vec![format!(
        "the tape's readings go together to {}; marks are placed to {:.2} mm",
        unit.show(adjusted.closure()),
        adjusted.error()
    )];
    if !adjusted.again.is_empty() {
        let each = adjusted.again.iter().map(|k| net.name(*k));
        let each: Vec<String> = each.collect();
        notes.push(format!(
            "a reading does not go with the others; take again: {}",
            each.join(", ")
        ));
    }
    match adjusted.least_slip(net.sigma()) {
        Some(mm) => notes.push(format!(
            "a tape misread by {} or more is noticed (four times in five)",
            unit.show(mm)
        )),
        None => notes.push(
            "some readings are checked by no other: a misreading there is not noticed".to_owned(),
        ),
    }
    if let Some(more) = one_more(net, adjusted) {
        let told = match more.in_doubt.round() {
            n if n < 2.0 => "it would be plain which one it is".to_owned(),
            n => format!("it would be one of {n:.0}"),
        };
        notes.push(format!(
            "with one more mark near ({:.0}, {:.0}) mm, measured from all others, a misreading of {} or \
             more would be noticed, and {told}",
            more.place.x,
            more.place.y,
            unit.show(more.least_slip)
        ));
    }
    if words.tape_shows.is_none() {
        notes.push(
            "that the tape itself is too long or too short shows nowhere: a common one (class II) may \
             err by 0.2 mm a metre; hold it against a steel rule and say --tape-shows READ/TRUE"
                .to_owned(),
        );
    }
    notes
}

/// Where the lens is, and what thickness does here.
pub(super) fn of_lens(words: &Words, found: &LensFound, marks: &[Sighted]) -> Outcome<Vec<String>> {
    let [foot, height] = found.errors();
    let place = found.place;
    let mut notes = vec![format!(
        "the lens hangs {:.0} mm above the table (give or take {height:.0}), its foot at ({:.0}, \
         {:.0}) mm ({foot:.0})",
        place.height, place.foot.x, place.foot.y
    )];
    if let Some(board) = words.board.filter(|b| *b < TIMES * words.stack) {
        notes.push(format!(
            "a board of {} is thin for stacks of {}: {} or more makes the lens' place sure",
            Unit::Mm.show(board),
            Unit::Mm.show(words.stack),
            Unit::Mm.show(TIMES * words.stack)
        ));
    }
    let mut worst = 0.0_f64;
    let (mut size, mut left) = (0.0_f64, 0.0_f64);
    for m in marks {
        let e = found.height_error(m.table, words.stack)?;
        worst = worst.max(e.displaced);
        size = e.size;
        left = left.max(e.left);
    }
    notes.push(format!(
        "cloth of {} shifts light by up to {worst:.1} mm and a piece of 300 mm by {size:.2} mm in \
         size; both are corrected, to {left:.2} mm",
        Unit::Mm.show(words.stack)
    ));
    if worst > 0.0 {
        notes.push(format!(
            "without the correction light is within 0.3 mm up to a thickness of {:.1} mm",
            0.3 / worst * words.stack
        ));
    }
    Ok(notes)
}

/// What looks odd about the marks, a sentence each.
pub(super) fn of_marks(marks: &[Sighted], pixel: [f64; 2], words: &Words) -> Vec<String> {
    // A pixel between a tenth of a millimetre and 3 is what projectors over tables have.
    if marks.is_empty() || (pixel[0] >= 0.1 && pixel[1] <= 3.0) {
        return Vec::new();
    }
    let [small, large] = pixel.map(short);
    let ask = match &words.tape {
        Some(tape) => format!(
            "are the tape's readings ({}) in {}? If not, name their unit by --unit",
            tape.display(),
            unit::word(words.unit)
        ),
        None => "are the marks in mm?".to_owned(),
    };
    vec![format!(
        "a pixel would be {small} to {large} mm long; {ask}"
    )]
}
