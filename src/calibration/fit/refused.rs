//! Marks that fix nothing.

use super::{Form, Sighted};
use crate::fault::{Fault, Outcome, counted, short};
use crate::projection::many::in_line;

/// A cross whose middle lies further outside the picture than this, px, was not lit.
const OUTSIDE: f64 = 3.0;

/// Marks nearer to one line than this share of their length are in a line.
const LINE: f64 = 1e-3;

pub(super) fn check(marks: &[Sighted], [w, h]: [u32; 2], form: Form) -> Outcome<()> {
    let n = marks.len();
    if n < 4 {
        return Err(Fault::input(
            format!(
                "{} given, and it takes four to tell where light lands",
                counted(n, "mark is", "marks are")
            ),
            "set four marks or more, the outer ones near the table's edge",
        ));
    }
    if 2 * n < form.unknowns() {
        return Err(Fault::input(
            format!("{n} marks fix no lens: it takes six"),
            "set two more marks, or do without the lens",
        ));
    }
    for m in marks {
        let all = [m.table.x, m.table.y, m.pixel.x, m.pixel.y];
        if !all.iter().all(|v| v.is_finite()) {
            return Err(Fault::input(
                format!("the place of {} is not a number", m.name),
                "set it again",
            ));
        }
        let out = |v: f64, top: u32| v < -OUTSIDE || v > f64::from(top) + OUTSIDE;
        if out(m.pixel.x, w) || out(m.pixel.y, h) {
            return Err(Fault::input(
                format!(
                    "{} is at ({}, {}) px, outside the picture of {w}x{h}",
                    m.name,
                    short(m.pixel.x),
                    short(m.pixel.y)
                ),
                "check the picture's size, and the reading",
            ));
        }
    }
    for (k, a) in marks.iter().enumerate() {
        for b in &marks[k + 1..] {
            let same = (a.table - b.table).length() < 1.0 || (a.pixel - b.pixel).length() < 1.0;
            if same {
                return Err(Fault::input(
                    format!("{} and {} are in one place", a.name, b.name),
                    "give each mark its own place",
                ));
            }
        }
    }
    let table = marks.iter().map(|m| m.table.to_array());
    let px = marks.iter().map(|m| m.pixel.to_array());
    for (points, side) in [
        (table.collect::<Vec<_>>(), "on the table"),
        (px.collect(), "in the picture"),
    ] {
        if let Some(left) = in_line(&points, LINE) {
            let which = match left {
                None => "the marks".to_owned(),
                Some(k) => format!("all marks but {}", marks[k].name),
            };
            return Err(Fault::input(
                format!(
                    "{which} lie in a line {side}, and that does not tell where light lands beside it"
                ),
                "set marks on both sides of that line",
            ));
        }
    }
    Ok(())
}

pub(super) fn loose() -> Fault {
    Fault::input(
        "these marks do not tell where light lands",
        "set them well apart: no three of the outer ones in a line",
    )
}

pub(super) fn astray() -> Fault {
    Fault::input(
        "no projector lights these marks so",
        "see that each mark of light was set on its own table mark",
    )
}
