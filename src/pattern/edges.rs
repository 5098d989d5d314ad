//! A piece's edges: its outline from corner to corner. Two of them are sewn
//! together; walked, they are laid end to end.

use super::piece::{EdgeStart, Line, PatternPiece, Polyline};
use crate::shape::{counter_clockwise, length, nearest, signed_area};

/// The outline turns by more than this at a corner, degrees. A curve does not: a
/// chord that stays within e of an arc of radius r turns by 2·acos(1 − e/r), which
/// is 23° at e = 0.02 mm (as curves are read) and r = 1 mm.
pub const CORNER: f64 = 25.0;

/// One edge, counter-clockwise: the piece is on its left.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// What the pattern calls it, else its number going round: `1`, `2`.
    pub name: String,
    /// From net line to cut line, mm, if the pattern says.
    pub allowance: Option<f64>,
    /// From corner to corner; of an outline without corners its first point stands
    /// at both ends.
    pub line: Polyline,
    /// mm.
    pub length: f64,
}

/// What is this near a fold lies on it, mm: within what lines are read to, and a hand's
/// slip in drawing.
pub const ON_FOLD: f64 = 0.2;

/// Whether a net line encloses the piece: it is closed, or both its ends stand on one
/// fold, so that the fold closes it (a half piece).
fn encloses(piece: &PatternPiece, line: &Line) -> bool {
    let ends = line.points.first().zip(line.points.last());
    let on = |fold: &Polyline, p| nearest(fold, p).is_some_and(|(_, d)| d <= ON_FOLD);
    let by_fold = |(&a, &b)| a != b && piece.folds.iter().any(|f| on(f, a) && on(f, b));
    line.points.len() > 2 && (line.closed || ends.is_some_and(by_fold))
}

/// The line along which a piece is walked, counter-clockwise: its net line where that
/// closes, by itself or by the fold (there it is sewn), else its cut line. Empty if it
/// has neither.
pub fn walked(piece: &PatternPiece) -> Polyline {
    let closed = piece.net.iter().filter(|l| encloses(piece, l));
    let net = closed.map(|l| &l.points).max_by(|a, b| {
        let area = |ring: &Polyline| signed_area(ring).abs();
        area(a).total_cmp(&area(b))
    });
    let Some(ring) = net.or_else(|| piece.cut.iter().find(|r| r.len() > 2)) else {
        return Polyline::new();
    };
    counter_clockwise(ring.clone())
}

/// The edges of a piece: as the pattern names them, else from corner to corner, along
/// the line on which it is [`walked`].
pub fn edges(piece: &PatternPiece) -> Vec<Edge> {
    let ring = walked(piece);
    let n = ring.len();
    if n < 3 {
        return Vec::new();
    }
    let place = |start: &EdgeStart| ring.iter().position(|&p| p == start.at);
    let mut named: Vec<_> = piece
        .edges
        .iter()
        .filter_map(|e| Some((place(e)?, e)))
        .collect();
    named.sort_by_key(|(at, _)| *at);
    let turns = |k: &usize| {
        let before = ring[*k] - ring[(k + n - 1) % n];
        let after = ring[(k + 1) % n] - ring[*k];
        before.cross(after).atan2(before.dot(after)).abs() > CORNER.to_radians()
    };
    let mut corners: Vec<usize> = match named.as_slice() {
        [] => (0..n).filter(turns).collect(),
        named => named.iter().map(|(at, _)| *at).collect(),
    };
    if corners.is_empty() {
        corners.push(0);
    }
    let count = corners.len();
    let edge = |k: usize| {
        let (from, to) = (corners[k], corners[(k + 1) % count]);
        let steps = match (to + n - from) % n {
            0 => n,
            steps => steps,
        };
        let line: Polyline = (0..=steps).map(|s| ring[(from + s) % n]).collect();
        let says = named.get(k).map(|(_, start)| *start);
        Edge {
            name: says.map_or_else(|| (k + 1).to_string(), |start| start.name.clone()),
            allowance: says.and_then(|start| start.allowance),
            length: length(&line),
            line,
        }
    };
    (0..count).map(edge).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Point;
    use std::f64::consts::{PI, TAU};

    fn piece(ring: &[(f64, f64)]) -> PatternPiece {
        let mut piece = PatternPiece::named("p");
        piece.cut = vec![ring.iter().map(|&(x, y)| Point::new(x, y)).collect()];
        piece
    }

    #[test]
    fn an_oblong_has_four_edges_and_a_disc_one() {
        let oblong = [(0.0, 0.0), (0.0, 30.0), (70.0, 30.0), (70.0, 0.0)];
        let mut all: Vec<f64> = edges(&piece(&oblong)).iter().map(|e| e.length).collect();
        all.sort_by(f64::total_cmp);
        assert_eq!(all, [30.0, 30.0, 70.0, 70.0]);
        let arc = |k: u32| (f64::from(k) / 200.0 * TAU).sin_cos();
        let disc: Vec<_> = (0..200)
            .map(|k| (50.0 * arc(k).1, 50.0 * arc(k).0))
            .collect();
        let one = edges(&piece(&disc));
        assert_eq!(one.len(), 1);
        // 2πr, less what 200 chords leave out: sin(x)/x at x = π/200.
        let x = PI / 200.0;
        assert!((one[0].length - TAU * 50.0 * x.sin() / x).abs() < 1e-9);
        assert_eq!(one[0].line.first(), one[0].line.last());
    }

    #[test]
    fn half_a_disc_has_two_and_the_net_line_is_walked_where_there_is_one() {
        let arc = |k: u32| (f64::from(k) / 100.0 * PI).sin_cos();
        // Drawn clockwise.
        let half: Vec<_> = (0..=100)
            .rev()
            .map(|k| (40.0 * arc(k).1, 40.0 * arc(k).0))
            .collect();
        let mut piece = piece(&half);
        let two = edges(&piece);
        assert_eq!(two.len(), 2);
        // The piece is on the left of each: the diameter runs to the right.
        let straight = two.iter().find(|e| e.line.len() == 2).unwrap();
        assert!(straight.line[1].x > straight.line[0].x);
        let net = [(10.0, 5.0), (-10.0, 5.0), (0.0, 15.0)];
        piece.net = vec![Line {
            points: net.iter().map(|&(x, y)| Point::new(x, y)).collect(),
            closed: true,
        }];
        let three = edges(&piece);
        assert_eq!(three.len(), 3);
        assert_eq!(
            three.iter().map(|e| e.name.as_str()).collect::<Vec<_>>(),
            ["1", "2", "3"]
        );
        assert!(three.iter().all(|e| e.line[0].y < 16.0 && e.length < 20.1));
    }

    #[test]
    fn a_half_piece_is_walked_along_its_net_line_and_the_fold() {
        let mut piece = piece(&[(0.0, -6.0), (76.0, -6.0), (76.0, 36.0), (0.0, 36.0)]);
        let line = |all: &[(f64, f64)]| all.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let net: Polyline = line(&[(0.0, 0.0), (70.0, 0.0), (70.0, 30.0), (0.0, 30.0)]);
        piece.net = vec![Line {
            points: net,
            closed: false,
        }];
        let longest = |piece: &PatternPiece| edges(piece)[0].length;
        assert_eq!(longest(&piece), 76.0);
        piece.folds = vec![line(&[(0.0, 36.0), (0.0, -6.0)])];
        let all: Vec<f64> = edges(&piece).iter().map(|e| e.length).collect();
        assert_eq!(all, [70.0, 30.0, 70.0, 30.0]);
        // A net line that ends short of the fold does not close.
        piece.net[0].points[3].x = 1.0;
        assert_eq!(longest(&piece), 76.0);
    }

    #[test]
    fn edges_that_the_pattern_names_are_those_and_no_others() {
        let mut piece = piece(&[
            (0.0, 0.0),
            (35.0, 0.0),
            (70.0, 0.0),
            (70.0, 30.0),
            (0.0, 30.0),
        ]);
        let start = |x, y, name: &str, allowance| EdgeStart {
            at: Point::new(x, y),
            name: name.into(),
            allowance,
        };
        // Two meet in the middle of a straight line; one goes round two corners.
        piece.edges = vec![
            start(70.0, 0.0, "side and top", Some(6.0)),
            start(0.0, 0.0, "left half", None),
            start(35.0, 0.0, "right half", None),
            start(0.0, 30.0, "end", None),
        ];
        let all = edges(&piece);
        let told: Vec<_> = all.iter().map(|e| (e.name.as_str(), e.length)).collect();
        let expected = [
            ("left half", 35.0),
            ("right half", 35.0),
            ("side and top", 100.0),
            ("end", 30.0),
        ];
        assert_eq!(told, expected);
        assert_eq!(all[2].allowance, Some(6.0));
    }
}
