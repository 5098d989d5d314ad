//! The sheet of vernier marks: cut apart, and stuck down one by one.

use super::{LINES, PITCH};
use crate::calibration::check_lines::check_lines;
use crate::sheet::{Page, Paper, TextAt};

/// A mark's cut square, mm: the scales and half a number beyond.
const CUT: f64 = 85.0;

/// Marks across and along the sheet.
const COLUMNS: u32 = 2;
const ROWS: u32 = 3;

/// What is said above the marks takes this much, mm.
const HEAD: f64 = 11.0;

/// The scales' lines, mm: thin, for the eye halves the light with them; five
/// printer's dots at 600 to the inch.
const THIN: f64 = 0.2;

/// Half a line's length, mm; longer for every fifth.
const HALF: [f64; 2] = [3.0, 4.0];

/// Height of the numbers' type and of the words', mm.
const NUMBER: f64 = 2.2;
const WORDS: f64 = 2.6;

/// From an axis to its numbers, mm.
const CLEAR: f64 = 5.0;

/// Draws the sheet: six marks, and a check line each way, since printers err
/// differently across and along.
pub fn vernier_sheet(paper: Paper) -> Page {
    let (width, height) = paper.size_mm();
    let mut page = Page::new(paper);
    let left = (width - CUT * f64::from(COLUMNS)) / 2.0;
    let right = left + CUT * f64::from(COLUMNS);
    let foot = (height - HEAD - CUT * f64::from(ROWS)) / 2.0;
    let top = foot + CUT * f64::from(ROWS);
    for column in 0..=COLUMNS {
        let x = left + CUT * f64::from(column);
        page.line((x, foot), (x, top), 0.1);
    }
    for row in 0..=ROWS {
        let y = foot + CUT * f64::from(row);
        page.line((left, y), (right, y), 0.1);
    }
    for row in 0..ROWS {
        for column in 0..COLUMNS {
            let x = left + CUT * (f64::from(column) + 0.5);
            let y = top - CUT * (f64::from(row) + 0.5);
            mark(&mut page, (x, y));
        }
    }
    check_lines(&mut page, left, top);
    let say = [
        "Ghostchalk vernier marks. The two long lines are 100 mm each: measure both.",
        "If they are not, print at 100 %, \"actual size\". Then cut the marks apart.",
    ];
    for (text, up) in say.into_iter().zip([8.8, 5.2]) {
        words(&mut page, (left, top + up), 2.8, text);
    }
    page
}

/// One mark about its middle.
fn mark(page: &mut Page, middle: (f64, f64)) {
    let at = |x: f64, y: f64| (middle.0 + x, middle.1 + y);
    for k in -LINES..=LINES {
        let s = PITCH * f64::from(k);
        let half = HALF[usize::from(k % 5 == 0 && k != 0)];
        page.line(at(s, -half), at(s, half), THIN);
        page.line(at(-half, s), at(half, s), THIN);
        let number = match k {
            ..0 => format!("−{}", -k),
            // The cross itself.
            0 => continue,
            1.. => k.to_string(),
        };
        // Numbers go round like a wheel's spokes: each quarter has those of one
        // half axis, so that none meets another near the middle.
        let long = 0.556 * NUMBER * number.chars().count() as f64;
        let side = f64::from(k.signum());
        let below = if k > 0 { -CLEAR - 0.72 * NUMBER } else { CLEAR };
        let (x, y) = at(s - long / 2.0, below);
        words(page, (x, y), NUMBER, &number);
        let beside = if k > 0 { CLEAR } else { -CLEAR - long };
        let (x, y) = at(beside, s - 0.36 * NUMBER);
        words(page, (x, y), NUMBER, &number);
        // Four strokes from afar point at the cross.
        if k.abs() == 1 {
            page.line(at(9.5 * side, 9.5), at(13.0 * side, 13.0), 0.25);
            page.line(at(9.5 * side, -9.5), at(13.0 * side, -13.0), 0.25);
        }
    }
    for (k, text) in [
        "Ghostchalk vernier mark.",
        "Read the number at the",
        "line that stands in the",
        "middle of its light.",
        "One line is 0.1 mm.",
    ]
    .into_iter()
    .enumerate()
    {
        words(page, at(11.0, 36.0 - 4.0 * k as f64), WORDS, text);
    }
    words(page, at(-31.0, 22.0), WORDS, "away from you");
    page.line(at(-23.5, 26.0), at(-23.5, 37.0), 0.35);
    page.line(at(-25.5, 34.0), at(-23.5, 37.0), 0.35);
    page.line(at(-21.5, 34.0), at(-23.5, 37.0), 0.35);
    for (text, from, long) in [("mark", 12.0, 26.0), ("x", -37.0, 11.0), ("y", -24.0, 11.0)] {
        words(page, at(from, -34.0), WORDS, text);
        page.line(at(from, -35.5), at(from + long, -35.5), 0.1);
    }
}

fn words(page: &mut Page, (x, y): (f64, f64), size: f64, text: &str) {
    let text = text.to_owned();
    page.text(&TextAt { x, y, size, text });
}
