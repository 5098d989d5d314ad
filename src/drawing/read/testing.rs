//! What tests of several formats share: the files made by other libraries, and their true
//! geometry (`tests/reference/pattern_files.py`).

use std::path::Path;

use serde_json::Value;

use crate::pattern::{Pattern, Polyline};
use crate::shape::nearest;
use crate::space::{Piece, Point};

/// How far a vertex may be from where it was drawn, mm.
const NEAR: f64 = 0.01;

pub fn file(name: &str) -> Vec<u8> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/pattern_files");
    std::fs::read(Path::new(folder).join(name)).unwrap()
}

fn points(value: &Value) -> Polyline {
    let point = |p: &Value| Point::new(p[0].as_f64().unwrap(), p[1].as_f64().unwrap());
    value.as_array().unwrap().iter().map(point).collect()
}

/// Holds `pattern` against the true geometry of the file `name`: pieces and names, every
/// corner a vertex and every vertex on the outline within 0.01 mm, and the marks.
pub fn check(pattern: &Pattern, name: &str) {
    let json = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/tests/reference/pattern_files.json"
    ));
    let json: Value = serde_json::from_str(json).unwrap();
    let wanted = json["files"][name].as_array().unwrap();
    let mut found: Vec<&str> = pattern.pieces.iter().map(|p| p.name.as_str()).collect();
    let truth = |k: &Value| &json["pieces"][k.as_u64().unwrap() as usize];
    let mut names: Vec<&str> = wanted
        .iter()
        .map(|k| truth(k)["name"].as_str().unwrap())
        .collect();
    found.sort_unstable();
    names.sort_unstable();
    assert_eq!(
        found, names,
        "{name}: {:?} {:?}",
        pattern.notes, pattern.left_out
    );
    for piece in wanted.iter().map(truth) {
        let own = pattern
            .pieces
            .iter()
            .find(|p| Some(p.name.as_str()) == piece["name"].as_str());
        let own = own.unwrap();
        let label = format!("{name}, {}", own.name);
        assert_eq!(own.cut.len(), 1, "{label}");
        let mut line = points(&piece["line"]);
        line.push(line[0]);
        let off = |p: Point<Piece>| nearest(&line, p).unwrap().1;
        let worst = own.cut[0].iter().map(|&p| off(p)).fold(0.0, f64::max);
        assert!(worst <= NEAR, "{label}: a vertex is {worst} mm off");
        let near = |a: &Point<Piece>, b: &Point<Piece>| (*a - *b).length() <= NEAR;
        for corner in points(&piece["corners"]) {
            assert!(
                own.cut[0].iter().any(|p| near(p, &corner)),
                "{label}: no vertex at {corner:?}"
            );
        }
        let marks: [(&str, Polyline); 3] = [
            ("notches", own.notches.iter().map(|n| n.at).collect()),
            ("drills", own.drills.clone()),
            ("grain", own.grain.map_or(Vec::new(), |g| g.to_vec())),
        ];
        for (kind, marks) in marks {
            let Some(wanted) = piece.get(kind).map(points) else {
                continue;
            };
            assert_eq!(
                marks.len(),
                wanted.len(),
                "{label}: {kind} {:?}",
                pattern.left_out
            );
            let found = |w: &Point<Piece>| marks.iter().any(|m| near(m, w));
            assert!(
                wanted.iter().all(found),
                "{label}: {kind} at {marks:?}, not {wanted:?}"
            );
            // A grain runs one way.
            if kind == "grain" {
                assert!(
                    near(&marks[0], &wanted[0]),
                    "{label}: the grain is turned about"
                );
            }
        }
    }
}

/// Some sentence of `list` says `words`.
pub fn holds(list: &[String], words: &str) {
    assert!(
        list.iter().any(|line| line.contains(words)),
        "{words:?} is not in {list:#?}"
    );
}
