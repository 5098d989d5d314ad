//! The lists of rows in a draft's file, however they are written: as rows in brackets, as
//! tables of their own, or, lengths, as keys.

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::table::{Cell, Part};
use super::words::text_of;
use crate::fault::{Fault, Outcome};

/// The list of rows, as it stands in the file.
pub fn list(doc: &DocumentMut, part: Part, piece: usize) -> Option<&Item> {
    if !part.is_of_a_piece() {
        return doc.get(part.key());
    }
    let pieces = doc.get(Part::Pieces.key())?;
    nth(pieces, piece)?.get(part.key())
}

pub fn list_mut(doc: &mut DocumentMut, part: Part, piece: usize) -> Outcome<&mut Item> {
    let none = || no_row(0, 0);
    if !part.is_of_a_piece() {
        return doc.get_mut(part.key()).ok_or_else(none);
    }
    let pieces = doc.get_mut(Part::Pieces.key()).ok_or_else(none)?;
    let table = nth_mut(pieces, piece).ok_or_else(|| no_piece(piece))?;
    table.get_mut(part.key()).ok_or_else(none)
}

/// The same, begun if there is none yet.
pub fn list_or_new(doc: &mut DocumentMut, part: Part, piece: usize) -> Outcome<&mut Item> {
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

pub fn count(item: &Item) -> usize {
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

pub fn nth_mut(item: &mut Item, row: usize) -> Option<&mut dyn TableLike> {
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
pub fn cells(item: &Item, part: Part) -> Vec<Vec<Cell>> {
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

pub fn put(table: &mut dyn TableLike, key: &str, value: Option<Value>) {
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
pub fn set_length(item: &mut Item, row: usize, key: &str, value: Option<Value>) -> Outcome<()> {
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

pub fn insert_inline(all: &mut Array, before: usize, values: Vec<(&str, Value)>) {
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

pub fn remove_inline(all: &mut Array, row: usize) {
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

pub fn no_row(row: usize, count: usize) -> Fault {
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

pub fn not_a_list() -> Fault {
    Fault::input(
        "this is no list of rows",
        "write it as rows: points = [ { point = … }, … ]",
    )
}

/// The comment lines in the space before a row, each on a line of its own.
pub fn comments(prefix: Option<&str>, indent: &str) -> String {
    let lines = prefix.unwrap_or_default().lines().map(str::trim);
    let kept = lines.filter(|l| l.starts_with('#'));
    kept.fold(String::new(), |sum, l| format!("{sum}\n{indent}{l}"))
}
