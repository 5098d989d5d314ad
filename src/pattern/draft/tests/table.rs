//! A draft filled in as a table.

use super::*;

#[test]
fn rows_show_what_the_file_says() {
    let table = DraftTable::open(SLIPPERS).unwrap();
    let rows = table.rows();
    let find = |piece: &str, point: &str| {
        rows.iter()
            .find(|r| r.piece == piece && r.point == point)
            .unwrap()
    };
    let top = find("upper", "top inner");
    assert_eq!(
        (top.from.as_str(), top.go.as_str(), top.by.as_str()),
        ("inner end", "square to inner", "side height")
    );
    let toe = find("sole", "toe");
    assert_eq!(toe.other[0].text, "path outline; line centre line, up");
    assert_eq!(find("sole", "i1").number, 1);
    // Untouched it is the same text.
    assert_eq!(table.text(), SLIPPERS);
}

#[test]
fn a_changed_cell_changes_nothing_else() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    let row = table
        .rows()
        .into_iter()
        .find(|r| r.piece == "sole" && r.point == "tip")
        .unwrap();
    table
        .set_cell("sole", row.number, "up", "foot length * 1.05")
        .unwrap();
    let text = table.text();
    let changed: Vec<_> = SLIPPERS
        .lines()
        .zip(text.lines())
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(changed.len(), 1);
    assert!(changed[0].1.contains("up = \"foot length * 1.05\" }"));
    assert_eq!(SLIPPERS.lines().count(), text.lines().count());
    table
        .set_cell("sole", row.number, "up", "foot length * 1.048")
        .unwrap();
    assert_eq!(table.text(), SLIPPERS);
    // A list, and a cell taken away.
    let toe = table.rows().into_iter().find(|r| r.point == "toe").unwrap();
    table
        .set_cell("sole", toe.number, "meet", "path outline; line heel, up")
        .unwrap();
    assert!(
        table
            .text()
            .contains("meet = [\"path outline\", \"line heel, up\"]")
    );
    table.set_cell("sole", toe.number, "nearest", "").unwrap();
    assert!(
        !table
            .rows()
            .iter()
            .any(|r| r.point == "toe" && r.other.len() > 1)
    );
}

#[test]
fn a_bad_cell_is_refused_and_nothing_has_happened() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    let said = |outcome: Outcome<()>| outcome.unwrap_err().to_string();
    for (key, text, word) in [
        ("up", "foot lenght / 2", "foot lenght"),
        ("from", "nobody", "nobody"),
        ("point", "i2", "two points"),
        ("colour", "blue", "not known"),
        ("point", "", "missing"),
        ("point", "a, b", "can't be a name"),
    ] {
        let fault = said(table.set_cell("sole", 1, key, text));
        assert!(fault.contains(word), "{fault}");
    }
    assert!(said(table.set_cell("sole", 99, "up", "1mm")).contains("no row 100"));
    assert!(said(table.set_cell("sock", 0, "up", "1mm")).contains("sock"));
    // Something else needs the point.
    assert!(said(table.remove_row("sole", 1)).contains("i1"));
    assert_eq!(table.text(), SLIPPERS);
}

#[test]
fn rows_come_and_go_and_comments_stay() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    let cell = |key: &str, text: &str| Cell {
        key: key.into(),
        text: text.into(),
    };
    table
        .add_row(
            "sole",
            3,
            &[
                cell("point", "new"),
                cell("from", "heel"),
                cell("go", "up"),
                cell("by", "foot length / 8"),
            ],
        )
        .unwrap();
    let text = table.text();
    assert!(
        text.contains(
            "\n  { point = \"new\", from = \"heel\", go = \"up\", by = \"foot length / 8\" },\n"
        ),
        "{text}"
    );
    assert_eq!(
        table
            .rows()
            .iter()
            .find(|r| r.point == "new")
            .unwrap()
            .number,
        3
    );
    assert!(
        drawn(&text).sketches[0]
            .points
            .iter()
            .any(|(n, _)| n == "new")
    );
    table.remove_row("sole", 3).unwrap();
    assert_eq!(table.text(), SLIPPERS);
    // The row under a comment goes: the comment stays where it was.
    table.add_row("sole", 99, &[cell("point", "last")]).unwrap();
    assert_eq!(
        table.rows().iter().filter(|r| r.piece == "sole").count(),
        26
    );
    let note = "# Drawn on past the side seams";
    let i5 = table
        .rows()
        .into_iter()
        .find(|r| r.piece == "upper" && r.point == "i5")
        .unwrap();
    table.set_cell("upper", i5.number + 2, "at", "1mm").unwrap();
    assert!(table.text().contains(note));
    let mut small = DraftTable::open(&piece_with(
        "# why\n{ point = \"d\" },\n# how\n{ point = \"e\" }",
        TRIANGLE,
    ))
    .unwrap();
    small.remove_row("p", 3).unwrap();
    assert!(small.text().contains("# why") && small.text().contains("# how"));
    small.remove_row("p", 3).unwrap();
    assert!(
        small.text().contains("# why") && small.text().contains("# how"),
        "{}",
        small.text()
    );
    // A piece without points gets its first.
    let mut bare = DraftTable::open(&with("[[piece]]\nname = \"felt\"\nedges = [ { edge = \"low\", straight = [\"q: a\", \"q: b\"] } ]\n[[piece]]\nname = \"q\"\npoints = [ { point = \"a\" }, { point = \"b\" } ]\nedges = [ { edge = \"low\", straight = [\"a\", \"b\"] } ]")).unwrap();
    bare.add_row("felt", 0, &[cell("point", "z")]).unwrap();
    assert!(bare.text().contains("{ point = \"z\" }"), "{}", bare.text());
}
