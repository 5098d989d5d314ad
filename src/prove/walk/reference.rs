//! Against what another program found: tests/reference/walk.py.

use super::*;
use crate::drawing::read::svg;
use crate::pattern::edges;
use crate::pattern::{EdgeName, Seam};
use crate::pattern::{EdgeStart, Line, Notch, NotchKind, PatternPiece, Polyline};
use crate::prove::SeamsFile;
use crate::prove::{Asked, prove};
use crate::space::{Piece as PieceSpace, Point, Vector};
use serde::Deserialize;

#[derive(Deserialize)]
struct Reference {
    curves: Vec<Curve>,
    demo: Demo,
}

#[derive(Deserialize)]
struct Curve {
    name: String,
    length: f64,
    line: Vec<[f64; 2]>,
    notches: Vec<Clip>,
    straight: Vec<OnStraight>,
    landings: Vec<Lands>,
}

#[derive(Deserialize)]
struct Clip {
    at: [f64; 2],
    inward: [f64; 2],
    kind: String,
}

#[derive(Deserialize)]
struct OnStraight {
    s: f64,
    kind: String,
}

#[derive(Deserialize)]
struct Lands {
    along: f64,
    lands: f64,
    off: f64,
    same_kind: bool,
    agrees: bool,
}

#[derive(Deserialize)]
struct Demo {
    edges: Vec<EdgeLength>,
    dart_mm: f64,
    seams: Vec<DemoSeam>,
}

#[derive(Deserialize)]
struct EdgeLength {
    edge: String,
    length: f64,
}

#[derive(Deserialize)]
struct DemoSeam {
    name: String,
    one: f64,
    other: f64,
    #[serde(default)]
    notches_one: Vec<f64>,
    #[serde(default)]
    notches_other: Vec<f64>,
}

fn reference() -> Reference {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/walk.json"
    ));
    serde_json::from_str(text).unwrap()
}

fn kind(word: &str) -> NotchKind {
    match word {
        "slit" => NotchKind::Slit,
        "double" => NotchKind::Double,
        "vee" => NotchKind::Vee,
        other => panic!("{other}"),
    }
}

/// A piece with that line as its edge `e`, 20 mm deep at least.
fn piece(name: &str, line: Polyline, beyond: [Point<PieceSpace>; 2]) -> PatternPiece {
    let mut piece = PatternPiece::named(name);
    let start = |at, name: &str| EdgeStart {
        at,
        name: name.into(),
        allowance: None,
    };
    piece.edges = vec![start(line[0], "e"), start(*line.last().unwrap(), "rest")];
    let mut points = line;
    points.extend(beyond);
    piece.net = vec![Line {
        points,
        closed: true,
    }];
    piece
}

fn notch(at: [f64; 2], inward: [f64; 2], kind: NotchKind) -> Notch {
    Notch {
        at: Point::new(at[0], at[1]),
        inward: Vector::new(inward[0], inward[1]),
        depth: 3.0,
        kind,
    }
}

#[test]
fn curves_with_notches_on_the_cut_line() {
    for c in reference().curves {
        let line: Polyline = c.line.iter().map(|p| Point::new(p[0], p[1])).collect();
        let (a, b) = (line[0], *line.last().unwrap());
        let under = [Point::new(b.x, -120.0), Point::new(a.x, -120.0)];
        let mut one = piece("a", line, under);
        one.notches = c
            .notches
            .iter()
            .map(|n| notch(n.at, n.inward, kind(&n.kind)))
            .collect();
        let straight = vec![Point::origin(), Point::new(c.length, 0.0)];
        let mut other = piece(
            "b",
            straight,
            [Point::new(c.length, 50.0), Point::new(0.0, 50.0)],
        );
        let on = c.straight.iter();
        other.notches = on
            .map(|n| notch([c.length - n.s, -6.0], [0.0, 1.0], kind(&n.kind)))
            .collect();
        let pieces = [one, other];
        let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
        let seam = Seam {
            name: "s".into(),
            one: vec![EdgeName::parse("a: e").unwrap()],
            other: vec![EdgeName::parse("b: e").unwrap()],
            ease: 0.0,
            tolerance: 1.0,
        };
        let (result, found) = walk(&laid, &Sewn::default(), &seam);
        let result = result.unwrap().0;
        // 900 chords leave out (θ²/24 of each) less than 0.001 mm of the curve.
        assert!((result.one_mm - c.length).abs() < 0.001, "{}", c.name);
        assert_eq!(result.verdict, Verdict::Agrees);
        let own: Vec<&Landing> = result.landings.iter().filter(|l| l.side == "one").collect();
        let met: Vec<&&Landing> = own.iter().filter(|l| l.meets != Meets::Nothing).collect();
        assert_eq!(met.len(), c.landings.len(), "{}", c.name);
        for (got, want) in met.iter().zip(&c.landings) {
            assert!(
                (got.along_mm - want.along).abs() < 0.002,
                "{} {got:?}",
                c.name
            );
            assert!(
                (got.lands_mm - want.lands).abs() < 0.002,
                "{} {got:?}",
                c.name
            );
            assert!((got.off_mm - want.off).abs() < 0.004, "{} {got:?}", c.name);
            assert_eq!(got.meets == Meets::Notch, want.same_kind);
            assert_eq!(got.off_mm.abs() <= 1.0, want.agrees);
        }
        let lone = own.len() - met.len();
        let wrong = c.landings.iter().filter(|l| !l.agrees).count();
        let kinds = c.landings.iter().filter(|l| !l.same_kind).count();
        assert_eq!(found.len(), lone + wrong + kinds, "{} {found:?}", c.name);
    }
}

/// The demo's edges, darts, seams and notches as svgpathtools and Shapely measure them.
#[test]
fn the_demo() {
    const WITHIN: f64 = 0.05;
    let want = reference().demo;
    let read = |file: &str| {
        std::fs::read(format!("{}/demo-data/{file}", env!("CARGO_MANIFEST_DIR"))).unwrap()
    };
    let mut pieces = svg::parse(&read("slippers.svg")).unwrap().pieces;
    let file = SeamsFile::parse(&String::from_utf8(read("slippers.seams.toml")).unwrap()).unwrap();
    let sewing = file.apply(&mut pieces).unwrap().sewing;
    let proof = prove(&pieces, &sewing, &Asked::default());
    assert!(want.edges.len() > 10 && want.seams.len() > 5);
    for e in &want.edges {
        let name = EdgeName::parse(&e.edge).unwrap();
        let piece = pieces.iter().find(|p| p.name == name.piece).unwrap();
        let got = edges(piece)
            .into_iter()
            .find(|g| g.name == name.edge)
            .unwrap()
            .length;
        assert!(
            (got - e.length).abs() < WITHIN,
            "{} {got} {}",
            e.edge,
            e.length
        );
    }
    for s in &want.seams {
        let got = proof.seams.iter().find(|g| g.seam == s.name).unwrap();
        assert!(
            (got.one_mm - s.one).abs() < WITHIN && (got.other_mm - s.other).abs() < WITHIN,
            "{}",
            s.name
        );
        for (side, want, whole) in [
            ("one", &s.notches_one, s.one),
            ("other", &s.notches_other, s.other),
        ] {
            if want.is_empty() {
                continue;
            }
            let own = got.landings.iter().filter(|l| l.side == side);
            let along: Vec<f64> = own.map(|l| l.along_mm).collect();
            assert_eq!(along.len(), want.len(), "{}", s.name);
            // The walk may begin at the other end of the seam.
            let on = along.iter().zip(want).all(|(a, b)| (a - b).abs() < WITHIN);
            let back = along
                .iter()
                .zip(want.iter().rev())
                .all(|(a, b)| (a - (whole - b)).abs() < WITHIN);
            assert!(on || back, "{} {along:?} {want:?}", s.name);
        }
    }
    let front = proof
        .seams
        .iter()
        .find(|g| g.seam == "sole, front")
        .unwrap();
    assert!((front.one_darts_mm - want.dart_mm).abs() < 0.01);
}
