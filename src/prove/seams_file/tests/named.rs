//! Edges named by number and from place to place, on whatever outline.

use super::*;
use crate::pattern::{Notch, NotchKind, PatternPiece, edges};
use crate::shape::signed_area;
use crate::space::{Point, Vector};

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
