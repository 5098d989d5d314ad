//! A draft as a table to fill in: a row for each measure, length, piece, point, line, edge,
//! notch, dart, seam and ring, changed in the file's own text, so that comments and order
//! stay.

use toml_edit::{DocumentMut, Item, Table, Value};

use super::lists::{
    cells, comments, count, insert_inline, list, list_mut, list_or_new, no_row, not_a_list,
    nth_mut, put, remove_inline, set_length,
};
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
        let doc = doc.map_err(|e| {
            let from = e.span().map(|s| s.start);
            Fault::in_text(e.message(), text, from)
        })?;
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
        let unfit = |why: &str| Fault::mistake(format!("a new piece can't be written: {why}"));
        let mut sketch = sketch.map_err(|e| unfit(e.message()))?;
        let taken = sketch.remove(Part::Pieces.key());
        let new = taken.and_then(|i| i.into_array_of_tables().ok());
        let Some(mut table) = new.and_then(|mut all| (!all.is_empty()).then(|| all.remove(0)))
        else {
            return Err(unfit("it is none"));
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
            let bare = |item: &Item| {
                let list = item.as_array().filter(|all| all.is_empty());
                list.is_some_and(|all| !all.trailing().as_str().unwrap_or_default().contains('#'))
            };
            if at.part.is_of_a_piece() && bare(list_mut(doc, at.part, at.piece)?) {
                let pieces = doc.get_mut(Part::Pieces.key());
                let table = pieces.and_then(|p| nth_mut(p, at.piece));
                table.and_then(|t| t.remove(at.part.key()));
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
