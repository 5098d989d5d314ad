//! What can be wrong with a calibration, and what each wrong makes of the
//! check square's lengths.
//!
//! Light is aimed by the marks as typed and set; it lands where they truly
//! are. So every wrong is a plane-to-plane map from the marks as typed to the
//! marks as they are, or to where light that was set beside one does fall.

use super::CheckSquare;
use crate::calibration::table_marks::Span;
use crate::measure::Unit;
use crate::projection::Homography;
use crate::space::{Point, Table, Vector};

/// A single cause that would explain the tape's readings.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cause {
    /// The marks are this much further apart across than was typed, mm.
    Width(f64),
    /// The marks are this much further apart from front to back, mm.
    Depth(f64),
    /// The table's left side leans to the right of a right angle by this
    /// much more than was typed, degrees.
    Skew(f64),
    /// Everything is this much larger, mm a metre.
    Size(f64),
    /// The light for this mark, from 0, falls this far beside it, mm.
    Mark(usize, Vector<Table>),
    /// This one reading is too long, mm; all else is right.
    Slip(Span, f64),
}

/// A kind of cause, before its size is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Kind {
    Width,
    Depth,
    Skew,
    Size,
    Mark(usize),
    Slip(Span),
}

impl Kind {
    pub(super) fn all() -> Vec<Kind> {
        let mut all = vec![Kind::Width, Kind::Depth, Kind::Skew, Kind::Size];
        all.extend((0..4).map(Kind::Mark));
        all.extend(Span::ALL.map(Kind::Slip));
        all
    }

    /// How many numbers give its size. All are mm, at the marks.
    pub(super) fn unknowns(self) -> usize {
        match self {
            Kind::Mark(_) => 2,
            _ => 1,
        }
    }

    /// The cause of this kind whose size is `u`.
    pub(super) fn cause(self, square: &CheckSquare, u: &[f64]) -> Cause {
        let [w, h] = extent(square);
        match self {
            Kind::Width => Cause::Width(u[0]),
            Kind::Depth => Cause::Depth(u[0]),
            Kind::Skew => Cause::Skew((u[0] / h).asin().to_degrees()),
            Kind::Size => Cause::Size(1000.0 * u[0] / w),
            Kind::Mark(k) => Cause::Mark(k, Vector::new(u[0], u[1])),
            Kind::Slip(span) => Cause::Slip(span, u[0]),
        }
    }

    /// What a perfect tape reads on `span` if this is wrong by `u`. `None` if
    /// there is no such table.
    pub(super) fn lengths(self, square: &CheckSquare, u: &[f64]) -> Option<[f64; 6]> {
        let falls = self.falls(square, u)?;
        let length = |span: Span| {
            let [a, b] = span.ends().map(|k| falls(square.corners[k]));
            let slip = match self {
                Kind::Slip(slipped) if slipped == span => u[0],
                _ => 0.0,
            };
            Some((b? - a?).length() + slip)
        };
        let mut out = [0.0; 6];
        for (length_of, span) in out.iter_mut().zip(Span::ALL) {
            *length_of = length(span)?;
        }
        Some(out)
    }

    /// Where light aimed at a place does fall.
    fn falls(
        self,
        square: &CheckSquare,
        u: &[f64],
    ) -> Option<impl Fn(Point<Table>) -> Option<Point<Table>> + use<>> {
        let [w, h] = extent(square);
        let mut fallen = square.marks;
        match self {
            Kind::Width => fallen = fallen.map(|p| Point::new(p.x * (1.0 + u[0] / w), p.y)),
            Kind::Depth => fallen = fallen.map(|p| Point::new(p.x, p.y * (1.0 + u[0] / h))),
            // Turned, not sheared: the sides keep the length that was taped.
            Kind::Skew => {
                let (sin, cos) = (u[0] / h).asin().sin_cos();
                fallen = fallen.map(|p| Point::new(p.x + p.y * sin, p.y * cos));
            }
            Kind::Size => fallen = fallen.map(|p| p * (1.0 + u[0] / w)),
            Kind::Mark(k) => fallen[k] += Vector::new(u[0], u[1]),
            Kind::Slip(_) => {}
        }
        let map: Homography<Table, Table> = Homography::through(square.marks, fallen)?;
        Some(move |p| map.point(p))
    }
}

/// Width and depth that the marks span, mm.
fn extent(square: &CheckSquare) -> [f64; 2] {
    let bounds = euclid::Box2D::from_points(square.marks);
    [bounds.width(), bounds.height()]
}

impl Cause {
    /// What is wrong and what to do about it, without a full stop; `unit` is
    /// the tape's.
    pub fn sentence(&self, unit: Unit) -> String {
        let size = |mm: f64| unit.show(mm.abs());
        let long = |mm: f64| if mm > 0.0 { "long" } else { "short" };
        match self {
            Cause::Width(by) => format!(
                "widths are {} and depths right: the marks lie {} {} across than was typed; measure \
                 from mark 1 to mark 2 again",
                long(*by),
                size(*by),
                if *by > 0.0 { "further apart" } else { "nearer" }
            ),
            Cause::Depth(by) => format!(
                "depths are {} and widths right: the marks lie {} {} from front to back than was \
                 typed; measure from mark 1 to mark 4 again",
                long(*by),
                size(*by),
                if *by > 0.0 { "further apart" } else { "nearer" }
            ),
            Cause::Skew(deg) => format!(
                "one diagonal is long and the other short: the marks are {:.1}° out of square against \
                 what was typed; take both diagonals of the marks again",
                deg.abs()
            ),
            Cause::Size(rate) => format!(
                "everything is {} by {:.1} mm a metre: zoom or focus was touched after the marks were \
                 set, or the lens bends straight lines (hold a thread along one), or the tape between the \
                 marks was not read from its zero; measure the marks, and set them again",
                long(*rate),
                rate.abs()
            ),
            Cause::Mark(k, off) => format!(
                "one corner is off: the light for mark {n} falls {} beside it; set mark {n} again",
                size(off.length()),
                n = k + 1
            ),
            Cause::Slip(span, by) => format!(
                "one reading is {} {} and all the others are right: read {} again",
                size(*by),
                long(*by),
                named(*span)
            ),
        }
    }
}

/// A span of the check square, as one points at it.
pub(super) fn named(span: Span) -> &'static str {
    match span {
        Span::Front => "the front edge",
        Span::Right => "the right side",
        Span::Back => "the back edge",
        Span::Left => "the left side",
        Span::Diagonal13 => "the diagonal from front left to back right",
        Span::Diagonal24 => "the diagonal from front right to back left",
    }
}
