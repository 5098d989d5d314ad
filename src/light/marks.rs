//! What is lit inside a piece besides its notches, each told by its pattern:
//! grain (an arrow), fold edge (a doubled broken line), internal lines
//! (broken), darts (solid), drill points (a ring with a dot).

use crate::pattern::{PatternPiece, Polyline};
use crate::shape::{Caps, Region, along, dashes, difference, intersection, length, stroke, union};
use crate::space::{Piece, Point, Vector};

/// Width of lit lines, mm: two projector pixels and a bit.
const LINE: f64 = 1.5;
/// Middles of the two fold lines inside the fold edge, mm: the outer one's edge
/// is the fold itself.
const FOLD_LINES: [f64; 2] = [0.75, 4.0];
/// Dash and gap of a fold line and of an internal line, mm.
const FOLD_DASH: (f64, f64) = (10.0, 5.0);
const LINE_DASH: (f64, f64) = (6.0, 4.0);
/// A drill point's ring (outer radius) and dot, mm.
const DRILL_RING: f64 = 4.5;
const DRILL_DOT: f64 = 1.0;
/// The grain arrow's head: length and half width, mm.
const HEAD: (f64, f64) = (10.0, 4.0);

/// All inner marks as one region, cut to the piece.
pub fn marks(piece: &PatternPiece, inside: &Region<Piece>) -> Region<Piece> {
    let mut lit = Vec::new();
    if let Some([tail, head]) = piece.grain {
        lit.extend(grain(tail, head));
    }
    for fold in &piece.folds {
        lit.extend(fold_lines(fold, inside));
    }
    for line in &piece.lines {
        let mut points = line.points.clone();
        if line.closed {
            points.extend(points.first().copied());
        }
        lit.extend(broken(&points, LINE_DASH));
    }
    for dart in &piece.darts {
        lit.push(stroke(dart, LINE / 2.0, Caps::Round));
    }
    for &at in &piece.drills {
        lit.push(drill(at));
    }
    intersection(&union(&lit), inside)
}

fn broken(line: &[Point<Piece>], (dash, gap): (f64, f64)) -> Vec<Region<Piece>> {
    let flat = |d: &Polyline| stroke(d, LINE / 2.0, Caps::Flat);
    dashes(line, dash, gap).iter().map(flat).collect()
}

/// A shaft with a bar at its tail and a filled head.
fn grain(tail: Point<Piece>, head: Point<Piece>) -> Vec<Region<Piece>> {
    let whole = head - tail;
    let len = whole.length();
    if len < 2.0 * HEAD.0 {
        return Vec::new();
    }
    let dir = whole / len;
    let side = Vector::new(-dir.y, dir.x);
    let neck = head - dir * HEAD.0;
    let bar = side * HEAD.1;
    vec![
        stroke(&[tail, neck + dir], LINE / 2.0, Caps::Flat),
        stroke(&[tail - bar, tail + bar], LINE / 2.0, Caps::Flat),
        Region::ring(vec![head, neck + side * HEAD.1, neck - side * HEAD.1]),
    ]
}

/// Two broken lines beside the fold, on the piece's side of it.
fn fold_lines(fold: &Polyline, inside: &Region<Piece>) -> Vec<Region<Piece>> {
    let Some(middle) = along(fold, length(fold) / 2.0) else {
        return Vec::new();
    };
    let left = Vector::new(-middle.along.y, middle.along.x);
    let side = if inside.contains(middle.at + left) {
        1.0
    } else {
        -1.0
    };
    let beside = |by: f64| -> Polyline {
        // Each vertex along its own run's normal: folds are straight, or nearly.
        let n = fold.len();
        (0..n)
            .filter_map(|k| {
                let (a, b) = (fold[k.saturating_sub(1)], fold[(k + 1).min(n - 1)]);
                let dir = (b - a).try_normalize()?;
                Some(fold[k] + Vector::new(-dir.y, dir.x) * (side * by))
            })
            .collect()
    };
    FOLD_LINES
        .iter()
        .flat_map(|&by| broken(&beside(by), FOLD_DASH))
        .collect()
}

fn drill(at: Point<Piece>) -> Region<Piece> {
    let ring = difference(
        &Region::disc(at, DRILL_RING),
        &Region::disc(at, DRILL_RING - LINE),
    );
    union([&ring, &Region::disc(at, DRILL_DOT)])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sheet() -> Region<Piece> {
        Region::ring(vec![
            Point::new(-60.0, -60.0),
            Point::new(60.0, -60.0),
            Point::new(60.0, 60.0),
            Point::new(-60.0, 60.0),
        ])
    }

    #[test]
    fn the_grain_arrow_points_to_its_head() {
        let mut piece = PatternPiece::named("p");
        piece.grain = Some([Point::new(0.0, -40.0), Point::new(0.0, 40.0)]);
        let lit = marks(&piece, &sheet());
        let b = lit.bounds().unwrap();
        assert!((b.max.y - 40.0).abs() < 1e-5 && (b.min.y + 40.75).abs() < 1e-5);
        assert!(lit.contains(Point::new(2.0, 32.0)) && !lit.contains(Point::new(2.0, -30.0)));
    }

    #[test]
    fn fold_lines_lie_inside_and_are_broken() {
        let mut piece = PatternPiece::named("p");
        piece.folds = vec![vec![Point::new(60.0, -60.0), Point::new(60.0, 60.0)]];
        let lit = marks(&piece, &sheet());
        assert!(lit.contains(Point::new(59.9, -58.0)) && lit.contains(Point::new(56.0, -58.0)));
        assert!(!lit.contains(Point::new(57.6, -58.0)));
        // Two lines, two thirds of each lit.
        let share = lit.area() / (2.0 * 120.0 * LINE);
        assert!((share - 2.0 / 3.0).abs() < 0.05, "{share}");
    }

    #[test]
    fn a_drill_point_is_a_ring_with_a_dot() {
        let mut piece = PatternPiece::named("p");
        piece.drills = vec![Point::new(10.0, 5.0)];
        let lit = marks(&piece, &sheet());
        assert!(lit.contains(Point::new(10.0, 5.0)) && !lit.contains(Point::new(12.0, 5.0)));
        assert!(lit.contains(Point::new(13.8, 5.0)));
    }
}
