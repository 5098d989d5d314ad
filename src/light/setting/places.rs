//! Where the four marks go: the border of the light, and a numbered cross near
//! each of its corners.

use super::cross::{ARM, arms};
use super::sheet::{Align, Sheet};
use super::{MARGIN, Page};
use crate::fault::Outcome;
use crate::projection::Upright;
use crate::scene::Level;
use crate::space::Point;

/// Width of the line along the border, px.
const BORDER: f64 = 2.0;

/// From the border to a cross's middle, px.
const INSET: f64 = MARGIN + ARM;

/// Each try at fitting the words is this much smaller than the last.
const SMALLER: f64 = 0.93;

/// The border, crosses for the marks, and the lines of words in the middle. The
/// mark at the reader's near left is `first`, 1 to 4; the others follow
/// counter-clockwise.
///
/// # Errors
/// If the bundled font can't be read.
pub fn mark_places(on: &Upright, first: u32, lines: &[&str]) -> Outcome<Page> {
    let mut capital = Sheet::usual_capital(on);
    loop {
        let mut sheet = Sheet::with_capital(on, capital)?;
        let [w, h] = sheet.size().map(f64::from);
        let inner = sheet.inner();
        let broken: Vec<String> = lines
            .iter()
            .flat_map(|l| sheet.wrap(l, inner.width()))
            .collect();
        let high = sheet.height_of(broken.len());
        let free = h - 2.0 * (INSET + ARM);
        // Below a pixel nothing can be read, nor shown.
        if high > free && capital >= 1.0 {
            capital *= SMALLER;
            continue;
        }
        let b = BORDER;
        for bar in [
            [0.0, 0.0, w, b],
            [0.0, h - b, w, h],
            [0.0, b, b, h - b],
            [w - b, b, w, h - b],
        ] {
            sheet.bar(bar);
        }
        let corners = [(false, true), (true, true), (true, false), (false, false)];
        for (k, (right, near)) in corners.into_iter().enumerate() {
            let x = if right { w - INSET } else { INSET };
            let y = if near { h - INSET } else { INSET };
            sheet.light(&arms(Point::new(x, y)), Level::FULL);
            let number = ((first + 3 + k as u32) % 4 + 1).to_string();
            let beside = ARM + capital;
            let x = if right { x - beside } else { x + beside };
            sheet.line(&number, x, y - sheet.height_of(1) / 2.0, Align::Middle);
        }
        sheet.lines(&broken, inner.center().x, (h - high) / 2.0, Align::Middle);
        return Ok(sheet.finish());
    }
}
