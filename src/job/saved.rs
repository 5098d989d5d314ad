//! The job file written back: what changed is changed in the text as the
//! person wrote it, and all else stays, comments, order and spelling of
//! numbers included.
//!
//! The text is taken apart three ways: what it says, what it said as values,
//! and what it shall say. Only where the last two differ is it touched.

use super::JobFile;
use super::comments::{self, Loose};
use super::matched::matched;
use crate::fault::{Fault, Outcome};
use toml::Value as Plain;
use toml_edit::{
    Array, ArrayOfTables, DocumentMut, Formatted, InlineTable, Item, Table, TableLike, Value,
};

/// Lists that stand as tables of their own, `[[placed]]`, where they are new.
/// Other lists stand in one value.
const TABLES: [&str; 12] = [
    "pattern", "derived", "cloth", "make", "order", "article", "part", "length", "panel", "placed",
    "trim", "wish",
];

/// Corners in a line of a new outline.
const IN_A_LINE: usize = 8;

/// The text of a job file that was `original` and shall say `now`.
///
/// # Errors
/// If `original` is not a job file, or `now` can't be written as one: a number
/// in it is none.
pub fn saved_text(original: &str, now: &JobFile) -> Outcome<String> {
    let was = JobFile::parse(original)?;
    if was == *now {
        return Ok(original.to_owned());
    }
    let unfit =
        |why: &dyn std::fmt::Display| Fault::mistake(format!("the job can't be written: {why}"));
    let plain = |file: &JobFile| toml::Table::try_from(file).map_err(|e| unfit(&e));
    let mut text: DocumentMut = original.parse().map_err(|e| unfit(&e))?;
    let mut loose = Loose::default();
    change_table(
        text.as_table_mut(),
        &plain(&was)?,
        &plain(now)?,
        false,
        &mut loose,
    );
    let end = comments::after(text.trailing().as_str().unwrap_or_default(), &loose);
    text.set_trailing(end);
    let text = text.to_string();
    // Never to be trusted blindly: what is written is read back first.
    if JobFile::parse(&text).as_ref() != Ok(now) {
        return Err(unfit(&"it would not be read back as it is"));
    }
    Ok(text)
}

/// Changes a table that says `was` to say `now`. Comments that lose their
/// place go to `loose`.
fn change_table(
    table: &mut dyn TableLike,
    was: &toml::Table,
    now: &toml::Table,
    inline: bool,
    loose: &mut Loose,
) {
    for (key, new) in now {
        let old = was.get(key);
        if old == Some(new) {
            continue;
        }
        match table.get_mut(key) {
            Some(item) => change(item, key, old, new, inline, loose),
            None => drop(table.insert(key, fresh(key, new, inline))),
        }
    }
    for key in was.keys().filter(|k| !now.contains_key(k.as_str())) {
        if let Some(k) = table.key(key) {
            comments::of_key(k, loose);
        }
        if let Some(item) = table.remove(key) {
            comments::of_item(&item, loose);
        }
    }
}

/// Changes what a key holds. `was` is missing where the text spells out what
/// would be so without it.
fn change(
    item: &mut Item,
    key: &str,
    was: Option<&Plain>,
    now: &Plain,
    inline: bool,
    loose: &mut Loose,
) {
    match (&mut *item, was, now) {
        (Item::Table(t), Some(Plain::Table(o)), Plain::Table(n)) => {
            change_table(t, o, n, false, loose);
        }
        (Item::ArrayOfTables(a), Some(Plain::Array(o)), Plain::Array(n)) if a.len() == o.len() => {
            change_tables(a, o, n, loose);
        }
        (Item::Value(v), _, _) => change_value(v, was, now, loose),
        _ => {
            comments::of_item(item, loose);
            *item = fresh(key, now, inline);
        }
    }
}

fn change_value(value: &mut Value, was: Option<&Plain>, now: &Plain, loose: &mut Loose) {
    match (&mut *value, was, now) {
        (Value::InlineTable(t), Some(Plain::Table(o)), Plain::Table(n)) => {
            change_table(t, o, n, true, loose);
        }
        (Value::Array(a), Some(Plain::Array(o)), Plain::Array(n)) if a.len() == o.len() => {
            change_array(a, o, n, loose);
        }
        (Value::Array(a), None, Plain::Array(n)) if a.is_empty() => change_array(a, &[], n, loose),
        _ => {
            comments::inside(value, loose);
            let decor = value.decor().clone();
            *value = fresh_value(now);
            *value.decor_mut() = decor;
        }
    }
}

/// Changes a list of tables with headers of their own.
fn change_tables(list: &mut ArrayOfTables, was: &[Plain], now: &[Plain], loose: &mut Loose) {
    let plan = matched(was, now);
    let mut old: Vec<Option<Table>> = list.iter().cloned().map(Some).collect();
    let mut moved_on = comments::handed_on(&plan, was.len(), loose, |k, out| {
        old[k].iter().for_each(|t| comments::of_table(t, out));
    });
    list.clear();
    for (new, from) in now.iter().zip(&plan) {
        let kept = from.and_then(|k| Some((k, old[k].take()?)));
        let table = match (kept, new) {
            (Some((k, mut table)), Plain::Table(n)) => {
                let mut own = std::mem::take(&mut moved_on[k]);
                if let Plain::Table(o) = &was[k] {
                    change_table(&mut table, o, n, false, &mut own);
                }
                let prefix = table.decor().prefix().and_then(|p| p.as_str());
                let prefix = comments::before_header(prefix.unwrap_or("\n"), &own);
                table.decor_mut().set_prefix(prefix);
                table
            }
            (_, Plain::Table(n)) => fresh_table(n),
            _ => Table::new(),
        };
        list.push(table);
    }
    // Headers are printed by their place in the old text, and one without a
    // place follows its forerunner. Where the order changed, all forget theirs.
    if !plan.iter().flatten().is_sorted() {
        list.iter_mut().for_each(forget_place);
    } else if let Some(kept) = plan.iter().position(Option::is_some) {
        let place = list.get(kept).and_then(Table::position);
        for new in list.iter_mut().take(kept) {
            new.set_position(place);
        }
    }
}

fn forget_place(table: &mut Table) {
    table.set_position(None);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(t) => forget_place(t),
            Item::ArrayOfTables(a) => a.iter_mut().for_each(forget_place),
            _ => {}
        }
    }
}

/// Changes a list that stands in one value.
fn change_array(list: &mut Array, was: &[Plain], now: &[Plain], loose: &mut Loose) {
    if was.is_empty() {
        // As it would be laid out if it were new.
        comments::inside_array(list, loose);
        let decor = list.decor().clone();
        *list = fresh_array(now);
        *list.decor_mut() = decor;
        return;
    }
    let plan = matched(was, now);
    let mut old: Vec<Option<Value>> = list.iter().cloned().map(Some).collect();
    let mut tail = Loose::default();
    let mut moved_on = comments::handed_on(&plan, was.len(), &mut tail, |k, out| {
        old[k].iter().for_each(|v| comments::of_value(v, out));
    });
    let own_lines = old
        .iter()
        .flatten()
        .any(|v| matches!(v, Value::InlineTable(_)) && comments::prefix(v).contains('\n'));
    list.clear();
    for (at, (new, from)) in now.iter().zip(&plan).enumerate() {
        let kept = from.and_then(|k| Some((k, old[k].take()?)));
        let (mut value, own) = match kept {
            Some((k, mut value)) => {
                let mut own = std::mem::take(&mut moved_on[k]);
                if was[k] != *new {
                    change_value(&mut value, Some(&was[k]), new, &mut own);
                }
                (value, own)
            }
            None => {
                let mut value = fresh_value(new);
                let prefix = if own_lines { "\n  " } else { " " };
                value.decor_mut().set_prefix(prefix);
                (value, Loose::default())
            }
        };
        let (first, last) = (at == 0, at + 1 == now.len());
        let stays = *from == Some(at) && last == (at + 1 == was.len());
        if !stays {
            comments::respace(&mut value, first, last);
        }
        let prefix = comments::before_value(comments::prefix(&value), &own);
        value.decor_mut().set_prefix(prefix);
        list.push_formatted(value);
    }
    let end = comments::after(list.trailing().as_str().unwrap_or_default(), &tail);
    list.set_trailing(end);
}

/// What a new key holds.
fn fresh(key: &str, value: &Plain, inline: bool) -> Item {
    if let (Plain::Array(list), false) = (value, inline)
        && TABLES.contains(&key)
        && !list.is_empty()
    {
        let tables = list.iter().filter_map(Plain::as_table).map(fresh_table);
        return Item::ArrayOfTables(tables.collect());
    }
    Item::Value(fresh_value(value))
}

fn fresh_table(from: &toml::Table) -> Table {
    let mut table = Table::new();
    for (key, value) in from {
        table.insert(key, fresh(key, value, false));
    }
    table
}

fn fresh_value(value: &Plain) -> Value {
    match value {
        Plain::String(s) => Value::from(s),
        Plain::Integer(n) => Value::from(*n),
        Plain::Float(x) => Value::from(*x),
        Plain::Boolean(b) => Value::from(*b),
        Plain::Datetime(d) => Value::Datetime(Formatted::new(*d)),
        Plain::Array(list) => Value::Array(fresh_array(list)),
        Plain::Table(t) => {
            let mut table = InlineTable::new();
            for (key, value) in t {
                table.insert(key, fresh_value(value));
            }
            Value::InlineTable(table)
        }
    }
}

/// A new list: tables on a line each, corners several on a line, a short list
/// on one.
fn fresh_array(list: &[Plain]) -> Array {
    let in_a_line = match list.first() {
        Some(Plain::Table(_)) => 1,
        Some(Plain::Array(_)) if list.len() > IN_A_LINE => IN_A_LINE,
        _ => usize::MAX,
    };
    let mut array = Array::new();
    for (at, value) in list.iter().enumerate() {
        let mut value = fresh_value(value);
        let prefix = match at % in_a_line {
            0 if in_a_line < usize::MAX => "\n  ",
            0 => "",
            _ => " ",
        };
        value.decor_mut().set_prefix(prefix);
        array.push_formatted(value);
    }
    if in_a_line < usize::MAX {
        array.set_trailing_comma(true);
        array.set_trailing("\n");
    }
    array
}
