//! The table from above: what is lit, the head's shadow, the lens' foot, and rings of equal
//! height error about it; and what each line means.

use super::Hang;
use super::page::{LEAD, TEXT};
use super::view::{Pen, Place, View, rectangle};
use super::words::place;
use crate::measure::Unit;
use crate::sheet::{Page, broken, width};
use std::f64::consts::TAU;

pub(super) const TABLE: Pen = Pen::solid(0.5);
pub(super) const LIGHT: Pen = Pen::solid(0.15);
pub(super) const SHADOW: Pen = Pen::dashed(0.25, 1.6, 1.0);
pub(super) const WORK: Pen = Pen::dashed(0.9, 0.6, 0.9);
const RING: Pen = Pen::solid(0.08);
/// Half the cross at the lens' foot, mm on the page.
const CROSS: f64 = 2.0;

/// A ring's number, and how close rings are drawn, mm on the page.
const NUMBER: f64 = 2.2;
const APART: f64 = 7.0;
/// By how much light moves from ring to ring on cloth of 1 mm, mm: the first that leaves room.
const STEPS: [f64; 10] = [0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0];

/// Before what a line means, mm: the line itself.
pub(super) const INDENT: f64 = 11.0;

pub(super) fn view(h: &Hang, scale: f64) -> View {
    let [along, away] = h.wanted.table;
    let (lit, foot) = (&h.lit, h.lens.foot);
    View {
        least: (
            lit.min.x.min(foot.x).min(0.0),
            lit.min.y.min(foot.y).min(0.0),
        ),
        most: (
            lit.max.x.max(foot.x).max(along),
            lit.max.y.max(foot.y).max(away),
        ),
        scale,
        corner: (0.0, 0.0),
    }
}

pub(super) fn draw(page: &mut Page, h: &Hang, view: &View) {
    let [along, away] = h.wanted.table;
    rings(page, h, view);
    let table = rectangle((0.0, 0.0), (along, away));
    view.draw(page, &table, true, TABLE);
    let (min, max) = (h.lit.min, h.lit.max);
    let lit = rectangle((min.x, min.y), (max.x, max.y));
    view.draw(page, &lit, true, LIGHT);
    let shadow = h.head.outline(&h.lens, 360);
    let shadow: Vec<Place> = shadow.iter().map(|p| (p.x, p.y)).collect();
    view.draw(page, &shadow, true, SHADOW);
    let [from, to] = h.work();
    view.draw(page, &[(along / 2.0, from), (along / 2.0, to)], false, WORK);
    cross(page, view.at((h.lens.foot.x, h.lens.foot.y)));
}

fn cross(page: &mut Page, (x, y): Place) {
    page.line((x - CROSS, y), (x + CROSS, y), 0.25);
    page.line((x, y - CROSS), (x, y + CROSS), 0.25);
}

/// By how much light on cloth of 1 mm moves from one ring to the next, mm.
fn step(h: &Hang, scale: f64) -> f64 {
    let leaves_room = |step: &f64| step * h.lens.height / scale >= APART;
    STEPS.into_iter().find(leaves_room).unwrap_or(100.0)
}

/// Rings about the lens' foot, each with its number where it crosses the way to the table's
/// farthest corner.
fn rings(page: &mut Page, h: &Hang, view: &View) {
    let step = step(h, view.scale);
    let foot = h.lens.foot;
    let (corner, far) = h.corner();
    let way = (corner - foot) / far.max(1e-9);
    // To the farthest corner of what is drawn.
    let reach = rectangle(view.least, view.most)
        .iter()
        .map(|(x, y)| (x - foot.x).hypot(y - foot.y))
        .fold(0.0, f64::max);
    let (page_low, page_high) = (view.at(view.least), view.at(view.most));
    for k in 1..200_u32 {
        let error = step * f64::from(k);
        let radius = error * h.lens.height;
        if radius > reach {
            break;
        }
        let ring: Vec<Place> = (0..360)
            .map(|turn| (TAU * f64::from(turn) / 360.0).sin_cos())
            .map(|(sin, cos)| (foot.x + radius * cos, foot.y + radius * sin))
            .collect();
        let text = match step < 1.0 {
            true => format!("{error:.1}"),
            false => format!("{error:.0}"),
        };
        let (x, y) = view.at((foot.x + way.x * radius, foot.y + way.y * radius));
        let (half, up) = (width(&text, NUMBER) / 2.0 + 0.4, NUMBER / 2.0 + 0.4);
        let has_room = x - half > page_low.0
            && x + half < page_high.0
            && y - up > page_low.1
            && y + up < page_high.1;
        let free = |(px, py): Place| has_room && (px - x).abs() < half && (py - y).abs() < up;
        view.draw_but(page, &ring, true, RING, free);
        if has_room {
            // Digits are 0.7 of the size high.
            page.text_centred(x, y - 0.35 * NUMBER, NUMBER, &text);
        }
    }
}

/// What stands before a line's meaning.
pub(super) enum Sample {
    Line(Pen),
    Cross,
    Ring,
}

/// What the lines mean, each in lines of text no wider than `most`.
pub(super) fn legend(h: &Hang, unit: Unit, scale: f64, most: f64) -> Vec<(Sample, Vec<String>)> {
    let foot = format!("the lens' foot, {}", place(h, unit, h.lens.foot));
    let rings = format!(
        "on cloth of 1 mm light lands so many mm short, {} from ring to ring",
        step(h, scale)
    );
    let mut all = vec![
        (Sample::Line(TABLE), "the table".to_owned()),
        (Sample::Line(LIGHT), "the picture, and its light".to_owned()),
        (Sample::Cross, foot),
        (Sample::Line(WORK), "where hands work".to_owned()),
        (Sample::Ring, rings),
    ];
    if h.head.is_below(&h.lens) {
        let text = "what the head takes the light from".to_owned();
        all.insert(3, (Sample::Line(SHADOW), text));
    }
    all.into_iter()
        .map(|(sample, text)| (sample, broken(&text, TEXT, most)))
        .collect()
}

/// How high a legend is, mm.
pub(super) fn high(legend: &[(Sample, Vec<String>)]) -> f64 {
    legend
        .iter()
        .map(|(_, lines)| lines.len() as f64)
        .sum::<f64>()
        * LEAD
}

/// Puts it below and right of its upper left corner.
pub(super) fn put(page: &mut Page, legend: &[(Sample, Vec<String>)], (x, top): Place) {
    let mut base = top - TEXT;
    for (sample, lines) in legend {
        let middle = base + 0.35 * TEXT;
        match sample {
            Sample::Line(pen) => pen.draw(page, vec![(x, middle), (x + INDENT - 3.0, middle)]),
            Sample::Cross => cross(page, (x + 4.0, middle)),
            Sample::Ring => page.circle((x + 4.0, middle), 1.3, RING.width),
        }
        for line in lines {
            page.words((x + INDENT, base), TEXT, line);
            base -= LEAD;
        }
    }
}
