//! A piece as it is sewn, before there is allowance round it: what a draft draws, and
//! what a cut line is made from.

use super::piece::PatternPiece;

/// How the cut line turns a corner of the net line, as the allowances there are treated
/// in sewing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Corner {
    /// The two edges' cut lines run on until they meet.
    #[default]
    Mitred,
    /// The allowance of the edge that begins here is folded back along its net line, and
    /// the other edge's seam is to be covered by it: the cut line is the other edge's,
    /// mirrored about the fold.
    Folded,
    /// Each edge's allowance ends square to its net line at the corner; the cut line goes
    /// straight from the one's end to the other's.
    Squared,
}

/// One edge of a [`NetPiece`], beside what its [`super::EdgeStart`] says.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EdgeMake {
    /// At the corner where the edge begins.
    pub corner: Corner,
    /// The edge lies on a fold of the cloth: no allowance, and it is not cut.
    pub on_fold: bool,
    /// mm from the net line to the stitching that lies farthest into the allowance, ≥ 0:
    /// a notch keeps 1 mm short of it. 0: the seam itself.
    pub stitched: f64,
}

/// A piece whose net line is known and whose cut line is not.
#[derive(Debug, Clone, PartialEq)]
pub struct NetPiece {
    /// `net[0]` is its closed net line, counter-clockwise; `edges` names every edge of
    /// it with its allowance; notches lie on the net line, `inward` unit normals into the
    /// piece, `depth` as wished for; `cut` and `folds` are empty.
    pub piece: PatternPiece,
    /// One for each of `piece.edges`, in that order.
    pub makes: Vec<EdgeMake>,
}
