//! The cloth has moved: the lay is carried by marks on it.
//!
//! A cloth mark (a chalk cross, a stitch hole, a patch's corner) was pointed
//! at once, which gave it its place in cloth space, and is pointed at again
//! where it lies now. Two carry the lay; with more, what does not fit is
//! said, and stretched cloth is told from pointing, not averaged away.

use super::mistaken::{Mistake, mistake};
use crate::adjust;
use crate::adjust::{Degenerate, Fit, Pair, Verdict};
use crate::cloth::OnTable;
use crate::fault::{Fault, Outcome};
use crate::space::{Cloth, Point, Rigid, Table, Vector};

/// How surely a mark is pointed at, mm per axis (one standard deviation).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pointing {
    /// When the marks were given.
    pub given: f64,
    /// When they were pointed at again.
    pub again: f64,
}

impl Default for Pointing {
    /// 0.5 mm each time: an estimate, a chalk line's width under a cross of
    /// light with pixels of 0.6 mm.
    fn default() -> Self {
        Self {
            given: 0.5,
            again: 0.5,
        }
    }
}

/// A mark on the cloth, and where it was pointed at now.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighting {
    /// As the person knows it: `patch corner`.
    pub name: String,
    pub cloth: Point<Cloth>,
    pub table: Point<Table>,
}

/// Where the cloth lies now, by its marks.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    pub pose: Rigid<Cloth, Table>,
    /// For each mark, where it was pointed at less where the pose puts it, mm.
    pub residuals: Vec<Vector<Table>>,
    /// The mark with the greatest residual, from 0 (with two marks both have
    /// the same).
    pub worst: usize,
    /// How much further apart two marks are than before, mm; `None` if there
    /// are more.
    pub apart: Option<f64>,
    pub finding: Agreement,
    pub(super) sightings: Vec<Sighting>,
    fit: Fit,
}

/// What the marks agree on, beside the pose.
#[derive(Debug, Clone, PartialEq)]
pub enum Agreement {
    /// The cloth moved as it was; pointing explains what is left.
    Moved,
    /// It was stretched (or shrunk).
    Stretched {
        /// How much longer it is between the two marks, mm; negative: shorter.
        by: f64,
        /// The two marks, from 0, that lie furthest apart along the stretch.
        between: [usize; 2],
        /// The growth along the greatest stretch, mm per m.
        along: f64,
        /// Its direction in cloth space, degrees, 0 to 180.
        direction_deg: f64,
        /// The growth across it, mm per m; 0 if it can't be told.
        across: f64,
        /// This mark alone in a wrong place would explain it too.
        or_mark: Option<usize>,
    },
    /// One mark (from 0) is this far off, mm, and the others agree.
    OneMark { mark: usize, off: f64 },
    /// It fits if two marks are exchanged, or the cloth turned over.
    Mistaken(Mistake),
    /// The marks agree with no move, no stretch and no one wrong mark.
    Uneven,
}

/// Carries the lay by two or more marks.
///
/// # Errors
/// Names what is wrong if there are fewer than two marks, a place or a
/// pointing error is not a number, or all marks lie so near each other (within
/// ten pointing errors) that they don't tell the turn.
pub fn carried(sightings: Vec<Sighting>, pointing: Pointing) -> Outcome<Carried> {
    let pairs: Vec<Pair> = sightings
        .iter()
        .map(|s| pair(s.cloth, s.table, pointing))
        .collect();
    let fit = fitted(&pairs, |k| sightings[k].name.clone())?;
    let finding =
        match adjust::judge(&pairs, &fit).map_err(|d| refused(d, |k| named(&sightings[k])))? {
            Verdict::Rigid => Agreement::Moved,
            other => match mistake(&pairs) {
                Some(m) => Agreement::Mistaken(m),
                None => finding(other, &sightings),
            },
        };
    let residuals: Vec<Vector<Table>> = fit.residuals.iter().map(|&r| Vector::from(r)).collect();
    let worst = (0..residuals.len())
        .max_by(|&a, &b| residuals[a].length().total_cmp(&residuals[b].length()))
        .unwrap_or(0);
    let apart = match &sightings[..] {
        [a, b] => Some((b.table - a.table).length() - (b.cloth - a.cloth).length()),
        _ => None,
    };
    Ok(Carried {
        pose: Rigid::new(false, fit.turn, Vector::from(fit.shift)),
        residuals,
        worst,
        apart,
        finding,
        sightings,
        fit,
    })
}

pub(super) fn pair(cloth: Point<Cloth>, table: Point<Table>, pointing: Pointing) -> Pair {
    Pair {
        from: cloth.to_array(),
        to: table.to_array(),
        sigma_from: pointing.given,
        sigma_to: pointing.again,
    }
}

/// The fit of marks that lie far enough apart to tell a turn.
pub(super) fn fitted(pairs: &[Pair], name: impl Fn(usize) -> String) -> Outcome<Fit> {
    let fit = adjust::fit(pairs).map_err(|d| refused(d, |k| format!("\"{}\"", name(k))))?;
    // For two marks this is a distance of ten pointing errors: a turn of 8°.
    if fit.var_turn > 0.01 * 2.0 {
        return Err(refused(Degenerate::Coincident, name));
    }
    Ok(fit)
}

fn named(s: &Sighting) -> String {
    format!("\"{}\"", s.name)
}

fn refused(why: Degenerate, name: impl Fn(usize) -> String) -> Fault {
    match why {
        Degenerate::TooFew { given } => Fault::input(
            format!("the cloth has {given} of the two marks that carry it"),
            "give it two marks or more, far apart",
        ),
        Degenerate::NotANumber { point } => Fault::input(
            format!("the place of mark {} is not a usable number", name(point)),
            "point at it again",
        ),
        Degenerate::Coincident => Fault::input(
            "the marks lie so near each other that they don't tell how the cloth is turned",
            "use marks far apart, at opposite ends of the lay",
        ),
        Degenerate::NoTurn => Fault::input(
            "the marks lie as if the cloth had been turned over",
            "turn it back, or point at the marks in their order",
        ),
    }
}

fn finding(verdict: Verdict, sightings: &[Sighting]) -> Agreement {
    match verdict {
        Verdict::Rigid => Agreement::Moved,
        Verdict::Uneven => Agreement::Uneven,
        Verdict::OnePoint { point, off } => Agreement::OneMark {
            mark: point,
            off: off[0].hypot(off[1]),
        },
        Verdict::Stretched { stretch, or_point } => {
            let strain = stretch.strain;
            let (sin, cos) = strain.direction.sin_cos();
            let order = |&a: &usize, &b: &usize| {
                let along = |k: usize| cos * sightings[k].cloth.x + sin * sightings[k].cloth.y;
                along(a).total_cmp(&along(b))
            };
            let ends = [
                (0..sightings.len()).min_by(order).unwrap_or(0),
                (0..sightings.len()).max_by(order).unwrap_or(0),
            ];
            Agreement::Stretched {
                by: strain.along * stretch.reach,
                between: ends,
                along: 1000.0 * strain.along,
                direction_deg: strain.direction.to_degrees(),
                across: 1000.0 * strain.across,
                or_mark: or_point,
            }
        }
    }
}

impl Carried {
    /// Where the panel lies, as a job holds it.
    pub fn on_table(&self) -> OnTable {
        OnTable {
            x_mm: self.pose.shift.x,
            y_mm: self.pose.shift.y,
            turn_deg: self.pose.turn.to_degrees(),
        }
    }

    /// The standard error of place at `p`, mm: root of the expected squared
    /// distance between where the light falls and where it belongs on the
    /// cloth, from the pointing errors of both times. Where the marks do not
    /// fit, it is made larger as they scatter more than pointing explains;
    /// stretched cloth then errs further still, away from the marks.
    pub fn error_at(&self, p: Point<Cloth>) -> f64 {
        let scatter = match self.finding {
            Agreement::Moved => 1.0,
            _ => self.fit.unit().max(1.0),
        };
        scatter * self.fit.error_at(p.to_array())
    }

    /// Root mean square of the residuals, mm.
    pub fn rms(&self) -> f64 {
        self.fit.rms
    }

    /// Whether the lay may be lit and cut as it is carried.
    pub fn fits(&self) -> bool {
        self.finding == Agreement::Moved
    }

    /// Mark `k`, from 0, as it is spoken of.
    pub(super) fn name(&self, k: usize) -> String {
        named(&self.sightings[k])
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Marks of the canvas, moved by (250, −40) and 17°, then put off.
    fn moved(off: &[[f64; 2]]) -> Vec<Sighting> {
        let at = [
            ("chalk cross", [40.0, 60.0]),
            ("patch corner", [1040.0, 60.0]),
            ("stitch hole", [60.0, 660.0]),
            ("eyelet", [1000.0, 640.0]),
        ];
        let pose: Rigid<Cloth, Table> =
            Rigid::new(false, 17_f64.to_radians(), Vector::new(250.0, -40.0));
        let sighting = |(k, off): (usize, &[f64; 2])| Sighting {
            name: at[k].0.into(),
            cloth: at[k].1.into(),
            table: pose.point(at[k].1.into()) + Vector::from(*off),
        };
        off.iter().enumerate().map(sighting).collect()
    }

    fn carry(off: &[[f64; 2]]) -> Carried {
        carried(moved(off), Pointing::default()).unwrap()
    }

    /// The displacement of a stretch by `rate` along x of cloth space.
    fn stretched(rate: f64, n: usize) -> Vec<[f64; 2]> {
        let along = Vector::<Table>::from_angle_and_length(euclid::Angle::degrees(17.0), 1.0);
        let all = moved(&vec![[0.0; 2]; n]);
        all.iter()
            .map(|s| (along * (rate * s.cloth.x)).to_array())
            .collect()
    }

    #[test]
    fn two_marks_carry_the_lay_and_say_how_far_apart_they_are() {
        let c = carry(&[
            [0.0, 0.0],
            [
                0.3 * 17_f64.to_radians().cos(),
                0.3 * 17_f64.to_radians().sin(),
            ],
        ]);
        assert_eq!(
            c.to_string(),
            "two marks: carried; they are 0.3 mm further apart than before"
        );
        let on = c.on_table();
        assert!((on.turn_deg - 17.0).abs() < 1e-9 && c.fits());
        assert!(
            (on.pose().point(Point::new(40.0, 60.0)) - c.pose.point(Point::new(40.0, 60.0)))
                .length()
                < 1e-9
        );
        let c = carry(&stretched(0.004, 2));
        assert!(!c.fits());
        assert_eq!(
            c.to_string(),
            "two marks: they are 4.0 mm further apart than before: the cloth has stretched, or a \
             mark was pointed at wrongly: point again or lay anew"
        );
    }

    #[test]
    fn from_three_on_the_residual_is_said_and_a_stretch_told() {
        let said = carry(&[[0.4, 0.0], [0.0, 0.3], [-0.3, 0.0]]).to_string();
        assert!(
            said.starts_with("three marks: carried; they lie 0."),
            "{said}"
        );
        let c = carry(&stretched(-0.005, 3));
        let said = c.to_string();
        assert!(
            said.starts_with("the cloth has shrunk 5.0 mm between \"chalk cross\" and \"patch corner\", or one mark"),
            "{said}"
        );
        let Agreement::Stretched {
            along,
            direction_deg,
            across,
            ..
        } = c.finding
        else {
            panic!("{:?}", c.finding)
        };
        assert!((along + 5.0).abs() < 1e-6 && across.abs() < 1e-6);
        assert!(direction_deg.min(180.0 - direction_deg) < 1e-6);
        // The claim grows with what pointing does not explain.
        assert!(
            c.error_at(Point::new(500.0, 300.0))
                > 2.0 * carry(&stretched(0.0, 3)).error_at(Point::new(500.0, 300.0))
        );
    }

    #[test]
    fn with_four_marks_one_wrong_mark_is_told_from_a_stretch() {
        let said = carry(&[[0.1, 0.0], [0.0, 0.2], [9.0, 4.0], [0.0, -0.1]]).to_string();
        assert!(said.starts_with("\"stitch hole\" lies 9."), "{said}");
        let said = carry(&stretched(0.006, 4)).to_string();
        assert!(
            said.starts_with("the cloth has stretched 6.0 mm between"),
            "{said}"
        );
        let said = carry(&[[4.0, 0.0], [-4.0, 0.0], [-4.0, 2.0], [6.0, 0.0]]).to_string();
        assert!(
            said.contains("neither an even stretch nor one wrong mark"),
            "{said}"
        );
    }

    #[test]
    fn marks_taken_for_each_other_and_cloth_turned_over_are_named() {
        let mut all = moved(&[[0.0; 2]; 3]);
        (all[0].table, all[2].table) = (all[2].table, all[0].table);
        let said = carried(all, Pointing::default()).unwrap().to_string();
        assert!(
            said.contains("\"chalk cross\" and \"stitch hole\" are exchanged"),
            "{said}"
        );
        let mut all = moved(&[[0.0; 2]; 4]);
        for s in &mut all {
            s.table.x = 700.0 - s.table.x;
        }
        let said = carried(all, Pointing::default()).unwrap().to_string();
        assert!(said.contains("turned over"), "{said}");
    }

    #[test]
    fn what_carries_nothing_is_refused() {
        let said = |s: Vec<Sighting>| carried(s, Pointing::default()).unwrap_err().to_string();
        assert!(said(moved(&[[0.0; 2]])).contains("1 of the two marks"));
        let mut near = moved(&[[0.0; 2]; 2]);
        near[1].cloth = near[0].cloth + Vector::new(3.0, 0.0);
        near[1].table = near[0].table + Vector::new(0.0, 3.0);
        assert!(said(near).contains("so near each other"));
        let mut nan = moved(&[[0.0; 2]; 2]);
        nan[1].table.y = f64::NAN;
        assert!(said(nan).contains("\"patch corner\""));
    }
}
