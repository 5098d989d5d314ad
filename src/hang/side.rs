//! Table, person, lens and light seen from the right end of the table, with their heights.

use super::page::{LEAD, TEXT};
use super::plan::{LIGHT, SHADOW, TABLE, WORK};
use super::view::{Pen, Place, View};
use super::words::long;
use super::{HEAD, Hang, LEAN};
use crate::measure::Unit;
use crate::sheet::{Page, width};

const BODY: Pen = Pen::solid(0.4);
const HAIR: Pen = Pen::solid(0.1);
const PLUMB: Pen = Pen::dashed(0.1, 3.0, 1.0);

/// The person's outline: feet and hip so far before the near edge, mm; the hip so high, in
/// parts of their height (common practice; only drawn).
const FEET: f64 = -220.0;
const HIP: (f64, f64) = (-150.0, 0.52);
/// What is drawn before the near edge, mm.
const BEFORE: f64 = -320.0;

/// The lens' mark, mm on the page.
const MARK: f64 = 3.0;
/// From the drawing to the line that heights stand at, and from there to their words, mm.
const TO_LINE: f64 = 2.5;
const TO_WORDS: f64 = 5.0;

/// A height that is told.
struct Level {
    /// mm above the floor.
    up: f64,
    lines: Vec<String>,
}

/// Away from the person, and above the table.
pub(super) fn view(h: &Hang, scale: f64) -> View {
    let floor = -h.wanted.table_height;
    let ceiling = h.wanted.ceiling.unwrap_or(0.0) + floor;
    let foot = h.lens.foot.y;
    let head = h.head.height + HEAD;
    View {
        least: (BEFORE.min(h.lit.min.y).min(foot), floor),
        most: (
            h.wanted.table[1]
                .max(h.lit.max.y)
                .max(foot)
                .max(LEAN + HEAD),
            h.lens.height.max(head).max(ceiling),
        ),
        scale,
        corner: (0.0, 0.0),
    }
}

/// From the floor up.
fn levels(h: &Hang, unit: Unit) -> Vec<Level> {
    let w = &h.wanted;
    let level = |name: &str, up: f64| Level {
        up,
        lines: vec![format!("{name} {}", long(unit, up))],
    };
    let mut all = vec![
        Level {
            up: 0.0,
            lines: vec!["floor".to_owned()],
        },
        level("table", w.table_height),
        level("head", w.person),
        level("lens", h.above_floor()),
    ];
    all[3]
        .lines
        .push(format!("({} above the table)", long(unit, h.lens.height)));
    all.extend(w.ceiling.map(|up| level("ceiling", up)));
    all.sort_by(|a, b| a.up.total_cmp(&b.up));
    all
}

/// Where the last line of each level's words stands, mm on the page above the floor: beside its
/// level, or above the words below it.
fn bases(levels: &[Level], scale: f64) -> Vec<f64> {
    let mut free = f64::NEG_INFINITY;
    let base = |l: &Level| {
        let at = (l.up / scale - 0.35 * TEXT).max(free);
        free = at + l.lines.len() as f64 * LEAD;
        at
    };
    levels.iter().map(base).collect()
}

/// How much the heights take beside the drawing, mm.
pub(super) fn column(h: &Hang, unit: Unit) -> f64 {
    let levels = levels(h, unit);
    let words = levels.iter().flat_map(|l| &l.lines);
    let widest = words.map(|t| width(t, TEXT)).fold(0.0, f64::max);
    TO_LINE + TO_WORDS + widest
}

/// How high drawing and words are, mm.
pub(super) fn high(h: &Hang, unit: Unit, scale: f64) -> f64 {
    let levels = levels(h, unit);
    let tops = bases(&levels, scale);
    let tops = tops.iter().zip(&levels);
    let words = tops.map(|(base, l)| base + l.lines.len() as f64 * LEAD);
    words.fold(view(h, scale).size().1 + MARK + 1.0, f64::max)
}

pub(super) fn draw(page: &mut Page, h: &Hang, unit: Unit, view: &View) {
    let w = &h.wanted;
    let (floor, away) = (-w.table_height, w.table[1]);
    let (left, right) = (view.least.0, view.most.0);
    let mut draw = |points: &[Place], pen: Pen| view.draw(page, points, false, pen);
    draw(&[(left, floor), (right, floor)], BODY);
    if let Some(up) = w.ceiling {
        draw(&[(left, floor + up), (right, floor + up)], BODY);
    }
    draw(&[(0.0, 0.0), (away, 0.0)], TABLE);
    for leg in [0.08, 0.92].map(|share| share * away) {
        draw(&[(leg, floor), (leg, 0.0)], LIGHT);
    }
    let [from, to] = h.work();
    draw(&[(from, 0.0), (to, 0.0)], WORK);
    let lens = (h.lens.foot.y, h.lens.height);
    for edge in [h.lit.min.y, h.lit.max.y] {
        draw(&[lens, (edge, 0.0)], LIGHT);
    }
    draw(&[lens, (lens.0, 0.0)], PLUMB);
    if let Some(reach) = h.head.reach(&h.lens) {
        for edge in [reach.min.y, reach.max.y] {
            draw(&[lens, (edge, 0.0)], SHADOW);
        }
    }
    // A back from hip to head, legs, and an arm to where hands work.
    let hip = (HIP.0, floor + HIP.1 * w.person);
    let head = (LEAN, h.head.height);
    let back = (head.0 - hip.0, head.1 - hip.1);
    let length = back.0.hypot(back.1).max(HEAD);
    let along = |share: f64| (hip.0 + back.0 * share, hip.1 + back.1 * share);
    draw(&[(FEET, floor), hip, along(1.0 - HEAD / length)], BODY);
    draw(&[along(0.7), ((from + to) / 2.0, 0.0)], BODY);
    page.circle(view.at(head), HEAD / view.scale, BODY.width);
    let (x, y) = view.at(lens);
    let half = MARK / 2.0;
    page.area(vec![vec![
        (x, y),
        (x + half, y + MARK),
        (x - half, y + MARK),
    ]]);
    heights(page, h, unit, view);
}

/// A line beside the drawing with a mark at each height, and its words.
fn heights(page: &mut Page, h: &Hang, unit: Unit, view: &View) {
    let levels = levels(h, unit);
    let (right, floor) = view.at((view.most.0, view.least.1));
    let x = right + TO_LINE;
    let highest = levels.iter().map(|l| l.up).fold(0.0, f64::max);
    HAIR.draw(page, vec![(x, floor), (x, floor + highest / view.scale)]);
    for (level, base) in levels.iter().zip(bases(&levels, view.scale)) {
        let y = floor + level.up / view.scale;
        let top = floor + base + (level.lines.len() as f64 - 1.0) * LEAD;
        let middle = top + 0.35 * TEXT;
        let words = x + TO_WORDS;
        let bend = (words - 0.8, middle);
        HAIR.draw(page, vec![(x - 1.0, y), (x + 1.0, y), bend]);
        for (k, line) in level.lines.iter().enumerate() {
            page.words((words, top - k as f64 * LEAD), TEXT, line);
        }
    }
}
