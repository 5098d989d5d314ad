//! What a cut edge may be wrong by, term by term. Terms of the tool and of the plies are
//! common practice, to be edited by whoever has measured their own.

use super::fit::{Along, Fit, Sighted, normals};
use super::raised::LensFound;
use super::table_marks::CLASS_II;
use crate::space::{Point, Table};
use serde::{Deserialize, Serialize};

/// What the hand, its tool and the plies add, mm: each is the spread (standard deviation)
/// of the cut edge across its line, unless it says otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Tool {
    /// The hand along a sharp line.
    pub hand: f64,
    /// How high the blade lifts the cloth, steadily.
    pub lift: f64,
    /// By how much the lift is uneven.
    pub uneven_lift: f64,
    /// How far the lower ply slides, before it is cut: its place, and not its shape.
    pub ply_slip: f64,
    /// How far light spills inward out of focus, and the eye cuts to it: all one way.
    pub spill: f64,
}

impl Tool {
    /// Shears lift the cloth 5 to 15 mm, and the lower of two plies slides 1 to 3 mm
    /// (estimates; common practice).
    pub const SHEARS: Tool = Tool {
        hand: 0.4,
        lift: 10.0,
        uneven_lift: 2.5,
        ply_slip: 1.0,
        spill: 0.3,
    };

    /// A wheel hardly lifts (common practice).
    pub const WHEEL: Tool = Tool {
        hand: 0.3,
        lift: 0.5,
        uneven_lift: 0.3,
        ply_slip: 0.3,
        spill: 0.3,
    };
}

impl Default for Tool {
    fn default() -> Self {
        Tool::SHEARS
    }
}

/// How the cloth lies that is cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stack {
    /// From the table to the top, mm.
    pub thick: f64,
    pub plies: u32,
}

/// Terms of the error of one cut edge, mm, standard deviations across the line: of
/// *place* on the cloth or of *shape*.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Budget {
    pub terms: Vec<Term>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Term {
    pub what: &'static str,
    /// To the edge's place on the cloth.
    pub place: f64,
    /// To the piece's shape, after the best shift and turn.
    pub shape: f64,
}

impl Budget {
    /// All terms together: they know nothing of one another.
    pub fn place(&self) -> f64 {
        self.terms
            .iter()
            .map(|t| t.place * t.place)
            .sum::<f64>()
            .sqrt()
    }

    pub fn shape(&self) -> f64 {
        self.terms
            .iter()
            .map(|t| t.shape * t.shape)
            .sum::<f64>()
            .sqrt()
    }

    /// The term that a person would gain most by mending.
    pub fn largest(&self) -> Option<&Term> {
        self.terms.iter().max_by(|a, b| a.shape.total_cmp(&b.shape))
    }
}

/// The budget of a piece whose outline lies so on the table. `lens`: where it is, if
/// that is known; else no height is corrected and lift counts from a lens over the
/// middle of the picture's light, 1500 mm up (estimate).
///
/// `None` where some of the piece is not lit.
pub fn budget(
    fit: &Fit,
    marks: &[Sighted],
    outline: Along<'_>,
    stack: Stack,
    lens: Option<&LensFound>,
    tool: &Tool,
) -> Option<Budget> {
    let shape = fit.field(marks).shape(outline)?;
    let places = normals(outline)?.0;
    let sum = places
        .iter()
        .fold(crate::space::Vector::zero(), |s, p| s + p.to_vector());
    let middle = (sum / places.len() as f64).to_point();
    let (foot, height) = match lens {
        Some(l) => (l.place.foot, l.place.height),
        None => (middle_of(marks), ASSUMED),
    };
    // How far light along the rays from the lens moves across the line, and how much of
    // that is size.
    let (far, grown) = (radial(outline, foot)?, radial(outline, middle)?);
    // A steady lift moves the whole edge and shrinks the piece, and nothing corrects it; how
    // high it is, is known to a third.
    let lift = tool.lift.hypot(tool.lift / 3.0);
    let lower = f64::from(stack.plies > 1);
    let pixel = fit.mapping.pixel_size(middle, 0.0)?;
    // Codes of light round the edge's place within a pixel to 1/255 of it; the eye does
    // the rest and is in the hand. A class II tape: uniform within its limits.
    let scale = CLASS_II / 3f64.sqrt();
    let thick = match lens {
        Some(l) => {
            let e = l.height_error(middle, stack.thick).ok()?;
            // A foot that is wrong shifts the light; a height that is wrong sizes it.
            let clear = height - stack.thick;
            (
                e.left,
                grown * stack.thick / (clear * clear) * l.errors()[1],
            )
        }
        None => (far * stack.thick / height, grown * stack.thick / height),
    };
    let term = |what, place, shape| Term { what, place, shape };
    Some(Budget {
        terms: vec![
            term(
                "marks and setting",
                shape.place * fit.widened(),
                shape.shape * fit.widened(),
            ),
            term(
                "the tape's own scale",
                scale * radial(outline, middle_of(marks))?,
                scale * grown,
            ),
            term("thickness of the cloth", thick.0, thick.1),
            term("a pixel's steps", pixel / 255.0, pixel / 255.0),
            term("the hand", tool.hand, tool.hand),
            term("steady lift", far * lift / height, grown * lift / height),
            term(
                "uneven lift",
                far * tool.uneven_lift / height,
                far * tool.uneven_lift / height,
            ),
            term("the lower ply slides", lower * tool.ply_slip, 0.0),
            term("light spills inward", tool.spill, tool.spill),
        ],
    })
}

/// A lens that nobody measured hangs so high, mm (estimate).
const ASSUMED: f64 = 1500.0;

fn middle_of(marks: &[Sighted]) -> Point<Table> {
    let n = marks.len().max(1) as f64;
    let sum = marks
        .iter()
        .fold(crate::space::Vector::zero(), |s, m| s + m.table.to_vector());
    (sum / n).to_point()
}

/// Root mean square, round a closed outline, of the distance from a place to the line
/// through each of its edges, mm.
fn radial(outline: Along<'_>, from: Point<Table>) -> Option<f64> {
    let (places, normals) = normals(outline)?;
    let n = places.len() as f64;
    let each = places
        .iter()
        .zip(&normals)
        .map(|(p, normal)| (*p - from).dot(*normal));
    Some((each.map(|v| v * v).sum::<f64>() / n).sqrt())
}
