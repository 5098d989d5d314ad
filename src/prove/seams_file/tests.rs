//! The seams file, read, put on drawings, and written back.

mod drafts;
mod named;
mod round;

use super::*;
use crate::pattern::{FitsAt, Line, Notch, NotchKind, PatternPiece, Polyline};
use crate::space::{Point, Vector};

const DEMO: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/demo-data/slippers.seams.toml"
));

fn said(text: &str) -> String {
    SeamsFile::parse(text).unwrap_err().to_string()
}

fn with(rest: &str) -> String {
    format!("ghostchalk_seams = 1\n{rest}")
}

/// An oblong 70 × 30 with a slit in the middle of its lower edge, and one on its right.
fn oblong() -> PatternPiece {
    let mut piece = PatternPiece::named("p");
    let ring = |d: f64| -> Polyline {
        let at = [
            (-d, -d),
            (70.0 + d, -d),
            (70.0 + d, 30.0 + d),
            (-d, 30.0 + d),
        ];
        at.into_iter().map(|(x, y)| Point::new(x, y)).collect()
    };
    piece.cut = vec![ring(6.0)];
    piece.net = vec![Line {
        points: ring(0.0),
        closed: true,
    }];
    let slit = |x, y, dx, dy| Notch {
        at: Point::new(x, y),
        inward: Vector::new(dx, dy),
        depth: 3.0,
        kind: NotchKind::Slit,
    };
    piece.notches = vec![slit(76.0, 12.0, -1.0, 0.0), slit(35.0, -6.0, 0.0, 1.0)];
    piece
}

#[test]
fn the_demos_file_reads_and_writes_back() {
    let file = SeamsFile::parse(DEMO).unwrap();
    assert_eq!(
        (
            file.edges.len(),
            file.sewing.seams.len(),
            file.sewing.rings.len()
        ),
        (15, 8, 1)
    );
    assert_eq!(file.sewing.seams[2].ease, 6.0);
    assert_eq!(file.sewing.seams[2].tolerance, 1.0);
    assert_eq!(file.sewing.rings[0].at, FitsAt::MidWall);
    assert_eq!(
        file.edges[4].along,
        Along::Between(Place::Notch(3), Place::Notch(7))
    );
    assert_eq!(
        DEMO.lines()
            .nth(file.edges[4].line - 1)
            .unwrap()
            .split_whitespace()
            .next(),
        Some("[[edge]]")
    );
    let again = SeamsFile::parse(&file.to_text().unwrap()).unwrap();
    assert_eq!(again.sewing, file.sewing);
    let bare = |f: &SeamsFile| -> Vec<EdgeNaming> {
        f.edges
            .iter()
            .cloned()
            .map(|e| EdgeNaming { line: 0, ..e })
            .collect()
    };
    assert_eq!(bare(&again), bare(&file));
}

#[test]
fn lengths_are_typed_as_everywhere() {
    let file = SeamsFile::parse(&with(
        "[[seam]]\nname = \"s\"\none = [\"a: 1\"]\nother = [\"b: 1\", \"c: 2\"]\nease = \"1/4in\"\ntolerance = \"0,5\"\n",
    ))
    .unwrap();
    assert_eq!(file.sewing.seams[0].ease, 6.35);
    assert_eq!(file.sewing.seams[0].tolerance, 0.5);
}

#[test]
fn what_is_wrong_is_told_by_its_line() {
    assert!(said("name = 1").starts_with("there is no ghostchalk_seams in it"));
    assert!(said("ghostchalk_seams = 2").starts_with("it is of version 2"));
    assert!(said("ghostchalk_seams = [").starts_with("line 1: "));
    for (rest, want) in [
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"x\"\nlenght = \"3\"",
            "line 6: the key \"lenght\" is not known",
        ),
        (
            "[[seam]]\nname = \"s\"\none = [\"a: 1\"]\n",
            "line 2: the key \"other\" is missing",
        ),
        (
            "[[edge]]\npiece = \"p\"\nname = \"x\"",
            "line 2: it is not told which edge is named; give its number",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nto = \"corner 2\"\nname = \"x\"",
            "line 2: it is not told",
        ),
        (
            "\n[[edge]]\npiece = \"p\"\nfrom = \"knick 1\"\nto = \"corner 2\"\nname = \"x\"",
            "line 3: from: \"knick 1\" is no place",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"2\"",
            "line 2: name: a bare number",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"a:b\"",
            "line 2: name: a name can't have a colon",
        ),
        (
            "[[edge]]\npiece = \" \"\nnumber = 1\nname = \"a\"",
            "line 2: piece: this is no name",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"a\"\nlength = \"long\"",
            "line 2: length: ",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"a\"\nallowance = \"-1\"",
            "line 2: allowance: it is -1 mm",
        ),
        (
            "[[seam]]\nname = \"s\"\none = []\nother = [\"b: 1\"]",
            "line 2: one: there is nothing",
        ),
        (
            "[[seam]]\nname = \"s\"\none = [\"throat\"]\nother = [\"b: 1\"]",
            "line 2: one: \"throat\" names no edge",
        ),
        (
            "[[seam]]\nname = \"s\"\none = [\"a: 1\"]\nother = [\"b: 1\"]\ntolerance = \"0\"",
            "line 2: tolerance: it is 0 mm",
        ),
        (
            "[[ring]]\nname = \"r\"\nedges = [\"a: 1\"]\ngirth = \"0\"",
            "line 2: girth: it is 0 mm",
        ),
        (
            "[[ring]]\nname = \"r\"\nedges = [\"a: 1\"]\ngirth = \"1\"\nat = \"inside\"",
            "line 6: a ring is measured at \"outside\" or \"mid-wall\"",
        ),
    ] {
        let got = said(&with(rest));
        assert!(got.starts_with(want), "{rest}\n{got}");
    }
    let twice = "[[ring]]\nname = \"r\"\nedges = [\"a: 1\"]\ngirth = \"1\"\n";
    assert!(said(&with(&twice.repeat(2))).starts_with("two seams or rings are called \"r\""));
    assert!(said(&with(&twice.repeat(1001))).starts_with("it has more than"));
    assert!(said(&" ".repeat((1 << 20) + 1)).starts_with("the file is larger"));
}

#[test]
fn an_ease_below_zero_is_refused_and_written_the_other_way_round() {
    let text = |ease: &str| {
        with(&format!(
            "[[seam]]\nname = \"s\"\none = [\"a: 1\"]\nother = [\"b: 1\"]\nease = \"{ease}\"\n"
        ))
    };
    assert_eq!(
        said(&text("-6mm")),
        "line 2: ease: it is -6 mm, as if \"other\" were the longer side; name the longer side \
         as \"one\", and how much longer it is without a sign."
    );
    let mut seam = SeamsFile::parse(&text("6mm"))
        .unwrap()
        .sewing
        .seams
        .remove(0);
    seam.ease = -6.0;
    let sewing = Sewing {
        seams: vec![seam],
        rings: Vec::new(),
    };
    let named = |name: &str| PatternPiece {
        name: name.into(),
        ..oblong()
    };
    let pieces = [named("a"), named("b")];
    let file = SeamsFile::written(&pieces, &pieces, &sewing).unwrap().file;
    let again = SeamsFile::parse(&file.to_text().unwrap()).unwrap();
    assert_eq!(again.sewing.seams[0].ease, 6.0);
    assert_eq!(again.sewing.seams[0].one[0].to_string(), "b: 1");
}
