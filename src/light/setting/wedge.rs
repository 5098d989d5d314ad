//! A wedge of steps near black: which is the darkest that can be told from
//! darkness? What is dimmer than that is lost at the edges of every line.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::{Fault, Outcome};
use crate::projection::Upright;
use crate::scene::Level;

/// The sRGB codes of the steps, which are also their numbers on the page.
pub const WEDGE_CODES: [u8; 17] = [
    0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32,
];

const WORDS: &str = "Darken the room. Which is the first square you can see? Type its number.";

/// Numbers and words, dim so that their own stray light hides no step.
const DIM: Level = Level(40);

/// Numbered squares from code 0 to 32.
///
/// # Errors
/// If the bundled font can't be read.
pub fn wedge(on: &Upright) -> Outcome<Page> {
    let mut sheet = Sheet::new(on)?;
    sheet.level = DIM;
    let foot = sheet.foot(WORDS);
    let inner = sheet.inner();
    let bottom = foot.min.y - sheet.capital;
    let (wide, high) = (inner.width(), bottom - inner.min.y);
    let below = sheet.height_of(1);
    let n = WEDGE_CODES.len();
    // As many columns as make the largest squares.
    let side = |columns: usize| {
        let rows = n.div_ceil(columns) as f64;
        (wide / columns as f64).min(high / rows - below)
    };
    let columns = (1..=n)
        .max_by(|&a, &b| side(a).total_cmp(&side(b)))
        .unwrap_or(n);
    let rows = n.div_ceil(columns);
    let (dx, dy) = (wide / columns as f64, high / rows as f64);
    let square = 0.85 * side(columns).min(0.9 * dx);
    for (k, code) in WEDGE_CODES.into_iter().enumerate() {
        let x = inner.min.x + dx * ((k % columns) as f64 + 0.5);
        let y = inner.min.y + dy * (k / columns) as f64;
        let area = [x - square / 2.0, y, x + square / 2.0, y + square];
        let area = area.map(|v| v.round() as u32);
        sheet.raster().fill(area, |_, _| Some([code; 3]));
        sheet.line(&code.to_string(), x, y + square, Align::Middle);
    }
    Ok(sheet.finish())
}

/// The darkest code that was seen, from the number typed.
///
/// # Errors
/// If it is not the number of a step that is lit.
pub fn least_visible_code(number: u32) -> Outcome<u8> {
    let lit = WEDGE_CODES[1..].iter().find(|c| u32::from(**c) == number);
    lit.copied().ok_or_else(|| {
        Fault::input(
            format!("no square is numbered {number}, or it is not lit"),
            "type an even number from 2 to 32",
        )
    })
}
