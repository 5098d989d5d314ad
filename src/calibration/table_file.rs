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
        let line = Lines::of(bytes).at(e.position());
        Fault::input("this is not a table as text", header_help.clone()).at(format!("line {line}"))
    };
    let header = reader.headers().map_err(not_csv)?.clone();
    let column = |name: &str| header.iter().position(|h| h.eq_ignore_ascii_case(name));
    let mut columns = Vec::new();
    for name in wanted {
        let found = column(name).ok_or_else(|| {
            let place = Lines::of(bytes).at(header.position());
            Fault::input(format!("the column {name} is missing"), header_help.clone())
                .at(format!("line {place}"))
        })?;
        columns.push(Some(found));
    }
    columns.extend(welcome.iter().map(|name| column(name)));
    let mut rows = Vec::new();
    let mut lines = Lines::of(bytes);
    for record in reader.records() {
        let record = record.map_err(not_csv)?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = lines.at(record.position());
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

/// The lines of a text, counted from 1 as one goes on in it.
struct Lines<'a> {
    text: &'a [u8],
    at: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    fn of(text: &'a [u8]) -> Self {
        Self {
            text,
            at: 0,
            line: 1,
        }
    }

    /// The line on which a record begins. Its reader tells where it began to look for it: before
    /// the rest of the last line's end, and before empty lines and comments. Never further back
    /// than it was asked for last.
    fn at(&mut self, from: Option<&csv::Position>) -> u64 {
        let from = from.map_or(0, |p| p.byte() as usize);
        let mut in_comment = false;
        while let Some(byte) = self.text.get(self.at) {
            match byte {
                b'\n' => {
                    self.line += 1;
                    in_comment = false;
                }
                _ if self.at < from || in_comment || *byte == b'\r' => {}
                b'#' => in_comment = true,
                _ => break,
            }
            self.at += 1;
        }
        self.line
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rows_are_told_by_the_lines_that_a_person_counts() {
        let lines = |text: &str| -> Vec<u64> {
            let all = rows(text.as_bytes(), &["a", "b"], &[]).unwrap();
            all.iter().map(|row| row.line).collect()
        };
        assert_eq!(lines("a,b\n1,2\n3,4"), [2, 3]);
        assert_eq!(lines("# one\n\na,b\n# two, 2\n1,2\n\n\n3,4\n"), [5, 8]);
        assert_eq!(lines("a,b\r\n1,2\r\n\r\n# x\r\n3,4\r\n5,6\r\n"), [2, 5, 6]);
        assert_eq!(lines("a,b\n,\n\"1\n1\",2\n3,4\n"), [3, 5]);
        let missing = rows(b"\xEF\xBB\xBF# x\r\n\r\na,c\r\n", &["a", "b"], &[]);
        assert!(missing.unwrap_err().to_string().starts_with("line 3: "));
        let wild = rows(b"a,b\n# x\n1,2\n\xFF,3\n", &["a", "b"], &[]);
        assert!(wild.unwrap_err().to_string().starts_with("line 4: "));
    }
}
