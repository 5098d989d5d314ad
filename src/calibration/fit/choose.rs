//! Whether the marks earn a lens, and whether one of them is to be believed.

use super::{Believed, Fit, Form, Sighted};
use crate::adjust::{SIGNIFICANCE, chance_of_more};
use crate::fault::Outcome;
use crate::space::{Point, Table};

/// The fit that was chosen, and why.
#[derive(Debug, Clone)]
pub struct Choice {
    pub fit: Fit,
    /// Why this form: one sentence without a full stop.
    pub because: String,
}

/// Fewer marks say nothing of the lens.
pub const LENS: usize = 7;

/// Root mean square of what the marks say of one another, mm; `None` if some are not
/// checked by the others.
pub fn left_out(fit: &Fit) -> Option<f64> {
    let n = fit.marks.len() as f64;
    let all: Option<Vec<f64>> = fit.marks.iter().map(|m| m.left_out_mm()).collect();
    all.map(|all| (all.iter().map(|v| v * v).sum::<f64>() / n).sqrt())
}

/// The fit that the marks earn: a lens where it explains more than chance would
/// ([`SIGNIFICANCE`]) and each mark is foretold better by the others; k2 only where all
/// that is in reach lies inside the marks (`reach`: its corners), for outside them it
/// runs wild.
///
/// # Errors
/// As [`Fit::new`].
pub fn best(
    marks: &[Sighted],
    size: [u32; 2],
    believed: &Believed,
    reach: &[Point<Table>],
) -> Outcome<Choice> {
    let plane = Fit::new(marks, size, believed, Form::Plane)?;
    let none = |because: &str| because.to_owned();
    if marks.len() < LENS {
        return Ok(Choice {
            fit: plane,
            because: none("fewer than seven marks say nothing of the lens"),
        });
    }
    let Ok(lens) = Fit::new(marks, size, believed, Form::Lens) else {
        return Ok(Choice {
            fit: plane,
            because: none("no lens fits these marks"),
        });
    };
    if !earns(&plane, &lens) {
        return Ok(Choice {
            fit: plane,
            because: none("a lens would not tell better where each mark lies"),
        });
    }
    let hull = super::field::outer(marks);
    let inside = !reach.is_empty() && reach.iter().all(|p| super::field::beyond(&hull, *p) == 0.0);
    if inside
        && marks.len() >= 12
        && let Ok(more) = Fit::new(marks, size, believed, Form::LensK2)
        && earns(&lens, &more)
    {
        return Ok(Choice {
            fit: more,
            because: none(
                "with a lens whose bending takes two numbers the others tell better where each mark lies",
            ),
        });
    }
    Ok(Choice {
        fit: lens,
        because: none("with a lens the others tell better where each mark lies"),
    })
}

/// Whether the form with more unknowns is worth them.
fn earns(less: &Fit, more: &Fit) -> bool {
    let spent = less.freedom - more.freedom;
    let better = match (left_out(less), left_out(more)) {
        (Some(a), Some(b)) => b < a,
        _ => false,
    };
    better && chance_of_more((less.chi2 - more.chi2).max(0.0), spent) < SIGNIFICANCE
}
