use super::*;
use crate::pattern::{EdgeName, edges};

const SLIPPERS: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/demo-data/slippers.draft.toml"
));

fn piece<'a>(drawn: &'a Drawn, name: &str) -> &'a NetPiece {
    drawn.pieces.iter().find(|p| p.piece.name == name).unwrap()
}

fn run(drawn: &Drawn, names: &[EdgeName]) -> f64 {
    let of = |n: &EdgeName| {
        let all = edges(&piece(drawn, &n.piece).piece);
        let found = all.iter().find(|e| e.name == n.edge);
        found.map(|e| e.length).unwrap_or_else(|| panic!("{n}"))
    };
    names.iter().map(of).sum()
}

/// How far each seam misses, mm: one − other − ease.
fn misses(drawn: &Drawn) -> Vec<(String, f64, f64)> {
    let seams = drawn.sewing.seams.iter();
    seams
        .map(|s| {
            let miss = run(drawn, &s.one) - run(drawn, &s.other) - s.ease;
            (s.name.clone(), miss, s.tolerance)
        })
        .collect()
}

#[test]
fn the_slippers_walk_at_every_size() {
    let draft = parse(SLIPPERS).unwrap_or_else(|f| panic!("{f}"));
    for step in 0..=14 {
        let foot = 230.0 + 5.0 * f64::from(step);
        for share in [0.94, 0.97, 1.0, 1.03, 1.06] {
            let girth = foot * share;
            let asked = Measures::default()
                .with("foot length", foot)
                .with("instep girth", girth);
            let drawn = draft.draw(&asked).unwrap_or_else(|f| panic!("{f}"));
            for (seam, miss, _) in misses(&drawn) {
                assert!(miss.abs() < 0.05, "{foot} {girth}: {seam} by {miss}");
            }
            for ring in &drawn.sewing.rings {
                let round = run(&drawn, &ring.edges);
                println!("{foot} {girth:.1} {} {round:.2} {:.2}", ring.name, ring.girth);
                let off = round - ring.girth - ring.ease;
                assert!(off.abs() < ring.tolerance, "{foot} {girth}: {}", ring.name);
            }
        }
    }
}
