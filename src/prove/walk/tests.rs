//! Seams walked: worked by hand, by property, and against other programs' values.

mod advice;
mod any_cut;
mod by_hand;
mod folds;
mod limits;
mod rings;
mod ways;

use super::*;
use crate::pattern::{EdgeName, FitsAt, Ring, Seam, Sewing};
use crate::pattern::{EdgeStart, Line, Notch, NotchKind, PatternPiece, Polyline};
use crate::pattern::{Finding, Severity};
use crate::prove::grain;
use crate::shape::{along, length};
use crate::space::{Piece as PieceSpace, Point, Rigid, Vector};
use proptest::prelude::*;

type At = Point<PieceSpace>;

const KINDS: [NotchKind; 3] = [NotchKind::Slit, NotchKind::Double, NotchKind::Vee];

/// A piece whose edge `e` is the line, with the piece on its left; round it the edges
/// `before`, `far`, `after`, which begin `deep` mm off.
fn cloth(name: &str, line: &[At], deep: f64, marks: &[(f64, NotchKind)]) -> PatternPiece {
    let (a, b) = (line[0], *line.last().unwrap());
    let way = b - a;
    let left = Vector::new(-way.y, way.x) / way.length() * deep;
    let mut ring: Polyline = line.to_vec();
    ring.extend([b + left, a + left]);
    let mut piece = PatternPiece::named(name);
    let start = |at, name: &str| EdgeStart {
        at,
        name: name.into(),
        allowance: None,
    };
    piece.edges = vec![
        start(a, "e"),
        start(b, "after"),
        start(b + left, "far"),
        start(a + left, "before"),
    ];
    piece.net = vec![Line {
        points: ring,
        closed: true,
    }];
    for &(s, kind) in marks {
        let st = along(line, s).unwrap();
        let inward = Vector::new(-st.along.y, st.along.x);
        piece.notches.push(Notch {
            at: st.at - inward * 6.0,
            inward,
            depth: 3.0,
            kind,
        });
    }
    piece
}

fn straight(len: f64) -> Vec<At> {
    vec![Point::origin(), Point::new(len, 0.0)]
}

fn seam(one: &[&str], other: &[&str], ease: f64) -> Seam {
    let names = |all: &[&str]| all.iter().map(|n| EdgeName::parse(n).unwrap()).collect();
    Seam {
        name: "s".into(),
        one: names(one),
        other: names(other),
        ease,
        tolerance: 1.0,
    }
}

fn walked(pieces: &[PatternPiece], seam: &Seam) -> (SeamResult, Vec<Finding>) {
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    let (result, findings) = walk(&laid, &Sewn::default(), seam);
    (result.unwrap().0, findings)
}

/// Two straight edges, the other's notches given from the seam's start. The seam's start
/// is where the first begins; the other runs the opposite way.
fn pair(
    one: (f64, &[(f64, NotchKind)]),
    other: (f64, &[(f64, NotchKind)]),
    ease: f64,
) -> (SeamResult, Vec<Finding>) {
    let back: Vec<_> = other.1.iter().map(|&(s, k)| (other.0 - s, k)).collect();
    let pieces = [
        cloth("a", &straight(one.0), 90.0, one.1),
        cloth("b", &straight(other.0), 80.0, &back),
    ];
    walked(&pieces, &seam(&["a: e"], &["b: e"], ease))
}

const S: NotchKind = NotchKind::Slit;
const V: NotchKind = NotchKind::Vee;
