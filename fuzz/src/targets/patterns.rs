//! Pattern files: SVG, PDF and DXF. Whatever is read is sound, and written it is read again.

use ghostchalk::drawing::read::{dxf, largest, pdf, svg};
use ghostchalk::drawing::write;
use ghostchalk::measure::Unit;
use ghostchalk::pattern::{Pattern, PatternPiece};
use ghostchalk::shape::{Region, bounds, signed_area};
use ghostchalk::space::{Piece, Point};

use super::Target;
use super::outlines::{is_finite, round};

pub const SVG: Target = Target {
    name: "svg",
    run: an_svg,
    seeds: &[
        "demo-data/*.svg",
        "tests/svg/*.svg",
        "tests/reference/pattern_files/*.svg",
    ],
};

pub const PDF: Target = Target {
    name: "pdf",
    run: a_pdf,
    seeds: &[
        "tests/reference/pattern_files/*.pdf",
        "calibration/corner-target-a4.pdf",
    ],
};

pub const DXF: Target = Target {
    name: "dxf",
    run: a_dxf,
    seeds: &["tests/reference/pattern_files/*.dxf"],
};

fn an_svg(data: &[u8]) {
    if let Ok(pattern) = svg::parse(data) {
        sound(&pattern);
        again(&pattern);
    }
}

fn a_pdf(data: &[u8]) {
    // Asking for its layers opens it as well, and no more.
    let layers = pdf::layers(data);
    let pattern = pdf::parse(data, &pdf::Options::default());
    if let Ok(pattern) = &pattern {
        sound(pattern);
        again(pattern);
    }
    let Ok(layers) = layers else {
        assert!(pattern.is_err(), "what can't be opened was read");
        return;
    };
    // The ways in which a person helps a file along that could not be read.
    let tiles = pdf::Tiles {
        columns: 1 + data.len() % 3,
        overlap: [5.0, 0.0],
        ..pdf::Tiles::default()
    };
    let asked = pdf::Options {
        layers: layers.first().map(|layer| vec![layer.name.clone()]),
        tiles: Some(tiles),
        scale: 0.5,
        ..pdf::Options::default()
    };
    if let Ok(pattern) = pdf::parse(data, &asked) {
        sound(&pattern);
    }
}

fn a_dxf(data: &[u8]) {
    for unit in [None, Some(Unit::Inch)] {
        let options = dxf::Options {
            unit,
            ..dxf::Options::default()
        };
        if let Ok(pattern) = dxf::parse(data, &options) {
            sound(&pattern);
            again(&pattern);
        }
    }
}

/// What a pattern promises of its pieces.
fn sound(pattern: &Pattern) {
    assert!(!pattern.pieces.is_empty(), "a pattern without pieces");
    assert!(largest(&pattern.pieces).is_some());
    for (k, piece) in pattern.pieces.iter().enumerate() {
        let twice = pattern.pieces[..k].iter().any(|p| p.name == piece.name);
        assert!(!twice, "two pieces are named {:?}", piece.name);
        let count: usize = piece.cut.iter().chain(&piece.cutouts).map(Vec::len).sum();
        assert!(!piece.cut.is_empty() && count <= 20_000, "{count} points");
        for ring in &piece.cut {
            assert!(ring.len() > 2 && signed_area(ring) > 0.0);
        }
        for ring in &piece.cutouts {
            assert!(ring.len() > 2 && signed_area(ring) < 0.0);
        }
        assert!(is_finite(&area(piece)) && marks(piece).all(|p| p.is_finite()));
        for notch in &piece.notches {
            let square = (notch.inward.length() - 1.0).abs() < 1e-9;
            assert!(square && notch.depth > 0.0 && notch.depth.is_finite());
        }
        assert!((1..=999).contains(&piece.cut_count));
    }
}

fn marks(piece: &PatternPiece) -> impl Iterator<Item = &Point<Piece>> {
    let lines = piece.net.iter().chain(&piece.lines).map(|l| &l.points);
    let runs = piece.folds.iter().chain(&piece.darts).chain(lines);
    let points = runs.flatten().chain(&piece.drills);
    let points = points.chain(piece.grain.iter().flatten());
    points
        .chain(&piece.label_at)
        .chain(piece.notches.iter().map(|n| &n.at))
}

fn area(piece: &PatternPiece) -> Region<Piece> {
    Region::new(piece.cut.iter().chain(&piece.cutouts).cloned().collect())
}

/// Outlines as they are, under plain names: marks that are drawn at odd places are refused.
fn bare(pattern: &Pattern) -> Option<Vec<PatternPiece>> {
    // Side by side, more reach beyond the 100 m that are read.
    const WIDEST: f64 = 9e4;
    const MOST: usize = 30;
    let mut wide = 0.0;
    let mut pieces = Vec::new();
    for (k, piece) in pattern.pieces.iter().enumerate() {
        let all = bounds(piece.cut.iter().flatten().copied())?;
        wide += all.width() + 20.0;
        if k >= MOST || wide > WIDEST || all.height() > WIDEST {
            return None;
        }
        let mut bare = PatternPiece::named(format!("p{k}"));
        (bare.cut, bare.cutouts) = (piece.cut.clone(), piece.cutouts.clone());
        pieces.push(bare);
    }
    Some(pieces)
}

/// Written in both ways and read back, the outlines are where they were.
fn again(pattern: &Pattern) {
    const SMALL: [&str; 2] = ["touches", "encloses nothing"];
    let Some(pieces) = bare(pattern) else { return };
    let drawn = svg::parse(write::svg(&pieces).as_bytes());
    let cut = dxf::parse(write::dxf(&pieces).as_bytes(), &dxf::Options::default());
    for back in [drawn, cut] {
        let back = match back {
            Ok(back) => back.pieces,
            // Lines a millionth of a millimetre apart are one, once they are written, and the
            // smallest piece that is read may have lost a two hundredth of one.
            Err(fault) if SMALL.iter().any(|small| fault.what.contains(small)) => continue,
            Err(fault) => panic!("what was written is not read: {fault}"),
        };
        if back.len() != pieces.len() {
            // A DXF with such lines in one piece gives all the others.
            continue;
        }
        for (a, b) in back.iter().zip(&pieces) {
            assert_eq!(a.name, b.name);
            let (is, was) = (area(a), area(b));
            // Points may be left out anew, each a two hundredth of a millimetre off the line.
            let off = (is.area() - was.area()).abs();
            assert!(off <= 1e-3 + 0.02 * round(&was), "{off} mm² are lost");
            let (Some(c), Some(d)) = (is.bounds(), was.bounds()) else {
                panic!("an outline is gone")
            };
            let (c, d) = (c.size(), d.size());
            let off = (c.width - d.width).abs().max((c.height - d.height).abs());
            assert!(off <= 0.05, "it is {off} mm larger or smaller");
        }
    }
}
