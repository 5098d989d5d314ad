//! What a pattern piece is, in its own space: millimetres, y up along the
//! drawing's upward direction, origin in the middle of the exact bounding box
//! of its cut lines.

use crate::shape::nearest;
use crate::space::{Piece as PieceSpace, Point, Vector};

/// A run of straight edges, with as few points as stay within 0.02 mm of the
/// lines and curves drawn.
pub type Polyline = Vec<Point<PieceSpace>>;

/// How a notch is clipped, and so how it is lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotchKind {
    /// One straight clip.
    Slit,
    /// Two clips side by side; often marks the back.
    Double,
    /// A small wedge.
    Vee,
}

/// A clip into the allowance where two edges must meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Notch {
    /// On the cut line (snapped to it on reading).
    pub at: Point<PieceSpace>,
    /// Unit vector along the edge's normal, from the cut line into the cloth.
    pub inward: Vector<PieceSpace>,
    /// Clip depth, mm, > 0.
    pub depth: f64,
    pub kind: NotchKind,
}

/// Where an edge of a piece begins, and what the pattern says of that edge.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeStart {
    /// A vertex, bit for bit, of the line that is walked (see [`super::edges`]).
    pub at: Point<PieceSpace>,
    /// Unique in its piece.
    pub name: String,
    /// From net line to cut line along this edge, mm, ≥ 0; if the pattern says.
    pub allowance: Option<f64>,
}

/// One piece of the pattern, as drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PatternPiece {
    /// Unique in its file; what the job refers to.
    pub name: String,
    /// The cut line: outer outlines counter-clockwise. Usually one. Closed,
    /// simple, the first point not repeated at the end, no two consecutive
    /// points equal. With the cutouts at most 20 000 points.
    pub cut: Vec<Polyline>,
    /// Internal cut-outs, clockwise, inside the cut line.
    pub cutouts: Vec<Polyline>,
    /// Net lines (where the seam is sewn), open or closed.
    pub net: Vec<Line>,
    /// Its edges, counter-clockwise, where the pattern names them; none: they run
    /// from corner to corner.
    pub edges: Vec<EdgeStart>,
    pub notches: Vec<Notch>,
    /// The grain, from tail to head (the arrow's point), if the drawing has one.
    pub grain: Option<[Point<PieceSpace>; 2]>,
    /// Edges that lie on the fold: parts of the cut line, point for point.
    pub folds: Vec<Polyline>,
    /// Internal lines: placement, stitching, pleats.
    pub lines: Vec<Line>,
    pub darts: Vec<Polyline>,
    pub drills: Vec<Point<PieceSpace>>,
    /// Where the label should stand, if the drawing says.
    pub label_at: Option<Point<PieceSpace>>,
    /// How many the pattern asks for, and whether as left and right.
    pub cut_count: u32,
    pub pair: bool,
}

/// A polyline that may be closed.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    pub points: Polyline,
    pub closed: bool,
}

/// A pattern file, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Pattern {
    pub pieces: Vec<PatternPiece>,
    /// What was in the file and could not be told, one sentence each: never a
    /// half-read pattern passed off as whole.
    pub left_out: Vec<String>,
    /// What the person should check, one sentence each.
    pub notes: Vec<String>,
}

impl PatternPiece {
    /// Its notches in the order in which one meets them going round the cut line, by
    /// their places in `notches`.
    pub fn notches_in_order(&self) -> Vec<usize> {
        let along = |n: &Notch| {
            let rings = self.cut.iter().enumerate();
            let on = rings.filter_map(|(k, ring)| {
                let closed: Vec<_> = ring.iter().chain(ring.first()).copied().collect();
                let (s, off) = nearest(&closed, n.at)?;
                Some((off, (k, s)))
            });
            let nearest = on.min_by(|a, b| a.0.total_cmp(&b.0));
            nearest.map_or((0, 0.0), |(_, place)| place)
        };
        let mut all: Vec<((usize, f64), usize)> = self.notches.iter().map(along).zip(0..).collect();
        all.sort_by(|a, b| a.0.0.cmp(&b.0.0).then(a.0.1.total_cmp(&b.0.1)));
        all.into_iter().map(|(_, k)| k).collect()
    }

    /// A piece of the given name with nothing drawn on it yet.
    pub fn named(name: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            cut: Vec::new(),
            cutouts: Vec::new(),
            net: Vec::new(),
            edges: Vec::new(),
            notches: Vec::new(),
            grain: None,
            folds: Vec::new(),
            lines: Vec::new(),
            darts: Vec::new(),
            drills: Vec::new(),
            label_at: None,
            cut_count: 1,
            pair: false,
        }
    }
}
