//! What can have moved, from the simplest on, and how well each explains where
//! the marks are. The light and the table stand in for each other: if the table
//! slides to the left, so do the marks in the light.

use super::{Cause, Seen};
use crate::adjust::gauss_newton;
use crate::space::{Point, Table, Vector, mean};

/// A kind of cause, before its size is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Model {
    Shift,
    /// The mark at this place of the list.
    Mark(usize),
    Turn,
    Size,
    Tilt,
}

impl Model {
    /// Those that so many marks can tell, with the fewest unknowns first.
    pub(super) fn all(marks: usize) -> Vec<Model> {
        let mut all = vec![Model::Shift];
        // Of two marks, one that was moved and a turn about the other are one.
        if marks >= 3 {
            all.extend((0..marks).map(Model::Mark));
        }
        let more = [(Model::Turn, 2), (Model::Size, 3), (Model::Tilt, 4)];
        all.extend(
            more.iter()
                .filter(|(_, least)| marks >= *least)
                .map(|m| m.0),
        );
        all
    }

    pub(super) fn unknowns(self) -> usize {
        match self {
            Model::Shift | Model::Mark(_) => 2,
            Model::Turn => 3,
            Model::Size => 4,
            Model::Tilt => 8,
        }
    }

    /// The cause of this kind that fits best, and what is left: the sum of
    /// squares, mm². `None` if the marks lie so that they can't tell.
    pub(super) fn fitted(self, seen: &[Seen]) -> Option<(Cause, f64)> {
        let about = About::new(seen);
        match self {
            Model::Shift => Some((
                Cause::Shift(about.shift),
                about.left(|p| Some(p.to_point() + about.shift))?,
            )),
            Model::Mark(k) => {
                let others = seen.iter().enumerate().filter(|(j, _)| *j != k);
                let left = others.map(|(_, s)| (s.seen - s.meant).square_length());
                let this = seen[k];
                let cause = Cause::Mark {
                    number: this.number,
                    off: this.seen - this.meant,
                };
                Some((cause, left.sum()))
            }
            Model::Turn | Model::Size => about.alike(self == Model::Size),
            Model::Tilt => about.tilted(),
        }
    }
}

/// The marks about the middle of their light.
struct About {
    /// Where the light is meant, and the mark is seen.
    pairs: Vec<(Vector<Table>, Point<Table>)>,
    /// How far the middle of the marks lies beside that of their light.
    shift: Vector<Table>,
    /// Root mean square of the meant places' distance from their middle, mm.
    reach: f64,
}

impl About {
    fn new(seen: &[Seen]) -> Self {
        let centre = mean(seen.iter().map(|s| s.meant)).unwrap_or_default();
        let about = |s: &Seen| (s.meant - centre, s.seen - centre.to_vector());
        let pairs: Vec<_> = seen.iter().map(about).collect();
        let squares: f64 = pairs.iter().map(|(p, _)| p.square_length()).sum();
        Self {
            shift: mean(pairs.iter().map(|p| p.1))
                .unwrap_or_default()
                .to_vector(),
            reach: (squares / pairs.len() as f64).sqrt(),
            pairs,
        }
    }

    /// The sum of squares that a map leaves, mm².
    fn left(&self, map: impl Fn(Vector<Table>) -> Option<Point<Table>>) -> Option<f64> {
        let off = self
            .pairs
            .iter()
            .map(|(p, q)| Some((*q - map(*p)?).square_length()));
        off.sum()
    }

    /// Turned and shifted, and also grown if so said: in complex numbers
    /// q − shift = z·p, with z = Σ p̄·q / Σ |p|², or its direction.
    fn alike(&self, grown: bool) -> Option<(Cause, f64)> {
        let (mut dot, mut cross, mut squares) = (0.0, 0.0, 0.0);
        for (p, q) in &self.pairs {
            let q = q.to_vector() - self.shift;
            dot += p.dot(q);
            cross += p.cross(q);
            squares += p.square_length();
        }
        let whole = dot.hypot(cross);
        // Marks in one place tell no turn.
        if self.reach < 1e-3 || whole <= 1e-9 * squares {
            return None;
        }
        let size = if grown { whole / squares } else { 1.0 };
        let (sin, cos) = (size * cross / whole, size * dot / whole);
        let map = |p: Vector<Table>| {
            let turned = Point::new(cos * p.x - sin * p.y, sin * p.x + cos * p.y);
            Some(turned + self.shift)
        };
        let left = self.left(map)?;
        let (degrees, shift) = (cross.atan2(dot).to_degrees(), self.shift);
        let cause = if grown {
            Cause::Size {
                rate: 1000.0 * (size - 1.0),
                degrees,
                shift,
            }
        } else {
            Cause::Turn { degrees, shift }
        };
        Some((cause, left))
    }

    /// Through any map of a plane on to a plane.
    fn tilted(&self) -> Option<(Cause, f64)> {
        let map = |u: &[f64], p: Vector<Table>| {
            // All unknowns are mm at the reach of the marks.
            let r = p / self.reach;
            let depth = 1.0 + (u[6] * r.x + u[7] * r.y) / self.reach;
            let to: Point<Table> = Point::new(
                p.x + u[0] + u[2] * r.x + u[3] * r.y,
                p.y + u[1] + u[4] * r.x + u[5] * r.y,
            );
            (depth > 0.0).then(|| to / depth)
        };
        let residuals = |u: &[f64]| -> Vec<f64> {
            let off = |(p, q): &(Vector<Table>, Point<Table>)| {
                let to = map(u, *p).unwrap_or(Point::new(f64::NAN, f64::NAN));
                [q.x - to.x, q.y - to.y]
            };
            self.pairs.iter().flat_map(off).collect()
        };
        let solved = gauss_newton(&[0.0; 8], &[0.01; 8], residuals).ok()?;
        Some((Cause::Tilt, solved.chi2))
    }
}
