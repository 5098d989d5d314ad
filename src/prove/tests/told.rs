//! How all of it is told: as JSON, with names on the picture, in either unit.

use super::*;
use crate::measure::Unit;

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
