//! A draft filled in as a table.

use super::*;

/// The row of this name, of the piece of this place.
fn find(table: &DraftTable, part: Part, piece: usize, name: &str) -> Row {
    let rows = table.rows(part);
    let found = rows
        .into_iter()
        .find(|r| r.at.piece == piece && r.name() == name);
    found.unwrap_or_else(|| panic!("no {name}"))
}

fn set(table: &mut DraftTable, at: RowAt, key: &str, text: &str) -> Outcome<()> {
    let (key, text) = (key.into(), text.into());
    table.set(&[Change { at, key, text }])
}

/// Pieces of the slippers' draft.
const SOLE: usize = 0;
const UPPER: usize = 1;

fn points(piece: usize, row: usize) -> RowAt {
    let part = Part::Points;
    RowAt { part, piece, row }
}

#[test]
fn rows_show_what_the_file_says() {
    let table = DraftTable::open(SLIPPERS).unwrap();
    let names: Vec<String> = table
        .rows(Part::Pieces)
        .iter()
        .map(|r| r.name().to_owned())
        .collect();
    assert_eq!(&names[..2], ["sole", "upper"]);
    let top = find(&table, Part::Points, UPPER, "top inner");
    assert_eq!(
        (top.text("from"), top.text("go"), top.text("by")),
        ("inner end", "square to inner", "side height")
    );
    let toe = find(&table, Part::Points, SOLE, "toe");
    assert_eq!(toe.text("meet"), "path outline; line centre line, up");
    assert_eq!(find(&table, Part::Points, SOLE, "i1").at.row, 1);
    // Every row of every kind: as many as another count of the file's words.
    for (part, word) in [
        (Part::Measures, "[[measure]]"),
        (Part::Pieces, "[[piece]]"),
        (Part::Seams, "[[seam]]"),
        (Part::Rings, "[[ring]]"),
        (Part::Points, "{ point = "),
        (Part::Lines, "{ line = "),
        (Part::Edges, "{ edge = "),
    ] {
        let begins = |l: &&str| l.trim().starts_with(word);
        // Notches and darts stand on an edge; how it runs only an edge says.
        let runs = |l: &&str| {
            let ways = [
                "straight = ",
                "curve = ",
                "arc = ",
                "part = ",
                "join = ",
                "line = ",
                "beside = ",
            ];
            part != Part::Edges || ways.iter().any(|w| l.contains(w))
        };
        let count = SLIPPERS.lines().filter(begins).filter(runs).count();
        assert_eq!(table.rows(part).len(), count, "{word}");
    }
    // Untouched it is the same text.
    assert_eq!(table.text(), SLIPPERS);
}

/// Each cell of each row, typed again as it is shown, leaves the file as it was: what is
/// shown is what can be typed.
#[test]
fn what_a_cell_shows_can_be_typed() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    for part in Part::ALL {
        for row in table.rows(part) {
            for cell in row.cells.iter().filter(|c| !c.text.is_empty()) {
                let other = format!("{} ", cell.text);
                set(&mut table, row.at, &cell.key, &other).unwrap();
                assert_eq!(table.text(), SLIPPERS, "{:?} {}", row.at, cell.key);
            }
        }
    }
}

#[test]
fn a_changed_cell_changes_nothing_else() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    let tip = find(&table, Part::Points, SOLE, "tip").at;
    set(&mut table, tip, "up", "foot length * 1.05").unwrap();
    let text = table.text();
    let changed: Vec<_> = SLIPPERS
        .lines()
        .zip(text.lines())
        .filter(|(a, b)| a != b)
        .collect();
    assert_eq!(changed.len(), 1);
    assert!(changed[0].1.contains("up = \"foot length * 1.05\" }"));
    assert_eq!(SLIPPERS.lines().count(), text.lines().count());
    set(&mut table, tip, "up", "foot length * 1.048").unwrap();
    assert_eq!(table.text(), SLIPPERS);
    // A list, and a cell taken away.
    let toe = find(&table, Part::Points, SOLE, "toe").at;
    set(&mut table, toe, "meet", "path outline; line heel, up").unwrap();
    let written = "meet = [\"path outline\", \"line heel, up\"]";
    assert!(table.text().contains(written));
    set(&mut table, toe, "nearest", "").unwrap();
    assert_eq!(find(&table, Part::Points, SOLE, "toe").text("nearest"), "");
}

#[test]
fn every_part_of_a_draft_is_changed() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    let first = |table: &DraftTable, part| table.rows(part)[0].clone();
    let mut typed = |part, key: &str, text: &str, written: &str| {
        let at = first(&table, part).at;
        set(&mut table, at, key, text).unwrap();
        assert_eq!(first(&table, part).text(key), text);
        assert!(
            table.text().contains(written),
            "{written}: {}",
            table.text()
        );
    };
    typed(Part::Measures, "most", "31cm", "most = \"31cm\"");
    typed(
        Part::Lengths,
        "is",
        "foot length / 2.5",
        "= \"foot length / 2.5\"",
    );
    typed(Part::Pieces, "cut", "6", "cut = 6");
    typed(Part::Pieces, "pair", "yes", "pair = true");
    typed(Part::Edges, "allowance", "9mm", "allowance = \"9mm\"");
    typed(Part::Edges, "fold", "yes", "fold = true");
    typed(Part::Notches, "at", "0.25", "at = 0.25");
    typed(Part::Notches, "kind", "double", "kind = \"double\"");
    typed(Part::Darts, "width", "12mm", "width = \"12mm\"");
    typed(Part::Seams, "ease", "3mm", "ease = \"3mm\"");
    typed(Part::Lines, "show", "yes", "show = true");
    // A flag that is not so has no word.
    let piece = first(&table, Part::Pieces).at;
    set(&mut table, piece, "pair", "no").unwrap();
    assert_eq!(first(&table, Part::Pieces).text("pair"), "");
    // A mirrored half, its grain, a curve's tangents.
    let mut mirrored = DraftTable::open(&with(
        "[[piece]]\nname = \"p\"\npoints = [ { point = \"a\" }, { point = \"b\", up = \"90mm\" }, \
         { point = \"c\", right = \"40mm\", up = \"45mm\" } ]\nedges = [\n  # round\n  \
         { edge = \"side\", curve = [\"a\", \"c\", \"b\"], tangents = { c = \"up\" } },\n  \
         { edge = \"middle\", straight = [\"b\", \"a\"] },\n]",
    ))
    .unwrap();
    let piece = first(&mirrored, Part::Pieces).at;
    let side = first(&mirrored, Part::Edges);
    assert_eq!(side.text("tangents"), "c = up");
    set(&mut mirrored, side.at, "tangents", "c = 80°; a = right").unwrap();
    set(&mut mirrored, piece, "grain", "a, b").unwrap();
    // The edge along the middle goes with the mirror's coming.
    let middle = mirrored.rows(Part::Edges)[1].at;
    mirrored.remove(middle).unwrap();
    set(&mut mirrored, piece, "mirror", "a; b").unwrap();
    let text = mirrored.text();
    for words in [
        "tangents = { c = \"80°\", a = \"right\" }",
        "grain = [\"a\", \"b\"]",
        "mirror = [\"a\", \"b\"]",
        "# round",
    ] {
        assert!(text.contains(words), "{words}: {text}");
    }
    let whole = drawn(&text);
    let b = crate::shape::bounds(whole.pieces[0].piece.net[0].points.iter().copied()).unwrap();
    assert!((b.width() - 80.0).abs() < 1.0, "{}", b.width());
}

#[test]
fn lengths_are_named_told_in_two_ways_and_taken_out() {
    let text = "# why so\nlow = \"10mm\" # low\n# another\nhigh = \"low * 2\"\n";
    let text = with(&format!(
        "[lengths]\n{text}{}",
        piece_with("", TRIANGLE)
            .split_once("[[piece]]")
            .map_or(String::new(), |(_, p)| format!("\n[[piece]]{p}"))
    ));
    let mut table = DraftTable::open(&text).unwrap();
    let at = |row| RowAt {
        part: Part::Lengths,
        piece: 0,
        row,
    };
    let change = |row, key: &str, text: &str| Change {
        at: at(row),
        key: key.into(),
        text: text.into(),
    };
    // Its name, and where it is used, at once.
    let both = [change(0, "name", "base"), change(1, "is", "base * 2")];
    assert!(table.clone().set(&both[..1]).is_err());
    table.set(&both).unwrap();
    let now = table.text();
    assert!(
        now.contains("# why so\nbase = \"10mm\" # low\n# another\nhigh = \"base * 2\""),
        "{now}"
    );
    assert!(set(&mut table, at(0), "name", "high").is_err());
    // Between two bounds, and plain again.
    let until = ["until", "least", "most"].map(|k| change(0, k, "10mm"));
    assert!(table.clone().set(&until[..2]).is_err());
    table.set(&until).unwrap();
    let row = table.rows(Part::Lengths)[0].clone();
    assert_eq!((row.text("until"), row.text("is")), ("10mm", "10mm"));
    table
        .set(&until.map(|c| Change {
            text: String::new(),
            ..c
        }))
        .unwrap();
    assert_eq!(table.text(), now);
    let cells = [Cell::new("name", "third"), Cell::new("is", "high / 3")];
    table.add(Part::Lengths, 0, &cells).unwrap();
    assert!(table.add(Part::Lengths, 0, &cells).is_err());
    assert!(table.remove(at(1)).is_err(), "the third needs it");
    table.remove(at(2)).unwrap();
    table.remove(at(1)).unwrap();
    assert!(table.text().contains("# another"), "{}", table.text());
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
        let fault = said(set(&mut table, points(SOLE, 1), key, text));
        assert!(fault.contains(word), "{fault}");
    }
    let at = |part, row| RowAt {
        part,
        piece: 0,
        row,
    };
    for (at, key, text, word) in [
        (at(Part::Pieces, 0), "pair", "perhaps", "yes or no"),
        (at(Part::Pieces, 0), "cut", "two", "whole number"),
        (at(Part::Pieces, 0), "cut", "0", "from 1 to"),
        (at(Part::Edges, 0), "tangents", "up", "its direction"),
        (at(Part::Edges, 0), "corner", "round", "mitred"),
        (at(Part::Measures, 0), "least", "4m", "its range"),
        (at(Part::Lengths, 0), "is", "", ""),
        (at(Part::Rings, 9), "at", "outside", "no row"),
    ] {
        let fault = said(set(&mut table, at, key, text));
        assert!(fault.contains(word), "{fault}");
    }
    assert!(said(set(&mut table, points(SOLE, 99), "up", "1mm")).contains("no row 100"));
    assert!(said(set(&mut table, points(99, 0), "up", "1mm")).contains("no piece 100"));
    // Something else needs the point.
    assert!(said(table.remove(points(SOLE, 1))).contains("i1"));
    assert_eq!(table.text(), SLIPPERS);
}

#[test]
fn rows_come_and_go_and_comments_stay() {
    let mut table = DraftTable::open(SLIPPERS).unwrap();
    let cells = [
        ("point", "new"),
        ("from", "heel"),
        ("go", "up"),
        ("by", "foot length / 8"),
    ];
    let cells = cells.map(|(k, t)| Cell::new(k, t));
    table.insert(Part::Points, SOLE, 3, &cells).unwrap();
    let text = table.text();
    assert!(
        text.contains(
            "\n  { point = \"new\", from = \"heel\", go = \"up\", by = \"foot length / 8\" },\n"
        ),
        "{text}"
    );
    assert_eq!(find(&table, Part::Points, SOLE, "new").at.row, 3);
    assert!(
        drawn(&text).sketches[0]
            .points
            .iter()
            .any(|(n, _)| n == "new")
    );
    table.remove(points(SOLE, 3)).unwrap();
    assert_eq!(table.text(), SLIPPERS);
    // The row under a comment goes: the comment stays where it was.
    table
        .add(Part::Points, SOLE, &[Cell::new("point", "last")])
        .unwrap();
    let of_sole = |r: &&Row| r.at.piece == SOLE;
    assert_eq!(table.rows(Part::Points).iter().filter(of_sole).count(), 26);
    let note = "# Drawn on past the side seams";
    let i5 = find(&table, Part::Points, UPPER, "i5").at.row;
    set(&mut table, points(UPPER, i5 + 2), "at", "1mm").unwrap();
    assert!(table.text().contains(note));
    let mut small = DraftTable::open(&piece_with(
        "# why\n{ point = \"d\" },\n# how\n{ point = \"e\" }",
        TRIANGLE,
    ))
    .unwrap();
    for _ in 0..2 {
        small.remove(points(0, 3)).unwrap();
        let text = small.text();
        assert!(text.contains("# why") && text.contains("# how"), "{text}");
    }
    // A piece without points gets its first.
    let mut bare = DraftTable::open(&with("[[piece]]\nname = \"felt\"\nedges = [ { edge = \"low\", straight = [\"q: a\", \"q: b\"] } ]\n[[piece]]\nname = \"q\"\npoints = [ { point = \"a\" }, { point = \"b\" } ]\nedges = [ { edge = \"low\", straight = [\"a\", \"b\"] } ]")).unwrap();
    bare.add(Part::Points, 0, &[Cell::new("point", "z")])
        .unwrap();
    assert!(bare.text().contains("{ point = \"z\" }"), "{}", bare.text());
}

/// A new row of every kind is one that can be drawn, and taken out again it leaves the file
/// as it was.
#[test]
fn a_new_row_of_every_kind_can_be_read_and_taken_out() {
    for part in Part::ALL {
        let mut table = DraftTable::open(SLIPPERS).unwrap();
        let before = table.rows(part).len();
        if part == Part::Pieces {
            table.add_piece(&fresh::piece(&table)).unwrap();
        } else {
            let cells = fresh::row(&table, part, SOLE).unwrap();
            table.add(part, SOLE, &cells).unwrap();
        }
        let rows = table.rows(part);
        assert_eq!(rows.len(), before + 1, "{part:?}");
        // Points, lines and lengths are drawn with; an edge more opens the outline.
        if part != Part::Edges {
            drawn(&table.text());
        }
        let last = rows
            .iter()
            .rfind(|r| r.at.piece == SOLE || !part.is_of_a_piece());
        table.remove(last.unwrap().at).unwrap();
        // The brackets of a list may stand otherwise.
        let bare = |text: &str| {
            text.split_whitespace()
                .collect::<String>()
                .replace(",]", "]")
        };
        let same = bare(&table.text()) == bare(SLIPPERS);
        assert!(same, "{part:?}: {}", table.text());
    }
}

/// Every way of telling each row, filled in as it is proposed, is understood.
#[test]
fn rows_are_told_in_other_ways() {
    for part in [
        Part::Points,
        Part::Edges,
        Part::Notches,
        Part::Darts,
        Part::Lengths,
    ] {
        let ways = part.ways().len();
        for way in 0..ways {
            let mut desk = Desk::open(SLIPPERS, [].into(), [1.0; 2]).unwrap();
            let rows = desk.rows(part);
            // One that nothing else is measured from.
            let row = rows.last().unwrap().at;
            desk.tell(row, way);
            let now = desk.rows(part).into_iter().find(|r| r.at == row).unwrap();
            let key = part.ways()[way].keys[0];
            assert!(!now.text(key).is_empty(), "{part:?} {key}");
            let told: Vec<&str> = part.ways().iter().map(|w| w.keys[0]).collect();
            let others = told
                .iter()
                .filter(|k| **k != key && !part.ways()[way].keys.contains(k));
            for other in others {
                assert!(now.text(other).is_empty(), "{part:?} {key} {other}");
            }
            // It is read; whether it can be drawn so is for the person to see.
            let waits = desk.faults_at(row).iter().any(|f| f.contains("not clear"));
            assert!(!waits, "{part:?} {key}: {:?}", desk.faults_at(row));
        }
    }
}
