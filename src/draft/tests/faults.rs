//! What can be wrong with a draft, and what is said of it.

mod endless;
mod shapes;

use super::*;
use proptest::prelude::*;

/// A draft with the point `q` as its row 13.
fn point(row: &str) -> String {
    piece_with(&format!("{{ point = \"q\", {row} }}"), TRIANGLE)
}

fn says(text: &str, words: &[&str]) {
    let said = said(text);
    for word in words {
        assert!(said.contains(word), "{said}\n  lacks {word}");
    }
}

#[test]
fn units_are_checked() {
    let at = "line 13: point \"q\" of \"p\"";
    says(&point("up = \"12\""), &[at, "plain number where a length"]);
    says(
        &point("up = \"foot length * foot length\""),
        &[at, "an area, not a length"],
    );
    says(&point("up = \"foot length + 3\""), &[at, "can't be added"]);
    says(&point("up = \"foot length / 2mm\""), &[at, "plain number"]);
    says(
        &point("up = \"3 / foot length\""),
        &[at, "neither a length"],
    );
    says(
        &point("up = \"foot length / 0\""),
        &[at, "divided by nothing"],
    );
    says(&point("up = \"foot length * 1000000\""), &[at, "kilometre"]);
    says(
        &point("go = \"up\", by = \"1mm\", turn = \"2mm\""),
        &[at, "plain number is wanted"],
    );
}

#[test]
fn formulas_that_are_none() {
    for (formula, word) in [
        (
            "foot lenght / 2",
            "no measure or length named \"foot lenght\"",
        ),
        ("2 +", "can't be worked out"),
        ("", "can't be worked out"),
        ("(2mm", "can't be worked out"),
        ("2mm)", "can't be worked out"),
        ("2mm 3mm", "can't be worked out"),
        ("foot length ^ 2", "means nothing"),
        ("{v000}", "means nothing"),
        ("1,250mm", "two ways"),
        ("12 furlongs", "unit"),
        ("length(nothing)", "no edge or line"),
        ("length(low", "not closed"),
        ("distance(a)", "names one point"),
        ("* 2mm", "can't be worked out"),
        ("2mm / / 3", "can't be worked out"),
    ] {
        says(
            &point(&format!("up = \"{formula}\"")),
            &["line 13", "\"q\"", word],
        );
    }
    let long = "1mm+".repeat(80) + "1mm";
    says(&point(&format!("up = \"{long}\"")), &["longer than 300"]);
}

#[test]
fn files_that_are_no_drafts() {
    says("", &["ghostchalk_draft = 1"]);
    says("a = = 1", &["line 1", "can't be read", "mend that line"]);
    says("name = \"a\"", &["missing"]);
    says(
        "ghostchalk_draft = 2",
        &["line 1", "version 2", "knows version 1"],
    );
    says("ghostchalk_draft = \"one\"", &["not a version number"]);
    says(
        &piece_with("", &format!("{TRIANGLE}\ncolour = \"blue\"")),
        &[
            "line 16",
            "piece \"p\"",
            "\"colour\" is not known",
            "known are",
        ],
    );
    says(&with("extra = 1"), &["\"extra\" is not known"]);
    says(
        &with("[[piece]]\nname = \"a:b\""),
        &["line 8", "can't be a name"],
    );
    says(
        &piece_with("", &format!("{TRIANGLE}\ncut = 0")),
        &["whole number from 1"],
    );
    says(
        &with("[[piece]]\nname = \"a\"\npoints = 3"),
        &["list of rows"],
    );
    says(
        &with("[[measure]]\nname = \"x\"\nleast = \"9mm\"\nmost = \"3mm\"\nusual = \"4mm\""),
        &["measure \"x\"", "range"],
    );
    says(
        &with("[[measure]]\nname = \"x y\"\nleast = 9"),
        &["plain number"],
    );
    says(&with("[[measure]]\nname = \"x-y\""), &["formula"]);
    says(
        &with("[lengths]\n\"foot length\" = \"2mm\""),
        &["measure already"],
    );
    let seam = |rest: &str| format!("{}[[seam]]\nname = \"s\"\n{rest}", piece_with("", TRIANGLE));
    says(
        &seam("one = [\"p: low\"]\nother = [\"p: high\"]"),
        &["seam \"s\"", "\"high\""],
    );
    says(
        &seam("one = [\"low\"]\nother = [\"p: low\"]"),
        &["of which piece"],
    );
    says(
        &seam("one = [\"p: low\"]\nother = [\"p: slope\"]\ntolerance = \"0mm\""),
        &["not above 0"],
    );
    says(&"#".repeat(600 * 1024), &["512 KB"]);
    let rows = "{ point = \"z\" },".repeat(401);
    says(&piece_with(&rows, TRIANGLE), &["more than 400"]);
    let sums: Vec<String> = (0..390)
        .map(|k| format!("{{ point = \"p{k}\", up = \"1mm+1mm\", left = \"2mm/2\" }}"))
        .collect();
    let piece = |n: usize| {
        let line = "straight = [\"p0\", \"p1\"]";
        let edges = format!("edges = [ {{ edge = \"e\", {line} }} ]");
        format!(
            "[[piece]]\nname = \"n{n}\"\npoints = [{}]\n{edges}\n",
            sums.join(",")
        )
    };
    let pieces: String = (0..4).map(piece).collect();
    says(&with(&pieces), &["more than 3000 formulas"]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_formula_makes_it_stumble(text in "[a-z0-9 .,+*/()\"½×{}^:-]{0,40}") {
        let text = text.replace('"', "\\\"");
        if let Ok(draft) = parse(&point(&format!("up = \"{text}\""))) {
            drop(draft.draw(&Measures::default()));
        }
    }

    #[test]
    fn no_damage_to_a_draft_makes_it_stumble(at in 0..SLIPPERS.len(), n in 1..12usize, with in "[a-z0-9\"=,{}\\[\\]. \n-]{0,6}") {
        let (mut from, mut to) = (at, (at + n).min(SLIPPERS.len()));
        while !SLIPPERS.is_char_boundary(from) { from -= 1; }
        while !SLIPPERS.is_char_boundary(to) { to += 1; }
        let text = format!("{}{with}{}", &SLIPPERS[..from], &SLIPPERS[to..]);
        match parse(&text).and_then(|d| d.draw(&Measures::default())) {
            Err(fault) => prop_assert!(fault.kind == crate::fault::Kind::Input, "{}", fault),
            Ok(drawn) => prop_assert!(drawn.pieces.iter().all(|p| p.piece.net[0].points.len() > 2)),
        }
    }
}
