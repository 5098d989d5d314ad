//! The light of pieces: their bands lie outside of them, and end at the cut line.

use ghostchalk::lay::{Face, Laid};
use ghostchalk::light::{Lamp, Settings};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::shape::{ARC_ERROR, Region, difference, intersection, near, offset};
use ghostchalk::space::{Piece, Point, Rigid, Table, Vector};

use super::Target;
use super::bytes::Bytes;
use super::outlines::{is_finite, piece, slack};

pub const BAND: Target = Target {
    name: "band",
    run: bands,
    seeds: &["fuzz/seeds/band/*"],
};

fn bands(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let settings = Settings {
        band: 1.0 + f64::from(bytes.byte()) / 32.0,
        ..Settings::default()
    };
    let count = 1 + bytes.below(2);
    let pieces: Vec<PatternPiece> = (0..count)
        .map(|k| piece(["a", "b"][k], &mut bytes))
        .collect();
    let laid: Vec<Laid> = pieces.iter().map(|p| lie(p, &mut bytes)).collect();
    let table = [(0.0, 0.0), (3000.0, 0.0), (3000.0, 2000.0), (0.0, 2000.0)];
    let reach = Region::ring(table.map(|(x, y)| Point::new(x, y)).to_vec());
    let lamp = Lamp::new(settings);
    let mut lamp = lamp.unwrap_or_else(|fault| panic!("{fault}"));
    lamp.light(&laid, &reach);
    let figures = &lamp.scene().figures;
    assert_eq!(figures.len(), laid.len());
    let lit: Vec<Region<Table>> = figures
        .iter()
        .map(|figure| {
            let rings = figure.patches.iter().flat_map(|p| &p.region.rings);
            Region::new(rings.cloned().collect())
        })
        .collect();
    for (k, figure) in figures.iter().enumerate() {
        assert!(is_finite(&lit[k]));
        let (inside, band) = (lamp.inside(k), &figure.patches[0].region);
        let own = slack(inside) + slack(band);
        let spilt = intersection(band, inside).area();
        assert!(spilt <= own, "{spilt} mm² of a band lie in its piece");
        let far = offset(inside, settings.band + 2.0 * ARC_ERROR);
        let spilt = difference(band, &far).area();
        assert!(spilt <= own, "{spilt} mm² of a band lie too far out");
        if laid.len() == 1 && pieces[k].notches.is_empty() {
            ends_at_the_line(band, inside);
        }
        for j in (0..laid.len()).filter(|j| *j != k) {
            let both = slack(&lit[k]) + slack(&lit[j]);
            let shared = intersection(&lit[k], &lit[j]).area();
            assert!(shared <= both, "{shared} mm² are lit twice");
            if !near(lamp.inside(k), lamp.inside(j), 1e-6) {
                let spilt = intersection(&lit[k], lamp.inside(j)).area();
                assert!(spilt <= both, "{spilt} mm² are lit in another piece");
            }
        }
    }
}

/// Alone and without notches, a band's inner boundary is the cut line, bit for bit.
fn ends_at_the_line(band: &Region<Table>, inside: &Region<Table>) {
    for ring in &inside.rings {
        let line: Vec<Point<Table>> = ring.iter().rev().copied().collect();
        assert!(band.rings.contains(&line), "the line is not where it ends");
    }
}

/// A piece somewhere on the table, either way up.
fn lie<'p>(piece: &'p PatternPiece, bytes: &mut Bytes) -> Laid<'p> {
    let down = bytes.flag();
    let turn = bytes.mm() / 100.0;
    let shift = Vector::new(1500.0 + bytes.mm() / 2.0, 1000.0 + bytes.mm() / 2.0);
    let pose: Rigid<Piece, Table> = Rigid::new(down, turn, shift);
    Laid {
        piece,
        article: "1",
        cloth: "canvas",
        panel: "sling",
        cut_note: "cut 2, a pair".to_owned(),
        face: if down { Face::Down } else { Face::Up },
        pose,
        height: 0.0,
        is_cut: false,
        trim: 0.0,
    }
}
