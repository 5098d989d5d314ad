//! Lines cut where an upright rectangle ends.

use kurbo::{BezPath, CubicBez, ParamCurve, PathSeg, Point, Rect, Shape, common::solve_cubic};

/// What lies on the rectangle's edge is within it, mm.
const ON: f64 = 1e-4;

/// Whether all of `path` lies in `to`.
pub fn is_within(path: &BezPath, to: Rect) -> bool {
    let b = path.control_box();
    let to = to.inflate(ON, ON);
    (to.contains(b.origin()) && b.x1 <= to.x1 && b.y1 <= to.y1) || {
        let b = path.bounding_box();
        b.x0 >= to.x0 && b.y0 >= to.y0 && b.x1 <= to.x1 && b.y1 <= to.y1
    }
}

/// The parts of `path` that lie in `to`; all of it, closed as it is, if it does.
pub fn cut(path: &BezPath, to: Rect) -> BezPath {
    if is_within(path, to) {
        return path.clone();
    }
    let grown = to.inflate(ON, ON);
    let inside =
        |p: Point| p.x >= grown.x0 && p.x <= grown.x1 && p.y >= grown.y0 && p.y <= grown.y1;
    let mut out = BezPath::new();
    let mut pen: Option<Point> = None;
    for segment in path.segments() {
        let mut stops = vec![0.0, 1.0];
        for (of, values) in [(0, [to.x0, to.x1]), (1, [to.y0, to.y1])] {
            for value in values {
                stops.extend(crossings(&segment, of, value));
            }
        }
        stops.sort_by(f64::total_cmp);
        for pair in stops.windows(2) {
            if pair[1] - pair[0] < 1e-12 || !inside(segment.eval((pair[0] + pair[1]) / 2.0)) {
                continue;
            }
            let part = segment.subsegment(pair[0]..pair[1]);
            if pen.is_none_or(|at| (at - part.start()).hypot() > 1e-9) {
                out.move_to(part.start());
            }
            pen = Some(part.end());
            out.push(part.as_path_el());
        }
    }
    out
}

/// Where on the segment its x (0) or y (1) is `value`.
fn crossings(segment: &PathSeg, of: usize, value: f64) -> Vec<f64> {
    let pick = |p: Point| if of == 0 { p.x } else { p.y };
    let roots: Vec<f64> = match segment {
        PathSeg::Line(line) => {
            let (a, b) = (pick(line.p0), pick(line.p1));
            if a == b {
                Vec::new()
            } else {
                vec![(value - a) / (b - a)]
            }
        }
        other => {
            let CubicBez { p0, p1, p2, p3 } = other.to_cubic();
            let [a, b, c, d] = [p0, p1, p2, p3].map(pick);
            let roots = solve_cubic(
                a - value,
                3.0 * (b - a),
                3.0 * (c - 2.0 * b + a),
                d - 3.0 * c + 3.0 * b - a,
            );
            roots.to_vec()
        }
    };
    roots.into_iter().filter(|t| *t > 0.0 && *t < 1.0).collect()
}
