//! Marks are out of reach of the keys, so they are read, not only nudged onto:
//! the picture carries a grid, the person walks round once and notes where in
//! it each mark lies.
//!
//! A reading is `H12 3.5 7.2`: the cell, then how many fine lines the mark lies
//! to the right of the cell's left line, and how many nearer than its far line,
//! tenths by estimate. The grid's measures and names are those of
//! [`crate::projection::grid`], which the page that shows it draws; and it is
//! read as the *reader* sees it ([`Upright`]), from any side and over a mirror.
//!
//! A reading to a tenth of a fine line is one to 0.4 px: where a pixel is
//! 0.63 mm, to 0.25 mm, and its rounding alone has a standard deviation of
//! 0.4/√12 = 0.12 px, 0.07 mm.

use crate::fault::{Fault, Outcome};
use crate::projection::Upright;
use crate::projection::grid::{CELL, FINE, LINE_CENTRE, cell_name, coordinate};
use crate::space::{Point, Projector};

/// Fine lines to a cell.
const LINES: f64 = (CELL / FINE) as f64;

const LIKE: &str = "write the cell, then the fine lines across and down: H12 3.5 7.2";

/// The reading grid over one picture, as one reader sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    on: Upright,
}

impl Grid {
    pub fn over(on: Upright) -> Self {
        Self { on }
    }

    /// Columns and rows of cells as the reader counts them; the last of each
    /// may be cut by the picture's edge.
    pub fn cells(&self) -> [u32; 2] {
        self.on.size().map(|side| side.div_ceil(CELL))
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
                    "its cells are A1 to {}; letters count from the left, numbers from the far edge",
                    cell_name(columns.saturating_sub(1), rows.saturating_sub(1))
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
        if let Some(beyond) = [across, down].iter().find(|v| !(0.0..=LINES).contains(*v)) {
            return Err(Fault::input(
                format!("{beyond} in \"{said}\" is no number of fine lines: a cell has 0 to 10"),
                "count from the cell's left line and from its far line",
            ));
        }
        let at = Point::new(coordinate(column, across), coordinate(row, down));
        let [w, h] = self.on.size().map(f64::from);
        if at.x > w || at.y > h {
            return Err(Fault::input(
                format!("\"{said}\" lies beyond the picture's edge, which cuts that cell"),
                "read it again",
            ));
        }
        Ok(self.on.pixel(at))
    }

    /// The reading of a point of the picture, to a tenth of a fine line:
    /// `H12 3.5 7.2`. `None` outside the picture.
    pub fn format(&self, p: Point<Projector>) -> Option<String> {
        let r = self.on.reader(p);
        let [w, h] = self.on.size().map(f64::from);
        if !((0.0..=w).contains(&r.x) && (0.0..=h).contains(&r.y)) {
            return None;
        }
        // Before the middle of the very first line there is no cell: it is
        // read as that line.
        let index = |v: f64| ((v - LINE_CENTRE).max(0.0) / f64::from(CELL)).floor() as u32;
        let (column, row) = (index(r.x), index(r.y));
        // Rounded towards the inside where the edge cuts a tenth.
        let fine = |v: f64, cell: u32, side: f64| {
            let lines = |v: f64| (v - coordinate(cell, 0.0)) / f64::from(FINE);
            let most = (10.0 * lines(side) + 1e-9).floor();
            (10.0 * lines(v)).round().min(most).max(0.0) / 10.0
        };
        Some(format!(
            "{} {:.1} {:.1}",
            cell_name(column, row),
            fine(r.x, column, w),
            fine(r.y, row, h)
        ))
    }
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
    use crate::stand::Side;
    use proptest::prelude::*;

    fn front(picture: [u32; 2]) -> Grid {
        Grid::over(Upright::new(picture, Side::Front, false))
    }

    fn grid() -> Grid {
        front([1920, 1080])
    }

    #[test]
    fn a_reading_is_read_however_it_is_typed() {
        // H is the eighth column: 7 cells of 40 px, and 3.5 lines of 4 px, from
        // the middle of a line of one px.
        let want = Point::new(7.0 * 40.0 + 14.5, 11.0 * 40.0 + 29.3);
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
    fn the_last_cells_end_where_the_picture_does() {
        assert_eq!(grid().cells(), [48, 27]);
        let corner = Point::new(1920.0, 1080.0);
        assert_eq!(grid().format(corner).unwrap(), "AV27 9.8 9.8");
        assert_eq!(grid().format(Point::new(0.0, 0.0)).unwrap(), "A1 0.0 0.0");
        assert_eq!(grid().format(Point::new(-0.1, 0.0)), None);
        let read = grid().parse("av27 9.8 9.8").unwrap();
        assert!((read - Point::new(1919.7, 1079.7)).length() < 1e-9);
        assert!(grid().parse("AV27 10 9").is_err());
        // From the right, its columns are the picture's rows.
        let right = Grid::over(Upright::new([1920, 1080], Side::Right, false));
        assert_eq!(right.cells(), [27, 48]);
        let read = right.parse("B1 0 0").unwrap();
        assert!((read - Point::new(0.5, 1080.0 - 40.5)).length() < 1e-9);
        let over_a_mirror = Grid::over(Upright::new([1920, 1080], Side::Front, true));
        let read = over_a_mirror.parse("B1 0 0").unwrap();
        assert!((read - Point::new(1920.0 - 40.5, 0.5)).length() < 1e-9);
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
        let odd = front([1366, 768]);
        assert!(odd.parse("AI1 1.3 0").is_ok());
        assert!(
            odd.parse("AI1 1.4 0")
                .unwrap_err()
                .to_string()
                .contains("cuts that cell")
        );
    }

    proptest! {
        #[test]
        fn a_point_is_its_reading_to_half_a_tenth(
            x in 0.0..=1.0f64, y in 0.0..=1.0f64, w in 640..8000u32, h in 480..5000u32,
            side in 0..4usize, mirror in any::<bool>(),
        ) {
            let on = Upright::new([w, h], Side::ALL[side], mirror);
            let grid = Grid::over(on);
            let p = Point::new(x * f64::from(w), y * f64::from(h));
            let text = grid.format(p).unwrap();
            let back = grid.parse(&text).unwrap();
            // Half a tenth of a fine line; a whole one where the far edge cuts
            // it, and half a line's width before the first line's middle.
            let near = |v: f64, side: u32| match v {
                v if v < 0.5 => 0.5,
                v if f64::from(side) - v < 0.4 => 0.4,
                _ => 0.2,
            };
            let (p, back) = (on.reader(p), on.reader(back));
            let [w, h] = on.size();
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
