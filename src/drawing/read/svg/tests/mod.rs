//! The reader as a whole, on drawings of one behaviour each.

mod folds;
mod geometry;
mod hostile;
mod pieces;
mod refused;
mod strokes;
mod uses;

use std::path::PathBuf;

use super::{parse, read};
use crate::fault::{Fault, Kind};
use crate::pattern::{Pattern, PatternPiece, Polyline};

fn sample(name: &str) -> PathBuf {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/svg");
    PathBuf::from(folder).join(name)
}

/// A page where one user unit is one mm.
fn page(body: &str) -> String {
    format!(
        "<svg xmlns='http://www.w3.org/2000/svg' \
         xmlns:xlink='http://www.w3.org/1999/xlink' \
         xmlns:inkscape='http://www.inkscape.org/namespaces/inkscape' \
         width='500mm' height='500mm' viewBox='0 0 500 500'>\n{body}\n</svg>"
    )
}

fn pattern(body: &str) -> Pattern {
    parse(page(body).as_bytes()).unwrap()
}

/// The one piece on a page.
fn piece(body: &str) -> PatternPiece {
    let mut pattern = pattern(body);
    assert_eq!(pattern.pieces.len(), 1);
    pattern.pieces.remove(0)
}

/// The piece of a group that holds a square of 100 mm and `body`.
fn in_square(body: &str) -> PatternPiece {
    piece(&square(body))
}

fn square(body: &str) -> String {
    format!("<g data-piece='a'><rect class='cut' width='100' height='100'/>{body}</g>")
}

fn refused(body: &str) -> Fault {
    let fault = parse(page(body).as_bytes()).unwrap_err();
    assert_eq!(fault.kind, Kind::Input);
    assert!(!fault.remedy.is_empty() && !fault.what.ends_with('.'));
    fault
}

fn area(line: &Polyline) -> f64 {
    let next = line.iter().cycle().skip(1);
    line.iter()
        .zip(next)
        .map(|(a, b)| a.x * b.y - a.y * b.x)
        .sum::<f64>()
        / 2.0
}

fn close(points: &Polyline, expected: &[(f64, f64)]) {
    assert_eq!(points.len(), expected.len(), "{points:?}");
    for (p, e) in points.iter().zip(expected) {
        let off = (p.x - e.0).hypot(p.y - e.1);
        assert!(off < 1e-9, "{points:?} is not {expected:?}");
    }
}
