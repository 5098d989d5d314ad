//! What a tape laid on the check square says: within tolerance, or which
//! single cause explains the readings, or that none does.

use super::CheckSquare;
use super::causes::{Cause, Kind, named};
use crate::adjust;
use crate::adjust::{SIGNIFICANCE, chance_of_more};
use crate::calibration::table_marks::{Span, TAPE};
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use std::fmt;

/// How much worse a rival cause must explain the readings to be dismissed:
/// difference of χ² + k·ln n (Schwarz's criterion). 6 is "strong evidence":
/// R. E. Kass and A. E. Raftery, *Bayes Factors*, JASA 90 (1995) 773.
const CLEARLY: f64 = 6.0;

/// What the readings come to.
#[derive(Debug, Clone, PartialEq)]
pub enum Finding {
    /// All readings are within tolerance.
    Right,
    /// This explains them.
    Because(Cause),
    /// Each of these does, about as well; the likeliest first.
    Either(Vec<Cause>),
    /// No single cause does, or too many would.
    CantTell,
}

/// The judged check.
#[derive(Debug, Clone, PartialEq)]
pub struct Judged {
    pub finding: Finding,
    /// The reading furthest out for its tolerance, and by how much it is too
    /// long, mm.
    pub worst: (Span, f64),
    /// The tolerance of that reading, mm.
    pub tolerance: f64,
    /// How many of the six lengths were read.
    pub readings: usize,
    unit: Unit,
}

impl CheckSquare {
    /// Judges tape readings, mm, in the order of [`Span::ALL`]; what was not
    /// read is `None`.
    ///
    /// # Errors
    /// If nothing was read, or a reading is no length or more than a tenth off:
    /// then something else was measured.
    pub fn judge(&self, said: &[Option<f64>; 6]) -> Outcome<Judged> {
        let read: Vec<(usize, Span, f64)> = Span::ALL
            .into_iter()
            .enumerate()
            .filter_map(|(k, span)| said[k].map(|mm| (k, span, mm)))
            .collect();
        for (_, span, mm) in &read {
            let want = self.expected(*span);
            // A reading that is not a number is not within anything.
            if !(0.9 * want..=1.1 * want).contains(mm) {
                return Err(Fault::input(
                    format!(
                        "{} is read as {} where {} of light were laid",
                        named(*span),
                        self.unit.show(*mm),
                        self.unit.show(want)
                    ),
                    "check the number and its unit, and that the tape lay on that line from corner \
                     to corner",
                ));
            }
        }
        let over = |&(_, span, mm): &(usize, Span, f64)| (mm - self.expected(span), span);
        let share = |r: &(usize, Span, f64)| over(r).0.abs() / self.tolerance(r.1);
        let Some(worst) = read.iter().max_by(|a, b| share(a).total_cmp(&share(b))) else {
            return Err(Fault::input(
                "no length of the check was read",
                "lay the measuring tape along an edge and both diagonals",
            ));
        };
        let finding = if share(worst) <= 1.0 {
            Finding::Right
        } else {
            self.explain(&read)
        };
        Ok(Judged {
            finding,
            worst: (worst.1, over(worst).0),
            tolerance: self.tolerance(worst.1),
            readings: read.len(),
            unit: self.unit,
        })
    }

    /// The standard deviation of a reading about a cause's lengths, mm: the
    /// tape, and half a pixel of hand at the marks.
    fn sigma(&self) -> f64 {
        TAPE.hypot(0.5 * self.pixel)
    }

    fn explain(&self, read: &[(usize, Span, f64)]) -> Finding {
        let sigma = self.sigma();
        let count = read.len();
        let mut able: Vec<(f64, Cause)> = Vec::new();
        for kind in Kind::all() {
            let unknowns = kind.unknowns();
            // With nothing to spare, any cause explains anything.
            if count <= unknowns {
                continue;
            }
            let solved = adjust::gauss_newton(&vec![0.0; unknowns], &vec![0.01; unknowns], |u| {
                let made = kind.lengths(self, u).unwrap_or([f64::NAN; 6]);
                read.iter()
                    .map(|(k, _, mm)| (mm - made[*k]) / sigma)
                    .collect()
            });
            let Ok(solved) = solved else { continue };
            if chance_of_more(solved.chi2, solved.freedom) >= SIGNIFICANCE {
                let cost = solved.chi2 + unknowns as f64 * (count as f64).ln();
                able.push((cost, kind.cause(self, &solved.unknowns)));
            }
        }
        able.sort_by(|a, b| a.0.total_cmp(&b.0));
        let best = able.first().map_or(0.0, |a| a.0);
        let rivals: Vec<Cause> = able
            .into_iter()
            .filter(|a| a.0 - best < CLEARLY)
            .map(|a| a.1)
            .collect();
        match rivals[..] {
            [] => Finding::CantTell,
            [one] => Finding::Because(one),
            [_, _] => Finding::Either(rivals),
            _ => Finding::CantTell,
        }
    }
}

impl Judged {
    /// Whether the calibration may be cut by.
    pub fn right(&self) -> bool {
        self.finding == Finding::Right
    }
}

impl fmt::Display for Judged {
    /// The verdict in one sentence, without a full stop.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (span, over) = self.worst;
        let show = |mm: f64| self.unit.show(mm.abs());
        let long = if over > 0.0 { "long" } else { "short" };
        match &self.finding {
            Finding::Right => write!(
                f,
                "within tolerance: the furthest out is {}, {} {long}, and up to {} is right",
                named(span),
                show(over),
                show(self.tolerance)
            ),
            Finding::Because(cause) => f.write_str(&cause.sentence(self.unit)),
            Finding::Either(causes) => {
                for (k, cause) in causes.iter().enumerate() {
                    let lead = if k == 0 { "either " } else { "; or " };
                    write!(f, "{lead}{}", cause.sentence(self.unit))?;
                }
                Ok(())
            }
            Finding::CantTell => {
                let next = if self.readings < 6 {
                    "measure all four edges and both diagonals"
                } else {
                    "measure again; if it stays, measure the table's marks and set all four again"
                };
                write!(
                    f,
                    "{} is {} {long}, and what is wrong can't be told from these readings: {next}",
                    named(span),
                    show(over)
                )
            }
        }
    }
}
