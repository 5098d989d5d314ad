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
/// table. Commas, semicolons or tabs may separate it, whichever tells the names in its
/// header apart; with the latter two, a comma may stand for the decimal point. Further
/// columns are somebody's notes; rows without anything in them are passed over.
pub(super) fn rows(bytes: &[u8], wanted: &[&str], welcome: &[&str]) -> Outcome<Vec<Row>> {
    let header_help = format!("begin the file with the line {}", wanted.join(","));
    let bytes = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let (above, bytes) = bytes.split_at(above_header(bytes));
    let first = 1 + above.iter().filter(|b| **b == b'\n').count() as u64;
    let separator = separator(bytes, wanted).map_err(|f| f.at(format!("line {first}")))?;
    let mut reader = csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .flexible(true)
        .delimiter(separator)
        .comment(Some(b'#'))
        .from_reader(bytes);
    let not_csv = |e: csv::Error| {
        let line = Lines::of(bytes, first).at(e.position());
        Fault::input("this is not a table as text", header_help.clone()).at(format!("line {line}"))
    };
    let header = reader.headers().map_err(not_csv)?.clone();
    let column = |name: &str| header.iter().position(|h| h.eq_ignore_ascii_case(name));
    let mut columns = Vec::new();
    for name in wanted {
        let found = column(name).ok_or_else(|| {
            Fault::input(format!("the column {name} is missing"), header_help.clone())
                .at(format!("line {first}"))
        })?;
        columns.push(Some(found));
    }
    columns.extend(welcome.iter().map(|name| column(name)));
    let mut rows = Vec::new();
    let mut lines = Lines::of(bytes, first);
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

/// The lines of a text, counted as one goes on in it.
struct Lines<'a> {
    text: &'a [u8],
    at: usize,
    line: u64,
}

impl<'a> Lines<'a> {
    /// A text that begins on the line `first`.
    fn of(text: &'a [u8], first: u64) -> Self {
        Self {
            text,
            at: 0,
            line: first,
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

/// How many bytes stand above the header: comments, empty lines, and rows with nothing in
/// them, as a spreadsheet writes them.
fn above_header(text: &[u8]) -> usize {
    let is_end = |b: &u8| matches!(b, b'\n' | b'\r');
    let is_nothing = |b: &u8| b.is_ascii_whitespace() || matches!(b, b',' | b';' | b'"');
    let lines = text.split_inclusive(is_end);
    let above = lines.take_while(|l| l.starts_with(b"#") || l.iter().all(is_nothing));
    above.map(<[u8]>::len).sum()
}

/// What separates the columns of a table that begins with its header: that which tells the
/// most of the `wanted` names apart, or of which there is most.
///
/// # Errors
/// Columns that are separated by spaces: names and notes may have some in them.
fn separator(bytes: &[u8], wanted: &[&str]) -> Outcome<u8> {
    let header = bytes.split(|b| matches!(b, b'\n' | b'\r')).next();
    let header = String::from_utf8_lossy(header.unwrap_or_default());
    let is_wanted = |cell: &&str| {
        let name = cell.trim().trim_matches('"').trim();
        wanted.iter().any(|w| w.eq_ignore_ascii_case(name))
    };
    let told = |c: u8| header.split(char::from(c)).filter(is_wanted).count();
    let count = |c: u8| header.bytes().filter(|b| *b == c).count();
    let best = [b'\t', b';', b',']
        .into_iter()
        .max_by_key(|c| (told(*c), count(*c)))
        .unwrap_or(b',');
    if header.split_whitespace().filter(is_wanted).count() > told(best) {
        return Err(Fault::input(
            "the columns are separated by spaces",
            "separate them by commas, semicolons or tabs, in every line",
        ));
    }
    Ok(best)
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
        let below = rows(
            b"\r\n# x\r\n;;\r\na;b\r\n1;2\r\n3;4;5\r\n",
            &["a", "b"],
            &[],
        );
        let below = below.unwrap_err().to_string();
        assert!(below.starts_with("line 6: \"5\" stands beyond"), "{below}");
        let wild = rows(b"a,b\n# x\n1,2\n\xFF,3\n", &["a", "b"], &[]);
        assert!(wild.unwrap_err().to_string().starts_with("line 4: "));
    }

    #[test]
    fn the_header_tells_what_separates_the_columns_whatever_stands_above_it() {
        let read = |text: &str| -> Outcome<Vec<(u64, f64)>> {
            let all = rows(text.as_bytes(), &["from", "to", "a_mm"], &[])?;
            let read = |row: &Row| Ok::<_, Fault>((row.line, row.number(2, "a_mm")?));
            all.iter().map(read).collect()
        };
        let above = [
            "",
            "\n",
            "  \n",
            ";;;\n",
            "# a\n\n",
            "# a, b, c, d\n",
            "\n# a\n\t\n,,\n",
        ];
        for (separator, number) in [(",", "1.5"), (";", "1,5"), ("\t", "1,5")] {
            for above in above {
                for end in ["\n", "\r\n"] {
                    for mark in ["", "\u{feff}"] {
                        let header = ["from", "to", "a_mm", "b"].join(separator);
                        let row = ["A", "B", number, ""].join(separator);
                        let text = format!("{above}{header}\n{row}\n").replace('\n', end);
                        let line = text.lines().count() as u64;
                        assert_eq!(
                            read(&format!("{mark}{text}")),
                            Ok(vec![(line, 1.5)]),
                            "{text}"
                        );
                    }
                }
            }
        }
        // A note's own commas do not count.
        let noted = read("from;to;a_mm;note, with, more, of, them\nA;B;1,5;\n");
        assert_eq!(noted, Ok(vec![(2, 1.5)]));
        for spaced in [
            "from to a_mm\nA B 1.5\n",
            "\r\nfrom  to   a_mm\r\nA B 1,5\r\n",
        ] {
            let said = read(spaced).unwrap_err().to_string();
            assert!(
                said.contains("separated by spaces; separate them by commas"),
                "{said}"
            );
        }
        let missing = read("from to\nA B\n").unwrap_err().to_string();
        assert!(missing.contains("separated by spaces"), "{missing}");
        let missing = read("from,a_mm\nA,1\n").unwrap_err().to_string();
        assert_eq!(
            missing,
            "line 1: the column to is missing; begin the file with the line from,to,a_mm."
        );
    }
}
