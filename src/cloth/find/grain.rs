//! The grain, by what speaks for it: stripes, weave, selvedges.

use super::ring::{evenly, simpler};
use super::stripes::Striped;
use super::weave::{Weave, apart, turned};
use crate::space::{Point, Table, Vector, mean};

/// Shorter edges are no selvedge, mm.
const LONG: f64 = 110.0;
/// A selvedge is straight to so many mm, root mean square.
const STRAIGHT: f64 = 0.3;
/// Two selvedges run alike to within this, degrees: threads run from the one to the other.
const PARALLEL: f64 = 0.6;
/// A selvedge draws in: its direction is not the warp's to better than this, degrees. *Estimate.*
const DRAWS: f64 = 0.3;
/// Two that speak of the same agree to within this, degrees, or three times their error.
const AGREE: f64 = 2.0;
/// An error beyond which nothing is told, degrees.
const LOOSE: f64 = 1.0;

/// What speaks for a grain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    Stripes,
    Weave,
    Selvedge,
}

/// The warp's direction on the table.
#[derive(Debug, Clone, PartialEq)]
pub enum Grain {
    Told {
        /// Degrees counter-clockwise from +x, 0 to 180.
        deg: f64,
        /// Standard error, degrees.
        error: f64,
        by: Vec<By>,
    },
    CantTell {
        /// A sentence's part: why.
        why: String,
    },
}

/// A straight edge: the way it runs, degrees, its standard error, where its middle is, and which
/// way is out.
#[derive(Debug, Clone, Copy)]
struct Edge {
    deg: f64,
    error: f64,
    out: Vector<Table>,
}

/// The long straight edges of an outline.
fn straight(outline: &[Point<Table>]) -> Vec<Edge> {
    let fine = evenly(outline, 1.0);
    let corners = simpler(&fine, 3.0 * STRAIGHT);
    let at = |p: &Point<Table>| fine.iter().position(|q| q == p);
    let mut edges = Vec::new();
    for (a, b) in crate::shape::pairs(&corners) {
        if (b - a).length() < LONG {
            continue;
        }
        let (Some(from), Some(to)) = (at(&a), at(&b)) else {
            continue;
        };
        let count = (to + fine.len() - from) % fine.len();
        // Corners are round.
        let own: Vec<Point<Table>> = (6..count.saturating_sub(6))
            .map(|k| fine[(from + k) % fine.len()])
            .collect();
        let n = own.len() as f64;
        if n < LONG * 0.8 {
            continue;
        }
        let Some(middle) = mean(own.iter().copied()) else {
            continue;
        };
        let along = (b - a).normalize();
        let (mut xx, mut xy) = (0.0, 0.0);
        for p in &own {
            let by = *p - middle;
            let (x, y) = (by.dot(along), along.cross(by));
            xx += x * x;
            xy += x * y;
        }
        let slope = xy / xx;
        let left = own.iter().map(|p| {
            let by = *p - middle;
            (along.cross(by) - slope * by.dot(along)).powi(2)
        });
        let rms = (left.sum::<f64>() / n).sqrt();
        if rms > STRAIGHT {
            continue;
        }
        // Places 5 mm apart err by themselves.
        let error = rms / (xx / n).sqrt() / (n / 5.0).sqrt();
        let deg = along.y.atan2(along.x).to_degrees() + slope.atan().to_degrees();
        edges.push(Edge {
            deg: deg.rem_euclid(180.0),
            error: error.to_degrees().hypot(DRAWS),
            out: Vector::new(along.y, -along.x),
        });
    }
    edges
}

/// Pairs of selvedges: their common direction and its error.
fn selvedges(edges: &[Edge]) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    for (i, a) in edges.iter().enumerate() {
        for b in &edges[i + 1..] {
            let off = apart(a.deg, b.deg);
            if off < PARALLEL && a.out.dot(b.out) < -0.9 {
                let half = turned(a.deg, b.deg) / 2.0;
                let error = (a.error.hypot(b.error) / 2.0).hypot(off / 2.0);
                out.push(((a.deg + half).rem_euclid(180.0), error));
            }
        }
    }
    out
}

pub(super) fn grain(outline: &[Point<Table>], stripes: Option<&Striped>, weave: &Weave) -> Grain {
    let edges = straight(outline);
    let pairs = selvedges(&edges);
    let cant = |why: &str| Grain::CantTell {
        why: why.to_owned(),
    };
    let agree = |a: f64, b: f64, error: f64| apart(a, b) < AGREE.max(3.0 * error);
    let mut said: Vec<(f64, f64, By)> = Vec::new();
    if let Some(s) = stripes.filter(|s| !s.checked) {
        said.push((s.runs_deg, s.error_deg, By::Stripes));
    }
    let threads: Vec<(f64, f64)> = match weave {
        Weave::Two(a, b) => vec![(a.runs_deg, a.error_deg), (b.runs_deg, b.error_deg)],
        _ => Vec::new(),
    };
    match said.first().copied() {
        Some((deg, ..)) => {
            // Either set of threads may run along the stripes; then it is their warp.
            let along = threads.iter().find(|t| agree(t.0, deg, t.1));
            match (along, threads.is_empty()) {
                (Some(t), _) => said.push((t.0, t.1, By::Weave)),
                (None, false) => return cant("stripes and threads run different ways"),
                (None, true) => {}
            }
        }
        None => {
            let checked = stripes.map(|s| [s.runs_deg, s.runs_deg + 90.0]);
            let selvedge = edges
                .iter()
                .find_map(|e| threads.iter().find(|t| agree(t.0, e.deg, t.1)));
            if weave.tells_warp() {
                said.push((threads[0].0, threads[0].1, By::Weave));
            } else if let Some(t) = selvedge {
                said.push((t.0, t.1, By::Weave));
            } else if !threads.is_empty() {
                return cant(
                    "the threads lie as close both ways, so warp and weft are not told apart",
                );
            } else if checked.is_some() && pairs.is_empty() {
                return cant("stripes run both ways, and there is no selvedge");
            }
        }
    }
    let with = match said.first() {
        Some(first) => edges
            .iter()
            .find(|e| agree(e.deg, first.0, e.error))
            .map(|e| (e.deg, e.error)),
        // A cloth cut square has two pairs of straight edges, and one edge is any cut.
        None if pairs.len() == 1 => pairs.first().copied(),
        None if pairs.len() > 1 => {
            return cant(
                "more than one pair of edges is straight, and no threads or stripes are seen",
            );
        }
        None => None,
    };
    said.extend(with.map(|(deg, error)| (deg, error, By::Selvedge)));
    if said.is_empty() {
        return match weave {
            Weave::One(_) => {
                cant("only one set of lines is seen in the cloth, which may be a twill's diagonal")
            }
            _ => cant("no stripes, no threads and no pair of selvedges are seen"),
        };
    }
    // What errs less weighs more.
    let first = said[0].0;
    let (mut sum, mut weight) = (0.0, 0.0);
    for (deg, error, _) in &said {
        let off = turned(first, *deg);
        sum += off / error.powi(2);
        weight += 1.0 / error.powi(2);
    }
    let error = weight.powf(-0.5);
    if error > LOOSE {
        return cant("what is seen of it does not agree to a degree");
    }
    Grain::Told {
        deg: (first + sum / weight).rem_euclid(180.0),
        error,
        by: said.iter().map(|s| s.2).collect(),
    }
}
