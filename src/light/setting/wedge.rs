//! A wedge of steps near black: which is the darkest that can be told from
//! darkness? What is dimmer than that is lost at the edges of every line.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::Outcome;
use crate::projection::Upright;
use crate::projection::wedge::CODES;
use crate::scene::Level;

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
    let n = CODES.len();
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
    for (k, code) in CODES.into_iter().enumerate() {
        let x = inner.min.x + dx * ((k % columns) as f64 + 0.5);
        let y = inner.min.y + dy * (k / columns) as f64;
        let area = [x - square / 2.0, y, x + square / 2.0, y + square];
        let area = area.map(|v| v.round() as u32);
        sheet.raster().fill(area, |_, _| Some([code; 3]));
        sheet.line(&code.to_string(), x, y + square, Align::Middle);
    }
    Ok(sheet.finish())
}
