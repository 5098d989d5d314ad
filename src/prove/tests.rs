//! The demo, proven as drawn and with faults put in.

mod pieces;
mod seams;
mod told;

use super::*;
use crate::drawing::read::svg;
use crate::measure::Unit;
use crate::pattern::Polyline;
use crate::prove::SeamsFile;
use crate::prove::walk::{Meets, RingVerdict, Verdict};
use crate::shape::length;

const SVG: &[u8] = include_bytes!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/demo-data/slippers.svg"
));
const SEAMS: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/demo-data/slippers.seams.toml"
));

fn demo() -> (Vec<PatternPiece>, Sewing) {
    let mut pieces = svg::parse(SVG).unwrap().pieces;
    let applied = SeamsFile::parse(SEAMS).unwrap().apply(&mut pieces).unwrap();
    assert_eq!(applied.notes, Vec::<String>::new());
    (pieces, applied.sewing)
}

fn proven((pieces, sewing): &(Vec<PatternPiece>, Sewing)) -> Proof {
    prove(pieces, sewing, &Asked::default())
}

fn piece<'a>(pieces: &'a mut [PatternPiece], name: &str) -> &'a mut PatternPiece {
    pieces.iter_mut().find(|p| p.name == name).unwrap()
}

fn spoils(proof: &Proof) -> Vec<String> {
    let own = proof
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Spoils);
    own.map(|f| format!("{}; {}", f.what, f.remedy)).collect()
}

#[test]
fn the_demo_proves_clean() {
    let proof = proven(&demo());
    assert!(!proof.spoils());
    // Felt has no grain.
    let checks: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.severity == Severity::Check)
        .collect();
    assert_eq!(checks.len(), 1, "{checks:?}");
    assert_eq!(checks[0].spot.piece.as_deref(), Some("felt sole"));
    assert_eq!(proof.seams.len(), 8);
    for s in &proof.seams {
        assert_eq!(s.verdict, Verdict::Agrees, "{}", s.seam);
        assert!(
            s.difference_mm.abs() < 0.05,
            "{} {}",
            s.seam,
            s.difference_mm
        );
        assert!(
            s.landings
                .iter()
                .all(|l| l.meets != Meets::Nothing && l.off_mm.abs() < 0.05),
            "{s:?}"
        );
    }
    assert_eq!(proof.rings[0].verdict, RingVerdict::Fits);
    assert_eq!(proof.largest.as_ref().unwrap().piece, "binding");
}

/// demo-data/README.md, "Walking the seams", printed by the script that draws the demo.
#[test]
fn the_demo_walks_as_its_own_script_says() {
    let proof = proven(&demo());
    let front = proof
        .seams
        .iter()
        .find(|s| s.seam == "sole, front")
        .unwrap();
    assert!((front.one_darts_mm - 8.0).abs() < 0.01);
    // From the outer side seam: tread, toe, tread, inner side seam; dart and ease taken off.
    let table = [(87.86, 87.86), (97.0, 94.0), (97.0, 94.0), (88.91, 88.91)];
    assert_eq!(front.stretches.len(), table.len());
    for (got, (one, other)) in front.stretches.iter().zip(table) {
        assert!(
            (got.one_mm - one).abs() < 0.02 && (got.other_mm - other).abs() < 0.02,
            "{front:?}"
        );
    }
    let binding = proof.seams.iter().find(|s| s.seam == "binding").unwrap();
    assert!((binding.other_mm - 344.31).abs() < 0.05);
    // At the two side seams its slits meet joints.
    assert_eq!(
        binding
            .landings
            .iter()
            .filter(|l| l.meets == Meets::Joint)
            .count(),
        2
    );
}

#[test]
fn nothing_can_make_it_panic() {
    let (pieces, sewing) = demo();
    let mut empty = pieces.clone();
    for p in &mut empty {
        p.cut.clear();
        p.net.clear();
    }
    assert!(proven(&(empty, sewing.clone())).spoils());
    let mut bad = sewing;
    bad.seams[0].tolerance = f64::NAN;
    bad.seams[1].ease = f64::INFINITY;
    bad.seams[2].one.clear();
    bad.rings[0].girth = -1.0;
    let proof = proven(&(pieces, bad));
    assert_eq!(spoils(&proof).len(), 4);
    let none = prove(&[], &Sewing::default(), &Asked::default());
    assert_eq!(none.largest, None);
    assert!(length(&Polyline::new()) == 0.0 && !text(&none, Unit::Mm).is_empty());
}

#[test]
fn every_size_of_the_demo_draft_proves_clean() {
    use crate::draft::{Measures, parse};
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/demo-data/slippers.draft.toml"
    ));
    let draft = parse(text).unwrap();
    for size in (230..=300).step_by(5) {
        for share in [0.94, 1.0, 1.06] {
            let foot = f64::from(size);
            let asked = Measures::default()
                .with("foot length", foot)
                .with("instep girth", foot * share);
            let (pattern, sewing) = draft.draw(&asked).unwrap().finished().unwrap();
            assert_eq!(pattern.pieces.len(), 6);
            let proof = prove(&pattern.pieces, &sewing, &Asked::default());
            assert_eq!(spoils(&proof), Vec::<String>::new(), "{size} {share}");
            let agrees = |s: &SeamResult| s.verdict == Verdict::Agrees;
            assert!(
                proof.seams.len() == 8 && proof.seams.iter().all(agrees),
                "{size} {share}"
            );
            assert!(proof.rings.iter().all(|r| r.verdict == RingVerdict::Fits));
            // Its join is 24 mm long, between edges with 6 mm of allowance and with none.
            let odd = |f: &&Finding| f.topic == Topic::Allowance;
            assert_eq!(proof.findings.iter().find(odd), None, "{size} {share}");
            let binding = proof.pieces.iter().find(|p| p.piece == "binding").unwrap();
            for join in ["join", "other join"] {
                let a = binding.allowance.iter().find(|a| a.edge == join).unwrap();
                assert!(
                    (a.least_mm - 6.0).abs() < 0.05 && (a.most_mm - 6.0).abs() < 0.05,
                    "{a:?}"
                );
            }
        }
    }
}
