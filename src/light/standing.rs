//! A piece's light, in its own space and where it stands on the table.

use super::creep::{STEPS, gaps};
use super::{TOUCH, band, label, marks, notch};
use crate::pattern::PatternPiece;
use crate::shape::{Region, difference, intersection, near_boxed, union};
use crate::space::{Bounds, Piece, Point, Rigid, Table};
use std::sync::{Arc, OnceLock};

/// A piece's own light, in its own space.
#[derive(Debug)]
pub(super) struct Drawing {
    pub(super) inside: Region<Piece>,
    pub(super) band: Region<Piece>,
    /// The band in dashes, step by step, as they are first asked for.
    dashes: [OnceLock<Region<Piece>>; STEPS],
    pub(super) signs: Vec<Region<Piece>>,
    pub(super) kept: Region<Piece>,
    /// Ticks and inner marks; they do not overlap.
    pub(super) marks: Region<Piece>,
    /// Where a label may stand, and where not.
    pub(super) free: Region<Piece>,
    pub(super) barred: Region<Piece>,
    pub(super) wish: Point<Piece>,
    /// What labels beside it keep off, from when one first has to.
    keep_off: OnceLock<Region<Piece>>,
}

/// A notch's sign on the table, and the box round it.
#[derive(Debug)]
pub(super) struct Sign {
    pub(super) lit: Region<Table>,
    pub(super) bounds: Bounds<Table>,
}

/// One laid piece on the table: what its neighbours ask for. Its band and marks
/// are moved there only when they are lit.
#[derive(Debug)]
pub(super) struct Standing {
    pub(super) drawing: Arc<Drawing>,
    pub(super) pose: Rigid<Piece, Table>,
    pub(super) inside: Region<Table>,
    /// The box round `inside`, so that far pieces are told at a glance.
    pub(super) bounds: Bounds<Table>,
    pub(super) signs: Vec<Sign>,
    pub(super) kept: Region<Table>,
    pub(super) kept_bounds: Bounds<Table>,
    /// The label, about the piece's origin, if there is room inside.
    pub(super) label: Option<Arc<Region<Table>>>,
    pub(super) beside: Option<Region<Table>>,
}

/// Works out a piece's light, with a band of `width` mm.
pub(super) fn draw(piece: &PatternPiece, width: f64) -> Drawing {
    let inside = band::inside(piece);
    let ticks: Vec<Region<Piece>> = piece
        .notches
        .iter()
        .map(|n| notch::tick(n, &inside))
        .collect();
    let inner = marks::marks(piece, &inside);
    let middle = inside.bounds().map_or(Point::origin(), |b| b.center());
    let marks = intersection(&union(ticks.iter().chain([&inner])), &inside);
    let (free, barred) = label::clear(&inside, &marks);
    let outside = band::outside(&inside, &piece.notches, &piece.folds, width);
    Drawing {
        band: outside.band,
        dashes: Default::default(),
        signs: outside.signs,
        kept: outside.kept,
        marks,
        free,
        barred,
        wish: piece.label_at.unwrap_or(middle),
        keep_off: OnceLock::new(),
        inside,
    }
}

impl Standing {
    /// Whether two pieces come within `reach` mm of each other.
    pub(super) fn is_near(&self, other: &Standing, reach: f64) -> bool {
        near_boxed(
            (&self.inside, &self.bounds),
            (&other.inside, &other.bounds),
            reach,
        )
    }

    /// Whether a sign of this piece meets another piece, its band or its signs.
    pub(super) fn signs_reach(&self, other: &Standing) -> bool {
        self.signs
            .iter()
            .any(|sign| other.is_met_by(&sign.lit, &sign.bounds))
    }

    /// Whether another piece's sign in a box `at` meets this piece, its band or
    /// its signs.
    pub(super) fn is_met_by(&self, sign: &Region<Table>, at: &Bounds<Table>) -> bool {
        let meets = |r: &Region<Table>, b: &Bounds<Table>| {
            at.intersects(b) && near_boxed((sign, at), (r, b), TOUCH)
        };
        meets(&self.kept, &self.kept_bounds) || self.signs.iter().any(|s| meets(&s.lit, &s.bounds))
    }

    /// What labels beside the piece keep off; its band is `width` mm wide.
    pub(super) fn keep_off(&self, width: f64) -> Region<Table> {
        let d = &self.drawing;
        let grown = d
            .keep_off
            .get_or_init(|| label::keep_off(&d.inside, &d.signs, width));
        grown.moved(&self.pose)
    }

    /// The band before its neighbours have their say.
    pub(super) fn band(&self) -> Region<Table> {
        self.drawing.band.moved(&self.pose)
    }

    /// The same in dashes, at a step; `width` is the band's, mm.
    pub(super) fn dashes(&self, step: usize, width: f64) -> Region<Table> {
        let drawing = &self.drawing;
        let made = drawing.dashes[step % STEPS]
            .get_or_init(|| difference(&drawing.band, &gaps(&drawing.inside, width, step)));
        made.moved(&self.pose)
    }

    /// Everything that is lit inside the piece.
    pub(super) fn marks_and_label(&self) -> Region<Table> {
        let mut all = self.drawing.marks.moved(&self.pose);
        if let Some(label) = &self.label {
            let shift: Rigid<Table, Table> = Rigid::new(false, 0.0, self.pose.shift);
            all.append(label.moved(&shift));
        }
        all
    }
}
