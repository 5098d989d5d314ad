//! A printed check square: it tells whether the file is at full size.

use kurbo::Point as Page;

use super::Text;
use super::single::PAGE;
use crate::drawing::read::drawn::flatten::Budget;
use crate::fault::{Fault, Outcome, short};
use crate::measure::{MM_PER_INCH, Unit, parse_length};
use crate::pattern::Polyline;
use crate::space::Bounds;

/// Sides that check squares are printed with, mm.
const SIDES: std::ops::RangeInclusive<f64> = 15.0..=160.0;
/// Most points that one is drawn with.
const SIDE_POINTS: usize = 1000;
/// How far apart its sides may be and it is a square still, as a part.
const SQUARE: f64 = 0.02;
/// How many times too large or too small it may be and is still meant: points taken for
/// pixels, or the other way, are off by 96/72.
const MEANT: f64 = 1.45;
/// What a printed pattern may be off by, as a part: 1 mm in 200.
const RIGHT: f64 = 0.005;

/// A check square that was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Which closed line it is.
    pub ring: usize,
    /// What the text beside it says of its side, mm.
    pub says: f64,
    /// The mean of its sides, mm.
    pub measures: f64,
    /// Where its upper left corner is: mm, y down.
    pub at: Page,
}

impl Check {
    /// The sentence on a square that is right.
    ///
    /// # Errors
    ///
    /// When it is off by more than 0.5 %; the remedy names the scale that mends it, `given`
    /// being the one that the file was read at.
    pub fn judge(&self, given: f64) -> Outcome<String> {
        let (says, measures) = (short(self.says), format!("{:.2}", self.measures));
        if (self.measures / self.says - 1.0).abs() > RIGHT {
            return Err(Fault::input(
                format!(
                    "the check square at x {} mm, y {} mm says {says} mm and measures {measures} mm: \
                     the file is not at full size",
                    short(self.at.x.round()),
                    short(self.at.y.round())
                ),
                format!(
                    "export it at 100 %, or give the scale {:.4}",
                    given * self.says / self.measures
                ),
            ));
        }
        Ok(format!(
            "the check square of {says} mm measures {measures} mm: the file is at full size."
        ))
    }
}

/// The first of `rings` (closed, mm, y up) that is a square of about the size that a
/// text in it or beside it says.
///
/// # Errors
///
/// When squares and texts are too many for `budget`.
pub fn check_square(
    rings: &[&Polyline],
    texts: &[Text],
    budget: &mut Budget,
) -> Outcome<Option<Check>> {
    let said: Vec<(Page, Vec<f64>)> = texts
        .iter()
        .filter_map(|t| Some((t.at, size_said(&t.words.to_lowercase())?)))
        .collect();
    if said.is_empty() {
        return Ok(None);
    }
    for (ring, line) in rings.iter().enumerate() {
        budget.look(line.len())?;
        let Some(side) = side_of(line) else {
            continue;
        };
        budget.look(said.len())?;
        let bounds = Bounds::from_points(*line).inflate(side, side);
        let near = said
            .iter()
            .filter(|(at, _)| bounds.contains_inclusive(PAGE.piece(*at)));
        let sizes = near.flat_map(|(_, sizes)| sizes);
        let off = |says: &f64| (side / says).ln().abs();
        let meant = sizes.filter(|says| off(says) <= MEANT.ln());
        let Some(&says) = meant.min_by(|a, b| off(a).total_cmp(&off(b))) else {
            continue;
        };
        let inner = Bounds::from_points(*line);
        let corner = crate::space::Point::new(inner.min.x, inner.max.y);
        return Ok(Some(Check {
            ring,
            says,
            measures: side,
            at: PAGE.page(corner),
        }));
    }
    Ok(None)
}

/// The mean side of a square, mm; none for another shape.
fn side_of(line: &Polyline) -> Option<f64> {
    let b = Bounds::from_points(line);
    let far = *SIDES.end() * 1.5;
    if line.len() > SIDE_POINTS || b.width().max(b.height()) > far {
        return None;
    }
    // As drawn, a side may have points on it.
    let corners = super::super::drawn::simplify::simplify(line, true, 0.01);
    let &[a, b, c, d] = corners.as_slice() else {
        return None;
    };
    let sides = [b - a, c - b, d - c, a - d];
    let lengths = sides.map(|s| s.length());
    let mean = lengths.iter().sum::<f64>() / 4.0;
    let alike = lengths.iter().all(|l| (l / mean - 1.0).abs() <= SQUARE);
    let right = (sides[0].dot(sides[1]) / (lengths[0] * lengths[1])).abs() <= SQUARE;
    (alike && right && SIDES.contains(&mean)).then_some(mean)
}

/// The lengths that a text (in small letters) names, mm: `5 cm`, `2" (5.08 cm)`,
/// `50 x 50 mm`. None if it names none.
pub fn size_said(lower: &str) -> Option<Vec<f64>> {
    let mut sizes = Vec::new();
    let words: Vec<&str> = lower
        .split(|c: char| c.is_whitespace() || "x×()=/:;".contains(c))
        .filter(|w| !w.is_empty())
        .collect();
    for (k, word) in words.iter().enumerate() {
        if !word.starts_with(|c: char| c.is_ascii_digit()) {
            continue;
        }
        let with_unit = |text: &str| {
            let named = text.ends_with(|c: char| c.is_alphabetic() || "\"″”'".contains(c));
            let length = named.then(|| parse_length(text, Unit::Mm).ok()).flatten();
            length.filter(|l| *l > 0.0)
        };
        let next = words.get(k + 1).map(|next| format!("{word}{next}"));
        let after_next = words.get(k + 2).map(|unit| format!("{word}{unit}"));
        let two = next.as_deref().and_then(with_unit);
        // `2 x 2 in`: the unit stands after the second.
        let three = after_next.as_deref().and_then(with_unit);
        sizes.extend(with_unit(word).or(two).or(three));
    }
    sizes.retain(|s| (1.0..=40.0 * MM_PER_INCH).contains(s));
    (!sizes.is_empty()).then_some(sizes)
}
