//! The reading grid: lettered, numbered cells over the whole picture, in which a
//! mark on the table is read by eye to a tenth of a fine line.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::Outcome;
use crate::projection::Upright;
use crate::projection::grid::{CELL, FINE, cell_name};

/// Height of a capital in a cell, px: it is read from close by.
const CAPITAL: f64 = 10.0;

/// A name wider than this is set smaller, px: the fine lines at either side of
/// the cell stay free.
const WIDEST: f64 = CELL as f64 - 3.0;

/// Where the headroom over a name begins, px below its cell's far line: the
/// name ends above the brighter line in the cell's middle.
const DOWN: f64 = 3.0;

/// sRGB codes of fine lines, every fifth of them, and coarse lines: 12, 35 and
/// 100 % of the light.
pub const CODES: [u8; 3] = [97, 160, 255];

/// The code of all but coarse lines under a name, 3 % of the light: they are
/// still there for a mark that lies under it, and the name can be read.
pub const UNDER: u8 = 48;

/// Fine lines from one brighter one to the next.
const FIFTH: u32 = 5;

/// How bright the line at `k` px from the far left corner is, if one is there.
fn code(k: u32) -> u8 {
    let [fine, fifth, coarse] = CODES;
    match k {
        k if k.is_multiple_of(CELL) => coarse,
        k if k.is_multiple_of(FINE * FIFTH) => fifth,
        k if k.is_multiple_of(FINE) => fine,
        _ => 0,
    }
}

/// The grid, and in every cell that lies wholly in the picture its name.
///
/// # Errors
/// If the bundled font can't be read.
pub fn reading_grid(on: &Upright) -> Outcome<Page> {
    let mut sheet = Sheet::with_capital(on, CAPITAL)?;
    let [w, h] = sheet.size();
    let lines = |c: u32, r: u32| Some([code(c).max(code(r)); 3]);
    sheet.raster().fill([0, 0, w, h], lines);
    let (columns, rows) = (w / CELL, h / CELL);
    // One size for all names: that of the widest.
    let widest = (0..columns)
        .map(|c| sheet.width(&cell_name(c, rows.saturating_sub(1))))
        .fold(0.0, f64::max);
    if widest > WIDEST {
        let mut smaller = Sheet::with_capital(on, CAPITAL * WIDEST / widest)?;
        *smaller.raster() = std::mem::replace(sheet.raster(), super::CodeRaster::new(0, 0));
        sheet = smaller;
    }
    for row in 0..rows {
        for column in 0..columns {
            let x = f64::from(column * CELL) + f64::from(CELL) / 2.0 + 0.5;
            let y = f64::from(row * CELL) + DOWN;
            let room = sheet.line(&cell_name(column, row), x, y, Align::Middle);
            let area = [room.min.x - 1.0, room.min.y, room.max.x + 1.0, room.max.y];
            sheet.raster().fill(area.map(|v| v.round() as u32), |c, r| {
                let lit = code(c).max(code(r));
                (lit > 0).then_some([lit.min(UNDER); 3])
            });
        }
    }
    Ok(sheet.finish())
}
