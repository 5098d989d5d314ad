//! A piece larger than the light is cut in stretches: the cloth is drawn
//! along, its marks carry the lay, and the second stretch's line should go on
//! where the first one's ended. How far beside it may it start?
//!
//! Each position's pose has its own pointing error, but both were found from
//! the same cloth marks, and what was wrong in those (a mark given 1 mm
//! beside the chalk) moves both lines alike and makes no step. So errors are
//! followed mark by mark instead of adding up two errors of place.

use super::carried::{Pointing, fitted, pair};
use crate::adjust::{Fit, Spread};
use crate::fault::Outcome;
use crate::space::{Cloth, Point, Vector};

/// How the cloth's place was known while a stretch was cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Position<'a> {
    /// The marks were given while it lay there: its place is what cloth space
    /// is measured by.
    AsGiven,
    /// It was carried there by these of the marks, from 0.
    Carried(&'a [usize]),
}

/// The expected step of a line at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step(Spread);

impl Step {
    /// Root of the expected squared step, mm, in whichever direction.
    pub fn length(&self) -> f64 {
        self.0.length()
    }

    /// Standard error of the step, mm, across a cut line that runs along
    /// `cut`: what the scissors see. A step along the line does no harm.
    pub fn across(&self, cut: Vector<Cloth>) -> f64 {
        self.0.along([-cut.y, cut.x])
    }
}

/// The step to be expected at `join` between a line cut in the first position
/// and the line lit in the second, by pointing errors alone: stretched cloth
/// and height come on top.
///
/// # Errors
/// As [`super::carried`]; a mark that is not there counts as not given.
pub fn expected_step(
    marks: &[Point<Cloth>],
    first: Position,
    second: Position,
    pointing: Pointing,
    join: Point<Cloth>,
) -> Outcome<Step> {
    let gains = [
        gains(marks, first, pointing, join)?,
        gains(marks, second, pointing, join)?,
    ];
    let [given, again] = [pointing.given.powi(2), pointing.again.powi(2)];
    let mut all = Spread::default();
    for (one, two) in gains[0].iter().zip(&gains[1]) {
        // Pointed at anew in each position; given once for both.
        let shared = std::array::from_fn(|r| std::array::from_fn(|c| one[r][c] - two[r][c]));
        all = all
            .and(Spread::through(*one, again))
            .and(Spread::through(*two, again))
            .and(Spread::through(shared, given));
    }
    Ok(Step(all))
}

/// The greatest [`expected_step`] along the line of the join, from end to end
/// in any direction, mm. The squared step is convex along a line, so it is
/// greatest at an end.
///
/// # Errors
/// As [`expected_step`].
pub fn worst_step(
    marks: &[Point<Cloth>],
    first: Position,
    second: Position,
    pointing: Pointing,
    ends: [Point<Cloth>; 2],
) -> Outcome<f64> {
    let mut worst = 0.0_f64;
    for end in ends {
        worst = worst.max(expected_step(marks, first, second, pointing, end)?.length());
    }
    Ok(worst)
}

type Gain = [[f64; 2]; 2];

/// For each mark, how its pointing error moves the light at `join`.
fn gains(
    marks: &[Point<Cloth>],
    position: Position,
    pointing: Pointing,
    join: Point<Cloth>,
) -> Outcome<Vec<Gain>> {
    let mut all = vec![Gain::default(); marks.len()];
    if let Position::Carried(used) = position {
        let used: Vec<usize> = (0..marks.len()).filter(|k| used.contains(k)).collect();
        // Cloth space stands for the table: a turn changes no error's size.
        let pairs: Vec<_> = used
            .iter()
            .map(|&k| pair(marks[k], marks[k].cast_unit(), pointing))
            .collect();
        let fit: Fit = fitted(&pairs, |k| format!("mark {}", used[k] + 1))?;
        for (k, &mark) in used.iter().enumerate() {
            all[mark] = fit.gain(k, join.to_array());
        }
    }
    Ok(all)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn marks() -> [Point<Cloth>; 3] {
        [
            Point::new(900.0, 100.0),
            Point::new(900.0, 500.0),
            Point::new(1150.0, 300.0),
        ]
    }

    #[test]
    fn marks_given_in_the_first_position_count_both_times() {
        let at = Point::new(1000.0, 300.0);
        let step = |first, pointing| {
            expected_step(&marks(), first, Position::Carried(&[0, 1]), pointing, at).unwrap()
        };
        let even = Pointing::default();
        // Two marks 400 mm apart, σ² = 0.5² + 0.5²; at the join, 100 mm beside
        // their middle: per axis σ²/2, and 100²·σ²/(2·200²) by the turn.
        let s2 = 0.5;
        let want: f64 = 2.0 * s2 / 2.0 + 1e4 * s2 / 8e4;
        assert!((step(Position::AsGiven, even).length() - want.sqrt()).abs() < 1e-12);
        // The line across the direction in which the turn moves it.
        let cut = Vector::new(1.0, 0.0);
        let across = step(Position::AsGiven, even).across(cut);
        assert!((across - (s2 / 2.0 + 1e4 * s2 / 8e4).sqrt()).abs() < 1e-12);
        assert!((step(Position::AsGiven, even).across(Vector::new(0.0, 3.0)) - 0.5).abs() < 1e-12);
    }

    #[test]
    fn what_both_positions_share_makes_no_step() {
        let at = Point::new(1300.0, 0.0);
        let both = Position::Carried(&[0, 1, 2]);
        let poor = Pointing {
            given: 5.0,
            again: 0.5,
        };
        let good = Pointing {
            given: 0.5,
            again: 0.5,
        };
        let step = |p| expected_step(&marks(), both, both, p, at).unwrap().length();
        assert!((step(poor) - step(good)).abs() < 1e-12);
        // With other marks in the second position the givens' errors do count.
        let other = |p| {
            expected_step(
                &marks(),
                Position::Carried(&[0, 1]),
                Position::Carried(&[1, 2]),
                p,
                at,
            )
            .unwrap()
            .length()
        };
        assert!(other(poor) > 3.0 * other(good));
        assert!(expected_step(&marks(), both, Position::Carried(&[2, 7]), good, at).is_err());
    }

    #[test]
    fn along_the_join_the_worst_is_at_an_end() {
        let (a, b) = (Point::new(1000.0, -200.0), Point::new(1000.0, 700.0));
        let step = |p| {
            expected_step(
                &marks(),
                Position::AsGiven,
                Position::Carried(&[0, 1, 2]),
                Pointing::default(),
                p,
            )
            .unwrap()
            .length()
        };
        let worst = worst_step(
            &marks(),
            Position::AsGiven,
            Position::Carried(&[0, 1, 2]),
            Pointing::default(),
            [a, b],
        )
        .unwrap();
        assert!((0..=20).all(|k| step(a.lerp(b, f64::from(k) / 20.0)) <= worst + 1e-12));
        assert!(worst == step(a) || worst == step(b));
    }
}
