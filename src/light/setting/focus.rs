//! A page to focus by: stars of wedges at nine places, which grey out from the
//! middle by as much as they are blurred (Siemens stars), and beside each a
//! patch of single pixels.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::Outcome;
use crate::projection::{Reader, Upright};
use crate::scene::Level;
use crate::shape::Region;
use crate::space::Point;

const WORDS: [&str; 2] = [
    "Turn the focus by hand: the grey in the stars' middles as small as it gets.",
    "All nine alike is better than one sharp.",
];

/// Lit wedges in a star.
const WEDGES: u32 = 18;

/// A star's radius as a share of the picture's shorter side.
const RADIUS: f64 = 1.0 / 13.0;

/// Half the side of a patch of single pixels, as a share of a star's radius.
const HALF_PATCH: f64 = 0.25;

/// Stars in the corners, at the middles of the sides and in the centre.
///
/// # Errors
/// If the bundled font can't be read.
pub fn focus(on: &Upright) -> Outcome<Page> {
    let mut sheet = Sheet::new(on)?;
    let inner = sheet.inner();
    let radius = RADIUS * inner.width().min(inner.height());
    let three = |low: f64, high: f64| {
        let (a, b) = ((low + radius).round(), (high - radius).round());
        [a, f64::midpoint(a, b).round(), b]
    };
    let xs = three(inner.min.x, inner.max.x);
    let ys = three(inner.min.y, inner.max.y);
    let half = (HALF_PATCH * radius).round();
    for y in ys {
        for (k, x) in xs.into_iter().enumerate() {
            sheet.light(&star(Point::new(x, y), radius), Level::FULL);
            // On the side that faces the picture's middle.
            let beside = radius + 2.0 * half;
            let x = if k == 2 { x - beside } else { x + beside };
            let x = x.round();
            let area = [x - half, y - half, x + half, y + half].map(|v| v as u32);
            sheet
                .raster()
                .fill(area, |c, r| ((c + r) % 2 == 0).then_some([255; 3]));
        }
    }
    for (words, y) in WORDS.into_iter().zip([(ys[0], ys[1]), (ys[1], ys[2])]) {
        let lines = sheet.wrap(words, inner.width());
        let top = f64::midpoint(y.0, y.1) - sheet.height_of(lines.len()) / 2.0;
        sheet.lines(&lines, inner.center().x, top, Align::Middle);
    }
    Ok(sheet.finish())
}

/// Wedges about a middle, as wide as the dark between them.
fn star(middle: Point<Reader>, radius: f64) -> Region<Reader> {
    let at = |r: f64, k: u32| {
        let (sin, cos) = (std::f64::consts::PI * f64::from(k) / f64::from(WEDGES)).sin_cos();
        Point::new(middle.x + r * cos, middle.y + r * sin)
    };
    let wedge = |k: u32| vec![middle, at(radius, 2 * k), at(radius, 2 * k + 1)];
    Region::new((0..WEDGES).map(wedge).collect())
}
