//! A draft as a table to fill in: a row for each measure, length, piece, point, line, edge,
//! notch, dart, seam and ring, changed in the file's own text, so that comments and order
//! stay.

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::read::parse;
use super::words::{in_order, text_of};
use crate::fault::{Fault, Outcome};

/// The columns of a plain point that are always there to be filled in.
const PLAIN: [&str; 4] = ["point", "from", "go", "by"];

/// A kind of row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Part {
    Measures,
    Lengths,
    Pieces,
    Points,
    Lines,
    Edges,
    Notches,
    Darts,
    Seams,
    Rings,
}

impl Part {
    pub const ALL: [Part; 10] = [
        Part::Measures,
        Part::Lengths,
        Part::Pieces,
        Part::Points,
        Part::Lines,
        Part::Edges,
        Part::Notches,
        Part::Darts,
        Part::Seams,
        Part::Rings,
    ];

    /// What the file calls the list of them.
    pub fn key(self) -> &'static str {
        match self {
            Part::Measures => "measure",
            Part::Lengths => "lengths",
            Part::Pieces => "piece",
            Part::Points => "points",
            Part::Lines => "lines",
            Part::Edges => "edges",
            Part::Notches => "notches",
            Part::Darts => "darts",
            Part::Seams => "seam",
            Part::Rings => "ring",
        }
    }

    /// What a person calls them, and one of them.
    pub fn words(self) -> (&'static str, &'static str) {
        match self {
            Part::Measures => ("measures", "measure"),
            Part::Lengths => ("lengths", "length"),
            Part::Pieces => ("pieces", "piece"),
            Part::Points => ("points", "point"),
            Part::Lines => ("lines", "line"),
            Part::Edges => ("edges", "edge"),
            Part::Notches => ("notches", "notch"),
            Part::Darts => ("darts", "dart"),
            Part::Seams => ("seams", "seam"),
            Part::Rings => ("rings", "ring"),
        }
    }

    /// Whether each piece has rows of its own.
    pub fn is_of_a_piece(self) -> bool {
        use Part as P;
        matches!(
            self,
            P::Points | P::Lines | P::Edges | P::Notches | P::Darts
        )
    }
}

/// Which row it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct RowAt {
    pub part: Part,
    /// The piece that it is of, from 0; 0 where rows are the whole draft's.
    pub piece: usize,
    /// From 0, among its like.
    pub row: usize,
}

/// One cell: the word that the file has for it, and what stands in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cell {
    pub key: String,
    pub text: String,
}

impl Cell {
    pub fn new(key: impl Into<String>, text: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            text: text.into(),
        }
    }
}

/// A row: what the file says in it, and the empty cells that such a row usually fills.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    pub at: RowAt,
    pub cells: Vec<Cell>,
}

impl Row {
    /// What stands in the cell `key`; nothing if there is none.
    pub fn text(&self, key: &str) -> &str {
        let found = self.cells.iter().find(|c| c.key == key);
        found.map_or("", |c| &c.text)
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        self.text(self.at.part.name_key())
    }

    fn of(at: RowAt, cells: Vec<Cell>) -> Self {
        let mut cells = in_order(at.part, cells);
        let plain = |c: &Cell| PLAIN.contains(&c.key.as_str());
        if at.part == Part::Points && cells.iter().all(plain) {
            let had = |key| cells.iter().find(|c| c.key == key).cloned();
            let each = PLAIN.iter().map(|&k| had(k).unwrap_or(Cell::new(k, "")));
            cells = each.collect();
        }
        Self { at, cells }
    }
}

/// One change of a cell.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    pub at: RowAt,
    pub key: String,
    /// Empty: the cell goes.
    pub text: String,
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

    /// All rows of a kind, in the file's order; of all pieces, where they are of a piece.
    pub fn rows(&self, part: Part) -> Vec<Row> {
        let pieces = if part.is_of_a_piece() {
            self.doc.get(Part::Pieces.key()).map_or(0, count)
        } else {
            1
        };
        let of = |piece| {
            let item = list(&self.doc, part, piece);
            let each = item.map(|i| cells(i, part)).unwrap_or_default();
            let rows = each.into_iter().enumerate();
            rows.map(move |(row, cells)| Row::of(RowAt { part, piece, row }, cells))
        };
        (0..pieces).flat_map(of).collect()
    }

    /// Writes texts into cells (empty: takes the cell away), all of them or none. Names in a
    /// list stand with a comma or semicolon between them, the two that `meet` and what is
    /// joined with a semicolon.
    ///
    /// # Errors
    /// If there is no such row, or the draft could not be read with it.
    pub fn set(&mut self, changes: &[Change]) -> Outcome<()> {
        self.change(|doc| {
            for Change { at, key, text } in changes {
                let value = at.part.value(key, text)?;
                let item = list_mut(doc, at.part, at.piece)?;
                if at.part == Part::Lengths {
                    set_length(item, at.row, key, value)?;
                    continue;
                }
                let count = count(item);
                let table = nth_mut(item, at.row).ok_or_else(|| no_row(at.row, count))?;
                put(table, key, value);
            }
            Ok(())
        })
    }

    /// Puts a new row at the end.
    ///
    /// # Errors
    /// If the draft could not be read with it.
    pub fn add(&mut self, part: Part, piece: usize, cells: &[Cell]) -> Outcome<()> {
        self.insert(part, piece, usize::MAX, cells)
    }

    /// Puts a new row before row `before` (at the end, if there are not so many).
    ///
    /// # Errors
    /// If the draft could not be read with it.
    pub fn insert(
        &mut self,
        part: Part,
        piece: usize,
        before: usize,
        cells: &[Cell],
    ) -> Outcome<()> {
        self.change(|doc| {
            let mut values = Vec::new();
            for cell in cells {
                if let Some(value) = part.value(&cell.key, &cell.text)? {
                    values.push((cell.key.as_str(), value));
                }
            }
            let item = list_or_new(doc, part, piece)?;
            match item {
                Item::ArrayOfTables(all) => {
                    let mut table = Table::new();
                    for (key, value) in values {
                        table.insert(key, Item::Value(value));
                    }
                    table.decor_mut().set_prefix("\n");
                    all.insert(before.min(all.len()), table);
                }
                Item::Value(Value::Array(all)) => insert_inline(all, before, values),
                item => {
                    let named = values.iter().find(|(k, _)| *k == "name");
                    let name = named.map(|(_, v)| text_of(v)).unwrap_or_default();
                    let is = values.into_iter().find(|(k, _)| *k == "is");
                    let table = item.as_table_like_mut().ok_or_else(not_a_list)?;
                    let is = is.map_or(Value::from("0mm"), |(_, v)| v);
                    if table.insert(&name, Item::Value(is)).is_some() {
                        return Err(Fault::input(
                            format!("there is a length \"{name}\" already"),
                            "give it another name",
                        ));
                    }
                }
            }
            Ok(())
        })
    }

    /// Adds a piece that is drawn whole: the text of its table and of all in it.
    ///
    /// # Errors
    /// If the draft could not be read with it.
    pub fn add_piece(&mut self, text: &str) -> Outcome<()> {
        let sketch = text.parse::<DocumentMut>();
        let mut sketch = sketch.map_err(|e| Fault::ours(e.to_string(), "report this"))?;
        let taken = sketch.remove(Part::Pieces.key());
        let new = taken.and_then(|i| i.into_array_of_tables().ok());
        let Some(mut table) = new.and_then(|mut all| (!all.is_empty()).then(|| all.remove(0)))
        else {
            return Err(Fault::ours("this is no piece", "report this"));
        };
        self.change(|doc| {
            table.set_position(None);
            table.decor_mut().set_prefix("\n");
            match list_or_new(doc, Part::Pieces, 0)? {
                Item::ArrayOfTables(all) => all.push(table),
                Item::Value(Value::Array(all)) => {
                    all.push(Value::InlineTable(table.into_inline_table()));
                }
                _ => return Err(not_a_list()),
            }
            Ok(())
        })
    }

    /// Takes a row away. Its comments go to the row after it.
    ///
    /// # Errors
    /// If there is no such row, or something else needs it.
    pub fn remove(&mut self, at: RowAt) -> Outcome<()> {
        self.change(|doc| {
            let mut left = String::new();
            let item = list_mut(doc, at.part, at.piece)?;
            if at.row >= count(item) {
                return Err(no_row(at.row, count(item)));
            }
            match item {
                Item::ArrayOfTables(all) => {
                    let gone = all.remove(at.row);
                    let note = comments(gone.decor().prefix().and_then(|p| p.as_str()), "");
                    match all.get_mut(at.row) {
                        Some(next) if !note.is_empty() => {
                            let old = next.decor().prefix().and_then(|p| p.as_str());
                            let kept = format!("{note}\n{}", old.unwrap_or("\n"));
                            next.decor_mut().set_prefix(kept);
                        }
                        Some(_) => {}
                        None => left = note,
                    }
                }
                Item::Value(Value::Array(all)) => remove_inline(all, at.row),
                item => {
                    let table = item.as_table_like_mut().ok_or_else(not_a_list)?;
                    let key = table.iter().nth(at.row).map(|(k, _)| k.to_owned());
                    let key = key.unwrap_or_default();
                    let prefix = table.key(&key).and_then(|k| k.leaf_decor().prefix());
                    let note = comments(prefix.and_then(|p| p.as_str()), "");
                    table.remove(&key);
                    let next = table.iter().nth(at.row).map(|(k, _)| k.to_owned());
                    match next.and_then(|k| table.key_mut(&k)) {
                        Some(mut next) if !note.is_empty() => {
                            let decor = next.leaf_decor_mut();
                            let old = decor.prefix().and_then(|p| p.as_str());
                            let kept = format!("{}\n{}", note.trim_start(), old.unwrap_or(""));
                            decor.set_prefix(kept);
                        }
                        Some(_) => {}
                        None => left = note,
                    }
                }
            }
            if !left.is_empty() {
                let end = doc.trailing().as_str().unwrap_or_default();
                let end = format!("{end}{left}\n");
                doc.set_trailing(end);
            }
            Ok(())
        })
    }

    fn change(&mut self, by: impl FnOnce(&mut DocumentMut) -> Outcome<()>) -> Outcome<()> {
        let mut doc = self.doc.clone();
        by(&mut doc)?;
        let text = doc.to_string();
        parse(&text)?;
        self.doc = text.parse().unwrap_or(doc);
        Ok(())
    }
}

/// The list of rows, as it stands in the file.
fn list(doc: &DocumentMut, part: Part, piece: usize) -> Option<&Item> {
    if !part.is_of_a_piece() {
        return doc.get(part.key());
    }
    let pieces = doc.get(Part::Pieces.key())?;
    nth(pieces, piece)?.get(part.key())
}

fn list_mut(doc: &mut DocumentMut, part: Part, piece: usize) -> Outcome<&mut Item> {
    let none = || no_row(0, 0);
    if !part.is_of_a_piece() {
        return doc.get_mut(part.key()).ok_or_else(none);
    }
    let pieces = doc.get_mut(Part::Pieces.key()).ok_or_else(none)?;
    let table = nth_mut(pieces, piece).ok_or_else(|| no_piece(piece))?;
    table.get_mut(part.key()).ok_or_else(none)
}

/// The same, begun if there is none yet.
fn list_or_new(doc: &mut DocumentMut, part: Part, piece: usize) -> Outcome<&mut Item> {
    if !part.is_of_a_piece() {
        let new = || match part {
            Part::Lengths => Item::Table(Table::new()),
            _ => Item::ArrayOfTables(ArrayOfTables::new()),
        };
        return Ok(doc.entry(part.key()).or_insert_with(new));
    }
    let pieces = doc.get_mut(Part::Pieces.key());
    let table = pieces.and_then(|p| nth_mut(p, piece));
    let table = table.ok_or_else(|| no_piece(piece))?;
    let new = || Item::Value(Value::Array(Array::new()));
    Ok(table.entry(part.key()).or_insert_with(new))
}

fn count(item: &Item) -> usize {
    match item {
        Item::ArrayOfTables(all) => all.len(),
        Item::Value(Value::Array(all)) => all.len(),
        item => item.as_table_like().map_or(0, TableLike::len),
    }
}

fn nth(item: &Item, row: usize) -> Option<&dyn TableLike> {
    match item {
        Item::ArrayOfTables(all) => all.get(row).map(|t| t as &dyn TableLike),
        Item::Value(Value::Array(all)) => {
            let table = all.get(row)?.as_inline_table()?;
            Some(table as &dyn TableLike)
        }
        _ => None,
    }
}

fn nth_mut(item: &mut Item, row: usize) -> Option<&mut dyn TableLike> {
    match item {
        Item::ArrayOfTables(all) => all.get_mut(row).map(|t| t as &mut dyn TableLike),
        Item::Value(Value::Array(all)) => {
            let table = all.get_mut(row)?.as_inline_table_mut()?;
            Some(table as &mut dyn TableLike)
        }
        _ => None,
    }
}

/// The cells of each row of a list.
fn cells(item: &Item, part: Part) -> Vec<Vec<Cell>> {
    let shown = |table: &dyn TableLike| -> Vec<Cell> {
        let values = table.iter().filter_map(|(k, v)| Some((k, v.as_value()?)));
        // The rows of a piece are rows of their own.
        let own = values.filter(|(k, _)| {
            part != Part::Pieces || !Part::ALL.iter().any(|p| p.is_of_a_piece() && p.key() == *k)
        });
        own.map(|(k, v)| Cell::new(k, text_of(v))).collect()
    };
    if part == Part::Lengths {
        let each = item.as_table_like().map(|t| t.iter().collect::<Vec<_>>());
        let each = each.unwrap_or_default().into_iter();
        let row = |(name, item): (&str, &Item)| {
            let mut cells = vec![Cell::new("name", name)];
            match (item.as_table_like(), item.as_value()) {
                (Some(inner), _) => cells.extend(shown(inner)),
                (None, Some(value)) => cells.push(Cell::new("is", text_of(value))),
                (None, None) => {}
            }
            cells
        };
        return each.map(row).collect();
    }
    (0..count(item))
        .map(|k| nth(item, k).map(shown).unwrap_or_default())
        .collect()
}

fn put(table: &mut dyn TableLike, key: &str, value: Option<Value>) {
    let end = end_of(table);
    match (value, table.get_mut(key).and_then(Item::as_value_mut)) {
        (None, _) => drop(table.remove(key)),
        (Some(value), Some(old)) if text_of(old) == text_of(&value) => {}
        (Some(mut value), Some(old)) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        (Some(value), None) => drop(table.insert(key, Item::Value(value))),
    }
    set_end(table, end);
}

/// The space before a row's bracket, which stands behind the last value in it.
fn end_of(table: &mut dyn TableLike) -> Option<String> {
    let key = table.iter().last().map(|(k, _)| k.to_owned())?;
    let decor = table.get_mut(&key)?.as_value_mut()?.decor_mut();
    let space = decor.suffix()?.as_str()?.to_owned();
    if !space.trim().is_empty() {
        return None;
    }
    decor.set_suffix("");
    Some(space)
}

fn set_end(table: &mut dyn TableLike, space: Option<String>) {
    let last = table.iter().last().map(|(k, _)| k.to_owned());
    let last = last.and_then(|k| table.get_mut(&k)?.as_value_mut());
    if let (Some(space), Some(last)) = (space, last) {
        last.decor_mut().set_suffix(space);
    }
}

/// A length's row: its name is the file's key, and it is a formula, or a table of four.
fn set_length(item: &mut Item, row: usize, key: &str, value: Option<Value>) -> Outcome<()> {
    let count = count(item);
    let table = item.as_table_like_mut().ok_or_else(not_a_list)?;
    let name = table.iter().nth(row).map(|(k, _)| k.to_owned());
    let name = name.ok_or_else(|| no_row(row, count))?;
    if key == "name" {
        let new = value.as_ref().map(text_of).unwrap_or_default();
        if new != name && (new.is_empty() || table.contains_key(&new)) {
            return Err(Fault::input(
                format!("\"{new}\" can't be the length's name"),
                "give it one that no other has",
            ));
        }
        return rename_key(item, &name, &new);
    }
    let Some(now) = table.get_mut(&name) else {
        return Ok(());
    };
    if let Some(inner) = now.as_table_like_mut() {
        put(inner, key, value);
        if inner.len() == 1
            && let Some(mut is) = inner.remove("is").and_then(|i| i.into_value().ok())
        {
            // The comment behind it stays.
            let decor = now.as_value().map(|v| v.decor().clone());
            *is.decor_mut() = decor.unwrap_or_default();
            *now = Item::Value(is);
        }
    } else if key == "is" {
        let empty = value.unwrap_or_else(|| Value::from(""));
        let old = now.as_value().map(|v| v.decor().clone());
        let mut new = empty;
        if let Some(decor) = old {
            *new.decor_mut() = decor;
        }
        *now = Item::Value(new);
    } else if let Some(value) = value {
        let mut inner = InlineTable::new();
        if let Some(is) = now.as_value() {
            inner.insert("is", Value::from(text_of(is)));
        }
        inner.insert(key, value);
        let decor = now.as_value().map(|v| v.decor().clone());
        *inner.decor_mut() = decor.unwrap_or_default();
        *now = Item::Value(Value::InlineTable(inner));
    }
    Ok(())
}

/// Gives a key another name, in its place.
fn rename_key(item: &mut Item, old: &str, new: &str) -> Outcome<()> {
    let fresh = |key: &toml_edit::Key| {
        let mut named = toml_edit::Key::new(new);
        *named.leaf_decor_mut() = key.leaf_decor().clone();
        named
    };
    match item {
        Item::Table(table) => {
            let keys: Vec<String> = table.iter().map(|(k, _)| k.to_owned()).collect();
            for k in keys {
                if let Some((key, value)) = table.remove_entry(&k) {
                    let key = if k == old { fresh(&key) } else { key };
                    table.insert_formatted(&key, value);
                }
            }
            Ok(())
        }
        Item::Value(Value::InlineTable(table)) => {
            let keys: Vec<String> = table.iter().map(|(k, _)| k.to_owned()).collect();
            for k in keys {
                if let Some((key, value)) = table.remove_entry(&k) {
                    let key = if k == old { fresh(&key) } else { key };
                    table.insert_formatted(&key, value);
                }
            }
            Ok(())
        }
        _ => Err(not_a_list()),
    }
}

fn insert_inline(all: &mut Array, before: usize, values: Vec<(&str, Value)>) {
    let mut table = InlineTable::new();
    for (key, value) in values {
        table.insert(key, value);
    }
    let at = before.min(all.len());
    all.insert(at, Value::InlineTable(table));
    if let Some(row) = all.get_mut(at) {
        row.decor_mut().set_prefix("\n  ");
        row.decor_mut().set_suffix("");
    }
    if all.len() == 1 {
        all.set_trailing("\n");
    }
    all.set_trailing_comma(true);
}

fn remove_inline(all: &mut Array, row: usize) {
    let gone = all.remove(row);
    let note = comments(gone.decor().prefix().and_then(|p| p.as_str()), "  ");
    if note.is_empty() {
        return;
    }
    // What follows a comment begins on a line of its own.
    let after = |old: &str| {
        let gap = if old.starts_with('\n') { "" } else { "\n" };
        format!("{note}{gap}{old}")
    };
    match all.get_mut(row) {
        Some(next) => {
            let old = next.decor().prefix().and_then(|p| p.as_str());
            let kept = after(old.unwrap_or("\n  "));
            next.decor_mut().set_prefix(kept);
        }
        None => {
            let kept = after(all.trailing().as_str().unwrap_or_default());
            all.set_trailing(kept);
        }
    }
}

fn no_row(row: usize, count: usize) -> Fault {
    Fault::input(
        format!("there is no row {}, only {count}", row + 1),
        "choose a row that is there",
    )
}

fn no_piece(piece: usize) -> Fault {
    Fault::input(
        format!("there is no piece {}", piece + 1),
        "choose one of the draft's pieces",
    )
}

fn not_a_list() -> Fault {
    Fault::input(
        "this is no list of rows",
        "write it as rows: points = [ { point = … }, … ]",
    )
}

/// The comment lines in the space before a row, each on a line of its own.
fn comments(prefix: Option<&str>, indent: &str) -> String {
    let lines = prefix.unwrap_or_default().lines().map(str::trim);
    let kept = lines.filter(|l| l.starts_with('#'));
    kept.fold(String::new(), |sum, l| format!("{sum}\n{indent}{l}"))
}
