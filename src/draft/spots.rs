//! Which row of the table a line of the file belongs to, so that a fault is told where it is.

use std::ops::Range;

use toml_edit::{Document, Item, TableLike, Value};

use super::table::{Part, RowAt};
use crate::fault::Fault;

/// The row that `fault` is placed at by its line in `text`, if it is at one.
pub fn row_of(text: &str, fault: &Fault) -> Option<RowAt> {
    let line = fault.place.iter().find_map(|p| p.strip_prefix("line "))?;
    let line: usize = line.parse().ok()?;
    let start: usize = text
        .split_inclusive('\n')
        .take(line - 1)
        .map(str::len)
        .sum();
    let length = text[start..].find('\n').unwrap_or(text.len() - start);
    let all = spans(text);
    let on = |span: &Range<usize>| span.start <= start + length && span.end >= start;
    let found = all.into_iter().filter(|(span, _)| on(span));
    found.min_by_key(|(span, _)| span.len()).map(|(_, at)| at)
}

fn spans(text: &str) -> Vec<(Range<usize>, RowAt)> {
    let Ok(doc) = Document::parse(text) else {
        return Vec::new();
    };
    let mut out = Vec::new();
    for part in Part::ALL.into_iter().filter(|p| !p.is_of_a_piece()) {
        let Some(item) = doc.as_table().get(part.key()) else {
            continue;
        };
        rows(item, part, 0, &mut out);
        if part == Part::Pieces {
            for (piece, table) in tables(item).into_iter().enumerate() {
                for part in Part::ALL.into_iter().filter(|p| p.is_of_a_piece()) {
                    if let Some(list) = table.get(part.key()) {
                        rows(list, part, piece, &mut out);
                    }
                }
            }
        }
    }
    out
}

fn tables(item: &Item) -> Vec<&dyn TableLike> {
    match item {
        Item::ArrayOfTables(all) => all.iter().map(|t| t as &dyn TableLike).collect(),
        Item::Value(Value::Array(all)) => {
            let each = all.iter().filter_map(Value::as_inline_table);
            each.map(|t| t as &dyn TableLike).collect()
        }
        _ => Vec::new(),
    }
}

fn rows(item: &Item, part: Part, piece: usize, out: &mut Vec<(Range<usize>, RowAt)>) {
    let mut add = |row: usize, span: Option<Range<usize>>| {
        let at = RowAt { part, piece, row };
        out.extend(span.map(|span| (span, at)));
    };
    match item {
        Item::ArrayOfTables(all) => {
            for (row, table) in all.iter().enumerate() {
                let ends = table.iter().filter_map(|(_, i)| i.span()).map(|s| s.end);
                let head = table.span();
                let span = head.map(|s| s.start..ends.max().unwrap_or(s.end).max(s.end));
                add(row, span);
            }
        }
        Item::Value(Value::Array(all)) => {
            for (row, value) in all.iter().enumerate() {
                add(row, value.span());
            }
        }
        item => {
            let table = item.as_table_like();
            let each = table.map(|t| t.iter().collect::<Vec<_>>());
            for (row, (_, item)) in each.unwrap_or_default().into_iter().enumerate() {
                add(row, item.span());
            }
        }
    }
}
