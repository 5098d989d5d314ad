//! Four set marks, from a CSV file that a person or a script wrote.

use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::space::{Point, Projector, Table};
use std::path::Path;

/// The header a points file must have.
pub const HEADER: [&str; 4] = [
    "table_x_mm",
    "table_y_mm",
    "projector_x_px",
    "projector_y_px",
];

/// The largest points file that is read, bytes.
const LARGEST: u64 = 1 << 20;

/// One mark: where it is on the table, and the pixel that was set upon it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkRow {
    pub table: Point<Table>,
    pub projector: Point<Projector>,
}

/// Reads exactly four marks.
///
/// # Errors
/// Names the line and column of what can't be used.
pub fn read_points(path: &Path) -> Outcome<[MarkRow; 4]> {
    let bytes = disk::read(path, "reading the points", LARGEST)?;
    parse(&bytes).map_err(|f| f.in_file(path))
}

/// Reads the table. Commas, semicolons or tabs may separate it (whichever the
/// first line has most of); with the latter two, a comma may stand for the
/// decimal point. Further columns are somebody's notes; rows without anything
/// in them are passed over.
fn parse(bytes: &[u8]) -> Outcome<[MarkRow; 4]> {
    let header_help = format!("begin the file with the line {}", HEADER.join(","));
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
        Fault::input("this is not a table of points as text", header_help.clone())
            .at(format!("line {line}"))
    };
    let header = reader.headers().map_err(not_csv)?.clone();
    let mut columns = [0; 4];
    for (slot, name) in columns.iter_mut().zip(HEADER) {
        let found = header.iter().position(|h| h.eq_ignore_ascii_case(name));
        *slot = found.ok_or_else(|| {
            let place = header.position().map_or(1, csv::Position::line);
            Fault::input(format!("the column {name} is missing"), header_help.clone())
                .at(format!("line {place}"))
        })?;
    }
    let mut rows = Vec::new();
    for record in reader.records() {
        let record = record.map_err(not_csv)?;
        if record.iter().all(str::is_empty) {
            continue;
        }
        let line = record.position().map_or(0, csv::Position::line);
        let number = |k: usize| -> Outcome<f64> {
            let text = record.get(columns[k]).unwrap_or("");
            let plain = if separator == b',' {
                text.to_owned()
            } else {
                text.replace(',', ".")
            };
            let value: Result<f64, _> = plain.parse();
            match value {
                Ok(v) if v.is_finite() && v.abs() <= 1e6 => Ok(v),
                _ => Err(Fault::input(
                    format!("{} is \"{text}\", which is not a usable number", HEADER[k]),
                    "write it in digits, with a point for decimals",
                )
                .at(format!("line {line}"))),
            }
        };
        rows.push(MarkRow {
            table: Point::new(number(0)?, number(1)?),
            projector: Point::new(number(2)?, number(3)?),
        });
    }
    let count = rows.len();
    rows.try_into().map_err(|_| {
        Fault::input(
            format!("there are {count} points, and four fix the mapping"),
            "give exactly four, one for each mark, such as the table's corners",
        )
    })
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

    const GOOD: &str = "table_x_mm,table_y_mm,projector_x_px,projector_y_px\n\
        0,0,100,900\n1200,0,1800,900\n1200,800,1700,100\n0,800,200,100\n";

    fn said(text: &str) -> String {
        parse(text.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn four_rows_are_read_in_order() {
        let rows = parse(GOOD.as_bytes()).unwrap();
        assert_eq!(rows[1].table, Point::new(1200.0, 0.0));
        assert_eq!(rows[3].projector, Point::new(200.0, 100.0));
    }

    #[test]
    fn what_is_wrong_is_named() {
        assert!(said(&GOOD.replace("projector_x_px", "px")).contains("projector_x_px is missing"));
        assert!(said(&GOOD.replace("1700", "17oo")).contains("line 4"));
        assert!(said(&GOOD.replace("1700", "NaN")).contains("NaN"));
        assert!(said(&format!("{GOOD}5,5,5,5\n")).contains("5 points"));
        assert!(said("").contains("missing"));
        assert!(said(&GOOD.replace("800,200", "800,2e9")).contains("2e9"));
        assert!(said(&GOOD.replace(",200,", ",")).contains("line 5"));
    }

    #[test]
    fn a_spreadsheets_own_ways_are_read() {
        let rows = parse(GOOD.as_bytes()).unwrap();
        let semicolons = GOOD.replace(',', ";").replace("1200;", "1200,0;");
        assert_eq!(parse(semicolons.as_bytes()).unwrap(), rows);
        let tabs = format!("\u{feff}# a note\n{}\t\t\t\r\n", GOOD.replace(',', "\t"));
        assert_eq!(parse(tabs.as_bytes()).unwrap(), rows);
        let noted = GOOD
            .replace("_px\n", "_px,note\n")
            .replace("table_x", "Table_X");
        assert_eq!(parse(noted.as_bytes()).unwrap(), rows);
    }
}
