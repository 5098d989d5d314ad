//! A pattern that was read, on the desk: corrections are made one by one, and what can't
//! be leaves the last pieces standing and says why.

use super::{Correction, Stroke, Taken, corrected, said};
use crate::drawing::read::scale::{self, Largest};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Pattern;

/// What was read, what was said of it, and what that comes to.
#[derive(Debug, Clone)]
pub struct CorrectionDesk {
    read: Pattern,
    corrections: Vec<Correction>,
    made: Pattern,
    fault: Option<String>,
    /// Goes up with every change.
    edition: u64,
}

impl CorrectionDesk {
    /// Lays a pattern on the desk as it was read.
    pub fn of(read: Pattern) -> Self {
        Self {
            made: read.clone(),
            read,
            corrections: Vec::new(),
            fault: None,
            edition: 0,
        }
    }

    pub fn read(&self) -> &Pattern {
        &self.read
    }

    pub fn corrections(&self) -> &[Correction] {
        &self.corrections
    }

    pub fn is_changed(&self) -> bool {
        !self.corrections.is_empty()
    }

    /// The pieces as they are corrected; the last that were sound.
    pub fn made(&self) -> &Pattern {
        &self.made
    }

    /// Why the corrections can't be, if they can't.
    pub fn fault(&self) -> Option<&str> {
        self.fault.as_deref()
    }

    pub fn edition(&self) -> u64 {
        self.edition
    }

    /// The strokes of a piece as it was read, with what each is taken to be now.
    pub fn strokes(&self, piece: usize) -> Vec<Stroke> {
        let (mut all, _) = said(&self.read, &self.corrections);
        let found = (piece < all.len()).then(|| all.swap_remove(piece).strokes);
        found.unwrap_or_default()
    }

    /// What a piece as it was read is called now, how many are cut, and whether as left and
    /// right; none where it is left out.
    pub fn named(&self, piece: usize) -> Option<(String, u32, bool)> {
        let (mut all, _) = said(&self.read, &self.corrections);
        let one = (piece < all.len()).then(|| all.swap_remove(piece))?;
        (!one.left_out).then_some((one.name, one.cut, one.pair))
    }

    /// Says one thing more. It takes the place of what was said of the same before; what
    /// only says again what was read takes that back.
    pub fn correct(&mut self, correction: Correction) {
        let before = self.corrections.len();
        self.corrections.retain(|c| !correction.replaces(c));
        let turned_back =
            matches!(correction, Correction::TurnGrain { .. }) && self.corrections.len() < before;
        if !turned_back && !self.is_as_read(&correction) {
            self.corrections.push(correction);
        }
        self.make();
    }

    /// Takes a correction back, by its place among them.
    pub fn take_back(&mut self, k: usize) {
        if k < self.corrections.len() {
            self.corrections.remove(k);
            self.make();
        }
    }

    /// How much larger all must be for the largest piece to be `mm` along its longer side.
    /// The file is then read again at that scale.
    ///
    /// # Errors
    /// If it is no length, or the scale would not be one, 0.001 to 1000.
    pub fn scale_to(&self, mm: f64) -> Outcome<f64> {
        let now = self.largest().map(|l| l.size[0].max(l.size[1]));
        let Some(now) = now.filter(|now| *now > 0.0 && mm > 0.0) else {
            return Err(Fault::input(
                format!("{} mm is no size", short(mm)),
                "measure the largest piece along its longer side",
            ));
        };
        scale::checked(mm / now)
    }

    /// Takes up another reading of the same file. Corrections stay if it has the same pieces
    /// and strokes, but for their sizes; whether they did.
    pub fn read_again(&mut self, read: Pattern) -> bool {
        let kinds = |p: &Pattern| -> Vec<Vec<(Taken, bool, bool)>> {
            let each = |p| {
                let all = super::strokes(p).into_iter();
                all.map(|s| (s.taken, s.closed, s.points.len() > 1))
                    .collect()
            };
            p.pieces.iter().map(each).collect()
        };
        let same = kinds(&read) == kinds(&self.read);
        self.made = read.clone();
        self.read = read;
        if !same {
            self.corrections.clear();
        }
        self.make();
        same
    }

    /// The largest piece as it is now.
    pub fn largest(&self) -> Option<Largest> {
        scale::largest(&self.made.pieces)
    }

    fn is_as_read(&self, correction: &Correction) -> bool {
        let piece = |k: &usize| self.read.pieces.get(*k);
        match correction {
            Correction::Name { piece: k, name } => piece(k).is_some_and(|p| p.name == name.trim()),
            Correction::Count {
                piece: k,
                cut,
                pair,
            } => piece(k).is_some_and(|p| (p.cut_count, p.pair) == (*cut, *pair)),
            Correction::Take {
                piece: k,
                stroke,
                taken,
            } => {
                let all = piece(k).map(super::strokes).unwrap_or_default();
                let is = |s: &Stroke| s.taken == *taken && !self.gives_way(*k, *stroke, taken);
                all.get(*stroke).is_some_and(is)
            }
            Correction::TurnGrain { .. } | Correction::LeaveOut { .. } => false,
        }
    }

    /// Whether another stroke has been taken as what this one was read as.
    fn gives_way(&self, piece: usize, stroke: usize, taken: &Taken) -> bool {
        self.corrections.iter().any(|c| {
            matches!(c, Correction::Take { piece: p, stroke: s, taken: t }
                if *p == piece && *s != stroke && t == taken)
        })
    }

    fn make(&mut self) {
        self.edition += 1;
        match corrected(&self.read, &self.corrections) {
            Ok(made) => {
                self.made = made;
                self.fault = None;
            }
            Err(fault) => self.fault = Some(fault.to_string()),
        }
        if self.corrections.is_empty() {
            // What was read stands, to the last point.
            self.made = self.read.clone();
            self.fault = None;
        }
    }
}
