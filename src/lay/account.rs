//! What became of a carried lay, in a sentence.

use super::carried::{Agreement, Carried};
use super::mistaken::Mistake;
use crate::measure::Unit;
use std::fmt;

/// A small number in words.
fn count(n: usize) -> String {
    const WORDS: [&str; 8] = [
        "two", "three", "four", "five", "six", "seven", "eight", "nine",
    ];
    match n.checked_sub(2).and_then(|k| WORDS.get(k)) {
        Some(word) => (*word).to_owned(),
        None => n.to_string(),
    }
}

/// `0.3 mm further apart than before`.
fn apart(mm: f64) -> String {
    let size = Unit::Mm.show(mm.abs());
    match mm {
        _ if mm.abs() < 0.05 => "as far apart as before".to_owned(),
        _ if mm > 0.0 => format!("{size} further apart than before"),
        _ => format!("{size} nearer to each other than before"),
    }
}

impl fmt::Display for Carried {
    /// The account of it in one sentence, without a full stop.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mm = |v: f64| Unit::Mm.show(v);
        let n = count(self.sightings.len());
        let again = "point again or lay anew";
        match (&self.finding, self.apart) {
            (Agreement::Moved, Some(d)) => write!(f, "two marks: carried; they are {}", apart(d)),
            (Agreement::Moved, None) => write!(
                f,
                "{n} marks: carried; they lie {} off as a rule, most at {} ({})",
                mm(self.rms()),
                self.name(self.worst),
                mm(self.residuals[self.worst].length())
            ),
            (Agreement::Stretched { by, .. }, Some(d)) => write!(
                f,
                "two marks: they are {}: the cloth has {}, or a mark was pointed at wrongly: {again}",
                apart(d),
                if *by > 0.0 { "stretched" } else { "shrunk" }
            ),
            (
                Agreement::Stretched {
                    by,
                    between: [a, b],
                    or_mark,
                    ..
                },
                None,
            ) => {
                let did = if *by > 0.0 { "stretched" } else { "shrunk" };
                write!(
                    f,
                    "the cloth has {did} {} between {} and {}",
                    mm(by.abs()),
                    self.name(*a),
                    self.name(*b)
                )?;
                match or_mark {
                    Some(k) => write!(f, ", or {} was pointed at wrongly: {again}", self.name(*k)),
                    None if self.sightings.len() == 3 => {
                        write!(f, ", or one mark was pointed at wrongly: {again}")
                    }
                    None => write!(f, ": {again}"),
                }
            }
            (Agreement::OneMark { mark, off }, _) => write!(
                f,
                "{} lies {} off, and the other {} marks agree: point at it again",
                self.name(*mark),
                mm(*off),
                count(self.sightings.len() - 1)
            ),
            (Agreement::Mistaken(Mistake::Exchanged(a, b)), _) => write!(
                f,
                "the marks fit if {} and {} are exchanged: point at them again, in order",
                self.name(*a),
                self.name(*b)
            ),
            (Agreement::Mistaken(Mistake::TurnedOver), _) => write!(
                f,
                "the marks lie as if the cloth had been turned over: turn it back, or point again"
            ),
            (Agreement::Uneven, _) => write!(
                f,
                "{n} marks: they do not lie as before ({} off as a rule, most at {}), and neither an even \
                 stretch nor one wrong mark explains it: {again}",
                mm(self.rms()),
                self.name(self.worst)
            ),
        }
    }
}
