//! Marks that fix nothing, or that no camera over a table can have seen so.

use super::Mark;
use crate::fault::{Fault, Outcome, counted, short};
use crate::projection::many::in_line;

/// A mark further outside the picture than this, px, was not seen in it.
const OUTSIDE: f64 = 2.0;
/// Marks nearer to one line than this share of their length are in a line.
pub(super) const LINE: f64 = 0.01;
/// A triangle of marks flatter than this (height by longest side) says nothing of which
/// way round it lies.
const FLAT: f64 = 0.1;
/// Of more marks, no swap is looked for.
const SWAPS: usize = 12;

pub(super) fn check(marks: &[Mark], size: [usize; 2]) -> Outcome<()> {
    let n = marks.len();
    if n < 4 {
        return Err(Fault::input(
            format!(
                "{} in the photo, and it takes four to tell how the table lies",
                counted(n, "mark is", "marks are")
            ),
            "give four marks or more, the outer ones near the table's edge",
        ));
    }
    for m in marks {
        let all = [m.table.x, m.table.y, m.px.x, m.px.y];
        let errors = [m.px_error, m.table_error];
        if !all.iter().all(|v| v.is_finite() && v.abs() < 1e7) {
            return Err(Fault::input(
                format!("the place of {} is not a number", m.name),
                "set it again",
            ));
        }
        if !errors.iter().all(|v| v.is_finite() && *v >= 0.0) || errors == [0.0; 2] {
            return Err(Fault::input(
                format!("the error of {} is no length", m.name),
                "say how sure its place is, in px and mm",
            ));
        }
        let out = |v: f64, top: usize| v < -OUTSIDE || v > top as f64 + OUTSIDE;
        if out(m.px.x, size[0]) || out(m.px.y, size[1]) {
            return Err(Fault::input(
                format!(
                    "{} is at ({}, {}) px, outside the photo of {} by {}",
                    m.name,
                    short(m.px.x),
                    short(m.px.y),
                    size[0],
                    size[1]
                ),
                "show it in the photo, or leave it out",
            ));
        }
    }
    for (k, a) in marks.iter().enumerate() {
        for b in &marks[k + 1..] {
            let place = if (a.table - b.table).length() < 1.0 {
                "on the table"
            } else if (a.px - b.px).length() < 1.0 {
                "in the photo"
            } else {
                continue;
            };
            return Err(Fault::input(
                format!("{} and {} are in one place {place}", a.name, b.name),
                "give each mark its own place",
            ));
        }
    }
    let table = marks.iter().map(|m| m.table.to_array());
    let px = marks.iter().map(|m| m.px.to_array());
    for (points, side) in [
        (table.collect::<Vec<_>>(), "on the table"),
        (px.collect(), "in the photo"),
    ] {
        if let Some(left) = in_line(&points, LINE) {
            let which = match left {
                None => "the marks".to_owned(),
                Some(k) => format!("all marks but {}", marks[k].name),
            };
            return Err(Fault::input(
                format!("{which} lie in a line {side}, and that tells nothing across it"),
                "give marks on both sides of that line",
            ));
        }
    }
    round(marks)
}

/// How many triangles of marks turn over between table and photo, as they must (y is up
/// here and down there), and how many don't.
fn senses(table: &[[f64; 2]], px: &[[f64; 2]]) -> (usize, usize) {
    let n = table.len();
    let (mut turned, mut kept) = (0, 0);
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                match (area(table, [a, b, c]), area(px, [a, b, c])) {
                    (Some(t), Some(p)) if t * p < 0.0 => turned += 1,
                    (Some(_), Some(_)) => kept += 1,
                    _ => {}
                }
            }
        }
    }
    (turned, kept)
}

/// Twice the signed area of a triangle; `None` if it is flat.
fn area(points: &[[f64; 2]], [a, b, c]: [usize; 3]) -> Option<f64> {
    let by = |i: usize, j: usize| [points[j][0] - points[i][0], points[j][1] - points[i][1]];
    let (ab, ac, bc) = (by(a, b), by(a, c), by(b, c));
    let area = ab[0] * ac[1] - ab[1] * ac[0];
    let square = |v: [f64; 2]| v[0] * v[0] + v[1] * v[1];
    let longest = square(ab).max(square(ac)).max(square(bc));
    (area.abs() > FLAT * longest).then_some(area)
}

fn round(marks: &[Mark]) -> Outcome<()> {
    // Enough to see it, few enough for all their triangles.
    let marks = &marks[..marks.len().min(40)];
    let table: Vec<_> = marks.iter().map(|m| m.table.to_array()).collect();
    let px: Vec<_> = marks.iter().map(|m| m.px.to_array()).collect();
    let (turned, kept) = senses(&table, &px);
    if kept == 0 {
        return Ok(());
    }
    if turned == 0 {
        return Err(Fault::input(
            "the marks lie mirrored in the photo: x and y are swapped, marks are given in the \
             wrong order round the table, or a front camera has mirrored the picture",
            "give the marks in their order, x along the table's near edge to the right and y \
             away, or take the photo with the rear camera",
        ));
    }
    let n = marks.len();
    let pairs = (0..n).flat_map(|a| (a + 1..n).map(move |b| (a, b)));
    let cure: Vec<String> = pairs
        .filter(|_| n <= SWAPS)
        .filter(|(a, b)| {
            let mut tried = px.clone();
            tried.swap(*a, *b);
            let (turned, kept) = senses(&table, &tried);
            kept == 0 && turned > 0
        })
        .map(|(a, b)| format!("{} and {}", marks[a].name, marks[b].name))
        .collect();
    if !cure.is_empty() {
        return Err(Fault::input(
            format!("the marks are crossed: {} look swapped", cure.join(", or ")),
            "set each on its own mark in the photo",
        ));
    }
    // Of four, any three agree.
    let alone: Vec<&str> = (0..n)
        .filter(|_| n > 4)
        .filter(|k| {
            let (mut t, mut p) = (table.clone(), px.clone());
            t.remove(*k);
            p.remove(*k);
            senses(&t, &p).1 == 0
        })
        .map(|k| marks[k].name.as_str())
        .collect();
    match alone.as_slice() {
        [] => Err(Fault::input(
            "the marks are crossed: no camera sees them in this order",
            "set each on its own mark in the photo",
        )),
        some => Err(Fault::input(
            format!("{} lies on the wrong side of the others", some.join(" or ")),
            "check its place on the table and in the photo",
        )),
    }
}

pub(super) fn loose() -> Fault {
    Fault::input(
        "these marks do not tell how the table lies in the photo",
        "give marks well apart: no three of the outer ones in a line",
    )
}

pub(super) fn astray() -> Fault {
    Fault::input(
        "no camera sees these marks so",
        "see that each mark in the photo has its own place on the table",
    )
}
