//! The check's findings in sentences without a full stop.

use super::{Cause, Finding, Judged};
use std::fmt;

/// What can't be told from any marks.
const EITHER: &str =
    "table or mount: a slid table and a slid mount look the same, so look at the mount first";

/// What so many marks can't show, if anything.
pub fn cannot_show(marks: usize) -> Option<&'static str> {
    match marks {
        0 => Some("no mark shows nothing"),
        1 => Some("one mark can't tell a shift from a turn, or from having been moved itself"),
        2 => Some(
            "two marks can't tell a change of size from a mark that was moved, nor show a tilt",
        ),
        3 => Some("three marks can't show a tilt"),
        _ => None,
    }
}

/// How many of a table's marks are bare, and what those can't show.
pub fn bare_words(bare: usize, of: usize) -> String {
    let covered = of - bare;
    match (of, bare, covered) {
        (0, ..) => "the profile keeps no marks: nothing can be checked".to_owned(),
        (_, 0, _) => format!("all {of} marks are covered: nothing can be checked"),
        (_, _, 0) => match cannot_show(bare) {
            Some(not) => format!("all {of} marks are bare; {not}"),
            None => format!("all {of} marks are bare"),
        },
        _ => match cannot_show(bare) {
            Some(not) => format!("{covered} of {of} marks are covered; {not}"),
            None => format!(
                "{covered} of {of} marks are covered: whether those were moved can't be told"
            ),
        },
    }
}

impl Judged {
    /// The finding in a word, for the profile's history.
    pub fn word(&self) -> String {
        let word = |cause: &Cause| match cause {
            Cause::Shift(_) => "shift".to_owned(),
            Cause::Mark { number, .. } => format!("mark {number}"),
            Cause::Turn { .. } => "turn".to_owned(),
            Cause::Size { .. } => "size".to_owned(),
            Cause::Tilt => "tilt".to_owned(),
        };
        match &self.finding {
            Finding::Still => "still".to_owned(),
            Finding::Because(cause) => word(cause),
            Finding::Either(causes) => {
                let words: Vec<String> = causes.iter().map(word).collect();
                words.join(" or ")
            }
            Finding::CantTell => "unclear".to_owned(),
        }
    }

    fn sentence(&self, cause: &Cause) -> String {
        let show = |mm: f64| self.unit.show(mm.abs());
        // Standard error of the marks' middle per axis, and of their turn.
        let place = self.sigma / (self.marks as f64).sqrt();
        let turn = (self.sigma / self.arms).to_degrees();
        match cause {
            Cause::Shift(by) => format!(
                "the light lies {} (± {}) beside the {}: {EITHER}",
                show(by.length()),
                show(place),
                if self.marks == 1 { "mark" } else { "marks" }
            ),
            Cause::Mark { number, off } => format!(
                "mark {number} lies {} beside its light and the others in theirs: that mark was \
                 moved",
                show(off.length())
            ),
            Cause::Turn { degrees, shift } => format!(
                "the light is turned by {:.2}° (± {turn:.2}°) and at the middle of the marks {} (± \
                 {}) beside: {EITHER}",
                degrees.abs(),
                show(shift.length()),
                show(place)
            ),
            Cause::Size { rate, .. } => format!(
                "the light is {} by {:.1} mm a metre (± {:.1}): zoom or focus was touched, or the \
                 mount's height has changed",
                // The marks lie further apart than the light that is meant for them.
                if *rate > 0.0 {
                    "too small"
                } else {
                    "too large"
                },
                rate.abs(),
                1000.0 * self.sigma / self.arms
            ),
            Cause::Tilt if self.marks == 4 => {
                "the light is out of shape: keystone or overscan is on, the mount is tilted, or \
                 several marks were moved (four marks can't tell)"
                    .to_owned()
            }
            Cause::Tilt => format!(
                "the light is out of shape, up to {} beside a mark: keystone or overscan is on, or the mount is tilted, or the \
                 table is",
                show(self.furthest)
            ),
        }
    }
}

impl fmt::Display for Judged {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match &self.finding {
            Finding::Still => write!(
                f,
                "still true: of {} the furthest lies {} beside its light, no more than pointing errs",
                match self.marks {
                    1 => "1 mark".to_owned(),
                    n => format!("{n} marks"),
                },
                self.unit.show(self.furthest)
            )?,
            Finding::Because(cause) => f.write_str(&self.sentence(cause))?,
            Finding::Either(causes) => {
                for (k, cause) in causes.iter().enumerate() {
                    let lead = if k == 0 { "either " } else { "; or " };
                    write!(f, "{lead}{}", self.sentence(cause))?;
                }
            }
            Finding::CantTell => write!(
                f,
                "the marks lie up to {} beside their light, in no simple way: several things would \
                 explain it, or more than one has moved",
                self.unit.show(self.furthest)
            )?,
        }
        match cannot_show(self.marks) {
            Some(not) => write!(f, "; {not}"),
            None => Ok(()),
        }
    }
}
