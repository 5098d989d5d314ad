//! What lies on the cloth of a piece, and what lies wholly beside it.

use super::flatten::{Budget, Run, TOLERANCE};
use super::foot::nearest;
use super::outline::Outlines;
use crate::fault::Outcome;
use crate::pattern::Polyline;
use crate::shape::surrounds;
use crate::space::{Bounds, Piece, Point};

type At = Point<Piece>;

/// Whether all of `runs` lies outside the piece or in its cutouts. What lies
/// on an outline is not outside.
///
/// # Errors
///
/// When it takes more looks than `budget` has left.
pub fn all_outside(runs: &[Run], outlines: &Outlines, budget: &mut Budget) -> Outcome<bool> {
    let edges: usize = outlines.all().map(Vec::len).sum();
    let around = Bounds::from_points(outlines.cut.iter().flatten()).inflate(TOLERANCE, TOLERANCE);
    for &p in runs.iter().flat_map(|run| &run.points) {
        if around.contains_inclusive(p) {
            budget.look(2 * edges)?;
            if on_cloth(p, outlines) {
                return Ok(false);
            }
        }
    }
    for run in runs {
        let count = run.points.len();
        for index in 0..count - usize::from(!run.closed && count > 0) {
            let (a, b) = (run.points[index], run.points[(index + 1) % count]);
            let reach = Bounds::from_points([a, b]).inflate(TOLERANCE, TOLERANCE);
            if reach.intersects(&around) {
                budget.look(edges)?;
                if outlines.all().any(|line| crosses(a, b, line)) {
                    return Ok(false);
                }
            }
        }
    }
    Ok(true)
}

fn on_cloth(p: At, outlines: &Outlines) -> bool {
    let holding = outlines.all().filter(|line| surrounds(line, p)).count();
    let edge = || nearest(p, outlines.all()).is_some_and(|foot| foot.distance <= TOLERANCE);
    holding % 2 == 1 || edge()
}

/// Whether the stroke from `a` to `b` goes through an edge of `line`, be it
/// at the edge's end.
fn crosses(a: At, b: At, line: &Polyline) -> bool {
    let next = line.iter().cycle().skip(1);
    line.iter().zip(next).any(|(&c, &d)| {
        let (edge, stroke) = (d - c, b - a);
        edge.cross(a - c) * edge.cross(b - c) < 0.0
            && stroke.cross(c - a) * stroke.cross(d - a) <= 0.0
    })
}
