//! Imports run one way: the table of rooms in `DEVELOPERS.md` is the rule, and
//! this test scans `src` for any other edge.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

/// Room → the rooms it may import.
fn table() -> BTreeMap<String, BTreeSet<String>> {
    let text = std::fs::read_to_string("DEVELOPERS.md").unwrap();
    let mut rooms = BTreeMap::new();
    // Other tables are of other things.
    let ours = text.lines().skip_while(|l| !l.starts_with("| room |"));
    let ours = ours.take_while(|l| l.starts_with('|'));
    for line in ours.filter(|l| l.starts_with("| `")) {
        let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
        if cells.len() != 3 {
            continue;
        }
        let words = |cell: &str| -> BTreeSet<String> {
            cell.split(|c: char| !c.is_alphanumeric() && c != '_')
                .filter(|w| !w.is_empty())
                .map(str::to_owned)
                .collect()
        };
        for room in words(cells[0]) {
            rooms.insert(room, words(cells[2]));
        }
    }
    rooms
}

fn sources(folder: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// The rooms that a file names with `crate::`, comments left out. A grouped
/// `use crate::{a, b}` would hide edges, so it is not allowed.
fn imports(text: &str) -> Vec<String> {
    let code = text.lines().filter(|l| !l.trim_start().starts_with("//"));
    code.flat_map(|line| {
        line.match_indices("crate::")
            .map(|(at, _)| {
                let rest = &line[at + "crate::".len()..];
                assert!(
                    !rest.starts_with('{'),
                    "name each room on a line of its own: {line}"
                );
                rest.chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect()
            })
            .collect::<Vec<String>>()
    })
    .collect()
}

fn room_of(path: &Path) -> String {
    let inside = path.strip_prefix("src").unwrap();
    let first = inside
        .components()
        .next()
        .unwrap()
        .as_os_str()
        .to_str()
        .unwrap();
    first.trim_end_matches(".rs").to_owned()
}

#[test]
fn imports_follow_the_table_and_no_other() {
    let rooms = table();
    assert!(
        rooms.len() > 12,
        "the table of rooms was not found in DEVELOPERS.md"
    );
    let mut files = Vec::new();
    sources(Path::new("src"), &mut files);
    let mut seen = BTreeSet::new();
    for path in files {
        let room = room_of(&path);
        if room == "lib" || room == "main" {
            continue;
        }
        let may = rooms
            .get(&room)
            .unwrap_or_else(|| panic!("{}: the room {room} is not in the table", path.display()));
        for other in imports(&std::fs::read_to_string(&path).unwrap()) {
            let allowed = other == room || may.contains(&other) || may.contains("all");
            assert!(allowed, "{}: {room} may not import {other}", path.display());
        }
        seen.insert(room);
    }
    for room in rooms.keys() {
        assert!(
            seen.contains(room),
            "the table names {room}, which is not there"
        );
    }
}

#[test]
fn rooms_form_no_circle() {
    let rooms = table();
    fn visit(room: &str, rooms: &BTreeMap<String, BTreeSet<String>>, path: &mut Vec<String>) {
        assert!(
            !path.iter().any(|p| p == room),
            "a circle: {path:?} → {room}"
        );
        path.push(room.to_owned());
        for next in rooms
            .get(room)
            .into_iter()
            .flatten()
            .filter(|n| *n != "all")
        {
            visit(next, rooms, path);
        }
        path.pop();
    }
    for room in rooms.keys() {
        visit(room, &rooms, &mut Vec::new());
    }
}

#[test]
fn an_edge_is_seen() {
    assert_eq!(
        imports(
            "use crate::shape::Region;\n// use crate::lay;\nfn f() -> crate::fault::Outcome<()>"
        ),
        ["shape", "fault"]
    );
}
