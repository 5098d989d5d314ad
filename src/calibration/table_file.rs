//! Tables as text, from a spreadsheet, a script or a hand: CSV with a header.

use crate::fault::{Fault, Outcome};

/// One row: the line it stands on, and what stands in the columns asked for.
#[derive(Debug)]
pub(super) struct Row {
    pub line: u64,
    cells: Vec<Option<String>>,
    comma_is_point: bool,
}

/// Reads the columns `wanted`, which must be there, and `welcome`, which may, from the
/// table. Commas, semicolons or tabs may separate it (whichever the first line has most
/// of); with the latter two, a comma may stand for the decimal point. Further columns
/// are somebody's notes; rows without anything in them are passed over.
pub(super) fn rows(bytes: &[u8], wanted: &[&str], welcome: &[&str]) -> Outcome<Vec<Row>> {
    let header_help = format!("begin the file with the line {}", wanted.join(","));
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let separator = separator(bytes);
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .delimiter(separator)
        .comment(Some(b'#'))
        .from_reader(bytes);
    let not_csv = |e: csv::Error| {
        let line = e.position().map_or(1, csv::Position::line);
        Fault::input("this is not a table as text", header_help.clone()).at(format!("line {line}"))
    };
    let header = reader.headers().map_err(not_csv)?.clone();
    let column = |name: &str| header.iter().position(|h| h.eq_ignore_ascii_case(name));
    let mut columns = Vec::new();
    for name in wanted {
        let found = column(name).ok_or_else(|| {
            let place = header.position().map_or(1, csv::Position::line);
            Fault::input(format!("the column {name} is missing"), header_help.clone())
                .at(format!("line {place}"))
        })?;
        columns.push(Some(found));
    }
    columns.extend(welcome.iter().map(|name| column(name)));
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(not_csv)?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = record.position().map_or(0, csv::Position::line);
        if let Some(more) = record.iter().skip(header.len()).find(|t| !t.is_empty()) {
            return Err(Fault::input(
                format!("\"{more}\" stands beyond the last column"),
                "write decimals with a point, or separate the columns by semicolons",
            )
            .at(format!("line {line}")));
        }
        let cell = |c: &Option<usize>| Some(record.get((*c)?).unwrap_or("").to_owned());
        rows.push(Row {
            line,
            cells: columns.iter().map(cell).collect(),
            comma_is_point: separator != b',',
        });
    }
    Ok(rows)
}

impl Row {
    /// What stands in a column, counted from 0 through `wanted` and then `welcome`.
    pub fn text(&self, column: usize) -> Option<&str> {
        let cell = self.cells.get(column)?.as_deref()?;
        (!cell.is_empty()).then_some(cell)
    }

    /// A number within a million.
    pub fn number(&self, column: usize, name: &str) -> Outcome<f64> {
        let text = self.text(column).unwrap_or("");
        let plain = match self.comma_is_point {
            true => text.replace(',', "."),
            false => text.to_owned(),
        };
        match plain.parse::<f64>() {
            Ok(v) if v.is_finite() && v.abs() <= 1e6 => Ok(v),
            _ => Err(Fault::input(
                format!("{name} is \"{text}\", which is not a usable number"),
                "write it in digits, with a point for decimals",
            )
            .at(format!("line {}", self.line))),
        }
    }
}

/// What separates the columns, by the first line that is no comment.
fn separator(bytes: &[u8]) -> u8 {
    let lines = bytes.split(|b| *b == b'\n');
    let first = lines
        .into_iter()
        .find(|l| !l.is_empty() && l[0] != b'#')
        .unwrap_or(b"");
    let count = |c: u8| first.iter().filter(|b| **b == c).count();
    [b',', b';', b'\t']
        .into_iter()
        .max_by_key(|c| (count(*c), *c == b','))
        .unwrap_or(b',')
}
