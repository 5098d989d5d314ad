//! Comments in the job file: taken down where what they stood by goes, and set
//! before what comes next. A person's note is never thrown away.

use toml_edit::{Array, Item, Key, RawString, Table, Value};

/// Comments without a place, a line each; between those of two places, or
/// where the person left one, an empty line.
pub type Loose = Vec<String>;

/// The comments in the space between values.
fn note(raw: Option<&RawString>, out: &mut Loose) {
    let text = raw.and_then(RawString::as_str).unwrap_or_default();
    // Only space and comments stand there.
    let comment = |line: &str| line.find('#').map(|at| line[at..].trim_end().to_owned());
    out.extend(text.lines().filter_map(comment));
}

/// The comments round a key.
pub fn of_key(key: &Key, out: &mut Loose) {
    note(key.leaf_decor().prefix(), out);
    note(key.leaf_decor().suffix(), out);
}

/// All comments in and round what a key holds.
pub fn of_item(item: &Item, out: &mut Loose) {
    match item {
        Item::None => {}
        Item::Value(v) => of_value(v, out),
        Item::Table(t) => of_table(t, out),
        Item::ArrayOfTables(a) => a.iter().for_each(|t| of_table(t, out)),
    }
}

/// All comments in and before a table with a header.
pub fn of_table(table: &Table, out: &mut Loose) {
    let prefix = table.decor().prefix().and_then(RawString::as_str);
    let prefix = prefix.unwrap_or_default();
    if prefix.contains('#') {
        out.extend(prefix.lines().map(|l| l.trim_end().to_owned()));
    }
    note(table.decor().suffix(), out);
    for (key, item) in table {
        if let Some(key) = table.key(key) {
            of_key(key, out);
        }
        of_item(item, out);
    }
}

/// All comments in and round a value.
pub fn of_value(value: &Value, out: &mut Loose) {
    note(value.decor().prefix(), out);
    inside(value, out);
    note(value.decor().suffix(), out);
}

/// The comments within a value's brackets.
pub fn inside(value: &Value, out: &mut Loose) {
    match value {
        Value::Array(a) => inside_array(a, out),
        Value::InlineTable(t) => {
            for (key, value) in t {
                if let Some(key) = t.key(key) {
                    of_key(key, out);
                }
                of_value(value, out);
            }
            note(Some(t.trailing()), out);
        }
        _ => {}
    }
}

/// The comments within a list's brackets.
pub fn inside_array(array: &Array, out: &mut Loose) {
    array.iter().for_each(|v| of_value(v, out));
    note(Some(array.trailing()), out);
}

/// The comments of entries that `plan` does not keep, by the kept entry that
/// came after them; those of the last go to `tail`. `of` takes down an entry's.
pub fn handed_on(
    plan: &[Option<usize>],
    count: usize,
    tail: &mut Loose,
    mut of: impl FnMut(usize, &mut Loose),
) -> Vec<Loose> {
    let mut kept = vec![false; count];
    plan.iter().flatten().for_each(|&k| kept[k] = true);
    let mut moved_on = vec![Loose::default(); count];
    let mut carried = Loose::default();
    for k in 0..count {
        if kept[k] {
            moved_on[k] = std::mem::take(&mut carried);
        } else {
            of(k, &mut carried);
        }
    }
    tail.append(&mut carried);
    moved_on
}

/// Puts a value that came to stand elsewhere in its list right with its
/// neighbours, if only space is round it.
pub fn respace(value: &mut Value, first: bool, last: bool) {
    if !prefix(value).contains('\n') {
        value.decor_mut().set_prefix(if first { "" } else { " " });
    }
    let suffix = value.decor().suffix().and_then(RawString::as_str);
    if !last && suffix.is_some_and(|s| s.trim().is_empty()) {
        value.decor_mut().set_suffix("");
    }
}

/// What stands before a value.
pub fn prefix(value: &Value) -> &str {
    let prefix = value.decor().prefix().and_then(RawString::as_str);
    prefix.unwrap_or_default()
}

/// What shall stand before a value of a list: `loose` on lines of their own,
/// then what stood there.
pub fn before_value(stood: &str, loose: &Loose) -> String {
    let mut text: String = lines(loose).map(|l| format!("\n  {l}")).collect();
    if text.is_empty() {
        return stood.to_owned();
    }
    if !stood
        .trim_start_matches([' ', '\t', '\r'])
        .starts_with('\n')
    {
        text.push_str("\n  ");
    }
    text + stood.trim_start_matches([' ', '\t'])
}

/// What shall stand before a table's header.
pub fn before_header(stood: &str, loose: &Loose) -> String {
    let mut text: String = loose.iter().map(|l| format!("{l}\n")).collect();
    // What had no empty line before it gets one.
    if text.starts_with('#') {
        text.insert(0, '\n');
    }
    text + stood
}

/// What shall stand before the end, of a list or of the file.
pub fn after(stood: &str, loose: &Loose) -> String {
    let text: String = lines(loose).map(|l| format!("{l}\n")).collect();
    if text.is_empty() {
        return stood.to_owned();
    }
    format!("{}\n{text}", stood.trim_end())
}

fn lines(loose: &Loose) -> impl Iterator<Item = &String> {
    loose.iter().filter(|l| !l.is_empty())
}
