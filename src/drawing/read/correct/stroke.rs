//! The strokes of a piece as it was read, each by a number that a person can say.

use kurbo::{BezPath, Point as OnPage};

use crate::drawing::read::drawn::roles::Role;
use crate::pattern::{NotchKind, PatternPiece, Polyline};
use crate::space::{Piece, Point};

/// What a stroke is taken to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Taken {
    /// The line along which its piece is cut.
    Cut,
    /// A hole in its piece.
    Cutout,
    /// Where the seam is sewn.
    Net,
    /// A clip into the edge.
    Notch(NotchKind),
    /// The grain, from its first point to its last.
    Grain,
    /// The edge that lies on the fold.
    Fold,
    /// An inner line: placement, stitching, pleats.
    Line,
    Dart,
    /// A drill point, in the middle of the stroke.
    Drill,
    /// Where the label stands.
    Label,
    /// The cut line of a piece of its own, of this name; what lies in it is that piece's.
    Piece(String),
    /// Nothing of the pattern.
    LeftOut,
}

impl Taken {
    /// In the trade's words.
    pub fn words(&self) -> &'static str {
        match self {
            Self::Cut => "cut line",
            Self::Cutout => "hole",
            Self::Net => "net line",
            Self::Notch(NotchKind::Slit) => "notch, slit",
            Self::Notch(NotchKind::Double) => "notch, double",
            Self::Notch(NotchKind::Vee) => "notch, vee",
            Self::Grain => "grain line",
            Self::Fold => "fold",
            Self::Line => "inner line",
            Self::Dart => "dart",
            Self::Drill => "drill point",
            Self::Label => "label",
            Self::Piece(_) => "piece of its own",
            Self::LeftOut => "left out",
        }
    }

    pub(super) fn role(&self) -> Option<Role> {
        Some(match self {
            Self::Cut | Self::Piece(_) => Role::Cut,
            Self::Cutout => Role::Cutout,
            Self::Net => Role::Net,
            Self::Notch(_) => Role::Notch,
            Self::Grain => Role::Grain,
            Self::Fold => Role::Fold,
            Self::Line => Role::Line,
            Self::Dart => Role::Dart,
            Self::Drill => Role::Drill,
            Self::Label => Role::Label,
            Self::LeftOut => return None,
        })
    }
}

/// One line or mark of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// In the space of the piece as it was read. A drill point or a label is one point.
    pub points: Polyline,
    pub closed: bool,
    pub taken: Taken,
}

impl Stroke {
    /// On a page in mm, y down.
    pub(super) fn path(&self) -> BezPath {
        let at = |p: &Point<Piece>| OnPage::new(p.x, -p.y);
        let mut path = BezPath::new();
        let mut points = self.points.iter().map(at);
        if let Some(first) = points.next() {
            path.move_to(first);
            // A point alone is drawn as a line of no length.
            if self.points.len() == 1 {
                path.line_to(first);
            }
        }
        points.for_each(|p| path.line_to(p));
        if self.closed {
            path.close_path();
        }
        path
    }
}

/// All strokes of a piece: cut lines, holes, net lines, folds, inner lines, darts, notches,
/// the grain, drill points, the label.
pub fn strokes(piece: &PatternPiece) -> Vec<Stroke> {
    let stroke = |points: &Polyline, closed: bool, taken: Taken| Stroke {
        points: points.clone(),
        closed,
        taken,
    };
    let rings = |of: &[Polyline], taken: Taken| -> Vec<Stroke> {
        of.iter().map(|r| stroke(r, true, taken.clone())).collect()
    };
    let mut all = rings(&piece.cut, Taken::Cut);
    all.extend(rings(&piece.cutouts, Taken::Cutout));
    let net = piece.net.iter();
    all.extend(net.map(|l| stroke(&l.points, l.closed, Taken::Net)));
    all.extend(piece.folds.iter().map(|f| stroke(f, false, Taken::Fold)));
    let lines = piece.lines.iter();
    all.extend(lines.map(|l| stroke(&l.points, l.closed, Taken::Line)));
    all.extend(piece.darts.iter().map(|d| stroke(d, false, Taken::Dart)));
    all.extend(piece.notches.iter().map(|n| {
        let ends = vec![n.at, n.at + n.inward * n.depth];
        stroke(&ends, false, Taken::Notch(n.kind))
    }));
    let grain = piece.grain.iter();
    all.extend(grain.map(|g| stroke(&g.to_vec(), false, Taken::Grain)));
    let drills = piece.drills.iter();
    all.extend(drills.map(|&d| stroke(&vec![d], false, Taken::Drill)));
    let label = piece.label_at.iter();
    all.extend(label.map(|&l| stroke(&vec![l], false, Taken::Label)));
    all
}
