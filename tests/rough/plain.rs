//! Plain geometry by brute force, written for these tests alone.

use ghostchalk::shape::Region;
use ghostchalk::space::{Point, Table};

type Edge = ((f64, f64), (f64, f64));

pub fn edge(a: Point<Table>, b: Point<Table>) -> Edge {
    ((a.x, a.y), (b.x, b.y))
}

pub fn edges(region: &Region<Table>) -> Vec<Edge> {
    let of = |r: &Vec<Point<Table>>| -> Vec<Edge> {
        (0..r.len())
            .map(|k| edge(r[k], r[(k + 1) % r.len()]))
            .collect()
    };
    region.rings.iter().flat_map(of).collect()
}

pub fn from_edge((x, y): (f64, f64), ((ax, ay), (bx, by)): Edge) -> f64 {
    let (dx, dy) = (bx - ax, by - ay);
    let size = dx * dx + dy * dy;
    let t = if size == 0.0 {
        0.0
    } else {
        ((x - ax) * dx + (y - ay) * dy) / size
    };
    let t = t.clamp(0.0, 1.0);
    (x - ax - t * dx).hypot(y - ay - t * dy)
}

/// Between two edges.
pub fn apart(e: Edge, f: Edge) -> f64 {
    let turn = |(a, b): Edge, p: (f64, f64)| (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0);
    let cross = turn(e, f.0) * turn(e, f.1) < 0.0 && turn(f, e.0) * turn(f, e.1) < 0.0;
    if cross {
        return 0.0;
    }
    let all = [
        from_edge(f.0, e),
        from_edge(f.1, e),
        from_edge(e.0, f),
        from_edge(e.1, f),
    ];
    all.into_iter().fold(f64::INFINITY, f64::min)
}

/// Even-odd: a ray to the right crosses an odd number of edges.
pub fn holds(region: &[Edge], (x, y): (f64, f64)) -> bool {
    let crosses = |&&((ax, ay), (bx, by)): &&Edge| {
        (ay > y) != (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)
    };
    region.iter().filter(crosses).count() % 2 == 1
}
