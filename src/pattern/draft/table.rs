//! A draft as a table to fill in: its points, a row each, changed in the file's own text,
//! so that comments and order stay.

use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, Value};

use super::keys::{check_name, formula_text};
use super::read::parse;
use crate::fault::{Fault, Outcome};

/// The columns that the table always shows.
const SHOWN: [&str; 4] = ["point", "from", "go", "by"];

/// One cell: the word that the file has for it, and what stands in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    pub key: String,
    pub text: String,
}

/// A point of a draft, as a row.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Row {
    pub piece: String,
    /// From 0, within the piece.
    pub number: usize,
    pub point: String,
    /// From which point, in which direction, by which measure ÷ number; empty where the
    /// row is of another kind.
    pub from: String,
    pub go: String,
    pub by: String,
    /// What else the row says: `right`, `up`, `on`, `at`, `meet`, `nearest` …
    pub other: Vec<Cell>,
}

/// A draft's text, open for changes. A change that would leave a draft that can't be read
/// is refused and nothing has happened.
#[derive(Debug, Clone)]
pub struct DraftTable {
    doc: DocumentMut,
}

impl DraftTable {
    /// Opens `text`, which must be a draft that can be read.
    ///
    /// # Errors
    /// As [`parse`].
    pub fn open(text: &str) -> Outcome<Self> {
        parse(text)?;
        let doc = text.parse::<DocumentMut>();
        let doc =
            doc.map_err(|e| Fault::input(format!("this is not TOML: {e}"), "put it right"))?;
        Ok(Self { doc })
    }

    /// The draft as it is to be saved.
    pub fn text(&self) -> String {
        self.doc.to_string()
    }

    /// All points, in the file's order.
    pub fn rows(&self) -> Vec<Row> {
        let mut out = Vec::new();
        let pieces = self.doc.get("piece").and_then(Item::as_array_of_tables);
        for piece in pieces.into_iter().flatten() {
            let name = piece.get("name").and_then(Item::as_str).unwrap_or_default();
            let points = piece.get("points").and_then(Item::as_array);
            let rows = points
                .into_iter()
                .flatten()
                .filter_map(Value::as_inline_table);
            out.extend(rows.enumerate().map(|(k, row)| shown(name, k, row)));
        }
        out
    }

    /// Writes `text` into the cell `key` of a row (empty: takes the cell away). Lists
    /// (`meet`, `about`) are written with a semicolon between their parts.
    ///
    /// # Errors
    /// If there is no such row, or the draft could not be read with it.
    pub fn set_cell(&mut self, piece: &str, row: usize, key: &str, text: &str) -> Outcome<()> {
        self.change(piece, |points| {
            let count = points.len();
            let found = points.get_mut(row).and_then(Value::as_inline_table_mut);
            let table = found.ok_or_else(|| no_row(row, count))?;
            put(table, key, text)
        })
    }

    /// Puts a new row before row `before` (at the end, if there are not so many).
    ///
    /// # Errors
    /// If the draft could not be read with it.
    pub fn add_row(&mut self, piece: &str, before: usize, cells: &[Cell]) -> Outcome<()> {
        self.change(piece, |points| {
            let mut table = InlineTable::new();
            for cell in cells {
                put(&mut table, &cell.key, &cell.text)?;
            }
            let at = before.min(points.len());
            points.insert(at, Value::InlineTable(table));
            if let Some(row) = points.get_mut(at) {
                row.decor_mut().set_prefix("\n  ");
                row.decor_mut().set_suffix("");
            }
            if points.len() == 1 {
                points.set_trailing("\n");
            }
            points.set_trailing_comma(true);
            Ok(())
        })
    }

    /// Takes a row away. Its comments go to the row after it.
    ///
    /// # Errors
    /// If there is no such row, or something else needs its point.
    pub fn remove_row(&mut self, piece: &str, row: usize) -> Outcome<()> {
        self.change(piece, |points| {
            if row >= points.len() {
                return Err(no_row(row, points.len()));
            }
            let gone = points.remove(row);
            let note = comments(gone.decor().prefix().and_then(|p| p.as_str()));
            if note.is_empty() {
                return Ok(());
            }
            // What follows a comment begins on a line of its own.
            let after = |old: &str| {
                let gap = if old.starts_with('\n') { "" } else { "\n" };
                format!("{note}{gap}{old}")
            };
            match points.get_mut(row) {
                Some(next) => {
                    let old = next.decor().prefix().and_then(|p| p.as_str());
                    let kept = after(old.unwrap_or("\n  "));
                    next.decor_mut().set_prefix(kept);
                }
                None => {
                    let kept = after(points.trailing().as_str().unwrap_or_default());
                    points.set_trailing(kept);
                }
            }
            Ok(())
        })
    }

    fn change(&mut self, piece: &str, by: impl FnOnce(&mut Array) -> Outcome<()>) -> Outcome<()> {
        let mut doc = self.doc.clone();
        let pieces = doc.get_mut("piece").and_then(Item::as_array_of_tables_mut);
        let named = |t: &Table| t.get("name").and_then(Item::as_str) == Some(piece);
        let found = pieces.and_then(|all| all.iter_mut().find(|t| named(t)));
        let table = found.ok_or_else(|| {
            Fault::input(
                format!("there is no piece named \"{piece}\""),
                "choose one of the draft's pieces",
            )
        })?;
        let points = table
            .entry("points")
            .or_insert_with(|| Item::Value(Value::Array(Array::new())));
        let points = points.as_array_mut().ok_or_else(|| {
            Fault::input(
                format!("the points of \"{piece}\" are written as tables of their own"),
                "write them as rows: points = [ { point = … }, … ]",
            )
        })?;
        by(points)?;
        let text = doc.to_string();
        parse(&text)?;
        self.doc = text.parse().unwrap_or(doc);
        Ok(())
    }
}

fn no_row(row: usize, count: usize) -> Fault {
    Fault::input(
        format!("there is no row {}, only {count}", row + 1),
        "choose a row that is there",
    )
}

/// The comment lines in the space before a row, each on a line of its own.
fn comments(prefix: Option<&str>) -> String {
    let lines = prefix.unwrap_or_default().lines().map(str::trim);
    let kept = lines.filter(|l| l.starts_with('#'));
    kept.fold(String::new(), |sum, l| format!("{sum}\n  {l}"))
}

fn text_of(value: &Value) -> String {
    match value {
        Value::Array(list) => {
            let parts: Vec<String> = list.iter().map(text_of).collect();
            parts.join("; ")
        }
        Value::Boolean(flag) => flag.value().to_string(),
        value => formula_text(&Item::Value(value.clone())).unwrap_or_default(),
    }
}

fn shown(piece: &str, number: usize, row: &InlineTable) -> Row {
    let text = |key: &str| row.get(key).map(text_of).unwrap_or_default();
    let other = row.iter().filter(|(key, _)| !SHOWN.contains(key));
    Row {
        piece: piece.to_owned(),
        number,
        point: text("point"),
        from: text("from"),
        go: text("go"),
        by: text("by"),
        other: other
            .map(|(key, value)| Cell {
                key: key.to_owned(),
                text: text_of(value),
            })
            .collect(),
    }
}

fn put(table: &mut InlineTable, key: &str, text: &str) -> Outcome<()> {
    let text = text.trim();
    if text.is_empty() {
        table.remove(key);
        return Ok(());
    }
    if key == "point" {
        check_name(text)?;
    }
    let mut value = if matches!(key, "meet" | "about") {
        Value::Array(text.split(';').map(str::trim).collect())
    } else {
        Value::from(text)
    };
    match table.get_mut(key) {
        Some(old) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        None => {
            table.insert(key, value);
        }
    }
    Ok(())
}
