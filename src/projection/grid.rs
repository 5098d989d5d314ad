//! The lettered, numbered grid of light in which marks are read: its measures
//! and names, which the page that shows it and the parser of readings share.
//!
//! A reading is `H12 3.5 7.2`: the cell's name, then how many fine lines the
//! mark lies to the right of the cell's left line, and how many below its far
//! line, as the letters stand. It is taken in [`super::Reader`] px.

/// From one coarse line to the next, px.
pub const CELL: u32 = 40;

/// From one fine line to the next, px. A tenth of it can be judged by eye.
pub const FINE: u32 = 4;

/// Lines are one pixel wide: coarse line k covers [40 k, 40 k + 1) px, and a
/// reading of 0.0 means its *middle*, 40 k + 0.5.
pub const LINE_CENTRE: f64 = 0.5;

/// The name of a column counted from 0: A to Z, AA to AZ, BA, …
pub fn column_name(column: u32) -> String {
    // Bijective base 26: there is no letter for nought.
    let mut letters = Vec::new();
    let mut left = u64::from(column) + 1;
    while left > 0 {
        left -= 1;
        letters.push(char::from(b'A' + (left % 26) as u8));
        left /= 26;
    }
    letters.iter().rev().collect()
}

/// The name of a cell; column and row count from 0 at the far left.
pub fn cell_name(column: u32, row: u32) -> String {
    format!("{}{}", column_name(column), u64::from(row) + 1)
}

/// The reader's coordinate, px, of `fine` fine lines into cell `k`, across or
/// down.
pub fn coordinate(k: u32, fine: f64) -> f64 {
    f64::from(k) * f64::from(CELL) + LINE_CENTRE + fine * f64::from(FINE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_as_in_a_ledger() {
        let names = [0, 25, 26, 51, 52, 701, 702].map(column_name);
        assert_eq!(names, ["A", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]);
        assert_eq!(cell_name(7, 11), "H12");
        assert_eq!(cell_name(u32::MAX, u32::MAX), "MWLQKWV4294967296");
    }

    #[test]
    fn ten_fine_lines_are_the_next_coarse_line() {
        assert_eq!(coordinate(7, 0.0), 280.5);
        assert_eq!(coordinate(7, 10.0), coordinate(8, 0.0));
        assert_eq!(coordinate(0, 3.5), 14.5);
    }
}
