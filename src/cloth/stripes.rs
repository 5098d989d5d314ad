//! Striped cloth: where in the repeat of its stripes a point lies.

use crate::fault::{Fault, Outcome, short};
use crate::space::{Cloth, Point, Rigid, Vector};
use serde::{Deserialize, Serialize};

/// The stripes of a panel, cloth space.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stripes {
    /// From a stripe to the next like it, square to them, mm, 2 to 2000.
    pub period_mm: f64,
    /// The way they run, degrees counter-clockwise from +x.
    pub runs_deg: f64,
    /// A point in the middle of the stripe that counts.
    pub at_mm: [f64; 2],
    /// The repeat reads the same from both sides.
    #[serde(default)]
    pub same_both_ways: bool,
}

impl Stripes {
    /// Whether it can be used.
    ///
    /// # Errors
    /// If the period is not 2 mm to 2 m, or a number is not one.
    pub fn check(&self) -> Outcome<()> {
        let sound = (2.0..=2000.0).contains(&self.period_mm)
            && self.runs_deg.is_finite()
            && self.at_mm.iter().all(|v| v.is_finite());
        if sound {
            return Ok(());
        }
        Err(Fault::input(
            format!(
                "stripes {} mm apart that run at {}° can't be used",
                short(self.period_mm),
                short(self.runs_deg)
            ),
            "measure over ten stripes, from middle to middle, and give a tenth of it in mm",
        ))
    }

    /// Where in the repeat a point lies: 0 in the middle of a stripe that counts, rising by
    /// 1 to the next, to the left of the way they run.
    pub fn phase(&self, p: Point<Cloth>) -> f64 {
        let (sin, cos) = self.runs_deg.to_radians().sin_cos();
        let left = Vector::new(-sin, cos);
        (p - Point::from(self.at_mm)).dot(left) / self.period_mm
    }

    /// The same stripes as another panel's cloth space has them, which is not mirrored.
    pub fn moved(&self, onto: &Rigid<Cloth, Cloth>) -> Self {
        Self {
            runs_deg: self.runs_deg + onto.turn.to_degrees(),
            at_mm: onto.point(Point::from(self.at_mm)).to_array(),
            ..*self
        }
    }

    /// mm from the middle of the nearest stripe that counts, either sign.
    pub fn off_centre(&self, p: Point<Cloth>) -> f64 {
        part_of_repeat(self.phase(p)) * self.period_mm
    }
}

/// A phase less the nearest whole number.
pub fn part_of_repeat(phase: f64) -> f64 {
    phase - phase.round()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn phase_counts_repeats_to_the_left() {
        let stripes = Stripes {
            period_mm: 20.0,
            runs_deg: 90.0,
            at_mm: [5.0, 300.0],
            same_both_ways: false,
        };
        assert!((stripes.phase(Point::new(-25.0, -7.0)) - 1.5).abs() < 1e-12);
        assert!((stripes.off_centre(Point::new(43.0, 0.0)) - 2.0).abs() < 1e-12);
        assert!(stripes.check().is_ok());
        let bad = Stripes {
            period_mm: f64::NAN,
            ..stripes
        };
        assert!(bad.check().unwrap_err().to_string().contains("NaN"));
    }
}
