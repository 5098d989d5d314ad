//! What the fit says of each mark: what is left, what the others say of it, and
//! whether it was set on the wrong place.

use super::model::Model;
use super::{Root, Sighted};
use crate::adjust::{Minimum, SLIP, chance_of_more};
use crate::space::{Projector, Table, Vector};
use nalgebra::{DMatrix, Matrix2, Vector2};

/// One mark in the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct MarkFit {
    pub name: String,
    /// Where its light would have to be set by the mapping, less where it was set, px.
    pub left_px: Vector<Projector>,
    /// The same on the table, mm: how far the light that was set lies from the mark.
    pub left_mm: Vector<Table>,
    /// The same by a mapping that knows nothing of this mark, mm; `None` where the
    /// others fix none.
    pub without_mm: Option<Vector<Table>>,
    /// χ² of that, with two degrees of freedom.
    pub chi2: f64,
}

impl MarkFit {
    /// Whether it looks set on the wrong place: sound marks look so bad once in a
    /// thousand (the multivariate form of Baarda's test).
    pub fn is_slip(&self) -> bool {
        self.without_mm.is_some() && chance_of_more(self.chi2, 2) < SLIP
    }

    /// Its error as the others see it, mm.
    pub fn left_out_mm(&self) -> Option<f64> {
        self.without_mm.map(|v| v.length())
    }
}

pub(super) fn verdicts(
    marks: &[Sighted],
    model: &Model,
    minimum: &Minimum,
    root: &Root,
) -> Vec<MarkFit> {
    let n = 2 * marks.len();
    // With whitened slopes A and covariance Σ = L Lᵀ, the weights that are left over,
    // M = L⁻ᵀ (I − A A⁺) L⁻¹, hold for each mark what the others leave it.
    let a = &minimum.slope;
    let spare = DMatrix::identity(n, n) - a * &minimum.covariance * a.transpose();
    let (weights, pulls) = match root {
        Root::Even(px) => (spare / (px * px), &minimum.residuals / *px),
        Root::Each(_) | Root::Full(_) => {
            let mut right = spare;
            let upper = root.full(n).transpose();
            upper.solve_upper_triangular_mut(&mut right);
            let mut both = right.transpose();
            upper.solve_upper_triangular_mut(&mut both);
            let mut pulls = minimum.residuals.clone();
            upper.solve_upper_triangular_mut(&mut pulls);
            (both, pulls)
        }
    };
    // What a mark would weigh if nothing were taken from it.
    let full = root.full(n);
    let least = (0..n).map(|k| full.row(k).norm_squared());
    let whole = 1.0 / least.fold(f64::INFINITY, f64::min);
    let spares = minimum.freedom() > 0;
    let each = marks.iter().enumerate().map(|(k, mark)| {
        let lit = model.lit(&minimum.unknowns, mark.table);
        let (left_px, slope) = match lit {
            Some(lit) => {
                let [p, q] = lit.by_place;
                (lit.pixel - mark.pixel, Matrix2::new(p[0], p[1], q[0], q[1]))
            }
            None => (Vector::zero(), Matrix2::identity()),
        };
        let back = slope.try_inverse().unwrap_or_default();
        let to_mm = |px: Vector2<f64>| {
            let mm = back * px;
            Vector::new(mm.x, mm.y)
        };
        let own: Matrix2<f64> = weights.fixed_view::<2, 2>(2 * k, 2 * k).into_owned();
        let pull = Vector2::new(pulls[2 * k], pulls[2 * k + 1]);
        // Where the others fix nothing, rounding is left.
        let fixed = spares && own.symmetric_eigenvalues().min() > 1e-7 * whole;
        let without = own.try_inverse().filter(|_| fixed).map(|i| i * pull);
        MarkFit {
            name: mark.name.clone(),
            left_px,
            // The light was set where the residual is not.
            left_mm: -to_mm(Vector2::new(left_px.x, left_px.y)),
            without_mm: without.map(|px| -to_mm(px)),
            chi2: without.map_or(0.0, |px| px.dot(&pull)),
        }
    });
    each.collect()
}
