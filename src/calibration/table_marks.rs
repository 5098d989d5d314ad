//! The four marks' places by tape: edges and both diagonals.
//!
//! Mark 1 is the front left and the table's origin; mark 2, front right, lies
//! on its x axis; 3 is back right, 4 back left. That leaves five unknowns.
//! A width and a depth alone would call any table square, and 1° out of
//! square is 14 mm over 800; so both diagonals are wanted, and with them
//!
//! * all four edges: six readings, one to spare, which is the check;
//! * three edges: five readings, nothing to spare;
//! * a width and a depth: opposite edges are taken to be equal (a table top
//!   is sawn in pairs), which leaves three unknowns for four readings, and the
//!   spare one is the parallelogram law, d₁² + d₂² = 2(w² + h²).

#[cfg(test)]
mod tests;

use crate::adjust;
use crate::adjust::{SIGNIFICANCE, Solved, Stuck, chance_of_more};
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::space::{Point, Table};
use std::fmt;

/// Standard deviation of one tape reading between two marks, mm: an estimate.
/// A tape's own scale error comes on top and does not show in the check; class
/// II may err by 0.3 mm + 0.2 mm a metre (Directive 2014/32/EU, annex VIII).
pub const TAPE: f64 = 0.5;

/// How much of a length a class II tape may be too long or too short by: 0.2 mm a metre,
/// beside 0.3 mm wherever it is read (Directive 2014/32/EU, annex VIII).
pub const CLASS_II: f64 = 2e-4;

/// Between which two marks a tape is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Span {
    Front,
    Right,
    Back,
    Left,
    /// From mark 1 to mark 3.
    Diagonal13,
    /// From mark 2 to mark 4.
    Diagonal24,
}

impl Span {
    pub const ALL: [Span; 6] = [
        Span::Front,
        Span::Right,
        Span::Back,
        Span::Left,
        Span::Diagonal13,
        Span::Diagonal24,
    ];

    /// The marks at its ends, from 0.
    pub fn ends(self) -> [usize; 2] {
        match self {
            Span::Front => [0, 1],
            Span::Right => [1, 2],
            Span::Back => [2, 3],
            Span::Left => [3, 0],
            Span::Diagonal13 => [0, 2],
            Span::Diagonal24 => [1, 3],
        }
    }
}

impl fmt::Display for Span {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Span::Front => "the front edge (mark 1 to 2)",
            Span::Right => "the right side (mark 2 to 3)",
            Span::Back => "the back edge (mark 3 to 4)",
            Span::Left => "the left side (mark 4 to 1)",
            Span::Diagonal13 => "the diagonal 1 to 3",
            Span::Diagonal24 => "the diagonal 2 to 4",
        })
    }
}

/// Tape readings from mark to mark, mm.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TapeReadings {
    pub front: Option<f64>,
    pub right: Option<f64>,
    pub back: Option<f64>,
    pub left: Option<f64>,
    pub diagonal_13: Option<f64>,
    pub diagonal_24: Option<f64>,
}

impl TapeReadings {
    pub fn get(&self, span: Span) -> Option<f64> {
        match span {
            Span::Front => self.front,
            Span::Right => self.right,
            Span::Back => self.back,
            Span::Left => self.left,
            Span::Diagonal13 => self.diagonal_13,
            Span::Diagonal24 => self.diagonal_24,
        }
    }

    fn readings(&self) -> Vec<(Span, f64)> {
        let all = Span::ALL.into_iter();
        all.filter_map(|s| self.get(s).map(|v| (s, v))).collect()
    }
}

/// What is taken for granted about the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Opposite edges are equal.
    Parallelogram,
    /// Nothing.
    Any,
}

/// The marks' places.
#[derive(Debug, Clone, PartialEq)]
pub struct Surveyed {
    pub marks: [Point<Table>; 4],
    pub shape: Shape,
    /// For each reading, what it says less what the marks' places make it, mm.
    pub residuals: Vec<(Span, f64)>,
    /// For each reading, how much it alone would have to be too long (negative:
    /// too short), mm, for all the others to agree. Empty if none is to spare.
    pub alone: Vec<(Span, f64)>,
    /// Whether a tape read to [`TAPE`] explains the disagreement (at
    /// [`SIGNIFICANCE`]); with nothing to spare, true.
    pub closes: bool,
    /// Root of the sum of squared residuals, mm. Up to `limit` the tape closes.
    pub closure: f64,
    /// 2.58 · [`TAPE`], mm: normal errors stay within it 99 times in 100.
    pub limit: f64,
    /// By how much the corner at mark 1 exceeds a right angle, degrees.
    pub out_of_square: f64,
    /// The greatest standard error of a mark's place, mm, from [`TAPE`] alone,
    /// mark 1 and the direction to mark 2 being given.
    pub error: f64,
}

/// The marks' places from tape readings, by least squares.
///
/// # Errors
/// Names what is missing or no length of a table (50 mm to 20 m), or says that
/// no four marks could lie so far apart. Readings that merely disagree are not
/// an error here: see [`Surveyed::closes`].
pub fn survey(tape: &TapeReadings) -> Outcome<Surveyed> {
    let readings = tape.readings();
    if let Some((span, mm)) = readings.iter().find(|r| !(50.0..=20_000.0).contains(&r.1)) {
        return Err(Fault::input(
            format!(
                "{span} is given as {}, and tables have 50 mm to 20 m",
                Unit::Mm.show(*mm)
            ),
            "check the number and its unit",
        ));
    }
    let missing =
        |what: &str| Fault::input(format!("{what} is missing"), "measure it from mark to mark");
    let width = tape.front.or(tape.back);
    let depth = tape.left.or(tape.right);
    let width = width.ok_or_else(|| missing("the front edge (mark 1 to 2)"))?;
    let depth = depth.ok_or_else(|| missing("the left side (mark 4 to 1)"))?;
    let [one, two] = [Span::Diagonal13, Span::Diagonal24]
        .map(|s| tape.get(s).ok_or_else(|| missing(&s.to_string())));
    let (one, two) = (one?, two?);

    // d₁² − d₂² = 4·w·h·cos of the corner at mark 1.
    let cos = (one * one - two * two) / (4.0 * width * depth);
    if cos.abs() > 0.9 {
        return Err(astray(&readings));
    }
    let start = [width, depth, cos.acos()];
    let solved = solve(&start, &[0.1, 0.1, 1e-4], &readings, parallelogram)
        .map_err(|_| astray(&readings))?;
    let even = parallelogram(&solved.unknowns);
    let (shape, marks, solved) = if readings.len() == 4 {
        (Shape::Parallelogram, even, solved)
    } else {
        let start = [even[1].x, even[2].x, even[2].y, even[3].x, even[3].y];
        let solved = solve(&start, &[0.1; 5], &readings, any).map_err(|_| astray(&readings))?;
        (Shape::Any, any(&solved.unknowns), solved)
    };
    if !convex(&marks) {
        return Err(astray(&readings));
    }
    // χ² with one degree of freedom is one number n·c, n of unit length: the
    // reading that alone was wrong by g shows g·n_k², so g = Σv²/v_k.
    let residuals = residuals(&solved, &readings);
    let squares: f64 = residuals.iter().map(|r| r.1 * r.1).sum();
    let alone = if solved.freedom == 1 && squares > 1e-12 {
        residuals
            .iter()
            .filter(|r| r.1 != 0.0)
            .map(|&(s, v)| (s, squares / v))
            .collect()
    } else {
        Vec::new()
    };
    // Not euclid's own angle, which is a quick approximation.
    let corner = marks[3].y.atan2(marks[3].x).to_degrees();
    Ok(Surveyed {
        error: greatest_error(&solved, shape),
        closes: chance_of_more(solved.chi2, solved.freedom) >= SIGNIFICANCE,
        closure: squares.sqrt(),
        limit: 2.58 * TAPE,
        out_of_square: corner - 90.0,
        marks,
        shape,
        residuals,
        alone,
    })
}

fn astray(readings: &[(Span, f64)]) -> Fault {
    let all: Vec<String> = readings
        .iter()
        .map(|(s, v)| format!("{s} {}", Unit::Mm.show(*v)))
        .collect();
    Fault::input(
        format!("no four marks lie so far apart: {}", all.join(", ")),
        "one of them is far off: measure again, each from mark to mark",
    )
}

/// Marks by width, depth and the corner's angle at mark 1.
fn parallelogram(u: &[f64]) -> [Point<Table>; 4] {
    let (sin, cos) = u[2].sin_cos();
    let side = Point::new(u[1] * cos, u[1] * sin);
    [
        Point::zero(),
        Point::new(u[0], 0.0),
        Point::new(u[0] + side.x, side.y),
        side,
    ]
}

fn any(u: &[f64]) -> [Point<Table>; 4] {
    [
        Point::zero(),
        Point::new(u[0], 0.0),
        Point::new(u[1], u[2]),
        Point::new(u[3], u[4]),
    ]
}

fn solve(
    start: &[f64],
    scale: &[f64],
    readings: &[(Span, f64)],
    marks: fn(&[f64]) -> [Point<Table>; 4],
) -> Result<Solved, Stuck> {
    adjust::gauss_newton(start, scale, |u| {
        let m = marks(u);
        let made = |s: Span| (m[s.ends()[1]] - m[s.ends()[0]]).length();
        readings
            .iter()
            .map(|(s, v)| (v - made(*s)) / TAPE)
            .collect()
    })
}

fn residuals(solved: &Solved, readings: &[(Span, f64)]) -> Vec<(Span, f64)> {
    let sigmas = solved.residuals.iter().map(|r| r * TAPE);
    readings.iter().map(|r| r.0).zip(sigmas).collect()
}

fn greatest_error(solved: &Solved, shape: Shape) -> f64 {
    let u = &solved.unknowns;
    let c = &solved.covariance;
    // Variance of the sum of the unknowns, each taken so many times.
    let var = |row: &[f64]| -> f64 {
        let times = |r: usize| (0..row.len()).map(|k| c[r][k] * row[k]).sum::<f64>();
        (0..row.len()).map(|r| row[r] * times(r)).sum()
    };
    let places: Vec<f64> = match shape {
        Shape::Any => vec![c[0][0], c[1][1] + c[2][2], c[3][3] + c[4][4]],
        Shape::Parallelogram => {
            let (sin, cos) = u[2].sin_cos();
            let side = [[0.0, cos, -u[1] * sin], [0.0, sin, u[1] * cos]];
            let corner = [[1.0, cos, -u[1] * sin], side[1]];
            let place = |rows: [[f64; 3]; 2]| rows.iter().map(|r| var(r)).sum();
            vec![c[0][0], place(corner), place(side)]
        }
    };
    places.into_iter().fold(0.0, f64::max).sqrt()
}

fn convex(m: &[Point<Table>; 4]) -> bool {
    (0..4).all(|k| {
        let (a, b, c) = (m[k], m[(k + 1) % 4], m[(k + 2) % 4]);
        (b - a).cross(c - b) > 0.0
    })
}

impl Surveyed {
    /// The account of it in one sentence, without a full stop; lengths in
    /// `unit`.
    pub fn account(&self, unit: Unit) -> String {
        let show = |v: f64| unit.show(v);
        if !self.closes {
            let each = self.alone.iter().map(|(span, by)| {
                let way = if *by > 0.0 { "long" } else { "short" };
                format!("{span} read {} too {way}", show(by.abs()))
            });
            let more = match self.shape {
                Shape::Parallelogram => "measure again, and the back edge and right side too",
                Shape::Any => "measure again",
            };
            return format!(
                "the readings do not go together ({} apart, where a tape is read to {}): one of these alone would \
                 explain it: {}; {more}",
                show(self.closure),
                show(self.limit),
                each.collect::<Vec<String>>().join(", or ")
            );
        }
        let square = match self.out_of_square {
            by if by.abs() < 0.05 => "the table is square".to_owned(),
            by => format!("the corner at mark 1 has {:.1}°", 90.0 + by),
        };
        match (self.shape, self.alone.is_empty() && self.closure < 1e-6) {
            (Shape::Any, true) if self.residuals.len() == 5 => format!(
                "{square}; there is no reading to check the others by: measure the fourth edge too"
            ),
            _ => format!(
                "{square}; the readings go together to {}",
                show(self.closure)
            ),
        }
    }
}

impl fmt::Display for Surveyed {
    /// [`Surveyed::account`] in millimetres.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.account(Unit::Mm))
    }
}
