//! Is the calibration still true? The marks that no cloth covers are pointed at
//! where they are seen now, and the simplest thing that explains where they are
//! is named: nothing, a shift, a mark that was moved, a turn, a change of size,
//! a tilt.
//!
//! All is in the light's own mm: where the mapping of the profile puts a pixel
//! on the table. While it is true, a mark is seen where its light is meant.

mod causes;
mod words;

#[cfg(test)]
mod tests;

pub use words::{bare_words, cannot_show};

use crate::adjust::{SIGNIFICANCE, chance_of_more};
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::space::{Point, Table, Vector, mean};
use causes::Model;
use serde::{Deserialize, Serialize};

/// The standard deviation of where a mark is pointed at less where its light is
/// meant, mm per axis: the pointing now, and the setting of the mark then. An
/// estimate, from no measurement.
pub const POINTING: f64 = 0.5;

/// How much worse (difference of χ²) a rival with as many unknowns must explain
/// the readings to be dismissed. 6 is "strong evidence": R. E. Kass and A. E.
/// Raftery, *Bayes Factors*, JASA 90 (1995) 773.
const CLEARLY: f64 = 6.0;

/// A bare mark that was pointed at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Seen {
    /// Its number, from 1.
    pub number: usize,
    /// Where its light is meant.
    pub meant: Point<Table>,
    /// Where it is, in the light's mm.
    pub seen: Point<Table>,
}

/// One thing that explains where the marks are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cause {
    /// All lie this far beside their light, mm.
    Shift(Vector<Table>),
    /// This one lies so far beside its light, mm, and the others in theirs.
    Mark { number: usize, off: Vector<Table> },
    /// All are turned about their middle, degrees counter-clockwise, and their
    /// middle lies this far beside its light, mm.
    Turn { degrees: f64, shift: Vector<Table> },
    /// They are also further apart than their light, mm a metre.
    Size {
        rate: f64,
        degrees: f64,
        shift: Vector<Table>,
    },
    /// Their light is out of shape, as by a tilt.
    Tilt,
}

/// What the marks come to.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    Still,
    /// This explains them.
    Because(Cause),
    /// Each of these does, about as well; the likeliest first.
    Either(Vec<Cause>),
    /// Nothing simple does.
    CantTell,
}

/// The judged check.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    pub finding: Finding,
    /// How many marks were pointed at.
    pub marks: usize,
    /// Root mean square, and greatest, of how far the marks lie beside their
    /// light, mm.
    pub rms: f64,
    pub furthest: f64,
    /// How far the marks reach from their middle (root of the sum of squares,
    /// mm): says how well a turn is known.
    arms: f64,
    sigma: f64,
    unit: Unit,
}

/// Judges marks that were pointed at with a standard deviation of `sigma` mm per
/// axis ([`POINTING`]); lengths are said in `unit`.
///
/// The least number of unknowns with which χ² of what is left is no greater than
/// in 1 draw of 100 ([`SIGNIFICANCE`]) is what explains them.
///
/// # Errors
/// If no mark was pointed at, or one of them lies nowhere.
pub fn judge(seen: &[Seen], sigma: f64, unit: Unit) -> Outcome<Judged> {
    let off: Vec<f64> = seen.iter().map(|s| (s.seen - s.meant).length()).collect();
    if off.is_empty() || !off.iter().all(|d| d.is_finite()) {
        return Err(Fault::input(
            "no mark of the table was pointed at",
            "put the pointer of light on a mark that no cloth covers, and press",
        ));
    }
    let squares: f64 = off.iter().map(|d| d * d).sum();
    let middle = mean(seen.iter().map(|s| s.meant)).unwrap_or_default();
    let arms = seen.iter().map(|s| (s.meant - middle).square_length());
    let (arms, furthest) = (arms.sum::<f64>().sqrt(), off.iter().copied());
    let marks = seen.len();
    let finding = if chance_of_more(squares / (sigma * sigma), 2 * marks) >= SIGNIFICANCE {
        Finding::Still
    } else {
        explain(seen, sigma)
    };
    Ok(Judged {
        finding,
        marks,
        rms: (squares / marks as f64).sqrt(),
        furthest: furthest.fold(0.0, f64::max),
        arms,
        sigma,
        unit,
    })
}

fn explain(seen: &[Seen], sigma: f64) -> Finding {
    let readings = 2 * seen.len();
    let models = Model::all(seen.len());
    let mut able: Vec<(f64, usize, Cause)> = Vec::new();
    for model in models {
        let unknowns = model.unknowns();
        if able.iter().any(|(_, fewer, _)| *fewer < unknowns) {
            break;
        }
        let Some((cause, squares)) = model.fitted(seen) else {
            continue;
        };
        let chi2 = squares / (sigma * sigma);
        if chance_of_more(chi2, readings - unknowns) >= SIGNIFICANCE {
            able.push((chi2, unknowns, cause));
        }
    }
    able.sort_by(|a, b| a.0.total_cmp(&b.0));
    let best = able.first().map_or(0.0, |a| a.0);
    let near = able.into_iter().filter(|a| a.0 - best < CLEARLY);
    let near: Vec<Cause> = near.map(|a| a.2).collect();
    match near[..] {
        [] => Finding::CantTell,
        [one] => Finding::Because(one),
        [_, _] => Finding::Either(near),
        _ => Finding::CantTell,
    }
}

/// A check, as the profile remembers it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckFile {
    /// As `2031-05-17`.
    pub day: String,
    /// How many marks were bare and looked at.
    pub marks: usize,
    /// How far they lay beside their light, mm, root mean square; not there if
    /// they were judged by eye.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rms_mm: Option<f64>,
    /// In a word: still, shift, turn, size, tilt, mark 3, or unclear.
    pub finding: String,
}

/// A check that was made, before anyone knows on which day.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted {
    pub marks: usize,
    pub rms_mm: Option<f64>,
    pub finding: String,
}

impl Noted {
    /// The eye found so many crosses on their marks.
    pub fn by_eye(marks: usize) -> Self {
        Self {
            marks,
            rms_mm: None,
            finding: "still".to_owned(),
        }
    }

    /// Whether the light was found on its marks.
    pub fn is_still(&self) -> bool {
        self.finding == "still"
    }

    pub fn on(self, day: String) -> CheckFile {
        CheckFile {
            day,
            marks: self.marks,
            rms_mm: self.rms_mm,
            finding: self.finding,
        }
    }
}

impl From<&Judged> for Noted {
    fn from(judged: &Judged) -> Self {
        Self {
            marks: judged.marks,
            // A hundredth is far below what pointing can tell.
            rms_mm: Some((judged.rms * 100.0).round() / 100.0),
            finding: judged.word(),
        }
    }
}
