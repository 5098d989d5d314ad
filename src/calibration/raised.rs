//! Where the lens is: from marks on a raised board, or from a plumb line and a tape.
//!
//! Light that lands a distance d from the lens foot on the table lands d·t/h nearer to
//! it on cloth t thick, with the lens h above the table (similar triangles).

use super::fit::{Fit, Sighted};
use crate::adjust::marquardt;
use crate::fault::{Fault, Outcome, counted};
use crate::measure::Unit;
use crate::projection::{LensPlace, Mapping};
use crate::space::{Point, Projector, Table, Vector, mean};
use nalgebra::{DMatrix, DVector, Matrix3};

/// A board is this many times as thick as the stack it stands for, or more: the lens'
/// place goes with the board's share of the height.
pub const TIMES: f64 = 3.0;

/// Standard deviation of a board laid into its outline of light, mm, on each axis and at
/// its ends (estimate).
pub const LAID: f64 = 1.0;

/// Where the lens is, and how sure that is.
#[derive(Debug, Clone, PartialEq)]
pub struct LensFound {
    pub place: LensPlace,
    /// Covariance of foot x, foot y and height, mm².
    pub covariance: Matrix3<f64>,
    /// Root mean square of what is left of the board's marks, px.
    pub rms_px: f64,
}

/// What thickness does to light at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeightError {
    /// How far light that is not corrected lands from where it is meant, mm.
    pub displaced: f64,
    /// By how much a piece of 300 mm comes out wrong without correction, mm.
    pub size: f64,
    /// Standard error of the corrected place, mm.
    pub left: f64,
}

/// The lens' place from marks on a board `thick` mm high that lies where the light says:
/// `marks` are the places of the table that they stand over, and the pixels that were
/// set on them. `hand_px` and `marks_mm` are the standard deviations of the hand and of
/// the marks' places on the board; the board itself lies to [`LAID`].
///
/// Where the board lies has to be known: seen from the lens, a board anywhere is only
/// larger, and its shift can't be told from the foot's.
///
/// # Errors
/// Fewer than four marks; a board thinner than 1 mm; marks that lie as if no lens were
/// above the board.
pub fn from_board(
    fit: &Fit,
    marks: &[Sighted],
    thick: f64,
    [hand_px, marks_mm]: [f64; 2],
) -> Outcome<LensFound> {
    if marks.len() < 4 {
        return Err(Fault::input(
            format!(
                "the board has {}, and the lens' place wants four",
                counted(marks.len(), "mark", "marks")
            ),
            "mark its corners, or more places on it",
        ));
    }
    if !(thick >= 1.0 && thick.is_finite()) {
        return Err(Fault::input(
            format!(
                "a board of {} says nothing of the height",
                Unit::Mm.show(thick)
            ),
            "take a board, or a flat stack, of three times the thickest stack of cloth or more",
        ));
    }
    let no_lens = || {
        Fault::input(
            "no lens above the table lights the board's marks so",
            "see that the board is as thick as given, lies flat, and that each mark was set on \
             its own",
        )
    };
    // Where the pixels land on the table without the board: the board, larger.
    let mut seen = Vec::new();
    for m in marks {
        seen.push(fit.mapping.place(m.pixel).ok_or_else(no_lens)?);
    }
    let start = start(marks, &seen, thick).ok_or_else(no_lens)?;
    let board = Board::new(marks, thick, [hand_px, marks_mm]);
    let solve = |mapping: &Mapping, from: DVector<f64>| {
        marquardt(from, |x| {
            let now = board.residuals(mapping, x)?;
            let mut slope = DMatrix::zeros(now.len(), 6);
            for (k, step) in [1e-2, 1e-2, 1e-5, 1e-2, 1e-2, 1e-2].into_iter().enumerate() {
                let at = |by: f64| {
                    let mut moved = x.clone();
                    moved[k] += by;
                    board.residuals(mapping, &moved)
                };
                slope.set_column(k, &((at(step)? - at(-step)?) / (2.0 * step)));
            }
            Some((now, slope))
        })
        .map_err(|_| no_lens())
    };
    let found = solve(&fit.mapping, start)?;
    let x = &found.unknowns;
    let (foot, height) = (Point::new(x[3], x[4]), x[5]);
    if height <= thick {
        return Err(no_lens());
    }
    hangs(foot, height)?;
    if found.chi2() > APART * found.freedom() as f64 {
        return Err(Fault::input(
            "the board's marks do not go together",
            "see that the board lies where its marks say, and set each mark of light on its own again",
        ));
    }
    // The table's own mapping is not sure either: each of its unknowns moved by one
    // standard error moves the lens so far.
    let mut covariance = found.covariance.fixed_view::<3, 3>(3, 3).into_owned();
    for moved in fit.moved() {
        let other = solve(&moved, x.clone())?;
        let by = (other.unknowns.rows(3, 3) - x.rows(3, 3)).into_owned();
        covariance += &by * by.transpose();
    }
    let squares: f64 = marks
        .iter()
        .filter_map(|m| board.lit(&fit.mapping, m, x))
        .zip(marks)
        .map(|(q, m)| (q - m.pixel).square_length())
        .sum();
    Ok(LensFound {
        place: LensPlace { foot, height },
        covariance,
        rms_px: (squares / marks.len() as f64).sqrt(),
    })
}

/// A lens' place in a profile, mm: standard errors of its foot and height where the
/// profile does not say (estimate: a plumb line and a tape).
pub const PLUMBED: [f64; 2] = [25.0, 25.0];

/// The lens' place from a plumb line at the lens and a tape, with their standard
/// deviations, mm.
///
/// # Errors
/// A height that is none.
pub fn from_plumb(
    foot: Point<Table>,
    height: f64,
    [foot_mm, height_mm]: [f64; 2],
) -> Outcome<LensFound> {
    hangs(foot, height)?;
    let (f, h) = (foot_mm * foot_mm, height_mm * height_mm);
    Ok(LensFound {
        place: LensPlace { foot, height },
        covariance: Matrix3::from_diagonal(&nalgebra::Vector3::new(f, f, h)),
        rms_px: 0.0,
    })
}

/// χ² a degree of freedom beyond which the board's marks are no board's: the table's own
/// mapping, which is not sure either, adds a share to each.
const APART: f64 = 6.0;

/// A lens hangs between these heights over a table, mm, and its foot within so far of the
/// table's origin.
const HANGS: [f64; 2] = [300.0, 6000.0];
const FOOT: f64 = 10_000.0;

fn hangs(foot: Point<Table>, height: f64) -> Outcome<()> {
    let [low, high] = HANGS;
    if (low..=high).contains(&height) && foot.x.abs() <= FOOT && foot.y.abs() <= FOOT {
        return Ok(());
    }
    Err(Fault::input(
        format!(
            "the lens would hang {} above the table, its foot at ({:.0}, {:.0}) mm, and lenses hang \
             0.3 to 6 m up",
            Unit::Mm.show(height),
            foot.x,
            foot.y
        ),
        "check the board's thickness, or the plumb line's and the tape's numbers",
    ))
}

impl LensFound {
    /// Standard errors of the foot, on its worse axis, and of the height, mm.
    pub fn errors(&self) -> [f64; 2] {
        let c = &self.covariance;
        let foot = c.fixed_view::<2, 2>(0, 0).into_owned();
        let worst = foot.symmetric_eigenvalues().max();
        [worst.max(0.0).sqrt(), c[(2, 2)].max(0.0).sqrt()]
    }

    /// What a thickness does at a place.
    ///
    /// # Errors
    /// Cloth as high as the lens, or higher.
    pub fn height_error(&self, p: Point<Table>, thick: f64) -> Outcome<HeightError> {
        let LensPlace { foot, height } = self.place;
        if thick >= height {
            return Err(Fault::input(
                format!(
                    "cloth of {} reaches the lens, which is {} above the table",
                    Unit::Mm.show(thick),
                    Unit::Mm.show(height)
                ),
                "check the thickness, and the lens' height",
            ));
        }
        let d = p - foot;
        // aim − p = d·t/(h − t): by the foot −t/(h − t), by the height −d·t/(h − t)².
        let clear = height - thick;
        let by = nalgebra::Matrix2x3::new(
            -thick / clear,
            0.0,
            -d.x * thick / (clear * clear),
            0.0,
            -thick / clear,
            -d.y * thick / (clear * clear),
        );
        let c = by * self.covariance * by.transpose();
        Ok(HeightError {
            displaced: d.length() * thick / height,
            size: 300.0 * thick / height,
            left: (c.trace() / 2.0).max(0.0).sqrt(),
        })
    }
}

/// A board that was laid into its light, and lit.
struct Board<'a> {
    marks: &'a [Sighted],
    thick: f64,
    hand_px: f64,
    marks_mm: f64,
    /// It turns about its middle, and reaches so far from it, mm.
    middle: Point<Table>,
    reach: f64,
}

impl<'a> Board<'a> {
    fn new(marks: &'a [Sighted], thick: f64, [hand_px, marks_mm]: [f64; 2]) -> Self {
        let middle = mean(marks.iter().map(|m| m.table)).unwrap_or_default();
        let far = marks.iter().map(|m| (m.table - middle).length());
        Self {
            marks,
            thick,
            hand_px,
            marks_mm,
            middle,
            reach: far.fold(1.0, f64::max),
        }
    }

    /// Where the pixel for a mark lies: unknowns are how far the board was shifted and
    /// turned, and the lens' foot and height.
    fn lit(&self, mapping: &Mapping, mark: &Sighted, x: &DVector<f64>) -> Option<Point<Projector>> {
        let (sin, cos) = x[2].sin_cos();
        let r = mark.table - self.middle;
        let turned = Vector::new(cos * r.x - sin * r.y, sin * r.x + cos * r.y);
        let raised = Mapping {
            lens_place: Some(LensPlace {
                foot: Point::new(x[3], x[4]),
                height: x[5],
            }),
            ..*mapping
        };
        raised.pixel(self.middle + turned + Vector::new(x[0], x[1]), self.thick)
    }

    fn residuals(&self, mapping: &Mapping, x: &DVector<f64>) -> Option<DVector<f64>> {
        let n = 2 * self.marks.len();
        let mut all = DVector::zeros(n + 3);
        for (k, m) in self.marks.iter().enumerate() {
            let q = self.lit(mapping, m, x)?;
            // A mark's own place counts by the size of a pixel there.
            let place = mapping.place(m.pixel)?;
            let px = self.marks_mm / mapping.pixel_size(place, 0.0)?;
            let sigma = self.hand_px.hypot(px);
            all[2 * k] = (q.x - m.pixel.x) / sigma;
            all[2 * k + 1] = (q.y - m.pixel.y) / sigma;
        }
        // How it may have been laid.
        all[n] = x[0] / LAID;
        all[n + 1] = x[1] / LAID;
        all[n + 2] = x[2] * self.reach / LAID;
        Some(all)
    }
}

/// A board seen on the table is larger by h/(h − t) about the foot.
fn start(marks: &[Sighted], seen: &[Point<Table>], thick: f64) -> Option<DVector<f64>> {
    let a = mean(marks.iter().map(|m| m.table))?.to_vector();
    let b = mean(seen.iter().copied())?.to_vector();
    let (mut along, mut size) = (0.0, 0.0);
    for (m, s) in marks.iter().zip(seen) {
        let (p, q) = (m.table.to_vector() - a, s.to_vector() - b);
        along += p.dot(q);
        size += p.square_length();
    }
    let scale = along / size;
    if !(scale.is_finite() && size > 0.0) {
        return None;
    }
    // Noise may shrink it; then any high lens will do to begin with.
    let grown = (scale - 1.0).max(thick / 20_000.0);
    let height = (thick * (1.0 + grown) / grown).max(2.0 * thick);
    let foot = (a * (1.0 + grown) - b) / grown;
    Some(DVector::from_vec(vec![
        0.0, 0.0, 0.0, foot.x, foot.y, height,
    ]))
}
