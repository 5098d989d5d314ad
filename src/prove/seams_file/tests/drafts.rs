//! A draft's seams and a seams file: one word, one tolerance, and one written from the other.

use super::*;
use crate::pattern::{FitsAt, NotchKind, PatternPiece};

/// What is declared in a draft and in a seams file means the same.
#[test]
fn a_draft_and_a_seams_file_have_one_word_and_one_tolerance() {
    let ring = "[[ring]]\nname = \"r\"\nedges = [\"p: low\"]\ngirth = \"200mm\"\n";
    let seam = "[[seam]]\nname = \"s\"\none = [\"p: low\"]\nother = [\"p: slope\"]\n";
    let draft = "ghostchalk_draft = 1\n[[measure]]\nname = \"foot length\"\nleast = \"200mm\"\nmost = \"300mm\"\nusual = \"240mm\"\n\
        [[piece]]\nname = \"p\"\npoints = [ { point = \"a\" }, { point = \"b\", right = \"100mm\" }, { point = \"c\", up = \"80mm\" } ]\n\
        edges = [ { edge = \"low\", straight = [\"a\", \"b\"] }, { edge = \"slope\", straight = [\"b\", \"c\", \"a\"] } ]\n";
    for (word, at) in [
        ("", FitsAt::Outside),
        ("at = \"outside\"\n", FitsAt::Outside),
        ("at = \"mid-wall\"\n", FitsAt::MidWall),
    ] {
        let file = SeamsFile::parse(&format!("ghostchalk_seams = 1\n{seam}{ring}{word}"));
        let file = file.unwrap().sewing;
        let drafted = crate::draft::parse(&format!("{draft}{seam}{ring}{word}"));
        let drafted = drafted.unwrap().draw(&Default::default()).unwrap().sewing;
        assert_eq!(file, drafted);
        assert_eq!(file.rings[0].at, at);
        assert_eq!(
            (file.rings[0].tolerance, file.seams[0].tolerance),
            (3.0, 1.0)
        );
    }
    let wrong = "at = \"mid wall\"\n";
    let file = SeamsFile::parse(&format!("ghostchalk_seams = 1\n{ring}{wrong}"));
    let drafted = crate::draft::parse(&format!("{draft}{ring}{wrong}"));
    for fault in [file.unwrap_err(), drafted.unwrap_err()] {
        let said = fault.to_string();
        assert!(
            said.contains("line ") && said.contains("\"mid-wall\""),
            "{said}"
        );
    }
}

/// What a draft declares, written beside its drawing, is what is read back with it.
#[test]
fn a_drafts_seams_are_written_for_its_drawing() {
    use crate::draft::{Measures, parse};
    use crate::drawing::read::svg;
    use crate::drawing::write;
    use crate::prove;
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/demo-data/slippers.draft.toml"
    ));
    let drawn = parse(text).unwrap().draw(&Measures::default()).unwrap();
    let (pattern, sewing) = drawn.finished().unwrap();
    let read = || {
        svg::parse(write::svg(&pattern.pieces).as_bytes())
            .unwrap()
            .pieces
    };
    let written = SeamsFile::written(&pattern.pieces, &read(), &sewing).unwrap();
    assert_eq!(written.left_out, Vec::<String>::new());
    let file = SeamsFile::parse(&written.file.to_text().unwrap()).unwrap();
    let mut pieces = read();
    let applied = file.apply(&mut pieces).unwrap();
    assert_eq!(applied.notes, Vec::<String>::new());
    assert_eq!(applied.sewing, sewing);
    let told = |pieces: &[PatternPiece], sewing: &Sewing| {
        let asked = prove::Asked {
            propose: false,
            ..Default::default()
        };
        prove::prove(pieces, sewing, &asked)
    };
    let (a, b) = (
        told(&pattern.pieces, &sewing),
        told(&pieces, &applied.sewing),
    );
    assert!(!a.spoils() && !b.spoils(), "{:?}", b.findings);
    assert_eq!((a.seams.len(), a.rings.len()), (8, 1));
    for (a, b) in a.seams.iter().zip(&b.seams) {
        assert_eq!(a.seam, b.seam);
        assert!((a.one_mm - b.one_mm).abs() < 0.05 && (a.other_mm - b.other_mm).abs() < 0.05);
        assert_eq!(a.landings.len(), b.landings.len(), "{}", a.seam);
    }
    // Of an edge that begins nowhere in particular no seam can be written.
    let mut bare = pattern.pieces.clone();
    let sole = bare.iter_mut().find(|p| p.name == "sole").unwrap();
    sole.notches.retain(|n| n.kind != NotchKind::Vee);
    let read = svg::parse(write::svg(&bare).as_bytes()).unwrap().pieces;
    let written = SeamsFile::written(&bare, &read, &sewing).unwrap();
    assert_eq!(written.file.sewing.seams.len(), 4);
    assert!(
        written.left_out[0].contains("\"sole: front inner\" does not begin and end"),
        "{:?}",
        written.left_out
    );
}
