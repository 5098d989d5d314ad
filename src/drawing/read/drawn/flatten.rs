//! Curves to straight edges, once, on the page, and into piece space.

use kurbo::{BezPath, PathEl, Point as Drawn, Rect, Shape, Vec2};

use super::limits::MAX_POINTS;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Polyline;
use crate::space::{Piece, Point};

/// Farthest that an edge may be from the curve it stands for, in mm.
pub const TOLERANCE: f64 = 0.02;
/// Points nearer than this, in mm, are one: editors round coordinates, and a
/// stub of rounding would count as a loop.
pub const SAME: f64 = 1e-4;
/// The part of [`TOLERANCE`] that is spent on flattening curves.
const FLATTENING: f64 = 0.014;
/// The part of it that may be spent on dropping points afterwards. What is
/// left is for the arcs' own tolerance and the joining of points.
pub const SIMPLIFYING: f64 = 0.005;
/// A path that ends this near to its start, in mm, is closed.
pub const GAP: f64 = 0.05;
/// The last point of a closed path is the first again if this near, in mm:
/// relative coordinates add up their rounding.
const DRIFT: f64 = 1e-3;

/// From the page (mm, y down) to a piece's own space.
#[derive(Debug, Clone, Copy)]
pub struct Ground {
    /// The piece's origin on the page.
    pub origin: Drawn,
}

impl Ground {
    pub fn piece(&self, p: Drawn) -> Point<Piece> {
        Point::new(p.x - self.origin.x, self.origin.y - p.y)
    }

    pub fn page(&self, p: Point<Piece>) -> Drawn {
        Drawn::new(p.x + self.origin.x, self.origin.y - p.y)
    }

    /// Where `p` is, as a person finds it on the page.
    pub fn say(&self, p: Point<Piece>) -> String {
        let p = self.page(p);
        format!("x {} mm, y {} mm", short(p.x), short(p.y))
    }
}

/// One sub-path, flattened.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    /// No two consecutive ones are nearer than [`SAME`]; if closed, the first
    /// is not repeated at the end.
    pub points: Polyline,
    pub closed: bool,
}

/// Most edges of outlines looked at to place the marks of one file.
const MAX_LOOKS: usize = 400_000_000;

/// What the file may still cost: points made, and edges looked at.
pub struct Budget {
    points: usize,
    looks: usize,
}

impl Budget {
    pub fn new() -> Self {
        Self {
            points: MAX_POINTS,
            looks: MAX_LOOKS,
        }
    }

    fn spend(&mut self, points: usize) -> Outcome<()> {
        self.points = self.points.checked_sub(points).ok_or_else(|| {
            Fault::input(
                "the drawing comes to more than 4 million points",
                "draw it with fewer points, or split the file",
            )
        })?;
        Ok(())
    }

    /// Counts a look at `edges` edges.
    ///
    /// # Errors
    ///
    /// When all looks together are more than any pattern needs.
    pub fn look(&mut self, edges: usize) -> Outcome<()> {
        self.looks = self.looks.checked_sub(edges).ok_or_else(|| {
            Fault::input(
                "the drawing has too many marks for the points of its cut lines",
                "draw them with fewer points, or split the file",
            )
        })?;
        Ok(())
    }
}

/// The sub-paths of `path` in piece space, each within [`FLATTENING`] of the
/// curves it stands for.
///
/// # Errors
///
/// When the points run out of `budget`.
pub fn runs(path: &BezPath, ground: Ground, budget: &mut Budget) -> Outcome<Vec<Run>> {
    let mut runs = Vec::new();
    let mut points: Polyline = Vec::new();
    let mut at = Drawn::ORIGIN;
    let add = |points: &mut Polyline, p: Drawn| {
        let p = ground.piece(p);
        if points
            .last()
            .is_none_or(|&last| (p - last).length() >= SAME)
        {
            points.push(p);
        }
    };
    for element in path.elements() {
        match *element {
            PathEl::MoveTo(p) => {
                finish(&mut runs, &mut points, false);
                budget.spend(1)?;
                add(&mut points, p);
                at = p;
            }
            PathEl::LineTo(p) => {
                budget.spend(1)?;
                add(&mut points, p);
                at = p;
            }
            PathEl::QuadTo(p1, p2) => {
                let steps = steps(0.25, bend(at, p1, p2));
                budget.spend(steps)?;
                let curve = kurbo::QuadBez::new(at, p1, p2);
                sample(&curve, steps, |p| add(&mut points, p));
                at = p2;
            }
            PathEl::CurveTo(p1, p2, p3) => {
                let steps = steps(0.75, bend(at, p1, p2).max(bend(p1, p2, p3)));
                budget.spend(steps)?;
                let curve = kurbo::CubicBez::new(at, p1, p2, p3);
                sample(&curve, steps, |p| add(&mut points, p));
                at = p3;
            }
            PathEl::ClosePath => finish(&mut runs, &mut points, true),
        }
    }
    finish(&mut runs, &mut points, false);
    Ok(runs)
}

fn finish(runs: &mut Vec<Run>, points: &mut Polyline, closed: bool) {
    let mut run = Run {
        points: std::mem::take(points),
        closed,
    };
    let gap = |points: &Polyline| match (points.first(), points.last()) {
        (Some(&first), Some(&last)) => (last - first).length(),
        _ => f64::INFINITY,
    };
    if !closed && run.points.len() > 3 && gap(&run.points) <= GAP {
        run.closed = true;
        run.points.pop();
    }
    while run.closed && run.points.len() > 1 && gap(&run.points) <= DRIFT {
        run.points.pop();
    }
    if !run.points.is_empty() {
        runs.push(run);
    }
}

/// The second difference of three control points, in mm.
fn bend(a: Drawn, b: Drawn, c: Drawn) -> f64 {
    let twice: Vec2 = (a - b) + (c - b);
    twice.hypot()
}

/// Wang's formula: with this many equal steps of the parameter no chord is
/// farther than [`FLATTENING`] from a Bézier curve whose second differences
/// are at most `bend`. `factor` is d(d−1)/8 for degree d.
fn steps(factor: f64, bend: f64) -> usize {
    // A saturating cast: what is too many runs out of budget.
    (factor * bend / FLATTENING).sqrt().ceil().max(1.0) as usize
}

fn sample(curve: &impl kurbo::ParamCurve, steps: usize, mut add: impl FnMut(Drawn)) {
    for step in 1..steps {
        add(curve.eval(step as f64 / steps as f64));
    }
    add(curve.end());
}

/// The exact bounding box of what `path` draws, from its curves' extremes; if
/// it draws no line, of its points. None if it has none.
pub fn bounds(path: &BezPath) -> Option<Rect> {
    let boxes = path.segments().map(|segment| segment.bounding_box());
    // A pen set down and not moved is no part of what is drawn.
    let drawn = boxes.filter(|b| b.width() > 0.0 || b.height() > 0.0);
    let points = path.elements().iter().filter_map(PathEl::end_point);
    drawn.reduce(|a, b| a.union(b)).or_else(|| {
        points
            .map(|p| Rect::from_points(p, p))
            .reduce(|a, b| a.union(b))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{CubicBez, ParamCurve};

    const STILL: Ground = Ground {
        origin: Drawn::ORIGIN,
    };

    fn flat(path: &BezPath) -> Vec<Run> {
        runs(path, STILL, &mut Budget::new()).unwrap()
    }

    fn svg(data: &str) -> Vec<Run> {
        flat(&BezPath::from_svg(data).unwrap())
    }

    /// Against the closed form: a chord is farthest from its circle at its
    /// middle.
    #[test]
    fn a_circle_is_flattened_within_the_tolerance_and_not_far_below() {
        let path = kurbo::Circle::new((0.0, 0.0), 100.0).to_path(1e-7);
        let run = flat(&path).remove(0);
        let mut worst = 0.0_f64;
        for (i, &a) in run.points.iter().enumerate() {
            let b = run.points[(i + 1) % run.points.len()];
            worst = worst.max(100.0 - a.lerp(b, 0.5).to_vector().length());
            assert!((a.to_vector().length() - 100.0).abs() < 1e-5);
        }
        assert!(worst <= TOLERANCE, "{worst}");
        assert!(worst > TOLERANCE / 4.0, "{worst}");
    }

    #[test]
    fn a_cubic_with_a_loop_and_a_near_cusp_stays_within_the_tolerance() {
        for control in [
            [(300., 0.), (-200., 0.)],
            [(90., 1.), (10., 1.)],
            [(0., 500.), (1., 0.)],
        ] {
            let curve = CubicBez::new((0., 0.), control[0], control[1], (100., 0.));
            let path = BezPath::from_vec(vec![
                PathEl::MoveTo(curve.p0),
                PathEl::CurveTo(curve.p1, curve.p2, curve.p3),
            ]);
            let points = &flat(&path)[0].points;
            for t in 0..=1000 {
                let p = STILL.piece(curve.eval(f64::from(t) / 1000.0));
                let off = crate::shape::nearest(points, p).unwrap().1;
                assert!(off <= TOLERANCE, "{off}");
            }
        }
    }

    #[test]
    fn a_path_is_closed_by_its_command_or_by_ending_at_its_start() {
        assert!(svg("M0 0h5v5z")[0].closed);
        assert!(svg("M0 0h5v5h-5v-4.95")[0].closed);
        assert!(!svg("M0 0h5v5h-5v-4.94")[0].closed);
        let drifted = svg("M0 0h5v5h-5v-4.9995z");
        assert_eq!(drifted[0].points.len(), 4);
        assert_eq!(svg("M0 0 h0.01")[0].points.len(), 2);
    }

    #[test]
    fn repeated_points_are_dropped_and_sub_paths_kept_apart() {
        let runs = svg("M0 0h5h0v5h1e-9z M9 9 M1 1 h3");
        let sizes: Vec<usize> = runs.iter().map(|run| run.points.len()).collect();
        assert_eq!(sizes, [3, 1, 2]);
    }

    #[test]
    fn bounds_come_from_what_is_drawn() {
        let of = |data: &str| bounds(&BezPath::from_svg(data).unwrap());
        assert_eq!(
            of("M0 0 Q5 10 10 0 M90 90 h0 M70 70 z"),
            Some(Rect::new(0., 0., 10., 5.))
        );
        assert_eq!(of("M90 80 z"), Some(Rect::new(90., 80., 90., 80.)));
        assert_eq!(of(""), None);
    }

    #[test]
    fn the_budget_ends_in_a_fault() {
        let path = BezPath::from_svg("M0 0 Q5 5 9 9").unwrap();
        let mut budget = Budget {
            points: 1,
            looks: 1,
        };
        assert!(runs(&path, STILL, &mut budget).is_err());
        assert!(budget.look(1).is_ok() && budget.look(1).is_err());
    }
}
