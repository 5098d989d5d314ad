//! Drafts: the file, its table, and the formulas in it.

use ghostchalk::draft::{self, Change, DraftTable, Drawn, Measures, Part};
use ghostchalk::shape::{Region, signed_area};

use super::Target;
use super::bytes::Bytes;
use super::outlines::is_finite;

pub const DRAFT: Target = Target {
    name: "draft",
    run: a_draft,
    seeds: &["demo-data/*.draft.toml", "fuzz/seeds/draft/*"],
};

pub const FORMULA: Target = Target {
    name: "formula",
    run: a_formula,
    seeds: &["fuzz/seeds/formula/*"],
};

fn a_draft(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else {
        return;
    };
    let table = DraftTable::open(text);
    let Ok(read) = draft::parse(text) else {
        assert!(table.is_err(), "what is no draft was opened as a table");
        return;
    };
    if let Ok(table) = table {
        filled_in(&table, data);
    }
    let measures = Measures::default();
    let Ok(drawn) = read.draw(&measures) else {
        return;
    };
    assert_eq!(drawn.pieces.len(), read.pieces().count());
    assert_eq!(drawn.sketches.len(), drawn.pieces.len());
    let again = read.draw(&measures);
    assert_eq!(again.as_ref(), Ok(&drawn), "drawn twice, it differs");
    if let Ok((pattern, _)) = drawn.finished() {
        for piece in pattern.pieces {
            assert!(piece.cut.iter().all(|ring| signed_area(ring) > 0.0));
            assert!(is_finite(&Region::new(piece.cut)));
        }
    }
}

/// A cell that is written leaves a draft that can be read, or all as it was.
fn filled_in(table: &DraftTable, data: &[u8]) {
    let before = table.text();
    assert!(draft::parse(&before).is_ok(), "its own text is no draft");
    let mut bytes = Bytes::new(data);
    let part = Part::ALL[bytes.below(Part::ALL.len())];
    let rows = table.rows(part);
    if rows.is_empty() {
        return;
    }
    let row = &rows[bytes.below(rows.len())];
    if row.cells.is_empty() {
        return;
    }
    let cell = &row.cells[bytes.below(row.cells.len())];
    let other = &rows[bytes.below(rows.len())];
    let texts = [cell.text.as_str(), other.text(&cell.key), "", "1/2in"];
    let mut changed = table.clone();
    let done = changed.set(&[Change {
        at: row.at,
        key: cell.key.clone(),
        text: texts[bytes.below(texts.len())].to_owned(),
    }]);
    let after = changed.text();
    match done {
        Ok(()) => assert!(draft::parse(&after).is_ok(), "{after}"),
        Err(_) => assert_eq!(after, before, "refused, and yet changed"),
    }
    let mut fewer = table.clone();
    match fewer.remove(row.at) {
        Ok(()) => {
            assert!(draft::parse(&fewer.text()).is_ok());
            assert_eq!(fewer.rows(part).len(), rows.len() - 1);
        }
        Err(_) => assert_eq!(fewer.text(), before, "refused, and yet changed"),
    }
}

/// The input as the formula of a length. In brackets, and times one, it is the same.
fn a_formula(data: &[u8]) {
    let text = String::from_utf8_lossy(data);
    let Some(mm) = worked_out(&text) else { return };
    assert!(mm.abs() <= 1e6, "{mm} mm");
    let Some(same) = worked_out(&format!("({text}) * 1")) else {
        // It may have become too long to be read.
        return;
    };
    // Sums of areas lose digits, in whichever order they are taken.
    assert!((mm - same).abs() <= 1e-2, "{text:?} is {mm}, and {same}");
}

/// Where a point lies that is a formula to the right.
fn worked_out(formula: &str) -> Option<f64> {
    let read = draft::parse(&with(formula)).ok()?;
    let drawn = read.draw(&Measures::default()).ok()?;
    let Drawn { sketches, .. } = drawn;
    let points = &sketches.first()?.points;
    let (_, at) = points.iter().find(|(name, _)| name == "d")?;
    assert!(at.is_finite() && at.y == 0.0);
    Some(at.x)
}

/// A draft in which all that a formula can name is there.
fn with(formula: &str) -> String {
    let mut quoted = String::new();
    for c in formula.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => quoted.push_str(&format!("\\u{:04X}", u32::from(c))),
            c => quoted.push(c),
        }
    }
    format!(
        r#"ghostchalk_draft = 1

[[measure]]
name = "foot length"
least = "200mm"
most = "300mm"
usual = "250mm"

[lengths]
half = "foot length / 2"
share = "half / foot length"
it = "{quoted}"

[[piece]]
name = "p"
points = [
  {{ point = "a" }},
  {{ point = "b", right = "half" }},
  {{ point = "c", up = "100mm" }},
  {{ point = "d", right = "it" }},
]
lines = [{{ line = "l", curve = ["a", "b", "c"] }}]
edges = [{{ edge = "e", straight = ["a", "b", "c", "a"] }}]
"#
    )
}
