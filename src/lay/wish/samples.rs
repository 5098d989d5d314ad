//! Points inside a piece's net lines at which the cloth is looked at, and which of them
//! belong to a part of the piece.

use super::Part;
use crate::fault::{Fault, Outcome};
use crate::pattern::{PatternPiece, edges, walked};
use crate::shape::{Region, nearest};
use crate::space::{Piece, Point, Vector};

/// Of the piece, what is an edge's or a direction's.
const QUARTER: f64 = 0.25;

/// Of the piece, what is a point's.
const TENTH: f64 = 0.1;

/// What is seen of a piece once it is sewn: inside its net lines, less its cut-outs. A
/// piece without a closed net line is taken to its cut line.
pub(super) fn seen_of(piece: &PatternPiece) -> Region<Piece> {
    let line = walked(piece);
    // Of a piece without a net line all outlines count, not the walked one alone.
    let by_cut = piece.cut.first() == Some(&line) || line.len() < 3;
    let mut rings = if by_cut {
        piece.cut.clone()
    } else {
        vec![line]
    };
    rings.extend(piece.cutouts.iter().cloned());
    Region::new(rings)
}

/// About `count` points in a square grid inside a region, and how far apart they are, mm.
/// Never none: of a region thinner than the grid, the middle of its box.
pub(super) fn grid(region: &Region<Piece>, count: usize) -> (Vec<Point<Piece>>, f64) {
    let Some(b) = region.bounds() else {
        return (vec![Point::zero()], 1.0);
    };
    let apart = (region.area().max(1e-6) / count as f64).sqrt();
    // A long thin box about a slanting sliver must not cost more than it is worth.
    let most = 64 * count;
    let lines = |length: f64| (length / apart).ceil().max(1.0);
    let apart = if lines(b.width()) * lines(b.height()) > most as f64 {
        apart.max((b.width() * b.height() / most as f64).sqrt())
    } else {
        apart
    };
    let (across, up) = (lines(b.width()) as usize, lines(b.height()) as usize);
    // The grid is laid in the middle of the box.
    let first = b.center() - Vector::new(across as f64 - 1.0, up as f64 - 1.0) * (apart / 2.0);
    let all = (0..up).flat_map(|j| (0..across).map(move |i| (i, j)));
    let at = |(i, j): (usize, usize)| first + Vector::new(i as f64, j as f64) * apart;
    let within: Vec<_> = all.map(at).filter(|&p| region.contains(p)).collect();
    if within.is_empty() {
        (vec![b.center()], apart)
    } else {
        (within, apart)
    }
}

/// Which of the points belong to a part of the piece.
///
/// # Errors
/// If the piece has no such edge, or a number is not one.
pub(super) fn of_part(
    points: &[Point<Piece>],
    part: &Part,
    piece: &PatternPiece,
) -> Outcome<Vec<bool>> {
    let (share, far): (f64, Vec<f64>) = match part {
        Part::Edge(name) => {
            let line = edge(piece, name)?;
            let far = |&p: &Point<Piece>| nearest(&line, p).map_or(f64::INFINITY, |(_, d)| d);
            (QUARTER, points.iter().map(far).collect())
        }
        Part::PointMm(at) => {
            let at: Point<Piece> = Point::from(number(*at)?);
            (TENTH, points.iter().map(|&p| (p - at).length()).collect())
        }
        Part::TowardsDeg(deg) => {
            let [deg, _] = number([*deg, 0.0])?;
            let (sin, cos) = deg.to_radians().sin_cos();
            let far = |p: &Point<Piece>| -(cos * p.x + sin * p.y);
            (QUARTER, points.iter().map(far).collect())
        }
    };
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| far[a].total_cmp(&far[b]));
    let take = (share * points.len() as f64).round().max(1.0) as usize;
    let mut is = vec![false; points.len()];
    for &k in order.iter().take(take) {
        is[k] = true;
    }
    Ok(is)
}

pub(super) fn number(v: [f64; 2]) -> Outcome<[f64; 2]> {
    if v.iter().all(|v| v.is_finite()) {
        return Ok(v);
    }
    Err(Fault::input(
        "a wish names a place that is not a number",
        "give it in mm, or degrees",
    ))
}

/// The line of an edge, by its name.
///
/// # Errors
/// Names the edges that there are.
pub(super) fn edge(piece: &PatternPiece, name: &str) -> Outcome<Vec<Point<Piece>>> {
    let all = edges(piece);
    if let Some(e) = all.iter().find(|e| e.name == name) {
        return Ok(e.line.clone());
    }
    let names: Vec<&str> = all.iter().map(|e| e.name.as_str()).collect();
    Err(Fault::input(
        format!("{} has no edge \"{name}\"", piece.name),
        format!("name one of its edges: {}", names.join(", ")),
    ))
}
