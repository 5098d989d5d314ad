//! Marks are out of reach of the keys, so they are read, not only nudged onto:
//! the picture carries a grid, the person walks round once and notes where in
//! it each mark lies.
//!
//! The picture is divided into cells of [`CELL`] px. Columns have letters from
//! the left (A … Z, AA, AB …), rows numbers from the top (1, 2 …). Ten fine
//! lines divide each cell both ways. A reading, `H12 3.5 7.2`, is the cell,
//! then how many fine lines across from the cell's left edge and down from its
//! top edge, tenths by estimate. Cells begin on pixel edges: cell A1 begins
//! at (0, 0), the outer corner of the first pixel.
//!
//! A reading to a tenth of a fine line is one to 0.4 px: where a pixel is
//! 0.63 mm, to 0.25 mm, and its rounding alone has a standard deviation of
//! 0.4/√12 = 0.12 px, 0.07 mm.

use crate::fault::{Fault, Outcome};
use crate::space::{Point, Projector};

/// Side of a cell, px.
pub const CELL: f64 = 40.0;

/// Fine lines to a cell.
pub const FINE: f64 = 10.0;

const LIKE: &str = "write the cell, then the fine lines across and down: H12 3.5 7.2";

/// The setting grid over one picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    /// The picture's width and height, px.
    pub picture: [u32; 2],
    /// Side of a cell, px, > 0.
    pub cell: f64,
}

impl Grid {
    /// A grid of [`CELL`] over a picture of so many pixels.
    pub fn over(picture: [u32; 2]) -> Self {
        Self {
            picture,
            cell: CELL,
        }
    }

    /// Columns and rows of cells; the last of each may be cut by the
    /// picture's edge.
    pub fn cells(&self) -> [u32; 2] {
        self.picture
            .map(|side| (f64::from(side) / self.cell).ceil() as u32)
    }

    /// The name of a cell counted from 0: (7, 11) is `H12`.
    pub fn name(&self, column: u32, row: u32) -> String {
        format!("{}{}", letters(column), u64::from(row) + 1)
    }

    /// The point of the picture that `text` reads. Capitals or not, commas or
    /// points for decimals, and blanks, semicolons or commas between the
    /// numbers, however they come.
    ///
    /// # Errors
    /// Says what is missing, or names the cell, number or place that is not
    /// in the picture.
    pub fn parse(&self, text: &str) -> Outcome<Point<Projector>> {
        let said = shortened(text);
        let (column, row, rest) = cell(text).ok_or_else(|| {
            Fault::input(
                format!("\"{said}\" does not begin with a cell such as H12"),
                LIKE,
            )
        })?;
        let [columns, rows] = self.cells();
        let (Some(column), Some(row)) =
            (column.filter(|c| *c < columns), row.filter(|r| *r < rows))
        else {
            return Err(Fault::input(
                format!("\"{said}\" names a cell outside the picture"),
                format!(
                    "its cells are A1 to {}; letters count from the left, numbers from the top",
                    self.name(columns.saturating_sub(1), rows.saturating_sub(1))
                ),
            ));
        };
        let fine = numbers(rest).ok_or_else(|| {
            Fault::input(
                format!("\"{said}\" has something else than numbers after its cell"),
                LIKE,
            )
        })?;
        let [across, down] = fine[..] else {
            return Err(Fault::input(
                format!(
                    "\"{said}\" has {} after its cell, and two belong there",
                    match fine.len() {
                        0 => "no number".to_owned(),
                        1 => "one number".to_owned(),
                        n => format!("{n} numbers"),
                    }
                ),
                LIKE,
            ));
        };
        if let Some(beyond) = [across, down].iter().find(|v| !(0.0..=FINE).contains(*v)) {
            return Err(Fault::input(
                format!("{beyond} in \"{said}\" is no number of fine lines: a cell has 0 to 10"),
                "count from the cell's left edge and from its top edge",
            ));
        }
        let at = Point::new(
            self.cell * (f64::from(column) + across / FINE),
            self.cell * (f64::from(row) + down / FINE),
        );
        let [w, h] = self.picture.map(f64::from);
        if at.x > w || at.y > h {
            return Err(Fault::input(
                format!("\"{said}\" lies beyond the picture's edge, which cuts that cell"),
                "read it again",
            ));
        }
        Ok(at)
    }

    /// The reading of a point of the picture, to a tenth of a fine line:
    /// `H12 3.5 7.2`. `None` outside the picture.
    pub fn format(&self, p: Point<Projector>) -> Option<String> {
        let [w, h] = self.picture.map(f64::from);
        if !((0.0..=w).contains(&p.x) && (0.0..=h).contains(&p.y)) {
            return None;
        }
        let [columns, rows] = self.cells();
        // The picture's far edge belongs to its last cell.
        let index = |v: f64, cells: u32| ((v / self.cell).floor() as u32).min(cells - 1);
        let (column, row) = (index(p.x, columns), index(p.y, rows));
        // Rounded towards the inside where the edge cuts a tenth.
        let fine = |v: f64, cell: u32, side: f64| {
            let inside = |v: f64| FINE * (v / self.cell - f64::from(cell));
            let most = (10.0 * inside(side) + 1e-9).floor();
            (10.0 * inside(v)).round().min(most) / 10.0
        };
        Some(format!(
            "{} {:.1} {:.1}",
            self.name(column, row),
            fine(p.x, column, w),
            fine(p.y, row, h)
        ))
    }
}

/// Column 0 is A, 25 Z, 26 AA: numerals in base 26 that have no zero.
fn letters(column: u32) -> String {
    let mut left = u64::from(column) + 1;
    let mut out = Vec::new();
    while left > 0 {
        left -= 1;
        out.push(b'A' + (left % 26) as u8);
        left /= 26;
    }
    out.iter().rev().map(|b| char::from(*b)).collect()
}

/// The cell that a reading begins with, counted from 0 (`None` if there can be
/// none such), and what follows it.
fn cell(text: &str) -> Option<(Option<u32>, Option<u32>, &str)> {
    let text = text.trim_start();
    let end = text.find(|c: char| !c.is_ascii_alphabetic())?;
    let (name, rest) = text.split_at(end);
    let rest = rest.trim_start();
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let (number, rest) = rest.split_at(end);
    // A row is a whole number: `H12.5` lacks a blank.
    let apart =
        rest.is_empty() || rest.starts_with(|c: char| c.is_whitespace() || ",;".contains(c));
    if name.is_empty() || number.is_empty() || !apart {
        return None;
    }
    let column = (name.len() <= 4).then(|| {
        name.bytes().fold(0, |sum, b| {
            26 * sum + u32::from(b.to_ascii_uppercase() - b'A') + 1
        }) - 1
    });
    let row = number.parse().ok().and_then(|n: u32| n.checked_sub(1));
    Some((column, row, rest))
}

/// The numbers in `text`. A comma between two digits is a decimal one, unless
/// its number has a point already. `None` if anything else stands there.
fn numbers(text: &str) -> Option<Vec<f64>> {
    let mut out = Vec::new();
    for part in text.split(|c: char| c.is_whitespace() || c == ';') {
        let part = part.trim_matches(',');
        if part.is_empty() {
            continue;
        }
        let decimal = part.matches(',').count() == 1 && !part.contains('.');
        let words: Vec<String> = if decimal {
            vec![part.replace(',', ".")]
        } else {
            part.split(',').map(str::to_owned).collect()
        };
        for word in words {
            // Rust would read `inf`, `nan` and `1e3` as well.
            let plain = word.len() <= 12
                && word
                    .bytes()
                    .all(|b| b.is_ascii_digit() || b == b'.' || b == b'-');
            out.push(plain.then(|| word.parse().ok()).flatten()?);
        }
    }
    Some(out)
}

fn shortened(text: &str) -> String {
    let text = text.trim();
    if text.chars().count() <= 40 {
        return text.to_owned();
    }
    text.chars().take(40).collect::<String>() + "…"
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn grid() -> Grid {
        Grid::over([1920, 1080])
    }

    #[test]
    fn a_reading_is_read_however_it_is_typed() {
        // H is the eighth column: 7 cells of 40 px, and 3.5 lines of 4 px.
        let want = Point::new(7.0 * 40.0 + 14.0, 11.0 * 40.0 + 28.8);
        for text in [
            "H12 3.5 7.2",
            "h12 3,5 7,2",
            "H 12 3.5 7.2",
            " H12  3.5;7.2",
            "H12;3,5;7,2",
            "H12 3.5, 7.2",
            "H12,3.5,7.2",
            "H12 3,5, 7,2",
            "H012\t3.50 7.20",
        ] {
            let got = grid().parse(text).unwrap();
            assert!((got - want).length() < 1e-9, "{text}: {got:?}");
        }
        assert_eq!(grid().format(want).unwrap(), "H12 3.5 7.2");
    }

    #[test]
    fn columns_go_on_after_z() {
        for (column, name) in [
            (0, "A"),
            (25, "Z"),
            (26, "AA"),
            (51, "AZ"),
            (52, "BA"),
            (701, "ZZ"),
            (702, "AAA"),
        ] {
            assert_eq!(letters(column), name);
        }
        assert_eq!(grid().cells(), [48, 27]);
        assert_eq!(grid().name(47, 26), "AV27");
        let corner = Point::new(1920.0, 1080.0);
        assert_eq!(grid().format(corner).unwrap(), "AV27 10.0 10.0");
        assert_eq!(grid().parse("av27 10 10").unwrap(), corner);
    }

    #[test]
    fn what_is_no_reading_is_said_to_be_none() {
        let said = |text: &str| grid().parse(text).unwrap_err().to_string();
        assert!(said("").contains("does not begin with a cell"));
        assert!(said("12H 3 4").contains("does not begin with a cell"));
        assert!(said("H12.5 7.2").contains("does not begin with a cell"));
        assert!(said("H12").contains("no number"));
        assert!(said("H12 3,5").contains("one number"));
        assert!(said("H12 3 4 5").contains("3 numbers"));
        assert!(said("H12 x y").contains("something else"));
        assert!(said("H12 nan 1").contains("something else"));
        assert!(said("H12 3 10.5").contains("10.5 in"));
        assert!(said("H12 -1 3").contains("-1 in"));
        for beyond in [
            "AW1 0 0",
            "A28 1 1",
            "A0 1 1",
            "ZZZZZZZ1 1 1",
            "A99999999999 1 1",
        ] {
            assert!(said(beyond).contains("outside the picture"), "{beyond}");
        }
        assert!(said("AW1 0 0").contains("A1 to AV27"));
        // 1366 px are 34 cells and 6 px.
        let odd = Grid::over([1366, 768]);
        assert!(odd.parse("AI1 1.5 0").is_ok());
        assert!(
            odd.parse("AI1 1.6 0")
                .unwrap_err()
                .to_string()
                .contains("cuts that cell")
        );
    }

    proptest! {
        #[test]
        fn a_point_is_its_reading_to_half_a_tenth(
            x in 0.0..=1.0f64, y in 0.0..=1.0f64, w in 640..8000u32, h in 480..5000u32,
        ) {
            let grid = Grid::over([w, h]);
            let p = Point::new(x * f64::from(w), y * f64::from(h));
            let text = grid.format(p).unwrap();
            let back = grid.parse(&text).unwrap();
            // Half a tenth of a fine line; a whole one where the edge cuts it.
            let near = |v: f64, side: u32| if f64::from(side) - v < 0.4 { 0.4 } else { 0.2 };
            prop_assert!((back.x - p.x).abs() <= near(p.x, w) + 1e-9, "{} → {}", p.x, text);
            prop_assert!((back.y - p.y).abs() <= near(p.y, h) + 1e-9, "{} → {}", p.y, text);
        }

        #[test]
        fn no_text_makes_it_stumble(text in "[A-Za-z]{0,5} ?[0-9]{0,11}[ .,;é0-9-]{0,12}") {
            if let Ok(p) = grid().parse(&text) {
                prop_assert!(grid().format(p).is_some());
            }
        }
    }
}
