//! A ruler of light for what is cut by length.

use super::Glow;
use super::pen::{DASHED, Line, Pen};
use crate::measure::Unit;
use crate::order::TapeMarkIs;
use crate::scene::Level;
use crate::space::Vector;
use crate::stand::Side;
use crate::work::Bench;

/// How far a mark reaches across the ruler, mm; how far the first row of words stands off, and
/// from one to the next; how wide a letter is.
const MARK: f64 = 16.0;
const FIRST: f64 = 40.0;
const ROW: f64 = 46.0;
const ROWS: usize = 3;
const LETTER: f64 = 9.5;

pub fn ruler(
    glow: &mut Glow,
    bench: &Bench,
    pen: &mut Pen,
    (unit, side, level): (Unit, Side, Level),
) {
    let Some(ruler) = bench.ruler() else { return };
    let up = side.to_table(Vector::new(0.0, 1.0));
    let (start, end) = (ruler.place(ruler.from), ruler.place(ruler.to));
    pen.line(&[start, end], Line::Solid, 0.8, level);
    // Small ticks, 10 mm or an inch apart, below the line.
    let step = match unit {
        Unit::Inch => 25.4,
        _ => 10.0,
    };
    let first = (ruler.from / step).ceil() as u32;
    for k in (first..).take(2000) {
        let at = f64::from(k) * step;
        if at > ruler.to {
            break;
        }
        let long = if k % 10 == 0 { 6.0 } else { 3.0 };
        let at = ruler.place(at);
        pen.line(&[at, at - up * long], Line::Solid, 0.6, level);
    }
    // Where it is cut: doubled; where it goes on: dashed.
    for (at, is_cut) in [(ruler.from, ruler.from == 0.0), (ruler.to, ruler.ends())] {
        let way = if at == ruler.from { -1.0 } else { 1.0 };
        let at = ruler.place(at);
        let line = if is_cut { Line::Solid } else { DASHED };
        pen.line(&[at - up * MARK, at + up * MARK], line, 1.2, level);
        if is_cut {
            let beside = at + ruler.along * (3.0 * way);
            pen.line(
                &[beside - up * MARK, beside + up * MARK],
                Line::Solid,
                1.2,
                level,
            );
        }
    }
    let marks: Vec<_> = ruler
        .signs()
        .into_iter()
        .map(|(m, sign)| (ruler.place(m.at), m.at, m.is == TapeMarkIs::Middle, sign))
        .collect();
    // Words stand in the first row in which there is room.
    let mut ends = [f64::MIN; ROWS];
    for (place, at, is_middle, sign) in marks {
        let dash = if is_middle { DASHED } else { Line::Solid };
        pen.line(&[place, place + up * MARK], dash, 1.6, level);
        let words = [sign, unit.show(at)];
        let letters = words.iter().map(|w| w.chars().count()).max().unwrap_or(0);
        let half = 0.5 * LETTER * letters as f64;
        let free = ends.iter().position(|end| *end < at - half);
        let row = free.unwrap_or(ROWS - 1);
        ends[row] = at + half;
        let middle = place + up * (FIRST + ROW * row as f64);
        pen.words(&mut glow.letters, &words, middle, side);
        if row > 0 {
            pen.line(
                &[place + up * MARK, middle - up * (ROW / 2.0)],
                DASHED,
                0.6,
                level,
            );
        }
    }
}
