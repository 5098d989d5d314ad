mod derived;
mod faults;
mod outside;
mod slippers;
mod table;
mod worked;

use super::*;
use crate::pattern::{EdgeName, edges};

pub const SLIPPERS: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/demo-data/slippers.draft.toml"
));

#[test]
fn the_example_of_the_documentation_walks() {
    let page = include_str!("mod.rs");
    let inside = page
        .split("```toml")
        .nth(1)
        .and_then(|p| p.split("```").next());
    let lines = inside.unwrap().lines().map(|l| l.trim_start_matches("//!"));
    let drawn = drawn(&lines.collect::<Vec<_>>().join("\n"));
    assert_eq!(piece(&drawn, "insole").piece.notches.len(), 2);
    let seam = &drawn.sewing.seams[0];
    assert!((run(&drawn, &seam.one) - run(&drawn, &seam.other)).abs() < 0.05);
}

/// A draft with one measure (foot length, usually 240 mm) and what is added.
pub fn with(more: &str) -> String {
    format!(
        "ghostchalk_draft = 1\n[[measure]]\nname = \"foot length\"\nleast = \"200mm\"\n\
         most = \"300mm\"\nusual = \"24cm\"\n{more}"
    )
}

/// A draft of one piece, a triangle of 100 and 80 mm, with more points and other rows.
pub fn piece_with(points: &str, more: &str) -> String {
    with(&format!(
        "[[piece]]\nname = \"p\"\npoints = [\n{{ point = \"a\" }},\n\
         {{ point = \"b\", right = \"100mm\" }},\n{{ point = \"c\", up = \"80mm\" }},\n\
         {points}\n]\n{more}\n"
    ))
}

pub const TRIANGLE: &str = "edges = [ { edge = \"low\", straight = [\"a\", \"b\"] }, \
     { edge = \"slope\", straight = [\"b\", \"c\"] }, { edge = \"back\", straight = [\"c\", \"a\"] } ]";

pub fn drawn(text: &str) -> Drawn {
    let draft = parse(text).unwrap_or_else(|f| panic!("{f}\n{text}"));
    draft
        .draw(&Measures::default())
        .unwrap_or_else(|f| panic!("{f}"))
}

/// What is said of a draft that can't be read or drawn.
pub fn said(text: &str) -> String {
    let fault = match parse(text) {
        Err(fault) => fault,
        Ok(draft) => draft.draw(&Measures::default()).unwrap_err(),
    };
    fault.to_string()
}

pub fn piece<'a>(drawn: &'a Drawn, name: &str) -> &'a NetPiece {
    drawn.pieces.iter().find(|p| p.piece.name == name).unwrap()
}

/// How long edges are together, as drawn.
pub fn run(drawn: &Drawn, names: &[EdgeName]) -> f64 {
    let of = |n: &EdgeName| {
        let all = edges(&piece(drawn, &n.piece).piece);
        let found = all.iter().find(|e| e.name == n.edge);
        found.map(|e| e.length).unwrap_or_else(|| panic!("{n}"))
    };
    names.iter().map(of).sum()
}
