//! Where two lines, two circles, a line and a circle, or a line and a curve meet.

use kurbo::{Point, Vec2};

use super::curve::{Curve, left};
use crate::fault::{Fault, Outcome, short};

/// Misses smaller than this are touching, mm.
const TOUCH: f64 = 1e-6;

/// What a point may lie on.
pub enum Locus<'a> {
    /// Endless both ways; the direction is a unit vector.
    Line(Point, Vec2),
    /// Centre, radius in mm.
    Circle(Point, f64),
    Path(&'a Curve),
}

/// All points that lie on both.
///
/// # Errors
/// If there is none; the fault says by how much they miss.
pub fn meet(one: &Locus, other: &Locus) -> Outcome<Vec<Point>> {
    use Locus::{Circle, Line, Path};
    match (one, other) {
        (Line(p, u), Line(q, v)) => {
            let cross = u.cross(*v);
            if cross.abs() < 1e-9 {
                let apart = u.cross(*q - *p).abs();
                return Err(Fault::input(
                    format!("the two lines run side by side, {} mm apart", short(apart)),
                    "change the direction of one",
                ));
            }
            Ok(vec![*p + *u * ((*q - *p).cross(*v) / cross)])
        }
        (Line(p, u), Circle(c, r)) | (Circle(c, r), Line(p, u)) => {
            let foot = *p + *u * (*c - *p).dot(*u);
            let off = (foot - *c).hypot();
            if off > r + TOUCH {
                return Err(miss("the line and the arc", off - r));
            }
            Ok(both(foot, *u, (r * r - off * off).max(0.0).sqrt()))
        }
        (Circle(c, r), Circle(d, s)) => {
            let apart = (*d - *c).hypot();
            if apart < TOUCH {
                return Err(Fault::input(
                    "the two arcs have the same centre",
                    "give one another centre",
                ));
            }
            let gap = (apart - r - s).max((r - s).abs() - apart);
            if gap > TOUCH {
                return Err(miss("the two arcs", gap));
            }
            // The chord that both share: x along the line of centres.
            let x = (apart * apart + r * r - s * s) / (2.0 * apart);
            let u = (*d - *c) / apart;
            Ok(both(*c + u * x, left(u), (r * r - x * x).max(0.0).sqrt()))
        }
        (Line(p, u), Path(curve)) | (Path(curve), Line(p, u)) => {
            let hits = curve.met_by(*p, *u);
            if hits.is_empty() {
                let off = curve.flat().into_iter().map(|q| u.cross(q - *p).abs());
                return Err(miss(
                    "the line and the curve",
                    off.fold(f64::INFINITY, f64::min),
                ));
            }
            Ok(hits)
        }
        (Path(_), _) | (_, Path(_)) => Err(Fault::input(
            "a curve meets straight lines only",
            "use a line: line a, b",
        )),
    }
}

fn miss(what: &str, by: f64) -> Fault {
    Fault::input(
        format!("{what} don't meet: they miss by {} mm", short(by)),
        "make one longer, or move a point",
    )
}

fn both(mid: Point, along: Vec2, half: f64) -> Vec<Point> {
    if half < TOUCH {
        vec![mid]
    } else {
        vec![mid + along * half, mid - along * half]
    }
}
