//! The list of keys on the table: in as many columns as it takes to lie wholly on it,
//! each read from its left, as the person sees it.

use super::Glow;
use super::pen::{GROUND, Pen};
use super::rim::{Top, on_table, seen};
use crate::light::{Letters, lettering};
use crate::shape::Region;
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::{Person, Side};
use crate::work::Bench;

/// Columns, at most: more are no list.
const COLUMNS: usize = 3;

/// Between columns, mm, and from line to line, at the letters' full size.
const BETWEEN: f64 = 32.0;
const PITCH: f64 = super::WORDS * 1.5;

/// Sizes that are tried, of the letters' full size, and the smallest that is read with ease:
/// before letters are smaller the lines at the person's edge go.
const SIZES: [f64; 9] = [1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2];
const READ: f64 = 0.6;

/// So many lines at the person's edge keep their room, if they can.
const LINES: f64 = 4.0;

/// One line of the list, about its own middle.
struct Set {
    letters: Region<Table>,
    room: Bounds<Person>,
}

/// How the list is laid out.
#[derive(Debug, Clone, Copy)]
struct Layout {
    rows: usize,
    size: f64,
}

/// Lays the list on the table; returns the room it takes, if there is a list.
pub(super) fn lay(
    glow: &mut Glow,
    bench: &Bench,
    list: &[String],
    pen: &mut Pen,
) -> Option<Bounds<Table>> {
    let side = bench.ways().stands;
    let all = set(&mut glow.letters, list, side);
    if all.is_empty() {
        return None;
    }
    let tops = Top::known(&glow.top, bench, &glow.lit);
    let (layout, room) = tops.iter().find_map(|top| {
        let low = top.seen().min;
        let edge = Bounds::new(low, Point::new(top.seen().max.x, low.y + PITCH * LINES));
        let read = SIZES.into_iter().filter(|size| *size >= READ);
        let clear = fitting(&all, top, read, Some(&edge));
        clear.or_else(|| fitting(&all, top, SIZES.into_iter(), None))
    })?;
    let ground = on_table(side, &room);
    pen.on_ground(columns(&all, layout, &room, side), &ground);
    Some(ground)
}

fn set(letters: &mut Letters, list: &[String], side: Side) -> Vec<Set> {
    let one = |line: &String| {
        let line = lettering(letters, std::slice::from_ref(line), Point::origin(), side);
        let room = seen(side, line.lines.first()?);
        Some(Set {
            letters: line.lit,
            room,
        })
    };
    list.iter().filter_map(one).collect()
}

/// How wide each column of so many rows is, at the letters' full size, mm.
fn widths(all: &[Set], rows: usize) -> Vec<f64> {
    let widest = |column: &[Set]| column.iter().map(|l| l.room.width()).fold(0.0, f64::max);
    all.chunks(rows.max(1)).map(widest).collect()
}

/// The largest of these sizes in which the list has room, in the fewest columns, clear of
/// `but`; and that room.
fn fitting(
    all: &[Set],
    top: &Top,
    mut sizes: impl Iterator<Item = f64>,
    but: Option<&Bounds<Person>>,
) -> Option<(Layout, Bounds<Person>)> {
    sizes.find_map(|size| {
        (1..=COLUMNS).find_map(|columns| {
            let rows = all.len().div_ceil(columns);
            let widths = widths(all, rows);
            let gaps = BETWEEN * (widths.len() as f64 - 1.0);
            let across = widths.iter().sum::<f64>() + gaps;
            let block = [across, PITCH * rows as f64].map(|mm| mm * size + 2.0 * GROUND);
            let room = top.middle(block, but)?;
            Some((Layout { rows, size }, room))
        })
    })
}

/// The letters of all lines, column after column, in their room.
fn columns(all: &[Set], layout: Layout, room: &Bounds<Person>, side: Side) -> Region<Table> {
    let Layout { rows, size } = layout;
    let mut lit = Region::default();
    let mut left = room.min.x + GROUND;
    for (column, width) in all.chunks(rows.max(1)).zip(widths(all, rows)) {
        for (k, line) in column.iter().enumerate() {
            // A line's own middle lies halfway up its capitals.
            let middle = room.max.y - GROUND - (k as f64 + 0.5) * PITCH * size;
            let to: Vector<Person> = Vector::new(left - line.room.min.x * size, middle);
            let to = side.to_table(to);
            let ring = |ring: &Vec<Point<Table>>| {
                let points = ring.iter().map(|p| (p.to_vector() * size + to).to_point());
                points.collect()
            };
            lit.append(Region::new(line.letters.rings.iter().map(ring).collect()));
        }
        left += (width + BETWEEN) * size;
    }
    lit
}
