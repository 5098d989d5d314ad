//! Sub-paths of their own: what is joined, and what is sorted.

use std::collections::HashSet;
use std::hash::{BuildHasher, BuildHasherDefault, DefaultHasher};

use kurbo::{BezPath, PathEl, Point as Page};

use super::{MAX_STROKES, Sheet, Stroke};
use crate::drawing::read::drawn::flatten::{self, Budget, Ground};
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::fault::{Fault, Outcome};
use crate::shape::edge_distance;
use crate::space::{Bounds, Piece, Point};

pub const PAGE: Ground = Ground {
    origin: Page::ORIGIN,
};

/// One sub-path, as drawn and flattened.
#[derive(Debug, Clone)]
pub struct Single<'s> {
    pub stroke: &'s Stroke,
    pub path: BezPath,
    /// mm, y up; of a closed one the first is not repeated.
    pub points: Vec<Point<Piece>>,
    pub closed: bool,
    pub bounds: Bounds<Piece>,
}

impl Single<'_> {
    pub fn first(&self) -> Point<Piece> {
        self.points[0]
    }

    pub fn last(&self) -> Point<Piece> {
        self.points[self.points.len() - 1]
    }

    /// The longer side of its box, mm.
    pub fn size(&self) -> f64 {
        self.bounds.width().max(self.bounds.height())
    }

    /// Its ends, if it is open and bows by less than a fiftieth of its length.
    pub fn straight(&self) -> Option<[Point<Piece>; 2]> {
        let (a, b) = (self.first(), self.last());
        let length = (b - a).length();
        let flat = |p: &Point<Piece>| edge_distance((a, b), *p) <= 0.02 * length;
        (!self.closed && length > 0.0 && self.points.iter().all(flat)).then_some([a, b])
    }
}

/// The sub-paths of `sheet`; what draws nothing is passed over, what is drawn twice is
/// listed.
///
/// # Errors
///
/// When there are more than [`MAX_STROKES`], or too many points.
pub fn singles<'s>(
    sheet: &'s Sheet,
    budget: &mut Budget,
    left_out: &mut LeftOut,
) -> Outcome<Vec<Single<'s>>> {
    let mut singles = Vec::new();
    let mut seen = HashSet::new();
    for stroke in &sheet.strokes {
        for path in sub_paths(&stroke.path) {
            let placed = |fault: Fault| fault.at(stroke.place.place());
            let Some(run) = flatten::runs(&path, PAGE, budget).map_err(placed)?.pop() else {
                continue;
            };
            if run.points.len() < 2 {
                continue;
            }
            // Once filled, once stroked: the same points, from whichever end.
            let bounds = Bounds::from_points(&run.points);
            let grid = |p: &Point<Piece>| ((p.x * 1e3).round() as i64, (p.y * 1e3).round() as i64);
            let hash =
                |p: &Point<Piece>| BuildHasherDefault::<DefaultHasher>::default().hash_one(grid(p));
            let all = run
                .points
                .iter()
                .fold(0_u64, |sum, p| sum.wrapping_add(hash(p)));
            let key = (
                [grid(&bounds.min), grid(&bounds.max)],
                (all, run.points.len(), run.closed),
                stroke.dashed,
                stroke.layer.as_deref(),
            );
            if !seen.insert(key) {
                const TWICE: Why = Why::Said("it is drawn twice", "they are drawn twice");
                left_out.add(stroke.place.place(), TWICE);
                continue;
            }
            if singles.len() >= MAX_STROKES {
                return Err(Fault::input(
                    "there are more than 500 000 strokes",
                    "take what is not pattern (pictures, hatching) out of the file, or pick its layers",
                ));
            }
            let mut path = path;
            if run.closed && path.elements().last() != Some(&PathEl::ClosePath) {
                path.close_path();
            }
            singles.push(Single {
                stroke,
                path,
                points: run.points,
                closed: run.closed,
                bounds,
            });
        }
    }
    Ok(singles)
}

fn sub_paths(path: &BezPath) -> Vec<BezPath> {
    let mut all: Vec<BezPath> = Vec::new();
    let mut start = Page::ORIGIN;
    let mut open = false;
    for &element in path.elements() {
        match element {
            PathEl::MoveTo(p) => {
                start = p;
                all.push(BezPath::from_vec(vec![element]));
                open = true;
                continue;
            }
            // After a close the pen stands at the start again.
            _ if !open => all.push(BezPath::from_vec(vec![PathEl::MoveTo(start)])),
            _ => {}
        }
        open = element != PathEl::ClosePath;
        if let Some(last) = all.last_mut() {
            last.push(element);
        }
    }
    all
}
