//! Which of many shapes are outlines, when the drawing does not say: the
//! closed ones that lie in no other.

use kurbo::{Point as Page, Rect};

use super::drawing::Drawn;
use super::flatten::{self, Budget, Ground};
use super::outline::encloses;
use crate::fault::{Fault, Outcome};
use crate::pattern::Polyline;
use crate::shape::surrounds;

/// Most edges looked at to see what lies in what.
const MAX_WORK: usize = 500_000_000;

const PAGE: Ground = Ground {
    origin: Page::ORIGIN,
};

struct Closed {
    index: usize,
    bounds: Rect,
    lines: Vec<Polyline>,
}

/// The indices, in order, of those `shapes` that are closed, enclose
/// something, and lie in no other that is and does.
///
/// # Errors
///
/// When there are too many points or shapes to tell.
pub fn outermost(shapes: &[Drawn]) -> Outcome<Vec<usize>> {
    // Only looked at, so it does not count against the file's points.
    let mut budget = Budget::new();
    let mut closed = Vec::new();
    for (index, drawn) in shapes.iter().enumerate() {
        if drawn.is_text {
            continue;
        }
        let placed = |fault: Fault| fault.at(drawn.place);
        let runs = flatten::runs(&drawn.path, PAGE, &mut budget).map_err(placed)?;
        let bounds = flatten::bounds(&drawn.path);
        if let (true, Some(bounds)) = (encloses(&runs), bounds) {
            let lines = runs.into_iter().map(|run| run.points).collect();
            closed.push(Closed {
                index,
                bounds,
                lines,
            });
        }
    }
    // From the largest down, so that what could hold a shape is known.
    closed.sort_by(|a, b| b.bounds.area().total_cmp(&a.bounds.area()));
    let mut outer: Vec<&Closed> = Vec::new();
    let mut work = 0;
    for shape in &closed {
        let mut within = false;
        for holder in &outer {
            work += 1;
            if !holds(holder.bounds, shape.bounds) {
                continue;
            }
            work += holder.lines.iter().map(Vec::len).sum::<usize>();
            within = shape
                .lines
                .iter()
                .flatten()
                .next()
                .is_some_and(|&point| holder.lines.iter().any(|line| surrounds(line, point)));
            if within {
                break;
            }
        }
        if work > MAX_WORK {
            return Err(Fault::input(
                "there are too many shapes to tell the outlines from the rest",
                "put each piece in a group with data-piece, and say which shape is cut",
            ));
        }
        if !within {
            outer.push(shape);
        }
    }
    let mut indices: Vec<usize> = outer.iter().map(|shape| shape.index).collect();
    indices.sort_unstable();
    Ok(indices)
}

/// Whether `drawn` draws closed lines only, be they too small for an outline.
///
/// # Errors
///
/// When it has too many points.
pub fn is_closed(drawn: &Drawn) -> Outcome<bool> {
    let runs = flatten::runs(&drawn.path, PAGE, &mut Budget::new())?;
    Ok(runs.iter().any(|run| run.closed) && runs.iter().all(|run| run.closed))
}

fn holds(outer: Rect, inner: Rect) -> bool {
    outer.union(inner) == outer && outer != inner
}
