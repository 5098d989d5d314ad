//! What a cut edge may be wrong by, term by term. Terms of the tool and of the plies are
//! common practice, to be edited by whoever has measured their own.

use super::fit::{Along, Fit, Normals, ShapeError, Sighted, edge_normals, normals};
use super::raised::LensFound;
use super::table_marks::CLASS_II;
use crate::space::{Point, Table, mean};
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
    /// All terms together, as if they knew nothing of one another.
    pub fn place(&self) -> f64 {
        self.terms
            .iter()
            .map(|t| t.place * t.place)
            .sum::<f64>()
            .sqrt()
    }

    /// All terms together, but for two that both make a piece smaller: a steady lift and
    /// light that spills inward do not make up for each other.
    pub fn shape(&self) -> f64 {
        let inward = |t: &&Term| t.what == LIFT || t.what == SPILL;
        let (one_way, others): (Vec<&Term>, Vec<&Term>) = self.terms.iter().partition(inward);
        let smaller: f64 = one_way.iter().map(|t| t.shape).sum();
        let others = others.iter().map(|t| t.shape * t.shape);
        others.chain([smaller * smaller]).sum::<f64>().sqrt()
    }

    /// The term that a person would gain most by mending.
    pub fn largest(&self) -> Option<&Term> {
        self.terms.iter().max_by(|a, b| a.shape.total_cmp(&b.shape))
    }
}

/// What a budget is worked out from.
#[derive(Debug, Clone, Copy)]
pub struct Setup<'a> {
    pub fit: &'a Fit,
    pub marks: &'a [Sighted],
    /// Where the lens is, if that is known; else no height is corrected, and lift counts
    /// from a lens over the middle of the marks, 1500 mm up (estimate).
    pub lens: Option<&'a LensFound>,
    pub tool: Tool,
}

/// One edge of a ring where it lies on the table.
#[derive(Debug, Clone)]
pub struct RingEdge {
    pub line: Vec<Point<Table>>,
    /// From the table to the top of its stack, mm.
    pub thick: f64,
}

/// A lens that nobody measured hangs so high, mm (estimate).
const ASSUMED: f64 = 1500.0;

/// A class II tape errs by up to [`CLASS_II`] of a length: uniform within its limits.
fn tape_scale() -> f64 {
    CLASS_II / 3f64.sqrt()
}

impl Setup<'_> {
    /// The budget of a piece whose outline lies so on the table, counter-clockwise or
    /// not. `None` where some of the piece is not lit.
    pub fn piece(&self, outline: Along<'_>, stack: Stack) -> Option<Budget> {
        let along = normals(outline)?;
        let shape = self.fit.field(self.marks).shape(outline)?;
        let middle = mean(along.0.iter().copied())?;
        self.terms(shape, &along, middle, stack)
    }

    /// The budget of one edge of it; the shift and turn that do not count for its shape
    /// are the whole piece's.
    pub fn edge(&self, outline: Along<'_>, edge: Along<'_>, stack: Stack) -> Option<Budget> {
        let shape = self.fit.field(self.marks).edge_shape(outline, edge)?;
        let middle = mean(normals(outline)?.0)?;
        self.terms(shape, &edge_normals(edge)?, middle, stack)
    }

    /// The budget of the length of a ring, mm, cut in several edges. What they share (the
    /// mapping, scale, a steady lift, where the eye sees the edge) adds as so many, and
    /// not as the root of it. `None` where some of it is not lit.
    pub fn ring(&self, edges: &[RingEdge]) -> Option<Budget> {
        let lines: Vec<Along> = edges.iter().map(|e| &e.line[..]).collect();
        let light = self.fit.field(self.marks).length(&lines)? * self.fit.widened();
        let (foot, height) = self.lens_at(middle_of(self.marks));
        let long = |e: &RingEdge| crate::shape::length(&e.line);
        let whole: f64 = edges.iter().map(long).sum();
        let thick: f64 = edges
            .iter()
            .map(|e| match self.lens {
                Some(l) => {
                    let clear = height - e.thick;
                    long(e) * e.thick / (clear * clear) * l.errors()[1]
                }
                None => long(e) * e.thick / height,
            })
            .sum();
        // The two cuts that end each edge, and how far light along its rays moves along the
        // edge there.
        let far: Vec<f64> = edges
            .iter()
            .flat_map(|e| {
                let way = |w: &[Point<Table>]| (w[1] - w[0]).normalize();
                let first = e.line.windows(2).next().map(|w| (w[0] - foot).dot(way(w)));
                let last = e.line.windows(2).last().map(|w| (w[1] - foot).dot(way(w)));
                [first, last]
            })
            .flatten()
            .filter(|d| d.is_finite())
            .collect();
        let n = far.len() as f64;
        let uneven: f64 = far.iter().map(|d| (d / height).powi(2)).sum();
        let pixel: f64 = edges
            .iter()
            .filter_map(|e| self.fit.mapping.pixel_size(*e.line.first()?, 0.0))
            .fold(0.0, f64::max);
        let t = &self.tool;
        let lift = t.lift.hypot(t.lift / 3.0);
        let all = [
            (MARKS, light),
            (TAPE, tape_scale() * whole),
            (THICK, thick),
            (PIXEL, n.sqrt() * pixel / 255.0),
            (HAND, n.sqrt() * t.hand),
            (LIFT, whole * lift / height),
            (UNEVEN, uneven.sqrt() * t.uneven_lift),
            (SPILL, n * t.spill),
        ];
        let term = |(what, mm)| Term {
            what,
            place: mm,
            shape: mm,
        };
        Some(Budget {
            terms: all.map(term).to_vec(),
        })
    }

    /// The lens' foot and height.
    fn lens_at(&self, else_over: Point<Table>) -> (Point<Table>, f64) {
        match self.lens {
            Some(l) => (l.place.foot, l.place.height),
            None => (else_over, ASSUMED),
        }
    }

    fn terms(
        &self,
        shape: ShapeError,
        along: &Normals,
        middle: Point<Table>,
        stack: Stack,
    ) -> Option<Budget> {
        let (fit, tool) = (self.fit, &self.tool);
        let (foot, height) = self.lens_at(middle_of(self.marks));
        // How far light along the rays from the lens moves across the line, and how much
        // of that is size.
        let (far, grown) = (radial(along, foot), radial(along, middle));
        // A steady lift moves the whole edge and shrinks the piece, and nothing corrects
        // it; how high it is, is known to a third.
        let lift = tool.lift.hypot(tool.lift / 3.0);
        let lower = f64::from(stack.plies > 1);
        // Codes of light round the edge's place within a pixel to 1/255 of it; the eye
        // does the rest and is in the hand.
        let pixel = fit.mapping.pixel_size(middle, 0.0)? / 255.0;
        let scale = tape_scale();
        let thick = match self.lens {
            Some(l) => {
                let e = l.height_error(middle, stack.thick).ok()?;
                // A foot that is wrong shifts the light; a height that is wrong sizes it.
                let clear = height - stack.thick;
                let size = grown * stack.thick / (clear * clear) * l.errors()[1];
                (e.left, size)
            }
            None => (far * stack.thick / height, grown * stack.thick / height),
        };
        let uneven = far * tool.uneven_lift / height;
        let all = [
            (
                MARKS,
                shape.place * fit.widened(),
                shape.shape * fit.widened(),
            ),
            (
                TAPE,
                scale * radial(along, middle_of(self.marks)),
                scale * grown,
            ),
            (THICK, thick.0, thick.1),
            (PIXEL, pixel, pixel),
            (HAND, tool.hand, tool.hand),
            (LIFT, far * lift / height, grown * lift / height),
            (UNEVEN, uneven, uneven),
            ("the lower ply slides", lower * tool.ply_slip, 0.0),
            (SPILL, tool.spill, tool.spill),
        ];
        let term = |(what, place, shape)| Term { what, place, shape };
        Some(Budget {
            terms: all.map(term).to_vec(),
        })
    }
}

const MARKS: &str = "marks and setting";
const TAPE: &str = "the tape's own scale";
const THICK: &str = "thickness of the cloth";
const PIXEL: &str = "a pixel's steps";
const HAND: &str = "the hand";
const LIFT: &str = "steady lift";
const UNEVEN: &str = "uneven lift";
const SPILL: &str = "light spills inward";

fn middle_of(marks: &[Sighted]) -> Point<Table> {
    mean(marks.iter().map(|m| m.table)).unwrap_or_default()
}

/// Root mean square, along a line, of the distance from a place to the line through each
/// of its edges, mm.
fn radial((places, normals): &Normals, from: Point<Table>) -> f64 {
    let each = places
        .iter()
        .zip(normals)
        .map(|(p, normal)| (*p - from).dot(*normal));
    (each.map(|v| v * v).sum::<f64>() / places.len() as f64).sqrt()
}
