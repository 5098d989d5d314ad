//! A place or a turn nearer the lens foot at which an edge would meet its tolerance.

use crate::calibration::budget::{Budget, Setup, Stack};
use crate::space::{Point, Rigid, Table, Vector, mean};

/// A step of places that are tried, mm.
const NEARER: f64 = 40.0;

/// A step of turns that are tried, degrees.
const TURN: f64 = 15.0;

/// What would bring an edge within its tolerance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Remedy {
    /// So far towards the lens foot, mm.
    pub nearer: Option<f64>,
    /// Turned by so much where it lies, degrees counter-clockwise.
    pub turned: Option<f64>,
}

impl Remedy {
    /// Tries places ever nearer to the lens foot, and turns, the least first. Without a
    /// known lens, the middle of the marks counts for its foot.
    pub fn find(
        setup: &Setup,
        outline: &[Point<Table>],
        edge: &[Point<Table>],
        stack: Stack,
        tolerance: f64,
    ) -> Self {
        let about = mean(outline.iter().copied()).unwrap_or_default();
        let foot = match setup.lens {
            Some(l) => l.place.foot,
            None => mean(setup.marks.iter().map(|m| m.table)).unwrap_or_default(),
        };
        let meets = |by: Rigid<Table, Table>| {
            let moved = |line: &[Point<Table>]| -> Vec<Point<Table>> {
                line.iter().map(|&p| by.point(p)).collect()
            };
            let budget = setup.edge(&moved(outline), &moved(edge), stack);
            budget.is_some_and(|b| 2.0 * b.shape() <= tolerance)
        };
        let way = foot - about;
        let steps = (way.length() / NEARER).floor() as usize;
        let nearer = (1..=steps)
            .map(|k| NEARER * k as f64)
            .find(|far| meets(Rigid::new(false, 0.0, way.normalize() * *far)));
        let half = (180.0 / TURN) as usize;
        let turned = (1..=half)
            .flat_map(|k| [1.0, -1.0].map(|sign| sign * TURN * k as f64))
            .find(|degrees| meets(turn_about(about, degrees.to_radians())));
        Self { nearer, turned }
    }

    /// What a person can do.
    pub fn words(&self, budget: &Budget) -> String {
        let near = |mm| format!("{mm:.0} mm nearer to the lens foot");
        let turn = |degrees: f64| format!("turned by {degrees:+.0}°, if the grain allows");
        let would = "it would meet it";
        match (self.nearer, self.turned) {
            (Some(mm), Some(degrees)) => format!("{}, or {}, {would}", near(mm), turn(degrees)),
            (Some(mm), None) => format!("{} {would}", near(mm)),
            (None, Some(degrees)) => format!("{}, {would}", turn(degrees)),
            (None, None) => format!(
                "no place nearer to the lens foot and no turn would do: most comes from {}",
                budget.largest().map_or("nothing known", |t| t.what)
            ),
        }
    }
}

fn turn_about(middle: Point<Table>, angle: f64) -> Rigid<Table, Table> {
    let (sin, cos) = angle.sin_cos();
    let m = middle.to_vector();
    let turned = Vector::new(m.x * cos - m.y * sin, m.x * sin + m.y * cos);
    Rigid::new(false, angle, m - turned)
}
