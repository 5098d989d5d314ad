//! What has been typed, kept as it was typed: going back a step takes back what
//! followed from it, never the numbers themselves.

use crate::calibration::reading::Grid;
use crate::calibration::table_marks::{Span, TapeReadings};
use crate::fault::{Fault, Outcome};
use crate::measure::{Unit, parse_length};
use crate::projection::Upright;
use crate::space::{Point, Projector, Table};

/// A length that was typed.
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    text: String,
    unit: Unit,
    pub mm: f64,
}

impl Length {
    /// # Errors
    /// As [`parse_length`].
    pub fn read(text: &str, unit: Unit) -> Outcome<Self> {
        Ok(Self {
            mm: parse_length(text, unit)?,
            text: text.trim().to_owned(),
            unit,
        })
    }

    /// A length from a profile.
    pub fn known(mm: f64, unit: Unit) -> Self {
        Self {
            text: format!("{} mm", (mm * 100.0).round() / 100.0),
            unit,
            mm,
        }
    }

    /// As it was typed, if that still means the same; else as it is shown.
    pub fn shown(&self, unit: Unit) -> String {
        if self.unit == unit {
            self.text.clone()
        } else {
            unit.show(self.mm)
        }
    }
}

/// A mark's reading in the grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    text: String,
    on: Upright,
    pub at: Point<Projector>,
}

impl Reading {
    /// # Errors
    /// As [`Grid::parse`].
    pub fn read(text: &str, on: Upright) -> Outcome<Self> {
        let grid = Grid::over(on);
        let at = grid.parse(text)?;
        Ok(Self {
            text: grid.format(at).unwrap_or_else(|| text.trim().to_owned()),
            on,
            at,
        })
    }

    /// The reading of a point of the picture. `None` outside it.
    pub fn of(at: Point<Projector>, on: Upright) -> Option<Self> {
        let text = Grid::over(on).format(at)?;
        Some(Self { text, on, at })
    }

    /// As this reader reads it.
    pub fn shown(&self, on: Upright) -> String {
        if self.on == on {
            return self.text.clone();
        }
        Grid::over(on).format(self.at).unwrap_or_default()
    }
}

/// The order in which lengths are asked for: those that are needed first.
pub const ASKED: [Span; 6] = [
    Span::Front,
    Span::Left,
    Span::Diagonal13,
    Span::Diagonal24,
    Span::Right,
    Span::Back,
];

/// How many of [`ASKED`] are needed.
pub const NEEDED: usize = 4;

/// All that can be typed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Typed {
    /// Bands along the picture's width and height.
    pub bands: [Option<u32>; 2],
    /// Between the marks on the table, as in [`ASKED`].
    pub edges: [Option<Length>; 6],
    /// Each mark's x, then its y.
    pub places: [Option<Length>; 8],
    /// The places are typed instead of the edges.
    pub by_places: bool,
    pub readings: [Option<Reading>; 4],
    /// On the check picture, as in [`ASKED`].
    pub check: [Option<Length>; 6],
}

fn spans(lengths: &[Option<Length>; 6]) -> impl Fn(Span) -> Option<f64> {
    move |span| {
        let at = ASKED.iter().position(|s| *s == span)?;
        lengths[at].as_ref().map(|l| l.mm)
    }
}

impl Typed {
    pub fn tape(&self) -> TapeReadings {
        let of = spans(&self.edges);
        TapeReadings {
            front: of(Span::Front),
            right: of(Span::Right),
            back: of(Span::Back),
            left: of(Span::Left),
            diagonal_13: of(Span::Diagonal13),
            diagonal_24: of(Span::Diagonal24),
        }
    }

    /// In the order of [`Span::ALL`].
    pub fn checked(&self) -> [Option<f64>; 6] {
        Span::ALL.map(spans(&self.check))
    }

    /// The marks' places as typed.
    ///
    /// # Errors
    /// Names the number that is missing, or says that the marks do not lie as
    /// marks do: 1 front left, 2 front right, 3 back right, 4 back left.
    pub fn marks(&self) -> Outcome<[Point<Table>; 4]> {
        if let Some(k) = self.places.iter().position(Option::is_none) {
            return Err(Fault::input(
                format!("{} is missing", place_name(k)),
                "type it in the table's millimetres, or measure edges and diagonals instead",
            ));
        }
        let mm = |k: usize| self.places[k].as_ref().map_or(f64::NAN, |l| l.mm);
        let marks: [Point<Table>; 4] =
            std::array::from_fn(|k| Point::new(mm(2 * k), mm(2 * k + 1)));
        let turns: [bool; 4] = std::array::from_fn(|k| {
            let (a, b, c) = (marks[k], marks[(k + 1) % 4], marks[(k + 2) % 4]);
            (b - a).cross(c - b) > 0.0
        });
        let remedy = "mark 1 is front left, 2 front right, 3 back right, 4 back left; x runs to the \
                      right, y away from the front";
        match turns {
            [true, true, true, true] => Ok(marks),
            [false, false, false, false] => Err(Fault::input(
                "the marks run round the table the wrong way",
                remedy,
            )),
            _ => Err(Fault::input(
                "the marks, taken in order, do not go round a table",
                remedy,
            )),
        }
    }
}

/// What a number of [`Typed::places`] is.
pub fn place_name(k: usize) -> String {
    let axis = if k.is_multiple_of(2) {
        "to the right (x)"
    } else {
        "away from the front (y)"
    };
    format!("mark {} {axis}", k / 2 + 1)
}
