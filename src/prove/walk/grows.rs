//! What an error at every edge does to a girth.

use super::laid::Laid;
use crate::pattern::PatternPiece;
use crate::pattern::{EdgeName, Ring};
use crate::space::{Piece, Vector};

/// A corner sharper than this, radians, is cut back: its parallel runs off (our choice).
const SHARPEST: f64 = 2.6;

/// An edge's length along the line that is walked, mm, without what its darts take up;
/// `None` if it is not there.
pub fn sewn_length(pieces: &[PatternPiece], name: &EdgeName) -> Option<f64> {
    let piece = pieces.iter().find(|p| p.name == name.piece)?;
    let laid = Laid::new(piece);
    let at = laid.edges.iter().position(|e| e.name == name.edge)?;
    Some(laid.edges[at].length - laid.taken(at))
}

/// By how much a ring's girth grows, mm, for each mm that every edge of its pieces is cut
/// further out; `None` if an edge of it is not there.
///
/// Of a line moved outward by d, square to itself, each corner that turns by τ moves along
/// either side by d·tan(τ/2) (mitred offset; plane geometry): a smooth closed curve grows by
/// 2πd (Steiner), an edge between two square corners by 2d.
pub fn grows(pieces: &[PatternPiece], ring: &Ring) -> Option<f64> {
    let mut sum = 0.0;
    for name in &ring.edges {
        let piece = pieces.iter().find(|p| p.name == name.piece)?;
        let laid = Laid::new(piece);
        let at = laid.edges.iter().position(|e| e.name == name.edge)?;
        sum += edge_grows(&laid, at);
    }
    Some(sum)
}

fn edge_grows(laid: &Laid, at: usize) -> f64 {
    let line = &laid.edges[at].line;
    let n = laid.edges.len();
    let ways: Vec<Vector<Piece>> = line
        .windows(2)
        .map(|w| w[1] - w[0])
        .filter(|v| v.length() > 0.0)
        .collect();
    let (Some(&first), Some(&last)) = (ways.first(), ways.last()) else {
        return 0.0;
    };
    let end = |edge: usize, from_start: bool| {
        let line = &laid.edges[edge].line;
        let ways = line.windows(2).map(|w| w[1] - w[0]);
        let mut ways = ways.filter(|v: &Vector<Piece>| v.length() > 0.0);
        match from_start {
            true => ways.next(),
            false => ways.next_back(),
        }
    };
    let inner: f64 = ways.windows(2).map(|w| 2.0 * moves(w[0], w[1])).sum();
    // A fold is not cut: the edge's end slides along it.
    let to = |edge: usize, a, b| match laid.folded[edge] {
        true => slides(a, b),
        false => moves(a, b),
    };
    let (before, after) = ((at + n - 1) % n, (at + 1) % n);
    let before = end(before, false).map_or(0.0, |w| to(before, w, first));
    let after = end(after, true).map_or(0.0, |w| to(after, last, w));
    inner + before + after
}

/// tan(τ/2) of the turn from one way to the next, positive to the left: outward, of an
/// outline that goes round counter-clockwise.
fn moves(a: Vector<Piece>, b: Vector<Piece>) -> f64 {
    let turn = a.cross(b).atan2(a.dot(b));
    (turn.clamp(-SHARPEST, SHARPEST) / 2.0).tan()
}

/// By how much an edge grows at a fold that stays where it is: −1/tan(τ), which is nothing
/// where the fold stands square to it.
fn slides(a: Vector<Piece>, b: Vector<Piece>) -> f64 {
    let turn = a.cross(b).atan2(a.dot(b));
    match turn.abs() < 0.2 || turn.abs() > SHARPEST {
        true => 0.0,
        false => -1.0 / turn.tan(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pattern::FitsAt;
    use crate::pattern::{EdgeStart, Line, Polyline};
    use crate::space::Point;
    use std::f64::consts::TAU;

    fn piece(ring: Polyline, starts: &[(usize, &str)]) -> PatternPiece {
        let mut piece = PatternPiece::named("band");
        piece.edges = starts
            .iter()
            .map(|&(k, name)| EdgeStart {
                at: ring[k],
                name: name.into(),
                allowance: None,
            })
            .collect();
        piece.net = vec![Line {
            points: ring.clone(),
            closed: true,
        }];
        piece.cut = vec![ring];
        piece
    }

    fn ring(edges: &[&str]) -> Ring {
        Ring {
            name: "top".into(),
            edges: edges.iter().map(|e| EdgeName::parse(e).unwrap()).collect(),
            girth: 200.0,
            ease: 0.0,
            cloth: 0.0,
            at: FitsAt::Outside,
            tolerance: 3.0,
            sewn: None,
        }
    }

    fn corners(all: &[(f64, f64)]) -> Polyline {
        all.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn an_edge_between_square_corners_grows_at_both_ends() {
        let oblong = corners(&[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]);
        let names = [(0, "lower"), (1, "end"), (2, "top"), (3, "start")];
        let band = piece(oblong, &names);
        assert_eq!(
            sewn_length(
                std::slice::from_ref(&band),
                &EdgeName::parse("band: top").unwrap()
            ),
            Some(100.0)
        );
        // Two of it make a ring: 2 mm each.
        let found = grows(
            std::slice::from_ref(&band),
            &ring(&["band: top", "band: top"]),
        )
        .unwrap();
        assert!((found - 4.0).abs() < 1e-12, "{found}");
        assert_eq!(
            grows(std::slice::from_ref(&band), &ring(&["band: hem"])),
            None
        );
        // Half of it, cut on the fold: nothing at the fold.
        let mut half = band.clone();
        half.folds = vec![half.cut[0][1..3].to_vec()];
        let found = grows(&[half], &ring(&["band: top"])).unwrap();
        assert!((found - 1.0).abs() < 1e-9, "{found}");
        // Sides that lean out by 30° from square: tan 60/2 at each end.
        let lean = 60.0 * 30f64.to_radians().tan();
        let wide = corners(&[
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0 + lean, 60.0),
            (-lean, 60.0),
        ]);
        let found = grows(&[piece(wide, &names)], &ring(&["band: top"])).unwrap();
        assert!(
            (found - 2.0 * 60f64.to_radians().tan()).abs() < 1e-9,
            "{found}"
        );
    }

    #[test]
    fn a_closed_curve_grows_by_its_turn() {
        let round: Polyline = (0..720)
            .map(|k| f64::from(k) / 720.0 * TAU)
            .map(|a| Point::new(80.0 * a.cos(), 50.0 * a.sin()))
            .collect();
        let sole = piece(round, &[(0, "front"), (360, "back")]);
        let found = grows(&[sole], &ring(&["band: front", "band: back"])).unwrap();
        // Mitred corners of so many sides are hardly longer than arcs.
        assert!((found - TAU).abs() < 1e-3, "{found}");
    }
}
