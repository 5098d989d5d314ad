//! The demo, proven as drawn and with faults put in.

use super::*;
use crate::drawing::read::svg;
use crate::measure::Unit;
use crate::pattern::{NotchKind, Polyline};
use crate::prove::SeamsFile;
use crate::prove::walk::{Meets, RingVerdict, Verdict};
use crate::shape::{along, length};

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
fn a_moved_notch_is_moved_back() {
    let (mut pieces, sewing) = demo();
    // The outer tread notch of the sole, 2.3 mm towards the toe: along its cut line.
    let sole = piece(&mut pieces, "sole");
    let cut: Polyline = sole.cut[0]
        .iter()
        .chain(sole.cut[0].first())
        .copied()
        .collect();
    let notch = sole
        .notches
        .iter_mut()
        .find(|n| n.kind == NotchKind::Double)
        .unwrap();
    let (s, _) = crate::shape::nearest(&cut, notch.at).unwrap();
    // The sole runs counter-clockwise from its inner side over the toe: back is towards it.
    notch.at = along(&cut, s - 2.3).unwrap().at;
    let proof = proven(&(pieces, sewing));
    let [said] = spoils(&proof).try_into().unwrap();
    assert!(said.starts_with(
        "the double notch on \"upper: lower\" and the double notch on \"sole: front\""
    ));
    // The net line is a little shorter than the cut line there.
    assert!(
        said.ends_with(
            "move the double notch on \"sole: front\" 2.2 mm towards the end at \"back\""
        ) || said.ends_with(
            "move the double notch on \"sole: front\" 2.3 mm towards the end at \"back\""
        ),
        "{said}"
    );
}

#[test]
fn a_forgotten_notch_is_told_where_to_add() {
    let (mut pieces, sewing) = demo();
    let band = piece(&mut pieces, "heel band");
    band.notches.retain(|n| n.kind != NotchKind::Vee);
    let proof = proven(&(pieces, sewing));
    let said = spoils(&proof);
    assert!(
        said.iter().any(|s| s.starts_with("the vee on \"sole: back\" meets no notch on \"heel band: lower\"; add a vee to \"heel band: lower\", in the middle, 124.0 mm from the end at")),
        "{said:?}"
    );
    let centre = proof
        .findings
        .iter()
        .any(|f| f.what == "the centre of \"heel band: lower\" has no mark");
    assert!(centre);
}

#[test]
fn a_long_edge_is_told_by_how_much() {
    let (mut pieces, sewing) = demo();
    // The whole lining 4 mm wider: moved out beyond the notch.
    let lining = piece(&mut pieces, "heel band lining");
    let at = lining.edges.iter().find(|e| e.name == "lower").unwrap().at;
    let far = |p: &mut crate::space::Point<crate::space::Piece>| {
        if p.x > at.x + 90.0 {
            p.x += 4.0;
        }
    };
    for p in lining.net.iter_mut().flat_map(|l| &mut l.points) {
        far(p);
    }
    for e in &mut lining.edges {
        far(&mut e.at);
    }
    let proof = proven(&(pieces, sewing));
    let said = spoils(&proof);
    let hit = said
        .iter()
        .any(|s| s.contains("4.0 mm too long for \"heel band: top, outer half\""));
    assert!(hit, "{said:?}");
    // In words that a maker says.
    let said = text(&proof, Unit::Mm);
    assert!(said.contains("or say that it is eased in."), "{said}");
    assert!(!said.contains("declar"), "{said}");
}

#[test]
fn two_kinds_that_meet_are_told() {
    let (mut pieces, sewing) = demo();
    for n in &mut piece(&mut pieces, "heel band").notches {
        if n.kind == NotchKind::Vee {
            n.kind = NotchKind::Double;
        }
    }
    let proof = proven(&(pieces, sewing));
    let hit = proof.findings.iter().any(|f| {
        f.severity == Severity::Spoils
            && f.what == "a double notch on \"heel band: lower\" meets a vee on \"sole: back\""
    });
    assert!(hit, "{:?}", proof.findings);
}

#[test]
fn a_corner_that_is_not_true_is_told_in_degrees_and_millimetres() {
    let (mut pieces, sewing) = demo();
    let upper = piece(&mut pieces, "upper");
    // The throat's outer end moved along by 4 mm: the side seam leans by atan(4/50).
    let at = upper
        .edges
        .iter()
        .find(|e| e.name == "outer side")
        .unwrap()
        .at;
    let corner = |p: &mut crate::space::Point<crate::space::Piece>| {
        if *p == at {
            p.y -= 4.0;
        }
    };
    for p in upper.net.iter_mut().flat_map(|l| &mut l.points) {
        corner(p);
    }
    for e in &mut upper.edges {
        corner(&mut e.at);
    }
    let proof = proven(&(pieces, sewing));
    let said: Vec<_> = proof
        .findings
        .iter()
        .filter(|f| f.topic == Topic::Corner)
        .collect();
    assert!(!said.is_empty());
    // At the sole: 180° less atan(4/50) = 4.6°, seen 20 mm on: 20 · tan 4.6° = 1.6 mm.
    assert!(
        said.iter().any(|f| f.what.contains("4.6°, 1.6 mm off")),
        "{said:?}"
    );
}

#[test]
fn pieces_are_checked_for_themselves() {
    let (mut pieces, sewing) = demo();
    // The sole's net line grown by 5 mm: 1 mm of allowance is left; by 8: it is outside.
    let grown = |pieces: &mut [PatternPiece], by: f64| {
        let net = &mut piece(pieces, "upper").net[0].points;
        let out = crate::shape::Region::ring(net.clone());
        let mut ring = crate::shape::offset(&out, by).rings.remove(0);
        std::mem::swap(net, &mut ring);
        piece(pieces, "upper").edges.clear();
    };
    let mut outside = pieces.clone();
    grown(&mut pieces, 5.0);
    let proof = prove(&pieces, &Sewing::default(), &Asked::default());
    assert!(
        proof
            .findings
            .iter()
            .any(|f| f.what == "there is only 1.0 mm between net line and cut line"),
        "{:?}",
        proof.findings
    );
    grown(&mut outside, 8.0);
    let proof = proven(&(outside, sewing));
    assert!(
        spoils(&proof)
            .iter()
            .any(|s| s.starts_with("the net line lies 2.0 mm outside the cut line"))
    );
    // Its edges have lost their names, too.
    assert!(spoils(&proof).iter().any(|s| s.starts_with(
        "it names the edge \"upper: lower\", which isn't there; the edges of \"upper\" are"
    )));
}

#[test]
fn the_report_is_plain_json_and_foreign_findings_have_their_place() {
    let (pieces, sewing) = demo();
    let odd = Finding::new(
        Severity::Spoils,
        Topic::Count,
        Spot::default(),
        "two lefts",
        "turn one over",
    );
    let asked = Asked {
        findings: vec![odd.clone()],
        ..Asked::default()
    };
    let mut proof = prove(&pieces, &sewing, &asked);
    assert!(proof.spoils());
    assert_eq!(proof.findings[0], odd);
    let json = serde_json::to_value(&proof).unwrap();
    assert_eq!(json["findings"][0]["severity"], "spoils");
    assert_eq!(json["seams"][2]["seam"], "sole, front");
    assert_eq!(json["seams"][2]["verdict"], "agrees");
    let note = Finding::new(Severity::Advice, Topic::File, Spot::default(), "x", "y");
    proof.add([note]);
    assert_eq!(proof.findings.last().unwrap().severity, Severity::Advice);
    let said = text(&proof, Unit::Inch);
    assert!(
        said.contains("Would spoil the work:\n  two lefts; turn one over."),
        "{said}"
    );
}

#[test]
fn what_is_not_declared_is_proposed() {
    let pieces = demo().0;
    let none = Sewing::default();
    let proof = prove(&pieces, &none, &Asked::default());
    let pair = |one: &str, other: &str| {
        let mut all = proof.proposals.iter();
        all.find(|p| (p.one == one && p.other == other) || (p.one == other && p.other == one))
    };
    let back = pair("heel band: lower", "sole: back").unwrap();
    assert_eq!(back.notches, 3);
    assert!(back.score > 0.9);
    assert!(
        back.reason.ends_with("and their 3 notches meet"),
        "{}",
        back.reason
    );
    let said = text(&proof, Unit::Mm);
    assert!(said.contains("Could be seams") && !said.contains("declar"));
    let asked = Asked {
        propose: false,
        ..Asked::default()
    };
    assert!(prove(&pieces, &none, &asked).proposals.is_empty());
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

/// 5000 pinked teeth, a notch on every tenth, more darts and edges than are looked at.
#[test]
fn a_piece_with_far_too_much_on_it_is_proven_too() {
    use crate::pattern::{Line, Notch};
    use crate::space::{Point, Vector};
    let ring = |r: f64| -> Polyline {
        (0..10_000u32)
            .map(|k| {
                let (sin, cos) = (f64::from(k) / 10_000.0 * std::f64::consts::TAU).sin_cos();
                let r = r - f64::from(k % 2);
                Point::new(r * cos, r * sin)
            })
            .collect()
    };
    let mut piece = PatternPiece::named("p");
    piece.cut = vec![ring(900.0)];
    piece.net = vec![Line {
        points: ring(894.0),
        closed: true,
    }];
    piece.notches = ring(900.0)
        .into_iter()
        .step_by(10)
        .map(|at| Notch {
            at,
            inward: Vector::new(-at.x, -at.y) / 900.0,
            depth: 1.0,
            kind: NotchKind::Slit,
        })
        .collect();
    piece.darts = vec![
        vec![
            Point::new(900.0, -5.0),
            Point::new(850.0, 0.0),
            Point::new(900.0, 5.0)
        ];
        200
    ];
    let mut other = piece.clone();
    other.name = "q".into();
    let proof = prove(&[piece, other], &Sewing::default(), &Asked::default());
    assert_eq!(proof.pieces[0].edges.len(), 10_000);
    for what in [
        "only the first 500 notches are walked",
        "only the first 100 darts are closed",
    ] {
        assert!(proof.findings.iter().any(|f| f.what == what), "{what}");
    }
    assert!(!text(&proof, Unit::Mm).is_empty());
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

#[test]
fn a_pair_of_an_odd_number_spoils_the_work_without_any_order() {
    let (mut pieces, sewing) = demo();
    for (count, pair, spoilt) in [
        (1, true, true),
        (3, true, true),
        (2, true, false),
        (3, false, false),
    ] {
        let sole = piece(&mut pieces, "sole");
        (sole.cut_count, sole.pair) = (count, pair);
        let proof = proven(&(pieces.clone(), sewing.clone()));
        let found = proof.findings.iter().find(|f| f.topic == Topic::Count);
        assert_eq!(proof.spoils(), spoilt, "{count} {pair}: {found:?}");
        assert_eq!(found.is_some(), spoilt);
    }
    // Its own mirror image: nobody can tell left from right.
    let sole = piece(&mut pieces, "sole");
    (sole.cut_count, sole.pair) = (2, true);
    let band = piece(&mut pieces, "binding");
    (band.cut_count, band.pair) = (1, true);
    let proof = proven(&(pieces, sewing));
    let found = proof
        .findings
        .iter()
        .find(|f| f.topic == Topic::Count)
        .unwrap();
    assert_eq!(found.severity, Severity::Check);
    assert!(!proof.spoils());
}

#[test]
fn an_edge_sewn_to_itself_is_told_where_there_is_one_of_it() {
    let (mut pieces, mut sewing) = demo();
    let side = sewing
        .seams
        .iter_mut()
        .find(|s| s.name == "side, inner")
        .unwrap();
    side.other = side.one.clone();
    let found = |pieces: &[PatternPiece]| {
        let proof = prove(pieces, &sewing, &Asked::default());
        spoils(&proof)
            .iter()
            .any(|s| s.contains("is sewn to itself"))
    };
    // Left is sewn to right.
    assert!(!found(&pieces));
    let upper = piece(&mut pieces, "upper");
    (upper.cut_count, upper.pair) = (1, false);
    assert!(found(&pieces));
}

#[test]
fn a_double_notch_that_meets_a_single_one_spoils_the_work() {
    let (mut pieces, sewing) = demo();
    let sole = piece(&mut pieces, "sole");
    let double = sole
        .notches
        .iter_mut()
        .find(|n| n.kind == NotchKind::Double)
        .unwrap();
    double.kind = NotchKind::Slit;
    let said = spoils(&proven(&(pieces.clone(), sewing.clone())));
    assert!(
        said.iter().any(|s| s.contains("often marks the back")),
        "{said:?}"
    );
    // A slit and a vee are two ways to clip the same.
    let (mut pieces, _) = demo();
    let sole = piece(&mut pieces, "sole");
    let vee = sole
        .notches
        .iter_mut()
        .find(|n| n.kind == NotchKind::Vee)
        .unwrap();
    vee.kind = NotchKind::Slit;
    let proof = proven(&(pieces, sewing));
    assert!(!proof.spoils(), "{:?}", spoils(&proof));
    assert!(
        proof
            .findings
            .iter()
            .any(|f| f.what.contains("a slit on") || f.what.contains("meets a slit"))
    );
}

/// Left, top, right, bottom of each small word of the picture, as a browser would about set it.
fn names(picture: &str) -> Vec<(String, [f64; 4])> {
    let doc = roxmltree::Document::parse(picture).unwrap();
    let texts = doc.descendants().filter(|n| n.has_tag_name("text"));
    let number =
        |n: &roxmltree::Node, name: &str| -> f64 { n.attribute(name).unwrap().parse().unwrap() };
    let small = texts.filter(|n| number(n, "font-size") == 7.0);
    small
        .map(|n| {
            let (x, y) = (number(&n, "x"), number(&n, "y"));
            let text = n.text().unwrap().to_owned();
            let wide = text.chars().count() as f64 * 0.5 * 7.0;
            let left = match n.attribute("text-anchor").unwrap() {
                "start" => x,
                "end" => x - wide,
                _ => x - wide / 2.0,
            };
            (text, [left, y - 5.0, left + wide, y + 1.5])
        })
        .collect()
}

#[test]
fn names_of_edges_lie_on_no_other_and_in_the_unit_asked_for() {
    let draft = crate::draft::parse(include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/demo-data/slippers.draft.toml"
    )));
    let drawn = draft.unwrap().draw(&Default::default()).unwrap();
    for both in [
        demo(),
        drawn.finished().map(|(p, s)| (p.pieces, s)).unwrap(),
    ] {
        let proof = proven(&both);
        let all = names(&svg(&proof, &both.0, Unit::Inch));
        let edges: usize = proof.pieces.iter().map(|p| p.edges.len()).sum();
        assert_eq!(all.len(), edges);
        for (k, (a, p)) in all.iter().enumerate() {
            assert!(a.ends_with(" in)"), "{a}");
            for (b, q) in &all[k + 1..] {
                let over = p[0] < q[2] && q[0] < p[2] && p[1] < q[3] && q[1] < p[3];
                assert!(!over, "{a} lies on {b}");
            }
        }
    }
}

#[test]
fn sentences_are_told_in_the_unit_asked_for() {
    let (pieces, mut sewing) = demo();
    // What was to be eased in is too long.
    let seam = sewing.seams.iter_mut().find(|s| s.name == "sole, front");
    seam.unwrap().ease = 0.0;
    let proof = proven(&(pieces.clone(), sewing));
    assert!(proof.spoils());
    for said in [text(&proof, Unit::Inch), svg(&proof, &pieces, Unit::Inch)] {
        assert!(!said.contains(" mm"), "{said}");
        assert!(said.contains("1/4 in too long"), "{said}");
    }
    assert!(text(&proof, Unit::Mm).contains(" mm too long"));
}
