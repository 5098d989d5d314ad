//! A mapping from four or more marks, by least squares, that says how sure it is.
//!
//! The sum of squared distances in the picture is made least (the geometric error of
//! Hartley & Zisserman, *Multiple View Geometry*, 4.2.2; algorithms 4.2 and 4.3), each
//! weighed by all that it may be wrong by: the hand that set the light, σ² px², and the
//! marks' own places on the table, J Σ Jᵀ.

mod choose;
mod field;
mod marks;
mod model;
mod next;
mod refused;
mod sure;

pub use choose::{Choice, LENS, best, left_out};
pub use field::{Along, Field, ShapeError};
pub(in crate::calibration) use field::{Normals, edge_normals, normals};
pub use marks::MarkFit;
pub use model::Form;
pub use next::{EVERYWHERE, next_mark};
pub use sure::Sure;

use crate::adjust::{Minimum, Stuck, chance_of_more, marquardt};
use crate::fault::Outcome;
use crate::projection::Mapping;
use crate::space::{Point, Projector, Table};
use model::Model;
use nalgebra::{DMatrix, DVector, Matrix2};

/// Of fewer marks without a lens, and with fewer readings to spare with one, a slip can't
/// be told from what the lens bends.
const SLIPS: usize = 10;
const SPARE: usize = 5;

/// Weights follow from the mapping and the mapping from the weights: so often.
const REWEIGHED: usize = 6;

/// Standard deviation of a mark set by hand and eye, px on each axis (estimate).
pub const HAND_PX: f64 = 0.5;

/// Standard deviation of a mark's place on the table where nobody says, mm on each axis
/// (estimate: a cloth tape read to half a millimetre).
pub const MARKS_MM: f64 = 0.5;

/// One mark: where it is on the table, and the pixel that was set upon it.
#[derive(Debug, Clone, PartialEq)]
pub struct Sighted {
    pub name: String,
    pub table: Point<Table>,
    pub pixel: Point<Projector>,
}

/// How wrong the marks' places on the table may be.
#[derive(Debug, Clone, PartialEq)]
pub enum Places {
    /// Each alone: standard deviation on each axis, mm.
    Each(f64),
    /// All together, as a survey gives it: covariance of x₁, y₁, x₂, …, mm².
    Covariance(DMatrix<f64>),
}

/// What is believed of the inputs before they are compared.
#[derive(Debug, Clone, PartialEq)]
pub struct Believed {
    /// Standard deviation of the hand that sets the light, px on each axis; > 0.
    pub hand_px: f64,
    pub places: Places,
}

impl Believed {
    /// What is believed of all marks but one.
    pub fn without(&self, mark: usize) -> Self {
        let places = match &self.places {
            Places::Each(mm) => Places::Each(*mm),
            Places::Covariance(c) => {
                let rest = c.clone().remove_rows(2 * mark, 2);
                Places::Covariance(rest.remove_columns(2 * mark, 2))
            }
        };
        Self {
            hand_px: self.hand_px,
            places,
        }
    }
}

/// A mapping and what it says of its marks.
#[derive(Debug, Clone)]
pub struct Fit {
    pub mapping: Mapping,
    pub form: Form,
    pub marks: Vec<MarkFit>,
    /// Root mean square of the distances left in the picture, px.
    pub rms_px: f64,
    /// Sum of squares of what is left, in standard deviations.
    pub chi2: f64,
    /// Two readings a mark less the unknowns.
    pub freedom: usize,
    model: Model,
    minimum: Minimum,
}

impl Fit {
    /// Fits one form.
    ///
    /// # Errors
    /// Fewer marks than the form needs; marks in a line, or two in one place; a mark
    /// outside the picture; readings that no projector can have made.
    pub fn new(
        marks: &[Sighted],
        size: [u32; 2],
        believed: &Believed,
        form: Form,
    ) -> Outcome<Self> {
        refused::check(marks, size, form)?;
        let pairs: Vec<_> = marks.iter().map(|m| (m.table, m.pixel)).collect();
        let model = Model::new(form, &pairs, size);
        let mut at = model.start(&pairs).ok_or_else(refused::loose)?;
        let mut whitened = None;
        for round in 0..REWEIGHED {
            // Before the first mapping no place is known to be nearer than another.
            let root = match round {
                0 => Root::even(believed.hand_px),
                _ => Root::of(&model, &at, &pairs, believed).ok_or_else(refused::loose)?,
            };
            let found = solve(&model, &pairs, &root, at.clone())?;
            let moved = (&found.unknowns - &at).amax();
            at = found.unknowns.clone();
            whitened = Some((found, root));
            let even = matches!(believed.places, Places::Each(mm) if mm == 0.0);
            if even || (round > 1 && moved < 1e-10) {
                break;
            }
        }
        let Some((minimum, root)) = whitened else {
            return Err(refused::loose());
        };
        let mapping = model.mapping(&at).ok_or_else(refused::loose)?;
        let verdicts = marks::verdicts(marks, &model, &minimum, &root);
        let squares: f64 = verdicts.iter().map(|m| m.left_px.square_length()).sum();
        Ok(Self {
            mapping,
            form,
            rms_px: (squares / marks.len() as f64).sqrt(),
            chi2: minimum.chi2(),
            freedom: minimum.freedom(),
            marks: verdicts,
            model,
            minimum,
        })
    }

    /// By how much what is stated is to be widened: the readings scatter more than was
    /// believed, and more than chance. 1 where they don't.
    pub fn widened(&self) -> f64 {
        match self.scatter() {
            Some(scatter) if self.chance() < 0.01 => scatter.max(1.0),
            _ => 1.0,
        }
    }

    /// How likely sound readings would scatter at least so much; 1 where none is to
    /// spare.
    pub fn chance(&self) -> f64 {
        chance_of_more(self.chi2, self.freedom)
    }

    /// By how much the readings scatter more than they were believed to: 1 is as
    /// believed. `None` where none is to spare.
    pub fn scatter(&self) -> Option<f64> {
        (self.freedom > 0).then(|| (self.chi2 / self.freedom as f64).sqrt())
    }

    /// The mark that looks set on the wrong place the most. `None` if none does, or if so
    /// few marks say nothing of the lens: what it bends looks like a mark that is off.
    pub fn slip(&self) -> Option<usize> {
        let few = match self.form {
            Form::Plane => self.marks.len() < SLIPS,
            _ => self.freedom < SPARE,
        };
        if few {
            return None;
        }
        let wrong = self.marks.iter().enumerate().filter(|(_, m)| m.is_slip());
        let worst = wrong.max_by(|a, b| a.1.chi2.total_cmp(&b.1.chi2));
        worst.map(|(k, _)| k)
    }

    /// The mapping moved by one standard error along each of its axes of error: what
    /// depends on it is as unsure as these make it together.
    pub fn moved(&self) -> Vec<Mapping> {
        let axes = self.minimum.covariance.clone().symmetric_eigen();
        let each = axes.eigenvalues.iter().enumerate().filter_map(|(k, v)| {
            let by = axes.eigenvectors.column(k) * v.max(0.0).sqrt();
            self.model.mapping(&(&self.minimum.unknowns + by))
        });
        each.collect()
    }

    /// The lens' coefficients with their standard errors: k1, p1, p2, k2.
    pub fn lens_coefficients(&self) -> Vec<(&'static str, f64, f64)> {
        let names = ["k1", "p1", "p2", "k2"].into_iter().zip(8..);
        let own = names.take(self.form.unknowns() - 8);
        own.map(|(name, k)| {
            let variance = self.minimum.covariance[(k, k)];
            (name, self.minimum.unknowns[k], variance.sqrt())
        })
        .collect()
    }
}

/// The lower root of all readings' covariance, L Lᵀ = Σ, px: divided by it they are of
/// one size and know nothing of one another.
#[derive(Debug, Clone)]
enum Root {
    Even(f64),
    /// Mark by mark: nothing is shared.
    Each(Vec<Matrix2<f64>>),
    Full(DMatrix<f64>),
}

impl Root {
    fn even(px: f64) -> Self {
        Root::Even(px)
    }

    fn of(
        model: &Model,
        at: &DVector<f64>,
        pairs: &[(Point<Table>, Point<Projector>)],
        believed: &Believed,
    ) -> Option<Self> {
        let hand = believed.hand_px * believed.hand_px;
        let n = 2 * pairs.len();
        let mut slopes = Vec::with_capacity(pairs.len());
        for (table, _) in pairs {
            let [a, b] = model.lit(at, *table)?.by_place;
            slopes.push(Matrix2::new(a[0], a[1], b[0], b[1]));
        }
        match &believed.places {
            Places::Each(mm) if *mm == 0.0 => Some(Root::Even(believed.hand_px)),
            Places::Each(mm) => {
                let each = slopes.iter().map(|slope| {
                    let own = slope * slope.transpose() * (mm * mm) + Matrix2::identity() * hand;
                    Some(own.cholesky()?.unpack())
                });
                each.collect::<Option<_>>().map(Root::Each)
            }
            Places::Covariance(sigma) => {
                let turn = DMatrix::from_fn(n, n, |r, c| {
                    let same = r / 2 == c / 2;
                    if same {
                        slopes[r / 2][(r % 2, c % 2)]
                    } else {
                        0.0
                    }
                });
                let all = &turn * sigma * turn.transpose();
                let all = all + DMatrix::from_diagonal_element(n, n, hand);
                Some(Root::Full(all.cholesky()?.unpack()))
            }
        }
    }

    /// The same as one matrix.
    fn full(&self, n: usize) -> DMatrix<f64> {
        match self {
            Root::Even(px) => DMatrix::from_diagonal_element(n, n, *px),
            Root::Full(root) => root.clone(),
            Root::Each(roots) => {
                let mut all = DMatrix::zeros(n, n);
                for (k, root) in roots.iter().enumerate() {
                    all.fixed_view_mut::<2, 2>(2 * k, 2 * k).copy_from(root);
                }
                all
            }
        }
    }

    fn whiten(&self, m: &mut DMatrix<f64>) {
        match self {
            Root::Even(px) => *m /= *px,
            Root::Each(roots) => {
                for (k, root) in roots.iter().enumerate() {
                    root.solve_lower_triangular_mut(&mut m.rows_mut(2 * k, 2));
                }
            }
            Root::Full(root) => {
                root.solve_lower_triangular_mut(m);
            }
        }
    }
}

fn solve(
    model: &Model,
    pairs: &[(Point<Table>, Point<Projector>)],
    root: &Root,
    start: DVector<f64>,
) -> Outcome<Minimum> {
    let unknowns = model.form.unknowns();
    let found = marquardt(start, |at| {
        // Residuals stand in the last column, to be whitened with the slopes.
        let mut m = DMatrix::zeros(2 * pairs.len(), unknowns + 1);
        for (k, (table, pixel)) in pairs.iter().enumerate() {
            let lit = model.lit(at, *table)?;
            let left = lit.pixel - *pixel;
            for (r, v) in [left.x, left.y].into_iter().enumerate() {
                for c in 0..unknowns {
                    m[(2 * k + r, c)] = lit.by_unknown[r][c];
                }
                m[(2 * k + r, unknowns)] = v;
            }
        }
        root.whiten(&mut m);
        let residuals = m.column(unknowns).into_owned();
        Some((residuals, m.columns(0, unknowns).into_owned()))
    });
    found.map_err(|stuck| match stuck {
        Stuck::Loose => refused::loose(),
        Stuck::TooFew | Stuck::Astray => refused::astray(),
    })
}
