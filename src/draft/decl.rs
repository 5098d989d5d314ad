//! What a draft's file says, names looked up, nothing drawn yet.

use super::formula::Formula;
use super::names::{Path, PointRef};
use crate::fault::{Fault, Outcome};
use crate::pattern::{Corner, EdgeName, FitsAt, NotchKind};

/// Where in the file something is said.
#[derive(Debug, Clone, Default)]
pub struct Where {
    /// From 1.
    pub line: usize,
    /// `point "toe" of "sole"`.
    pub what: String,
}

impl Where {
    /// The fault, placed here.
    pub fn put(&self, fault: Fault) -> Fault {
        fault.at(&self.what).at(format!("line {}", self.line))
    }

    /// A fault that is here.
    pub fn fault(&self, what: impl Into<String>, remedy: impl Into<String>) -> Fault {
        self.put(Fault::input(what, remedy))
    }

    /// What went wrong inside, placed here unless it has its line already.
    pub fn within<T>(&self, outcome: Outcome<T>) -> Outcome<T> {
        outcome.map_err(|fault| {
            let placed = fault.place.iter().any(|p| p.starts_with("line "));
            if placed { fault } else { self.put(fault) }
        })
    }
}

/// A direction.
#[derive(Debug, Clone)]
pub enum Way {
    /// Degrees, counter-clockwise from right.
    Degrees(f64),
    Towards(PointRef),
    AwayFrom(PointRef),
    /// As a line runs, where the point is nearest to it.
    Along(Path),
    /// A quarter turn to the left of that.
    SquareTo(Path),
}

#[derive(Debug, Clone)]
pub struct Heading {
    pub way: Way,
    /// Degrees more, counter-clockwise.
    pub turn: Option<Formula>,
}

/// How a point is found.
#[derive(Debug, Clone)]
pub enum PointMake {
    Moved {
        from: Option<PointRef>,
        go: Option<(Heading, Formula)>,
        /// Right and up by lengths, each with its sign.
        steps: Vec<(f64, f64, Formula)>,
    },
    /// x of the first, y of the second.
    Corner {
        upright: PointRef,
        level: PointRef,
    },
    /// A length, or a share of the whole, along a run; from its start, or from its end.
    On {
        run: Path,
        at: Formula,
        back: bool,
    },
    Meet {
        of: [Place; 2],
        nearest: Option<PointRef>,
    },
    Mirrored {
        of: PointRef,
        about: Path,
    },
}

/// What meets.
#[derive(Debug, Clone)]
pub enum Place {
    Line(PointRef, Heading),
    Circle(PointRef, Formula),
    Through([PointRef; 3]),
    Path(Path),
}

#[derive(Debug, Clone)]
pub struct PointDecl {
    pub name: String,
    pub make: PointMake,
    pub at: Where,
}

/// A tangent at a point of a curve.
#[derive(Debug, Clone)]
pub struct TangentDecl {
    pub heading: Heading,
    pub pull: Option<Formula>,
}

/// How a line is drawn.
#[derive(Debug, Clone)]
pub enum LineMake {
    Straight(Vec<PointRef>),
    Curve {
        points: Vec<PointRef>,
        tangents: Vec<Option<TangentDecl>>,
        closed: bool,
    },
    ArcThrough([PointRef; 3]),
    /// From, to, centre; turning left (counter-clockwise) or right.
    ArcAbout([PointRef; 3], bool),
    /// From, to, radius; the shorter arc, turning left or right.
    ArcOf([PointRef; 2], Formula, bool),
    Part {
        of: Path,
        from: PointRef,
        to: PointRef,
    },
    Join(Vec<Path>),
    Beside {
        of: Path,
        by: Formula,
    },
    Mirrored {
        of: Path,
        about: Path,
    },
}

#[derive(Debug, Clone)]
pub struct LineDecl {
    pub name: String,
    pub make: LineMake,
    /// Marked on the piece.
    pub show: bool,
    /// Cut out of the piece.
    pub cutout: bool,
    /// Not on the mirrored half.
    pub once: bool,
    pub at: Where,
}

#[derive(Debug, Clone)]
pub struct EdgeDecl {
    pub name: String,
    pub make: LineMake,
    pub allowance: Option<Formula>,
    pub stitched: Option<Formula>,
    pub corner: Corner,
    pub fold: bool,
    /// What its mirror image is called.
    pub mirrored: String,
    /// It runs on into its mirror image.
    pub whole: bool,
    pub at: Where,
}

/// Where along its edge a notch or dart is.
#[derive(Debug, Clone)]
pub enum Spot {
    At {
        at: Formula,
        back: bool,
    },
    Point(PointRef),
    /// Where a notch of another edge falls: which piece, which of its notches.
    As {
        run: Path,
        notch: (usize, usize),
        /// The other edge is drawn from the other end of the seam.
        reversed: bool,
        /// In proportion to both lengths; else at the same length.
        shared: bool,
    },
}

#[derive(Debug, Clone)]
pub struct NotchDecl {
    pub edge: usize,
    pub spot: Spot,
    pub kind: NotchKind,
    pub depth: Option<Formula>,
    pub once: bool,
    pub at: Where,
}

#[derive(Debug, Clone)]
pub struct DartDecl {
    pub edge: usize,
    pub spot: Spot,
    pub width: Formula,
    /// How deep, square to the mouth; or where its point lies.
    pub depth: Option<Formula>,
    pub tip: Option<PointRef>,
    pub once: bool,
    pub at: Where,
}

#[derive(Debug, Clone)]
pub struct PieceDecl {
    pub name: String,
    pub cut: u32,
    pub pair: bool,
    pub allowance: Option<Formula>,
    pub stitched: Option<Formula>,
    pub mirror: Option<[PointRef; 2]>,
    pub grain: Option<[PointRef; 2]>,
    pub label: Option<PointRef>,
    pub drills: Vec<PointRef>,
    pub points: Vec<PointDecl>,
    pub lines: Vec<LineDecl>,
    pub edges: Vec<EdgeDecl>,
    pub notches: Vec<NotchDecl>,
    pub darts: Vec<DartDecl>,
    pub at: Where,
}

/// A named length.
#[derive(Debug, Clone)]
pub enum LengthMake {
    Is(Formula),
    /// Between `least` and `most`, such that `until` comes to `is`.
    Until {
        until: Formula,
        is: Formula,
        least: Formula,
        most: Formula,
    },
}

#[derive(Debug, Clone)]
pub struct LengthDecl {
    pub name: String,
    pub make: LengthMake,
    pub at: Where,
}

#[derive(Debug, Clone)]
pub struct SeamDecl {
    pub name: String,
    pub one: Vec<EdgeName>,
    pub other: Vec<EdgeName>,
    pub ease: Option<Formula>,
    pub tolerance: Option<Formula>,
    pub at: Where,
}

#[derive(Debug, Clone)]
pub struct RingDecl {
    pub name: String,
    pub edges: Vec<EdgeName>,
    pub girth: Formula,
    pub ease: Option<Formula>,
    pub cloth: Option<Formula>,
    pub measured: FitsAt,
    pub tolerance: Option<Formula>,
    pub sewn: Option<Formula>,
    pub at: Where,
}
