//! Lines of one pixel in white, red and blue: a projector or cable that carries
//! colour at half the resolution smears or dims the coloured ones.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::Outcome;
use crate::projection::Upright;
use crate::scene::Level;

const WORDS: &str = "Red and blue lines must be as thin and clear as the white ones. If they are \
                     smeared or dim: set the output to full colour (4:4:4, RGB, PC mode).";

/// From one line to the next, px: odd, so that lines lie on even and on odd
/// pixels in turn.
const APART: u32 = 5;

/// Names between the fields.
const GREY: Level = Level(110);

const COLOURS: [(&str, [u8; 3]); 3] = [
    ("white", [255, 255, 255]),
    ("red", [255, 0, 0]),
    ("blue", [0, 0, 255]),
];

/// For each colour a field of lines that run away and one of lines across.
///
/// # Errors
/// If the bundled font can't be read.
pub fn colour_lines(on: &Upright) -> Outcome<Page> {
    let mut sheet = Sheet::new(on)?;
    let foot = sheet.foot(WORDS);
    sheet.level = GREY;
    let inner = sheet.inner();
    let bottom = foot.min.y - sheet.capital;
    let column = inner.width() / COLOURS.len() as f64;
    // Field, name, field, from the far edge down.
    let name = sheet.height_of(1);
    let high = (bottom - inner.min.y - name) / 2.0;
    for (k, (word, codes)) in COLOURS.into_iter().enumerate() {
        let x = inner.min.x + column * (k as f64 + 0.5);
        let (left, right) = (x - 0.42 * column, x + 0.42 * column);
        let (top, middle) = (inner.min.y, inner.min.y + high);
        let whole = |b: [f64; 4]| b.map(|v| v.round() as u32);
        let (away, across) = (
            whole([left, top, right, middle]),
            whole([left, middle + name, right, bottom]),
        );
        let raster = sheet.raster();
        raster.fill(away, |c, _| ((c - away[0]) % APART == 0).then_some(codes));
        raster.fill(across, |_, r| {
            ((r - across[1]) % APART == 0).then_some(codes)
        });
        sheet.line(word, x, middle, Align::Middle);
    }
    Ok(sheet.finish())
}
