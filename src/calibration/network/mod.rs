//! Marks stuck down anywhere, and their places from distances read between them with a
//! tape: least squares, and what the readings say of one another.

mod csv;
mod place;
mod worth;

pub use csv::{parse as parse_tape, read_tape};
pub use worth::{Worth, one_more};

use super::table_marks::TAPE;
use crate::adjust::{Checked, chance_of_more, critical, marquardt, reliability};
use crate::fault::{Fault, Outcome, counted};
use crate::measure::Unit;
use crate::space::{Point, Table};
use nalgebra::{DMatrix, DVector};
use std::collections::BTreeSet;

/// A reading whose own error would explain all the rest so that sound readings would
/// scatter more once in a hundred is listed as the slip.
const LISTED: f64 = 0.01;

/// The shortest and longest distance between two marks, mm.
const SHORTEST: f64 = 20.0;
const LONGEST: f64 = 20_000.0;

/// The most marks that are taken: triangles grow with the cube.
const MOST: usize = 40;

/// A side longer than the other two together by more than this share of itself is no slip
/// of the tape, which the others would show, but another number.
const IMPOSSIBLE: f64 = 0.05;

/// A distance between two marks, as it was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    pub from: usize,
    pub to: usize,
    pub mm: f64,
    /// Its standard deviation, mm: [`TAPE`] where a tape read it, more where it is only
    /// assumed.
    pub sigma: f64,
}

/// Marks and what a tape read between them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Network {
    pub names: Vec<String>,
    pub readings: Vec<Reading>,
    /// The line of its file that each reading stands on; empty where they are from no file.
    pub lines: Vec<u64>,
}

/// The marks' places, and what the readings are worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Adjusted {
    /// Mark 1 is the origin, mark 2 lies on the x axis, and the one furthest off that
    /// line lies beyond it, away from the person.
    pub marks: Vec<Point<Table>>,
    /// Covariance of x₁, y₁, x₂, …, mm², without a datum: the marks about one another
    /// (least trace; P. Meissl). A map's own place and turn are nobody's error.
    pub covariance: DMatrix<f64>,
    /// For each reading, what it says less what the places make it, mm.
    pub residuals: Vec<f64>,
    pub checks: Vec<Checked>,
    /// Sum of squared residuals, in standard deviations of a reading.
    pub chi2: f64,
    /// Readings to spare.
    pub freedom: usize,
    /// The readings one of which is likely a slip, the likeliest first; empty if none.
    pub again: Vec<usize>,
}

impl Network {
    /// The reading in words.
    pub fn name(&self, k: usize) -> String {
        let r = &self.readings[k];
        format!("{} to {}", self.names[r.from], self.names[r.to])
    }

    /// The fault, placed at the lines that these readings stand on, if they are from a file.
    fn on_lines(&self, fault: Fault, readings: impl IntoIterator<Item = usize>) -> Fault {
        let lines = readings.into_iter().filter_map(|k| self.lines.get(k));
        let lines: Vec<String> = lines
            .collect::<BTreeSet<_>>()
            .into_iter()
            .map(u64::to_string)
            .collect();
        match &lines[..] {
            [] => fault,
            [one] => fault.at(format!("line {one}")),
            [front @ .., last] => fault.at(format!("lines {} and {last}", front.join(", "))),
        }
    }

    /// Standard deviation of a reading, mm: see [`TAPE`].
    pub fn sigma(&self) -> f64 {
        TAPE
    }

    /// The marks' places.
    ///
    /// # Errors
    /// Names what is no distance, three readings that make no triangle, or a mark that
    /// is not fixed by the others; and the lines on which that stands, if it is from a file.
    pub fn adjust(&self) -> Outcome<Adjusted> {
        self.check()?;
        let start = place::rough(self)?;
        let n = self.names.len();
        let found = marquardt(pack(&start), |x| self.residuals_at(&unpack(x)))
            .map_err(|_| place::loose(self))?;
        let marks = placed(unpack(&found.unknowns));
        let (residuals, slope) = self.slopes_at(&marks).ok_or_else(|| place::loose(self))?;
        // What the slopes do not fix is place and turn; of the rest the pseudo-inverse
        // is the covariance of least trace.
        let svd = slope.clone().svd(true, true);
        let largest = svd.singular_values.max();
        let loose = svd.singular_values.iter().filter(|s| **s > 1e-9 * largest);
        if loose.count() < 2 * n - 3 {
            return Err(place::loose(self));
        }
        let inverse = svd
            .pseudo_inverse(1e-9 * largest)
            .map_err(|_| place::loose(self))?;
        let checks = reliability(&slope, &residuals);
        let chi2 = residuals.norm_squared();
        let freedom = self.readings.len() + 3 - 2 * n;
        Ok(Adjusted {
            again: suspects(&checks, chi2, freedom),
            covariance: &inverse * inverse.transpose(),
            // Read less made.
            residuals: (residuals.iter().zip(&self.readings))
                .map(|(r, reading)| -r * reading.sigma)
                .collect(),
            marks,
            checks,
            chi2,
            freedom,
        })
    }

    fn check(&self) -> Outcome<()> {
        let n = self.names.len();
        if n < 4 {
            return Err(Fault::input(
                format!(
                    "{} measured, and it takes four to tell where light lands",
                    counted(n, "mark is", "marks are")
                ),
                "stick down four marks or more, the outer ones near the table's edge",
            ));
        }
        if n > MOST {
            let fault = Fault::input(
                format!("the tape's readings name {n} marks, and at most {MOST} are taken"),
                "leave most of them out: twenty are plenty",
            );
            // Where the first one too many is named.
            let beyond = self.readings.iter().position(|r| r.from.max(r.to) >= MOST);
            return Err(self.on_lines(fault, beyond));
        }
        for (k, r) in self.readings.iter().enumerate() {
            if !(SHORTEST..=LONGEST).contains(&r.mm) {
                let fault = Fault::input(
                    format!(
                        "{} is given as {}, and marks are 20 mm to 20 m apart",
                        self.name(k),
                        Unit::Mm.show(r.mm)
                    ),
                    "check the number and its unit",
                );
                return Err(self.on_lines(fault, [k]));
            }
        }
        for a in 0..n {
            for b in a + 1..n {
                for c in b + 1..n {
                    let Some(sides) = self.sides([a, b, c]) else {
                        continue;
                    };
                    let all: f64 = sides.iter().map(|s| s.1).sum();
                    let Some(long) = sides.iter().find(|s| 2.0 * s.1 > all + IMPOSSIBLE * s.1)
                    else {
                        continue;
                    };
                    let others = sides.iter().filter(|s| s.0 != long.0);
                    let others: Vec<String> = others
                        .map(|s| format!("{} {}", self.name(s.0), Unit::Mm.show(s.1)))
                        .collect();
                    let fault = Fault::input(
                        format!(
                            "no triangle has such sides: {} {} is longer than {} together",
                            self.name(long.0),
                            Unit::Mm.show(long.1),
                            others.join(" and ")
                        ),
                        "measure these three again, each from mark to mark",
                    );
                    return Err(self.on_lines(fault, sides.map(|s| s.0)));
                }
            }
        }
        Ok(())
    }

    /// The first reading between two marks.
    fn between(&self, a: usize, b: usize) -> Option<(usize, f64)> {
        let same = |r: &&Reading| (r.from == a && r.to == b) || (r.from == b && r.to == a);
        let k = self.readings.iter().position(|r| same(&r))?;
        Some((k, self.readings[k].mm))
    }

    fn sides(&self, [a, b, c]: [usize; 3]) -> Option<[(usize, f64); 3]> {
        Some([
            self.between(a, b)?,
            self.between(b, c)?,
            self.between(a, c)?,
        ])
    }

    /// Made less read, in standard deviations, and slopes by all coordinates.
    fn slopes_at(&self, marks: &[Point<Table>]) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let mut residuals = DVector::zeros(self.readings.len());
        let mut slope = DMatrix::zeros(self.readings.len(), 2 * marks.len());
        for (k, r) in self.readings.iter().enumerate() {
            let along = marks[r.to] - marks[r.from];
            let length = along.length();
            if length <= 0.0 {
                return None;
            }
            residuals[k] = (length - r.mm) / r.sigma;
            let way = along / length / r.sigma;
            for (mark, sign) in [(r.from, -1.0), (r.to, 1.0)] {
                slope[(k, 2 * mark)] = sign * way.x;
                slope[(k, 2 * mark + 1)] = sign * way.y;
            }
        }
        Some((residuals, slope))
    }

    /// The same with the first mark held, and the second on the x axis.
    fn residuals_at(&self, marks: &[Point<Table>]) -> Option<(DVector<f64>, DMatrix<f64>)> {
        let (residuals, slope) = self.slopes_at(marks)?;
        Some((residuals, slope.remove_columns_at(&[0, 1, 3])))
    }
}

impl Adjusted {
    /// Whether a slip is noticed: some reading does not go with the others.
    pub fn has_slip(&self) -> bool {
        self.checks.iter().any(Checked::is_slip)
    }

    /// Root of the sum of squared residuals, mm.
    pub fn closure(&self) -> f64 {
        self.residuals.iter().map(|r| r * r).sum::<f64>().sqrt()
    }

    /// How likely sound readings would scatter at least so much.
    pub fn chance(&self) -> f64 {
        chance_of_more(self.chi2, self.freedom)
    }

    /// The least slip, mm, that is noticed four times in five, wherever it is; `None`
    /// if some reading is checked by none.
    pub fn least_slip(&self, sigma: f64) -> Option<f64> {
        let worst = self.checks.iter().map(|c| c.least).fold(0.0, f64::max);
        worst.is_finite().then_some(worst * sigma)
    }

    /// Standard error of a mark's place about the others, mm, the greatest of its axes'
    /// root mean square.
    pub fn error(&self) -> f64 {
        let each = (0..self.marks.len()).map(|k| {
            let both = self.covariance[(2 * k, 2 * k)] + self.covariance[(2 * k + 1, 2 * k + 1)];
            (both / 2.0).max(0.0).sqrt()
        });
        each.fold(0.0, f64::max)
    }
}

/// The readings that one slip may have been, the likeliest first.
fn suspects(checks: &[Checked], chi2: f64, freedom: usize) -> Vec<usize> {
    if !checks.iter().any(Checked::is_slip) {
        return Vec::new();
    }
    let mut all: Vec<usize> = (0..checks.len()).collect();
    all.sort_by(|a, b| checks[*b].w.abs().total_cmp(&checks[*a].w.abs()));
    let most = checks[all[0]].w.powi(2);
    let explains = |k: &usize| {
        let w2 = checks[*k].w.powi(2);
        // As good as the likeliest; or nearly so, and what is left without it is reading.
        let near = most - w2 < critical().powi(2) && checks[*k].redundancy > 0.0;
        w2 >= most - 1e-6 || (near && chance_of_more((chi2 - w2).max(0.0), freedom - 1) >= LISTED)
    };
    all.into_iter().filter(explains).collect()
}

/// The coordinates that are free: all but the first mark's and the second's y.
fn pack(marks: &[Point<Table>]) -> DVector<f64> {
    let all = marks.iter().flat_map(|m| m.to_array()).enumerate();
    let free = all.filter(|(k, _)| ![0, 1, 3].contains(k));
    DVector::from_vec(free.map(|(_, v)| v).collect())
}

fn unpack(x: &DVector<f64>) -> Vec<Point<Table>> {
    let rest = x.as_slice()[1..].chunks(2);
    let first = [Point::zero(), Point::new(x[0], 0.0)];
    first
        .into_iter()
        .chain(rest.map(|p| Point::new(p[0], p[1])))
        .collect()
}

/// Mark 2 to the right of mark 1, and what is furthest off that line beyond it.
fn placed(mut marks: Vec<Point<Table>>) -> Vec<Point<Table>> {
    if marks[1].x < 0.0 {
        for m in &mut marks {
            *m = Point::new(-m.x, -m.y);
        }
    }
    let furthest = marks.iter().max_by(|a, b| a.y.abs().total_cmp(&b.y.abs()));
    if furthest.is_some_and(|m| m.y < 0.0) {
        for m in &mut marks {
            m.y = -m.y;
        }
    }
    marks
}
