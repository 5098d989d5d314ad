//! The seams file, read, put on drawings, and written back.

use super::*;
use crate::pattern::edges;
use crate::pattern::{EdgeName, FitsAt, Ring, Seam};
use crate::pattern::{Line, Notch, NotchKind, PatternPiece, Polyline};
use crate::shape::signed_area;
use crate::space::{Point, Vector};
use proptest::prelude::*;

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

fn lengths(piece: &PatternPiece) -> Vec<(String, f64)> {
    edges(piece)
        .into_iter()
        .map(|e| (e.name, e.length))
        .collect()
}

fn applied(rest: &str, pieces: &mut [PatternPiece]) -> Result<Vec<String>, String> {
    let file = SeamsFile::parse(&with(rest)).unwrap();
    file.apply(pieces)
        .map(|a| a.notes)
        .map_err(|f| f.to_string())
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
            "line 2: name: a colon parts",
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
fn edges_are_named_by_number_and_from_place_to_place() {
    let mut pieces = [oblong()];
    let rest = "[[edge]]\npiece = \"p\"\nnumber = 3\nname = \"top\"\nallowance = \"6\"\n\
                [[edge]]\npiece = \"p\"\nfrom = \"notch 1\"\nto = \"notch 2\"\nname = \"corner\"\n";
    // Notches are counted round the cut line from its first point: the lower one first.
    let order = pieces[0].notches_in_order();
    assert_eq!(order, [1, 0]);
    assert_eq!(applied(rest, &mut pieces), Ok(vec![]));
    let got = lengths(&pieces[0]);
    let want = [
        ("1", 35.0),
        ("corner", 47.0),
        ("after corner", 18.0),
        ("top", 70.0),
        ("4", 30.0),
    ];
    assert_eq!(got.len(), want.len());
    for ((name, len), (other, want)) in got.iter().zip(want) {
        assert!(name == other && (len - want).abs() < 1e-9, "{got:?}");
    }
    assert_eq!(edges(&pieces[0])[3].allowance, Some(6.0));
    // Two vertices more, and the same figure.
    assert_eq!(pieces[0].net[0].points.len(), 6);
    assert!((signed_area(&pieces[0].net[0].points) - 2100.0).abs() < 1e-9);
    assert_eq!(pieces[0].cut, oblong().cut);
}

#[test]
fn a_drawing_the_other_way_round_is_named_alike() {
    let rest = "[[edge]]\npiece = \"p\"\nfrom = \"notch 1\"\nto = \"corner 1\"\nname = \"x\"\n";
    let mut pieces = [oblong(), oblong()];
    pieces[1].name = "q".into();
    pieces[1].net[0].points.reverse();
    assert_eq!(applied(rest, &mut pieces), Ok(vec![]));
    let rest = rest.replace("\"p\"", "\"q\"");
    assert_eq!(applied(&rest, &mut pieces), Ok(vec![]));
    let find = |p: &PatternPiece| edges(p).into_iter().find(|e| e.name == "x").unwrap().length;
    assert!((find(&pieces[0]) - (35.0 + 30.0 + 70.0 + 30.0)).abs() < 1e-9);
    assert!(signed_area(&pieces[1].net[0].points) < 0.0);
    assert_eq!(find(&pieces[1]), find(&pieces[0]));
}

#[test]
fn an_outline_without_corners_is_one_edge_or_parted_at_its_notches() {
    let mut disc = PatternPiece::named("p");
    let arc = |k: u32| (f64::from(k) / 100.0 * std::f64::consts::TAU).sin_cos();
    disc.cut = vec![
        (0..100)
            .map(|k| Point::new(50.0 * arc(k).1, 50.0 * arc(k).0))
            .collect(),
    ];
    let slit = |x: f64, y: f64| Notch {
        at: Point::new(x, y),
        inward: Vector::new(-x, -y) / 50.0,
        depth: 3.0,
        kind: NotchKind::Slit,
    };
    disc.notches = vec![slit(0.0, 50.0), slit(-50.0, 0.0)];
    let mut pieces = [disc.clone()];
    let rest = "[[edge]]\npiece = \"p\"\nfrom = \"notch 1\"\nto = \"notch 2\"\nname = \"quarter\"\n\
                [[edge]]\npiece = \"p\"\nfrom = \"notch 2\"\nto = \"notch 1\"\nname = \"rest\"\n";
    assert_eq!(applied(rest, &mut pieces), Ok(vec![]));
    let got = lengths(&pieces[0]);
    assert_eq!(got.len(), 2);
    let of = |name: &str| got.iter().find(|g| g.0 == name).unwrap().1;
    assert!((of("rest") / of("quarter") - 3.0).abs() < 1e-9, "{got:?}");
    let mut pieces = [disc];
    let whole = "[[edge]]\npiece = \"p\"\nfrom = \"notch 2\"\nto = \"notch 2\"\nname = \"round\"\nlength = \"300 mm\"\n";
    let notes = applied(whole, &mut pieces).unwrap();
    assert!(
        notes[0]
            .starts_with("\"p: round\" was 300.0 mm long when it was named, and is 314.1 mm now"),
        "{notes:?}"
    );
    assert_eq!(
        edges(&pieces[0])[0].line[0],
        Point::new(-50.0, 50.0 * arc(50).0)
    );
}

#[test]
fn what_isnt_there_is_told_and_nothing_is_changed() {
    let before = [oblong()];
    for (rest, want) in [
        (
            "[[edge]]\npiece = \"q\"\nnumber = 1\nname = \"x\"",
            "line 2: there is no piece called \"q\"",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 5\nname = \"x\"",
            "line 2: \"p\" has no edge 5; they are numbered 1 to 4",
        ),
        (
            "[[edge]]\npiece = \"p\"\nfrom = \"corner 1\"\nto = \"notch 3\"\nname = \"x\"",
            "line 2: \"p\" has no notch 3",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"x\"\n[[edge]]\npiece = \"p\"\nfrom = \"notch 1\"\nto = \"corner 3\"\nname = \"y\"",
            "line 6: \"x\" and \"y\" are parts of the same edge",
        ),
        (
            "[[edge]]\npiece = \"p\"\nnumber = 1\nname = \"x\"\n[[edge]]\npiece = \"p\"\nfrom = \"corner 4\"\nto = \"notch 1\"\nname = \"y\"",
            "line 6: \"x\" and \"y\" are parts of the same edge",
        ),
    ] {
        let mut pieces = before.clone();
        let got = applied(rest, &mut pieces).unwrap_err();
        assert!(got.starts_with(want), "{got}");
        assert_eq!(pieces, before);
    }
    let mut folded = oblong();
    folded.folds = vec![vec![Point::new(0.0, 0.0), Point::new(70.0, 0.0)]];
    let rest = "[[edge]]\npiece = \"p\"\nfrom = \"notch 1\"\nto = \"corner 2\"\nname = \"x\"";
    assert!(
        applied(rest, &mut [folded])
            .unwrap_err()
            .contains("in the middle of its fold")
    );
}

prop_compose! {
    fn mm()(v in prop_oneof![-1e5..1e5f64, -10.0..10.0f64]) -> f64 { v }
}

fn names() -> impl Strategy<Value = Vec<EdgeName>> {
    prop::collection::vec(("[a-zé\"\\\\ \t]{0,8}[a-z]", "[a-z0-9\" ]{0,8}[a-z]"), 1..4).prop_map(
        |all| {
            let name = |(p, e): (String, String)| EdgeName {
                piece: p.trim().to_owned(),
                edge: e.trim().to_owned(),
            };
            all.into_iter().map(name).collect()
        },
    )
}

proptest! {
    /// What is written reads back bit for bit.
    #[test]
    fn written_and_read_it_is_the_same(
        one in names(), other in names(), edges in names(),
        (ease, cloth, girth, tolerance) in (mm(), mm(), mm(), mm()),
        sewn in prop::option::of(mm()), mid in any::<bool>(), number in 1usize..50, place in 1usize..9,
    ) {
        let above = |v: f64| v.abs() + 1e-3;
        let file = SeamsFile {
            edges: vec![
                EdgeNaming {
                    piece: one[0].piece.clone(), along: Along::Number(number), name: "u".into(),
                    length: sewn.map(above), allowance: Some(cloth.abs()), line: 0,
                },
                EdgeNaming {
                    piece: one[0].piece.clone(), along: Along::Between(Place::Corner(place), Place::Notch(number)),
                    name: "v".into(), length: None, allowance: None, line: 0,
                },
            ],
            sewing: Sewing {
                seams: vec![Seam { name: "s \"1\"".into(), one, other, ease: ease.abs(), tolerance: above(tolerance) }],
                rings: vec![Ring {
                    name: "r".into(), edges, girth: above(girth), ease, cloth: cloth.abs(),
                    at: if mid { FitsAt::MidWall } else { FitsAt::Outside },
                    tolerance: above(tolerance), sewn: sewn.map(above),
                }],
            },
        };
        let mut again = SeamsFile::parse(&file.to_text().unwrap()).unwrap();
        again.edges.iter_mut().for_each(|e| e.line = 0);
        prop_assert_eq!(again, file);
    }

    /// No text makes it panic.
    #[test]
    fn any_text_is_read_or_refused(text in ".{0,200}", cut in 0usize..2400) {
        let _ = SeamsFile::parse(&text);
        let _ = SeamsFile::parse(&with(&text));
        let end = (0..=cut.min(DEMO.len())).rev().find(|&k| DEMO.is_char_boundary(k)).unwrap_or(0);
        let _ = SeamsFile::parse(&DEMO[..end]);
    }
}

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
