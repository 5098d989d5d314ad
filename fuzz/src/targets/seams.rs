//! The seams file: read, written, read again, and put on pieces.

use ghostchalk::pattern::{Notch, NotchKind, PatternPiece, edges};
use ghostchalk::prove::SeamsFile;
use ghostchalk::space::{Point, Vector};

use super::Target;

pub const SEAMS: Target = Target {
    name: "seams",
    run: seams,
    seeds: &["demo-data/*.seams.toml"],
};

/// Pieces that are made for a file at most.
const MOST: usize = 8;

fn seams(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    let Ok(mut file) = SeamsFile::parse(text) else {
        return;
    };
    let told = file.to_text();
    let told = told.unwrap_or_else(|fault| panic!("{fault}"));
    let mut back = SeamsFile::parse(&told)
        .unwrap_or_else(|fault| panic!("what was written is not read: {fault}\n{told}"));
    applied(&file);
    // All is the same but the lines on which it stands.
    for edge in file.edges.iter_mut().chain(&mut back.edges) {
        edge.line = 0;
    }
    assert_eq!(file, back, "{told}");
}

/// Its names on the edges of pieces that are called as it says; or the pieces as they were.
fn applied(file: &SeamsFile) {
    let mut pieces: Vec<PatternPiece> = Vec::new();
    for naming in &file.edges {
        let known = pieces.iter().any(|p| p.name == naming.piece);
        if !known && pieces.len() < MOST {
            pieces.push(block(&naming.piece, pieces.len()));
        }
    }
    let before = pieces.clone();
    match file.apply(&mut pieces) {
        Err(_) => assert_eq!(pieces, before, "a fault, and yet changed"),
        Ok(applied) => {
            assert_eq!(applied.sewing, file.sewing);
            for naming in &file.edges {
                let piece = pieces.iter().find(|p| p.name == naming.piece);
                let all = piece.map(edges).unwrap_or_default();
                let named = all.iter().filter(|e| e.name == naming.name).count();
                assert_eq!(named, 1, "{:?} of {:?}", naming.name, naming.piece);
            }
        }
    }
}

/// A piece of four edges, or of six, with a notch on three of them.
fn block(name: &str, k: usize) -> PatternPiece {
    let mut corners = vec![(0.0, 0.0), (120.0, 0.0), (120.0, 60.0), (0.0, 60.0)];
    if k % 2 == 1 {
        corners.splice(2..3, [(120.0, 40.0), (80.0, 40.0), (80.0, 60.0)]);
    }
    let mut piece = PatternPiece::named(name);
    let notch = |x, y, inward: (f64, f64)| Notch {
        at: Point::new(x, y),
        inward: Vector::new(inward.0, inward.1),
        depth: 3.0,
        kind: NotchKind::Slit,
    };
    piece.notches = vec![
        notch(40.0, 0.0, (0.0, 1.0)),
        notch(120.0, 20.0, (-1.0, 0.0)),
        notch(0.0, 30.0, (1.0, 0.0)),
    ];
    let ring = corners.into_iter().map(|(x, y)| Point::new(x, y));
    piece.cut = vec![ring.collect()];
    piece
}
