//! The proportional draft: pieces drawn from one or a few body measures, each line a measure
//! divided or multiplied by a number, plus or minus a length.
//!
//! `read*` reads the file into `decl`arations, names looked up and line numbers kept;
//! `eval` and `construct` work out each point and line once, when it is asked for, so that
//! the order of rows does not matter; `outline` and `make` turn edges into a [`NetPiece`].
//! [`DraftTable`] changes the file's text cell by cell.
//!
//! # The words of a draft
//!
//! A draft is TOML. A half sole, mirrored, and a tape sewn round it:
//!
//! ```toml
//! ghostchalk_draft = 1
//! name = "Insole with a tape"
//!
//! [[measure]]
//! name = "foot length"
//! least = "220mm"
//! most = "300mm"
//! usual = "25cm"
//! step = "5mm"
//!
//! [lengths]
//! tread = "foot length / 2.7"
//! "heel half" = "foot length / 7.5"
//!
//! [[piece]]
//! name = "insole"
//! cut = 2
//! allowance = "6mm"
//! mirror = ["heel", "toe"]
//! grain = ["heel", "toe"]
//! points = [
//!   { point = "heel" },
//!   { point = "toe", from = "heel", go = "up", by = "foot length + 3/8in" },
//!   { point = "widest", on = "heel, toe", before_end = "tread" },
//!   { point = "ball", from = "widest", go = "right", by = "foot length / 5.4" },
//!   { point = "back", from = "heel", right = "heel half", up = "heel half" },
//! ]
//! edges = [
//!   { edge = "side", curve = ["heel", "back", "ball", "toe"], start = "right", end = "left", tangents = { ball = "up" } },
//! ]
//! notches = [
//!   { notch = "ball", edge = "side", at = 0.5, kind = "double" },
//! ]
//!
//! [[piece]]
//! name = "tape"
//! points = [
//!   { point = "a" },
//!   { point = "b", right = "length(insole: side) + length(insole: side mirrored)" },
//!   { point = "c", from = "b", up = "1in" },
//!   { point = "d", upright = "a", level = "c" },
//! ]
//! edges = [
//!   { edge = "inner", straight = ["a", "b"] },
//!   { edge = "end", straight = ["b", "c"] },
//!   { edge = "outer", straight = ["c", "d"] },
//!   { edge = "start", straight = ["d", "a"] },
//! ]
//!
//! [[seam]]
//! name = "tape"
//! one = ["tape: inner"]
//! other = ["insole: side", "insole: side mirrored"]
//! ```
//!
//! **Formulas** know `+ - * / ( )`, plain numbers, lengths with their unit (`12.5mm`, `3/8in`,
//! `1 1/4"`: a fraction belongs to its unit if it is written tight), measures, names under
//! `[lengths]`, `length(edge)` of anything drawn, and `distance(a, b)` of points. Units are
//! checked: a length over a number is a length, a length over a length a number; a product
//! of lengths is an area and no length; a length and a number can't be added.
//!
//! **Names** of another piece are written with it: `sole: toe`. A name has no `,` `:` `(` `)`.
//!
//! | table | its words |
//! | --- | --- |
//! | `[[measure]]` | `name`, `least`, `most`, `usual`; `step` from size to size; `unit` (`mm`, `cm`, `in`) in which it is told |
//! | `[lengths]` | `name = "formula"`; or `{ until = "…", is = "…", least = "…", most = "…" }`: the length between two bounds at which the first formula comes to the second |
//! | `[[piece]]` | `name`, `cut` (how many), `pair`, `allowance`, `stitched` (how far the stitching reaches into the allowance), `mirror = ["a", "b"]` (drawn half, mirrored about that line), `grain = ["tail", "head"]`, `label`, `drills`; `points`, `lines`, `edges`, `notches`, `darts` |
//! | `[[seam]]` | `name`, `one`, `other` (lists of edges from the same end), `ease` (0), `tolerance` (1 mm) |
//! | `[[ring]]` | `name`, `edges`, `girth`, `ease` (0), `cloth` (0), `at` (`outside`, `mid-wall`), `tolerance` (3 mm), `sewn` |
//!
//! **A point** (`point = "name"`) lies at the origin, or
//! * `from` a point; `go` a direction `by` a length, turned by `turn` degrees more; and
//!   `right`, `left`, `up`, `down` by lengths;
//! * `upright` over one point, `level` with another;
//! * `on` a line or edge (or two points: `"a, b"`), `at` a length or share from its start, or
//!   `before_end`;
//! * where two `meet`: `["line a, b", "line a, up", "circle c, 40mm", "circle a, b, c",
//!   "path outline"]`; of several places the one `nearest` a point;
//! * `mirror` of a point `about = ["a", "b"]`.
//!
//! **A direction** is `up`, `down`, `left`, `right`, `30°` (from right, counter-clockwise),
//! `towards a`, `away from a`, `along a, b` or along a line where one is nearest to it, or
//! `square to` either: a quarter turn to its left.
//!
//! **A line** (`line = "name"`) or **edge** (`edge = "name"`) is
//! * `straight` through points;
//! * a `curve` through points (see `spline`), `closed` or not, with directions at its `start`
//!   and `end` (their handles `start_pull`, `end_pull` long; two points with both are one
//!   Bézier curve) and `tangents` in between;
//! * an `arc` of three points; or of two, turning (`turn`) `left` or `right`, about a `centre`
//!   or with a `radius`, then the shorter one;
//! * a `part` of a line `from` a point `to` another (of a closed one: onwards);
//! * a `join` of several end to end; of an edge, `line`: the whole of a line;
//! * `beside` a line `by` a length to its left; the `mirror` of a line `about` two points.
//!
//! A line is drawn on the piece if `show`, cut out of it if `cutout`. Edges follow one
//! another round the piece, whichever way each is drawn; each may have an `allowance`,
//! `stitched`, a `corner` (`mitred`, `folded`, `squared`) where it begins counter-clockwise,
//! and lie on the `fold`. In a mirrored piece the image of an edge is called `mirrored`
//! (usually *side mirrored*), and the first and last edge may run on into it, as one `whole`
//! edge. What is drawn `once` is not mirrored; other notches, darts, drills and shown lines are.
//!
//! **A notch** stands on an `edge`, `at` a length or share of it as drawn, or `before_end`, or
//! at a `point` of it, or `with` another edge where its notch `falls` (at the same length, or
//! `walk = "in proportion"`; `reversed` if that edge is drawn from the other end). It has a
//! `kind` (`slit`, `double`, `vee`) and a `depth` (half the allowance). **A dart** stands on an
//! `edge` likewise, with the `width` of its mouth, and a `depth` or a `tip`.
//!
//! A draft is drawn in its own units of place: its origin is the draft's, not the middle
//! of a piece.

mod construct;
mod curve;
mod decl;
mod desk;
mod eval;
mod finish;
mod formula;
mod fresh;
mod keys;
mod lists;
mod make;
mod meet;
mod names;
mod outline;
mod read;
mod read_line;
mod read_piece;
mod read_point;
mod scan;
mod search;
mod spline;
mod spots;
mod table;
mod words;

#[cfg(test)]
mod tests;

pub use desk::Desk;
pub use read::parse;
pub use table::{Cell, Change, DraftTable, Part, Row, RowAt};
pub use words::{Cells, Way};

use kurbo::{Affine, Vec2};

use self::decl::{LengthDecl, PieceDecl, RingDecl, SeamDecl};
use self::eval::Eval;
use crate::fault::{Fault, Outcome, short};
use crate::measure::{Unit, parse_length};
use crate::pattern::{NetPiece, Polyline, Ring, Seam, Sewing};
use crate::pattern::{RING_TOLERANCE, SEAM_TOLERANCE};
use crate::space::{Piece, Point};

/// The share of a measure's range, at either end, within which a toile is advised
/// (common practice: a draft's proportions hold for the middle of its range).
const NEAR_END: f64 = 0.1;

/// Drawn pieces are scaled by these shares at most.
const SCALES: [f64; 2] = [0.8, 1.25];

/// A draft, read: what it needs, and how it is drawn.
#[derive(Debug)]
pub struct Draft {
    pub name: String,
    measures: Vec<Measure>,
    lengths: Vec<LengthDecl>,
    pieces: Vec<PieceDecl>,
    seams: Vec<SeamDecl>,
    rings: Vec<RingDecl>,
}

/// A body measure that a draft needs.
#[derive(Debug, Clone, PartialEq)]
pub struct Measure {
    pub name: String,
    /// In which it is usually told.
    pub unit: Unit,
    /// mm: the range for which the draft is meant, both ends in it.
    pub least: f64,
    pub most: f64,
    /// mm: what it is if nobody says.
    pub usual: f64,
    /// mm from size to size, if it goes in sizes.
    pub step: Option<f64>,
}

/// Measures, in mm, by name; and by how much the pieces are scaled.
#[derive(Debug, Clone, PartialEq)]
pub struct Measures {
    values: Vec<(String, f64)>,
    /// Along the grain of each piece (upright where it has none), 1 as drafted.
    pub length: f64,
    /// Across it.
    pub width: f64,
}

impl Default for Measures {
    fn default() -> Self {
        Self {
            values: Vec::new(),
            length: 1.0,
            width: 1.0,
        }
    }
}

impl Measures {
    /// With the measure `name` at `mm`. What is not set is as usual.
    #[must_use]
    pub fn with(mut self, name: &str, mm: f64) -> Self {
        self.set(name, mm);
        self
    }

    pub fn set(&mut self, name: &str, mm: f64) {
        match self.values.iter_mut().find(|(n, _)| n == name) {
            Some((_, value)) => *value = mm,
            None => self.values.push((name.to_owned(), mm)),
        }
    }

    pub fn get(&self, name: &str) -> Option<f64> {
        let found = self.values.iter().find(|(n, _)| n == name);
        found.map(|(_, mm)| *mm)
    }
}

/// Points and lines of construction of one piece, in its own space.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Sketch {
    pub points: Vec<(String, Point<Piece>)>,
    pub lines: Vec<(String, Polyline)>,
}

/// What a draft draws for given measures.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// In the space in which they are drafted: the origin is the draft's, not the middle
    /// of the piece.
    pub pieces: Vec<NetPiece>,
    /// One for each piece.
    pub sketches: Vec<Sketch>,
    pub sewing: Sewing,
    /// What the person should check, one sentence each.
    pub notes: Vec<String>,
}

impl Draft {
    pub fn measures(&self) -> &[Measure] {
        &self.measures
    }

    /// A measure as it is typed, mm: without a unit it is in the one in which the measure is
    /// usually told.
    ///
    /// # Errors
    /// If it is no length.
    pub fn typed(&self, name: &str, text: &str) -> Outcome<f64> {
        let unit = self.measures.iter().find(|m| m.name == name);
        let unit = unit.map_or(Unit::Mm, |m| m.unit);
        parse_length(text, unit).map_err(|f| f.at(format!("measure \"{name}\"")))
    }

    /// The names of the pieces, in the draft's order.
    pub fn pieces(&self) -> impl Iterator<Item = &str> {
        self.pieces.iter().map(|p| p.name.as_str())
    }

    /// Draws the pieces.
    ///
    /// # Errors
    /// If a measure is not the draft's or out of its range, or something can't be drawn:
    /// units that don't fit, arcs that don't meet, an outline that does not close, a notch
    /// beyond its edge. The fault names the line of the file, and point or edge.
    pub fn draw(&self, measures: &Measures) -> Outcome<Drawn> {
        let (values, notes) = self.checked(measures)?;
        let mut eval = Eval::new(self, &values);
        let scale = |warp: Vec2| {
            // Turned so that the grain is upright, scaled, turned back.
            let turn = Affine::new([warp.y, warp.x, -warp.x, warp.y, 0.0, 0.0]);
            turn.inverse() * Affine::scale_non_uniform(measures.width, measures.length) * turn
        };
        let (mut pieces, mut sketches) = (Vec::new(), Vec::new());
        for p in 0..self.pieces.len() {
            let (piece, sketch) = make::draw(&mut eval, p, scale)?;
            pieces.push(piece);
            sketches.push(sketch);
        }
        let sewing = Sewing {
            seams: self.seams(&mut eval)?,
            rings: self.rings(&mut eval)?,
        };
        Ok(Drawn {
            pieces,
            sketches,
            sewing,
            notes,
        })
    }

    /// The value of each measure, and what is to be said of them.
    fn checked(&self, measures: &Measures) -> Outcome<(Vec<f64>, Vec<String>)> {
        let known = |name: &str| self.measures.iter().any(|m| m.name == name);
        if let Some((name, _)) = measures.values.iter().find(|(n, _)| !known(n)) {
            let names: Vec<&str> = self.measures.iter().map(|m| m.name.as_str()).collect();
            return Err(Fault::input(
                format!("the draft has no measure named \"{name}\""),
                match names.is_empty() {
                    true => "leave it out: the draft has no measures".to_owned(),
                    false => format!("name one of {}", names.join(", ")),
                },
            ));
        }
        for (what, scale) in [("length", measures.length), ("width", measures.width)] {
            if !(SCALES[0]..=SCALES[1]).contains(&scale) {
                return Err(Fault::input(
                    format!("{what} can't be scaled by {}", short(scale)),
                    format!("stay between {} and {}", SCALES[0], SCALES[1]),
                ));
            }
        }
        let (mut values, mut notes) = (Vec::new(), Vec::new());
        for m in &self.measures {
            let mm = measures.get(&m.name).unwrap_or(m.usual);
            let range = format!("{} to {}", m.unit.show(m.least), m.unit.show(m.most));
            // A size typed in inches may miss the end by less than it can be read.
            let slack = 1e-6 * m.most;
            if !(m.least - slack..=m.most + slack).contains(&mm) {
                return Err(Fault::input(
                    format!(
                        "{} {} is outside the draft's range, {range}",
                        m.name,
                        m.unit.show(mm)
                    ),
                    "check the measure; this draft is not made for it",
                ));
            }
            let near = NEAR_END * (m.most - m.least);
            if mm < m.least + near || mm > m.most - near {
                notes.push(format!(
                    "{} {} is near the end of the draft's range, {range}: make a toile.",
                    m.name,
                    m.unit.show(mm)
                ));
            }
            values.push(mm);
        }
        if measures.length != 1.0 || measures.width != 1.0 {
            notes.push(format!(
                "Scaled to {} % along the grain and {} % across: walk the seams again.",
                short(measures.length * 100.0),
                short(measures.width * 100.0)
            ));
        }
        Ok((values, notes))
    }

    fn seams(&self, eval: &mut Eval) -> Outcome<Vec<Seam>> {
        let each = self.seams.iter().map(|decl| {
            let ease = optional(eval, decl.ease.as_ref(), 0.0);
            let ease = decl.at.within(ease)?;
            let tolerance = optional(eval, decl.tolerance.as_ref(), SEAM_TOLERANCE);
            let tolerance = decl.at.within(tolerance.and_then(above_nothing))?;
            Ok(Seam {
                name: decl.name.clone(),
                one: decl.one.clone(),
                other: decl.other.clone(),
                ease,
                tolerance,
            })
        });
        each.collect()
    }

    fn rings(&self, eval: &mut Eval) -> Outcome<Vec<Ring>> {
        let each = self.rings.iter().map(|decl| {
            let within = |outcome| decl.at.within(outcome);
            let girth = eval.length(&decl.girth).and_then(above_nothing);
            let girth = within(girth)?;
            let ease = within(optional(eval, decl.ease.as_ref(), 0.0))?;
            let cloth = within(optional(eval, decl.cloth.as_ref(), 0.0))?;
            if cloth < 0.0 {
                return Err(decl
                    .at
                    .fault("its cloth is thinner than nothing", "write 0mm or more"));
            }
            let tolerance = optional(eval, decl.tolerance.as_ref(), RING_TOLERANCE);
            let tolerance = within(tolerance.and_then(above_nothing))?;
            let sewn = match &decl.sewn {
                Some(sewn) => Some(within(eval.length(sewn).and_then(above_nothing))?),
                None => None,
            };
            Ok(Ring {
                name: decl.name.clone(),
                edges: decl.edges.clone(),
                girth,
                ease,
                cloth,
                at: decl.measured,
                tolerance,
                sewn,
            })
        });
        each.collect()
    }
}

fn optional(eval: &mut Eval, formula: Option<&formula::Formula>, usual: f64) -> Outcome<f64> {
    formula.map_or(Ok(usual), |f| eval.length(f))
}

fn above_nothing(mm: f64) -> Outcome<f64> {
    if mm > 0.0 {
        return Ok(mm);
    }
    Err(Fault::input(
        format!("{} mm is not above 0", short(mm)),
        "check its girth, tolerance or measured length",
    ))
}
