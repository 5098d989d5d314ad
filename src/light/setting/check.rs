//! The check picture: a rectangle of known size with its diagonals and two
//! rulers, on the table, for a tape to be laid on.

use crate::fault::{Fault, Outcome, short};
use crate::light::label;
use crate::light::text::Letters;
use crate::measure::MM_PER_INCH;
use crate::measure::Unit;
use crate::scene::{Figure, Level, Patch};
use crate::shape::{Caps, Region, near, offset, stroke, union};
use crate::space::{Bounds, Point, Rigid, Table};
use crate::stand::Side;

/// Half the width of a line, mm.
const HALF_LINE: f64 = 0.5;

/// Lengths of a ruler's ticks from the line's middle, mm: small, middle, with a
/// number.
const TICKS: [f64; 3] = [5.0, 8.0, 12.0];

/// Dark between a tick and its number, and between a number and any line, mm.
const CLEAR: f64 = 3.0;

/// The shortest side of a check picture, mm.
const LEAST: f64 = 60.0;

/// mm from tick to tick, ticks to a middle one, ticks to a number.
fn ticks(unit: Unit) -> (f64, u32, u32) {
    match unit {
        Unit::Inch => (MM_PER_INCH / 2.0, 2, 4),
        _ => (10.0, 5, 10),
    }
}

/// The number at a tick.
fn number(unit: Unit, tick: u32) -> String {
    match unit {
        Unit::Inch => (tick / 2).to_string(),
        Unit::Cm => tick.to_string(),
        _ => (tick * 10).to_string(),
    }
}

/// A length in words, whole millimetres without a nought.
fn said(unit: Unit, mm: f64) -> String {
    let shown = unit.show(mm);
    match shown.strip_suffix(".0 mm") {
        Some(whole) => format!("{whole} mm"),
        None => shown,
    }
}

/// A check picture on the table.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckPicture {
    pub figure: Figure,
    /// What is to be measured, also for the panel: from the middle of a line to
    /// the middle of the one opposite, or of a corner to that of another.
    pub words: Vec<String>,
    /// Whether the words found room in the light.
    pub words_lit: bool,
}

/// The check picture whose lines' *middles* run along `bounds`, table mm, with
/// numbers and words upright for `side` and `letters` mm high.
///
/// The rulers run along the side next to the person and up their left, from
/// the corner at their left hand.
///
/// # Errors
/// If a side is shorter than 60 mm or not a number.
pub fn check_picture(
    bounds: Bounds<Table>,
    unit: Unit,
    side: Side,
    letters: f64,
) -> Outcome<CheckPicture> {
    let size = bounds.size();
    if !(size.width >= LEAST && size.height >= LEAST && bounds.is_finite()) {
        return Err(Fault::input(
            format!(
                "a check picture of {} by {} mm is too small to be measured",
                short(size.width),
                short(size.height)
            ),
            format!("give it sides of {LEAST} mm or more"),
        ));
    }
    // Drawn as the person sees it, about the middle, and turned to them.
    let (w, h) = match side {
        Side::Front | Side::Back => (size.width, size.height),
        Side::Right | Side::Left => (size.height, size.width),
    };
    let corner: Point<Table> = Point::new(-w / 2.0, -h / 2.0);
    let at = |x: f64, y: f64| Point::new(corner.x + x, corner.y + y);
    let block = |l: f64, b: f64, r: f64, t: f64| -> Region<Table> {
        Region::ring(vec![at(l, b), at(r, b), at(r, t), at(l, t)])
    };
    let e = HALF_LINE;
    let mut lines = vec![
        block(-e, -e, w + e, e),
        block(-e, h - e, w + e, h + e),
        block(-e, -e, e, h + e),
        block(w - e, -e, w + e, h + e),
        stroke(&[at(0.0, 0.0), at(w, h)], e, Caps::Flat),
        stroke(&[at(0.0, h), at(w, 0.0)], e, Caps::Flat),
    ];
    let frame = union(&lines);

    let mut type_case = Letters::new(letters)?;
    let mut numbers: Vec<Region<Table>> = Vec::new();
    let (apart, to_middle, to_number) = ticks(unit);
    for (length, up) in [(w, false), (h, true)] {
        // No tick where the far line is.
        let count = ((length - 2.0 * e) / apart).floor() as u32;
        for k in 1..=count {
            let s = f64::from(k) * apart;
            let long = TICKS[usize::from(k.is_multiple_of(to_middle))
                + usize::from(k.is_multiple_of(to_number))];
            lines.push(if up {
                block(0.0, s - e, long, s + e)
            } else {
                block(s - e, 0.0, s + e, long)
            });
            if !k.is_multiple_of(to_number) {
                continue;
            }
            let text = type_case.block(&[number(unit, k)]);
            let Some(own) = text.lit.bounds() else {
                continue;
            };
            let middle = if up {
                at(long + CLEAR + own.width() / 2.0, s)
            } else {
                at(s, long + CLEAR + letters / 2.0)
            };
            let to: Rigid<Table, Table> = Rigid::new(false, 0.0, middle.to_vector());
            let number = text.lit.moved(&to);
            let hit = |r: &Region<Table>| near(r, &number, CLEAR);
            if !hit(&frame) && !numbers.iter().any(hit) {
                numbers.push(number);
            }
        }
    }

    let words = vec![
        "corner to corner, at the lines' middles".to_owned(),
        format!("{} × {}", said(unit, w), said(unit, h)),
        format!("diagonals {}", said(unit, w.hypot(h))),
    ];
    let mut lit = union(&lines);
    for number in numbers {
        lit.append(number);
    }
    let inside = block(0.0, 0.0, w, h);
    let (free, barred) = (
        offset(&inside, -CLEAR - letters / 4.0),
        offset(&lit, CLEAR + letters / 4.0),
    );
    let text = label::within(
        label::settings(&words, &mut type_case),
        &free,
        &barred,
        at(w / 2.0, 0.75 * h),
    );
    let words_lit = text.is_some();
    if let Some(text) = text {
        lit.append(text);
    }
    let to: Rigid<Table, Table> = Rigid::new(false, side.turn(), bounds.center().to_vector());
    Ok(CheckPicture {
        figure: Figure {
            patches: vec![Patch {
                region: lit.moved(&to),
                level: Level::FULL,
            }],
            height: 0.0,
        },
        words,
        words_lit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_check_picture_is_its_size_between_the_lines_middles() {
        let bounds = Bounds::new(Point::new(100.0, 50.0), Point::new(700.0, 450.0));
        for side in Side::ALL {
            for unit in [Unit::Mm, Unit::Inch] {
                let made = check_picture(bounds, unit, side, 12.0).unwrap();
                assert!(made.words_lit, "{side:?}");
                let lit = &made.figure.patches[0].region;
                let all = lit.bounds().unwrap();
                assert!((all.min - Point::new(99.5, 49.5)).length() < 1e-5);
                assert!((all.max - Point::new(700.5, 450.5)).length() < 1e-5);
                // Each side's line is lit half a millimetre to either side.
                for t in [0.013, 0.31, 0.777] {
                    let (x, y) = (100.0 + 600.0 * t, 50.0 + 400.0 * t);
                    for d in [-0.45, 0.45] {
                        assert!(
                            lit.contains(Point::new(x, 450.0 + d))
                                && lit.contains(Point::new(100.0 + d, y))
                        );
                        assert!(
                            lit.contains(Point::new(x, 50.0 + d))
                                && lit.contains(Point::new(700.0 + d, y))
                        );
                    }
                    // The diagonal's middle.
                    assert!(lit.contains(Point::new(x, y)));
                }
                // No area is lit twice.
                let once = crate::shape::union([lit]);
                assert!((once.area() - lit.area()).abs() < 1e-3);
            }
        }
        let words = check_picture(bounds, Unit::Mm, Side::Front, 12.0)
            .unwrap()
            .words;
        // 600, 400, 721.11: a Pythagorean by hand.
        assert_eq!(words[1..], ["600 mm × 400 mm", "diagonals 721.1 mm"]);
        assert!(
            check_picture(
                Bounds::new(Point::origin(), Point::new(20.0, 400.0)),
                Unit::Mm,
                Side::Front,
                12.0
            )
            .is_err()
        );
        let nan = Bounds::new(Point::origin(), Point::new(f64::NAN, 400.0));
        assert!(check_picture(nan, Unit::Mm, Side::Front, 12.0).is_err());
    }

    #[test]
    fn rulers_tick_every_centimetre_or_half_inch() {
        let bounds = Bounds::new(Point::new(0.0, 0.0), Point::new(508.0, 304.8));
        for (unit, apart) in [(Unit::Mm, 10.0), (Unit::Inch, 12.7)] {
            let lit = &check_picture(bounds, unit, Side::Front, 12.0)
                .unwrap()
                .figure
                .patches[0]
                .region;
            // Along the near line, 4 mm up, clear of the diagonals near the corners.
            let at = |x: f64| lit.contains(Point::new(x, 4.0));
            for k in 2..20u32 {
                let x = f64::from(k) * apart;
                assert!(
                    at(x - 0.45) && at(x + 0.45) && !at(x + 0.55) && !at(x - 0.55),
                    "{x}"
                );
            }
        }
        let inch = check_picture(bounds, Unit::Inch, Side::Front, 12.0).unwrap();
        assert_eq!(inch.words[1], "20 in × 12 in");
        // 23.324 in: the nearest sixteenth, as a tape has them.
        assert_eq!(inch.words[2], "diagonals 23 5/16 in");
    }
}
