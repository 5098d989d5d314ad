//! The cross of light that is set on a mark by fine moves, with a vernier that
//! shows a tenth of a pixel.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::Outcome;
use crate::projection::{Reader, Upright};
use crate::scene::Level;
use crate::shape::Region;
use crate::space::{Bounds, Point, Projector};

/// Half the width of an arm and its length from the middle, px. Two px wide:
/// moved by a tenth, one border pixel gains a tenth of the light (code 89) and
/// the other loses as much.
const HALF_ARM: f64 = 1.0;
pub(super) const ARM: f64 = 40.0;

/// Dark kept about the cross, px.
const CLEAR: f64 = 16.0;

/// The verniers' magnification, and the length of one: a whole pixel.
const MAGNIFIED: f64 = 100.0;

/// Height of a vernier's ticks at its ends and middle, and of the others, px.
const TICKS: [f64; 2] = [12.0, 7.0];
/// Height and width of the pointer under the ticks, px.
const POINTER: [f64; 2] = [12.0, 5.0];
/// Dark between ticks and pointer, px: they touch nowhere.
const BETWEEN: f64 = 2.0;

/// Dark between the words and the first vernier, px.
const APART: f64 = 6.0;

/// How far one press moves the cross.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Step {
    #[default]
    Ten,
    One,
    Tenth,
}

impl Step {
    /// The step in px.
    pub fn px(self) -> f64 {
        match self {
            Step::Ten => 10.0,
            Step::One => 1.0,
            Step::Tenth => 0.1,
        }
    }

    fn words(self) -> &'static str {
        match self {
            Step::Ten => "step 10 px",
            Step::One => "step 1 px",
            Step::Tenth => "step 0.1 px",
        }
    }
}

/// The cross about `at` (finite; it may hang over the picture's border), and
/// beside it the mark's number, the step, and two verniers: how far into its
/// pixel the cross's middle lies, across and towards the reader, × 100.
///
/// # Errors
/// If the bundled font can't be read.
pub fn cross(on: &Upright, at: Point<Projector>, mark: u32, step: Step) -> Outcome<Page> {
    let mut sheet = Sheet::new(on)?;
    let r = on.reader(at);
    sheet.light(&arms(r), Level::FULL);

    let lines = [format!("mark {mark}"), step.words().to_owned()];
    // The letters stand to the left of their vernier.
    let names = ["across", "down"];
    let name = names
        .map(|n| sheet.width(n))
        .into_iter()
        .fold(0.0, f64::max);
    let gap = sheet.capital / 2.0;
    let row = sheet
        .height_of(1)
        .ceil()
        .max(TICKS[0] + BETWEEN + POINTER[0] + 4.0);
    let words = lines.iter().map(|l| sheet.width(l)).fold(0.0, f64::max);
    let wide = words.max(name + gap + MAGNIFIED + POINTER[1] + 1.0);
    let high = sheet.height_of(2) + APART + 2.0 * row;
    let corner = beside(r, sheet.inner(), wide, high);

    let mut top = corner.y;
    sheet.lines(&lines, corner.x, top, Align::Left);
    top += sheet.height_of(2) + APART;
    for (word, offset) in names.into_iter().zip([r.x, r.y]) {
        let middle = top + row / 2.0;
        let line = middle - sheet.height_of(1) / 2.0;
        sheet.line(word, corner.x, line, Align::Left);
        // On whole pixels, so that ticks are as sharp as the light allows.
        let zero = (corner.x + name + gap + POINTER[1] / 2.0).round() - 0.5;
        vernier(&mut sheet, zero, top.round(), offset);
        top += row;
    }
    Ok(sheet.finish())
}

/// Four arms as one outline: a plus.
pub(super) fn arms(at: Point<Reader>) -> Region<Reader> {
    let (a, l) = (HALF_ARM, ARM);
    let ring = [
        (-a, -l),
        (a, -l),
        (a, -a),
        (l, -a),
        (l, a),
        (a, a),
        (a, l),
        (-a, l),
        (-a, a),
        (-l, a),
        (-l, -a),
        (-a, -a),
    ];
    Region::ring(ring.map(|(x, y)| Point::new(at.x + x, at.y + y)).to_vec())
}

/// The far left corner of a box that stands in `inner`, beside, before or behind
/// the cross: the first place that is clear of it.
fn beside(at: Point<Reader>, inner: Bounds<Reader>, wide: f64, high: f64) -> Point<Reader> {
    let away = ARM + CLEAR;
    let level = (at.x - wide / 2.0, at.y - high / 2.0);
    let wishes = [
        (at.x + away, level.1),
        (at.x - away - wide, level.1),
        (level.0, at.y - away - high),
        (level.0, at.y + away),
    ];
    let held = |(x, y): (f64, f64)| {
        let most = Point::new(inner.max.x - wide, inner.max.y - high);
        Point::new(x, y).clamp(inner.min, most.max(inner.min))
    };
    let cross = Bounds::new(at, at).inflate(away - 1.0, away - 1.0);
    let clear = |p: &Point<Reader>| {
        let own = Bounds::new(*p, Point::new(p.x + wide, p.y + high));
        !own.intersects(&cross)
    };
    let mut places = wishes.into_iter().map(held);
    places
        .clone()
        .find(clear)
        .or_else(|| places.next())
        .unwrap_or(inner.min)
}

/// Eleven ticks from `x`, a tenth of a pixel each, and under them a pointer at
/// the fraction of `offset`.
fn vernier(sheet: &mut Sheet, x: f64, top: f64, offset: f64) {
    let foot = top + TICKS[0];
    for k in 0..=10 {
        let at = x + MAGNIFIED * f64::from(k) / 10.0;
        let tall = TICKS[usize::from(k % 5 != 0)];
        sheet.bar([at - 0.5, foot - tall, at + 0.5, foot]);
    }
    // To a hundredth of a pixel, or 0.999… would point at the far end.
    let part = (offset * MAGNIFIED).round().rem_euclid(MAGNIFIED);
    let at = x + part;
    let half = POINTER[1] / 2.0;
    let under = foot + BETWEEN;
    sheet.bar([at - half, under, at + half, under + POINTER[0]]);
}
