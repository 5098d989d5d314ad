//! What is written is read back as it was.

use super::{dxf, svg};
use crate::drawing::read;
use crate::pattern::{Line, Notch, NotchKind, PatternPiece, Polyline};
use crate::shape::nearest;
use crate::space::{Piece, Point, Vector};

/// How far anything may move by being written and read, mm.
const NEAR: f64 = 0.001;

fn at(list: &[(f64, f64)]) -> Polyline {
    list.iter().map(|&p| p.into()).collect()
}

/// A piece with every mark, its box about the origin.
fn full() -> PatternPiece {
    let mut piece = PatternPiece::named("heel <band> & \"töp\"");
    piece.cut = vec![at(&[
        (-100., -25.),
        (100., -25.),
        (90., 0.),
        (100., 25.),
        (-100., 25.),
    ])];
    piece.cutouts = vec![at(&[(-50., 0.), (-50., 10.), (-40., 10.), (-40., 0.)])];
    piece.net = vec![Line {
        points: at(&[
            (-94., -19.),
            (92., -19.),
            (83., 0.),
            (92., 19.),
            (-94., 19.),
        ]),
        closed: true,
    }];
    let notch = |x: f64, y: f64, depth, kind| Notch {
        at: Point::new(x, y),
        inward: Vector::new(0.0, -y.signum()),
        depth,
        kind,
    };
    piece.notches = vec![
        notch(-60.0, -25.0, 3.0, NotchKind::Slit),
        notch(10.0, 25.0, 4.5, NotchKind::Double),
        notch(40.0, -25.0, 2.5, NotchKind::Vee),
    ];
    piece.grain = Some([Point::new(70.0, 3.0), Point::new(-20.0, 3.0)]);
    piece.folds = vec![at(&[(-100., 25.), (-100., -25.)])];
    piece.lines = vec![Line {
        points: at(&[(0., -20.), (20., 5.), (30., -5.)]),
        closed: false,
    }];
    piece.darts = vec![at(&[(60., 10.), (65., 18.), (70., 10.)])];
    piece.drills = at(&[(5.0, 7.0)]);
    piece.label_at = Some(Point::new(-30.0, -10.0));
    (piece.cut_count, piece.pair) = (4, true);
    piece
}

fn disc() -> PatternPiece {
    let mut piece = PatternPiece::named("sole");
    let arc = |k: u32| (f64::from(k) / 90.0 * std::f64::consts::TAU).sin_cos();
    piece.cut = vec![
        (0..90)
            .map(|k| Point::new(60.0 * arc(k).1, 60.0 * arc(k).0))
            .collect(),
    ];
    // Its box is about the origin only within rounding.
    piece.cut_count = 2;
    piece
}

fn same_line(a: &Polyline, b: &Polyline, closed: bool) {
    assert_eq!(a.len(), b.len());
    let mut line = b.clone();
    line.extend(b.first().filter(|_| closed));
    for &p in a {
        assert!(nearest(&line, p).unwrap().1 < NEAR, "{p:?} is not on {b:?}");
        let vertex = b.iter().any(|&q| (p - q).length() < NEAR);
        assert!(vertex, "{p:?} is no vertex of {b:?}");
    }
}

fn same_point(a: Point<Piece>, b: Point<Piece>) {
    assert!((a - b).length() < NEAR, "{a:?} is not {b:?}");
}

fn same(back: &PatternPiece, piece: &PatternPiece) {
    assert_eq!(back.name, piece.name);
    assert_eq!((back.cut_count, back.pair), (piece.cut_count, piece.pair));
    for (a, b) in [(&back.cut, &piece.cut), (&back.cutouts, &piece.cutouts)] {
        assert_eq!(a.len(), b.len());
        a.iter().zip(b).for_each(|(a, b)| same_line(a, b, true));
    }
    for (a, b) in [(&back.net, &piece.net), (&back.lines, &piece.lines)] {
        assert_eq!(a.len(), b.len());
        for (a, b) in a.iter().zip(b) {
            assert_eq!(a.closed, b.closed);
            same_line(&a.points, &b.points, a.closed);
        }
    }
    for (a, b) in [(&back.folds, &piece.folds), (&back.darts, &piece.darts)] {
        assert_eq!(a.len(), b.len());
        a.iter().zip(b).for_each(|(a, b)| same_line(a, b, false));
    }
    assert_eq!(back.notches.len(), piece.notches.len());
    for (a, b) in back.notches.iter().zip(&piece.notches) {
        assert_eq!(a.kind, b.kind);
        same_point(a.at, b.at);
        assert!((a.inward - b.inward).length() < NEAR && (a.depth - b.depth).abs() < NEAR);
    }
    assert_eq!(back.grain.is_some(), piece.grain.is_some());
    for (a, b) in back
        .grain
        .iter()
        .flatten()
        .zip(piece.grain.iter().flatten())
    {
        same_point(*a, *b);
    }
    assert_eq!(back.drills.len(), piece.drills.len());
    back.drills
        .iter()
        .zip(&piece.drills)
        .for_each(|(a, b)| same_point(*a, *b));
    if let (Some(a), Some(b)) = (back.label_at, piece.label_at) {
        same_point(a, b);
    }
}

#[test]
fn an_svg_is_read_back_whole() {
    let pieces = [full(), disc()];
    let pattern = read::svg::parse(svg(&pieces).as_bytes()).unwrap();
    assert!(pattern.left_out.is_empty(), "{:?}", pattern.left_out);
    assert_eq!(pattern.pieces.len(), 2);
    for (back, piece) in pattern.pieces.iter().zip(&pieces) {
        same(back, piece);
        assert_eq!(back.label_at.is_some(), piece.label_at.is_some());
    }
}

#[test]
fn a_dxf_is_read_back_whole_but_for_its_darts() {
    let pieces = [full(), disc()];
    let text = dxf(&pieces);
    assert!(text.is_ascii());
    let pattern = read::dxf::parse(text.as_bytes(), &read::dxf::Options::default()).unwrap();
    assert!(pattern.left_out.is_empty(), "{:?}", pattern.left_out);
    for (back, piece) in pattern.pieces.iter().zip(&pieces) {
        let mut wanted = piece.clone();
        // The layers have none for darts.
        let darts = wanted.darts.drain(..).map(|points| Line {
            points,
            closed: false,
        });
        wanted.lines.extend(darts);
        same(back, &wanted);
    }
}

/// An odd number makes no pairs: the count is kept, the word is not written.
#[test]
fn any_count_is_written_so_that_it_can_be_read() {
    for (count, pair, back) in [
        (1, true, (1, false)),
        (3, true, (3, false)),
        (2, true, (2, true)),
        (3, false, (3, false)),
        (0, true, (1, false)),
        (5000, false, (999, false)),
    ] {
        let mut piece = disc();
        (piece.cut_count, piece.pair) = (count, pair);
        let (a, b) = (svg(&[piece.clone()]), dxf(&[piece]));
        let a = read::svg::parse(a.as_bytes()).unwrap();
        let b = read::dxf::parse(b.as_bytes(), &read::dxf::Options::default()).unwrap();
        for pattern in [a, b] {
            let piece = &pattern.pieces[0];
            assert_eq!((piece.cut_count, piece.pair), back, "{:?}", pattern.notes);
        }
    }
}

#[test]
fn the_demo_pattern_is_read_back_whole() {
    let demo = concat!(env!("CARGO_MANIFEST_DIR"), "/demo-data/slippers.svg");
    let pattern = read::svg::read(std::path::Path::new(demo)).unwrap();
    let again = read::svg::parse(svg(&pattern.pieces).as_bytes()).unwrap();
    assert!(again.left_out.is_empty());
    assert_eq!(again.pieces.len(), pattern.pieces.len());
    for (back, piece) in again.pieces.iter().zip(&pattern.pieces) {
        let count =
            |p: &PatternPiece| (p.notches.len(), p.drills.len(), p.net.len(), p.folds.len());
        assert_eq!(count(back), count(piece));
        // Read, a line may lose points that it runs within 0.005 mm of.
        for (a, b) in back.cut.iter().zip(&piece.cut) {
            for (some, line) in [(a, b), (b, a)] {
                let mut line = line.clone();
                line.push(line[0]);
                let off = |&p: &Point<Piece>| nearest(&line, p).unwrap().1;
                assert!(some.iter().map(off).fold(0.0, f64::max) < 0.005 + NEAR);
            }
        }
        for (a, b) in back.notches.iter().zip(&piece.notches) {
            assert!((a.at - b.at).length() < 0.005 + NEAR && a.kind == b.kind);
        }
    }
}

/// What `tests/reference/pattern_files.py` has ezdxf read and hold against the true
/// geometry is what is written today. After a change: `UPDATE_SNAPSHOTS=1`, then the
/// script.
#[test]
fn what_another_library_has_read_is_what_is_written() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/pattern_files");
    let path = std::path::Path::new(folder).join("written_r12.dxf");
    let text = dxf(&[full(), disc()]);
    if std::env::var_os("UPDATE_SNAPSHOTS").is_some() {
        std::fs::write(&path, &text).unwrap();
    }
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);
}
