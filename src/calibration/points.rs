//! Set marks, from a CSV file that a person or a script wrote.

use super::table_file::rows;
use crate::disk;
use crate::fault::{Fault, Outcome, counted};
use crate::space::{Point, Projector, Table};
use std::path::Path;

/// The header of a points file.
pub const HEADER: [&str; 4] = [
    "table_x_mm",
    "table_y_mm",
    "projector_x_px",
    "projector_y_px",
];

/// The column that names the marks, if there is one.
pub const NAME: &str = "mark";

/// The largest points file that is read, bytes.
pub(super) const LARGEST: u64 = 1 << 20;

/// The most marks that are read: what they say of one another grows with the cube.
pub const MOST: usize = 200;

/// One mark: where it is on the table, and the pixel that was set upon it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkRow {
    pub table: Point<Table>,
    pub projector: Point<Projector>,
}

/// One line of a points file.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedRow {
    /// As the file names it, or `mark 1`, `mark 2`, …
    pub name: String,
    /// Where it is on the table, where the file says so.
    pub table: Option<Point<Table>>,
    pub projector: Point<Projector>,
}

/// Reads four marks or more. `surveyed`: their places come from a tape, and the file
/// names the marks.
///
/// # Errors
/// Names the line and column of what can't be used.
pub fn read_points(path: &Path, surveyed: bool) -> Outcome<Vec<NamedRow>> {
    let bytes = disk::read(path, "reading the points", LARGEST)?;
    parse(&bytes, surveyed).map_err(|f| f.in_file(path))
}

/// The rows of a CSV of marks; of those that were `surveyed`, their places on the table alone.
///
/// # Errors
/// As [`read_points`].
pub fn parse(bytes: &[u8], surveyed: bool) -> Outcome<Vec<NamedRow>> {
    let all = if surveyed {
        rows(bytes, &[NAME, HEADER[2], HEADER[3]], &[])?
    } else {
        rows(bytes, &HEADER, &[NAME])?
    };
    if all.len() > MOST {
        return Err(Fault::input(
            format!(
                "there are {} points, and at most {MOST} are read",
                all.len()
            ),
            "leave most of them out: twenty are plenty",
        ));
    }
    let mut marks: Vec<NamedRow> = Vec::new();
    for row in &all {
        let at = |k: usize| row.number(k, HEADER[k]);
        let (name, table, px) = if surveyed {
            let px = |k: usize| row.number(k - 1, HEADER[k]);
            (row.text(0), None, Point::new(px(2)?, px(3)?))
        } else {
            let table = Point::new(at(0)?, at(1)?);
            (row.text(4), Some(table), Point::new(at(2)?, at(3)?))
        };
        let place = |f: Fault| f.at(format!("line {}", row.line));
        let name = match name {
            Some(name) => name.to_owned(),
            None if surveyed => {
                return Err(place(Fault::input(
                    "this mark has no name",
                    "name it as the tape's readings do",
                )));
            }
            None => format!("mark {}", marks.len() + 1),
        };
        if marks.iter().any(|m| m.name == name) {
            return Err(place(Fault::input(
                format!("the mark {name} is there twice"),
                "give each mark a name of its own",
            )));
        }
        marks.push(NamedRow {
            name,
            table,
            projector: px,
        });
    }
    match marks.len() {
        4.. => Ok(marks),
        n => Err(Fault::input(
            format!(
                "{} given, and it takes four to tell where light lands",
                counted(n, "point is", "points are")
            ),
            "give four or more, one for each mark, such as the table's corners",
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const GOOD: &str = "table_x_mm,table_y_mm,projector_x_px,projector_y_px\n\
        0,0,100,900\n1200,0,1800,900\n1200,800,1700,100\n0,800,200,100\n";

    fn read(text: &str) -> Outcome<Vec<NamedRow>> {
        parse(text.as_bytes(), false)
    }

    fn said(text: &str) -> String {
        read(text).unwrap_err().to_string()
    }

    #[test]
    fn rows_are_read_in_order() {
        let rows = read(GOOD).unwrap();
        assert_eq!(rows[1].table, Some(Point::new(1200.0, 0.0)));
        assert_eq!(rows[3].projector, Point::new(200.0, 100.0));
        assert_eq!(rows[3].name, "mark 4");
        assert_eq!(read(&format!("{GOOD}5,5,5,5\n")).unwrap().len(), 5);
    }

    #[test]
    fn what_is_wrong_is_named() {
        assert!(said(&GOOD.replace("projector_x_px", "px")).contains("projector_x_px is missing"));
        assert!(said(&GOOD.replace("1700", "17oo")).contains("line 4"));
        assert!(said(&GOOD.replace("1700", "NaN")).contains("NaN"));
        assert!(said(&GOOD.replace("0,800,200,100\n", "")).contains("3 points"));
        assert!(said("").contains("missing"));
        assert!(said(&GOOD.replace("800,200", "800,2e9")).contains("2e9"));
        assert!(said(&GOOD.replace(",200,", ",")).contains("line 5"));
    }

    #[test]
    fn a_spreadsheets_own_ways_are_read() {
        let rows = read(GOOD).unwrap();
        let semicolons = GOOD.replace(',', ";").replace("1200;", "1200,0;");
        assert_eq!(read(&semicolons).unwrap(), rows);
        let tabs = format!("\u{feff}# a note\n{}\t\t\t\r\n", GOOD.replace(',', "\t"));
        assert_eq!(read(&tabs).unwrap(), rows);
        let noted = GOOD
            .replace("_px\n", "_px,note\n")
            .replace("table_x", "Table_X");
        assert_eq!(read(&noted).unwrap(), rows);
    }

    #[test]
    fn marks_that_a_tape_places_are_named() {
        let text = "mark,projector_x_px,projector_y_px\nA,1,2\nB,3,4\nC,5,6\nD,7,8\n";
        let rows = parse(text.as_bytes(), true).unwrap();
        assert_eq!((rows[3].name.as_str(), rows[3].table), ("D", None));
        let twice = text.replace("D,", "A,");
        let said = parse(twice.as_bytes(), true).unwrap_err().to_string();
        assert!(said.contains("line 5") && said.contains("twice"), "{said}");
        let nameless = text.replace("D,", ",");
        assert!(parse(nameless.as_bytes(), true).is_err());
    }
}
