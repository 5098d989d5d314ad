//! `photo --find`: where the good cloth is, proposed; and what of it is taken into the job.

use super::output;
use super::photo::Words;
use crate::cloth::Panel;
use crate::cloth::find::{ALL, Grain, Seeds};
use crate::colour::encode_srgb;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::Job;
use crate::look::{Asked, Item, Proposed, name_of, propose};
use crate::measure::numbers;
use crate::shape::pairs;
use crate::space::{Point, Table, Vector};
use crate::work::{Op, State};
use image::ExtendedColorType;

pub fn run(
    words: &Words,
    asked: &Asked,
    bytes: &[u8],
    (job, state): (&Job, &State),
) -> Outcome<()> {
    let panel = named(words, state)?;
    let places = |what: &str, all: &[String]| -> Outcome<Vec<Point<Table>>> {
        let one = |t: &String| {
            Ok(Point::from([
                numbers(what, t, &[2])?[0],
                numbers(what, t, &[2])?[1],
            ]))
        };
        all.iter().map(one).collect()
    };
    let seeds = Seeds {
        cloth: places("a place on the cloth", &words.cloth_at)?,
        table: places("a place on the table", &words.table_at)?,
    };
    let others: Vec<&Panel> = state.panels.iter().filter(|p| p.spread).collect();
    let both = (panel, &others[..]);
    let proposed = propose(bytes, asked, both, &job.stock(), &seeds, &mut |_| true)
        .map_err(|f| f.in_file(&words.photo))?
        .ok_or_else(|| Fault::mistake("the photo was left off"))?;
    if let Some(file) = &words.found_picture {
        disk::write_atomic(file, &drawn(&proposed)?)?;
    }
    let mut taken = Vec::new();
    if let Some(take) = &words.take {
        taken = output::note(&words.job, |at| {
            let panel = at.state.panel(&proposed.panel).ok_or_else(|| {
                Fault::input(
                    "the panel is no longer in the job, so nothing was taken",
                    "name one that is there with --panel",
                )
            })?;
            ops(&proposed, panel, take)
        })?;
    }
    match words.json {
        true => output::json(&json(&proposed, &taken)),
        false => told(&proposed, &taken),
    }
}

fn named<'a>(words: &Words, state: &'a State) -> Outcome<&'a Panel> {
    let [name] = words.panels.as_slice() else {
        return Err(Fault::input(
            "the cloth is found for one panel at a time",
            "name it with --panel NAME",
        ));
    };
    state.panel(name).ok_or_else(|| {
        let all: Vec<&str> = state.panels.iter().map(|p| p.name.as_str()).collect();
        Fault::input(
            format!("there is no panel \"{name}\""),
            format!("name one of {}", all.join(", ")),
        )
    })
}

/// What is named, between commas, as changes of the panel, and in words.
fn ops(proposed: &Proposed, panel: &Panel, take: &str) -> Outcome<(Vec<Op>, Vec<String>)> {
    let found = &proposed.found;
    let mut items = Vec::new();
    for named in take.split(',').map(str::trim) {
        match named {
            "outline" => items.push(Item::Outline),
            "holes" => items.extend((0..found.holes.len()).map(Item::Hole)),
            "grain" => {
                if let Grain::CantTell { why } = &found.grain {
                    return Err(Fault::input(
                        format!("the grain can't be told: {why}"),
                        "set it by two points at the table, or leave it out of --take",
                    ));
                }
                items.push(Item::Grain);
            }
            "stripes" => {
                if proposed.stripes().is_none() {
                    return Err(Fault::input(
                        "no stripes that repeat are seen",
                        "leave them out of --take",
                    ));
                }
                items.push(Item::Stripes);
            }
            other => {
                let number: Option<usize> = other.parse().ok();
                let known = |n: &usize| proposed.candidate(*n).is_some();
                let number = number.filter(known).ok_or_else(|| {
                    Fault::input(
                        format!("\"{other}\" was not proposed, so nothing was taken"),
                        format!(
                            "take of outline, holes, grain, stripes, and candidates 1 to {}",
                            found.candidates.len()
                        ),
                    )
                })?;
                items.push(Item::Candidate(number - 1));
            }
        }
    }
    let mut ops = proposed.taking(panel, &items);
    // A change that changes nothing is none.
    ops.retain(|op| op.inverse() != *op);
    let words = ops.iter().map(Op::to_string).collect();
    Ok((ops, words))
}

fn json(p: &Proposed, taken: &[String]) -> serde_json::Value {
    let holes =
        p.found.holes.iter().map(
            |h| serde_json::json!({ "across_mm": h.across, "outline_mm": p.ring(&h.outline) }),
        );
    let candidates = p.found.candidates.iter().enumerate().map(|(k, c)| {
        serde_json::json!({
            "number": k + 1, "kind": name_of(c.kind), "sure": c.sure, "outline_mm": p.ring(&c.outline),
        })
    });
    let grain = match &p.found.grain {
        Grain::Told { error, .. } => serde_json::json!({
            "deg": p.grain_deg(), "standard_error_deg": error, "by": p.grain_by(),
        }),
        Grain::CantTell { why } => serde_json::json!({ "cant_tell": why }),
    };
    serde_json::json!({
        "panel": p.panel,
        "standard_error_mm": p.error,
        "area_cm2": area_cm2(p),
        "outline_mm": p.ring(&p.found.outline),
        "holes": holes.collect::<Vec<_>>(),
        "candidates": candidates.collect::<Vec<_>>(),
        "grain": grain,
        "stripes": p.stripes(),
        "taken": taken,
        "notes": p.notes,
    })
}

fn area_cm2(p: &Proposed) -> f64 {
    let holes: f64 = p
        .found
        .holes
        .iter()
        .map(|h| crate::shape::signed_area(&h.outline))
        .sum();
    (crate::shape::signed_area(&p.found.outline) - holes) / 100.0
}

fn told(p: &Proposed, taken: &[String]) -> Outcome<()> {
    for n in &p.notes {
        output::tell(&format!("note: {n}"));
    }
    output::say(&format!(
        "{}: cloth of {:.0} cm², an outline of {} corners; a place is told with a typical miss of {:.2} mm.",
        p.panel,
        area_cm2(p),
        p.found.outline.len(),
        p.error
    ))?;
    for h in &p.found.holes {
        let b = crate::shape::bounds(h.outline.iter().copied());
        let at = b.map_or(Point::zero(), |b| b.center());
        let small = if h.across < ALL {
            ", small: look whether it is one"
        } else {
            ""
        };
        output::say(&format!(
            "hole: {:.0} mm across, at ({:.0}, {:.0}) mm on the table{small}.",
            h.across, at.x, at.y
        ))?;
    }
    for (k, c) in p.found.candidates.iter().enumerate() {
        let b =
            crate::shape::bounds(c.outline.iter().copied()).unwrap_or(crate::space::Bounds::zero());
        let clear = match c.sure {
            s if s > 0.8 => "clear",
            s if s > 0.6 => "likely",
            _ => "perhaps",
        };
        output::say(&format!(
            "{}: {}, {clear}, {:.0} by {:.0} mm, at ({:.0}, {:.0}) mm on the table.",
            k + 1,
            name_of(c.kind),
            b.width(),
            b.height(),
            b.center().x,
            b.center().y
        ))?;
    }
    match &p.found.grain {
        Grain::Told { error, .. } => output::say(&format!(
            "grain: {:.1}° on the cloth, typical miss {error:.1}°, by {}; that stripes run along the warp is assumed.",
            p.grain_deg().unwrap_or(f64::NAN),
            p.grain_by()
        ))?,
        Grain::CantTell { why } => output::say(&format!("grain: can't tell, {why}."))?,
    }
    if let Some(s) = p.stripes() {
        output::say(&format!(
            "stripes: {:.1} mm from one to the next like it{}.",
            s.period_mm,
            if s.same_both_ways {
                ", the same from both sides"
            } else {
                ""
            }
        ))?;
    }
    if taken.is_empty() {
        return output::say(
            "Nothing is taken; say --take outline,holes,grain,stripes,1,2 for what you want of it.",
        );
    }
    output::say(&format!(
        "Taken into the job: {}. It can be undone at the table.",
        taken.join(", ")
    ))
}

/// The table from above with what is proposed: the outline solid, holes dashed, candidates
/// dotted and numbered, the grain as a long line.
fn drawn(p: &Proposed) -> Outcome<Vec<u8>> {
    let (w, h) = (p.light.width(), p.light.height());
    let mut pixels = Vec::with_capacity(3 * w * h);
    for row in (0..h).rev() {
        for column in 0..w {
            let light = p.light.get(column, row).copied().unwrap_or([0.0; 3]);
            pixels.extend(light.map(|v| {
                let v = if v.is_finite() { f64::from(v) } else { 0.0 };
                (255.0 * encode_srgb(v.clamp(0.0, 1.0))).round() as u8
            }));
        }
    }
    let mut pen = Pen {
        p,
        pixels,
        size: [w, h],
    };
    pen.ring(&p.found.outline, f64::INFINITY);
    for hole in &p.found.holes {
        pen.ring(&hole.outline, 6.0);
    }
    for (k, c) in p.found.candidates.iter().enumerate() {
        pen.ring(&c.outline, 2.5);
        if let Some(b) = crate::shape::bounds(c.outline.iter().copied()) {
            pen.number(k + 1, Point::new(b.max.x + 3.0, b.max.y));
        }
    }
    if let Grain::Told { deg, .. } = p.found.grain
        && let Some(b) = crate::shape::bounds(p.found.outline.iter().copied())
    {
        let along = Vector::new(deg.to_radians().cos(), deg.to_radians().sin())
            * (b.width().min(b.height()) / 3.0);
        pen.line(
            b.center() - along,
            b.center() + along,
            f64::INFINITY,
            &mut 0.0,
        );
        for side in [-0.35f64, 0.35] {
            let (sin, cos) = side.sin_cos();
            let back =
                Vector::new(along.x * cos - along.y * sin, along.x * sin + along.y * cos) * -0.2;
            for (end, sign) in [(b.center() + along, 1.0), (b.center() - along, -1.0)] {
                pen.line(end, end + back * sign, f64::INFINITY, &mut 0.0);
            }
        }
    }
    disk::png(&pen.pixels, w as u32, h as u32, ExtendedColorType::Rgb8)
}

/// Draws white lines with black sides, which are seen on any cloth.
struct Pen<'a> {
    p: &'a Proposed,
    pixels: Vec<u8>,
    size: [usize; 2],
}

/// Figures of 3 by 5 dots, rows from the top, three bits a row.
const FIGURES: [u16; 10] = [
    0b111_101_101_101_111,
    0b010_110_010_010_111,
    0b111_001_111_100_111,
    0b111_001_111_001_111,
    0b101_101_111_001_001,
    0b111_100_111_001_111,
    0b111_100_111_101_111,
    0b111_001_010_010_010,
    0b111_101_111_101_111,
    0b111_101_111_001_111,
];
/// A dot of a figure, mm.
const DOT: f64 = 2.0;

impl Pen<'_> {
    fn dot(&mut self, p: Point<Table>, reach: i64, level: u8) {
        let Some((c, r)) = self.p.light.cell_at(p) else {
            return;
        };
        let [w, h] = self.size.map(|n| n as i64);
        let (x, y) = (c as i64, h - 1 - r as i64);
        for y in (y - reach).max(0)..=(y + reach).min(h - 1) {
            for x in (x - reach).max(0)..=(x + reach).min(w - 1) {
                let at = 3 * (y * w + x) as usize;
                self.pixels[at..at + 3].fill(level);
            }
        }
    }

    fn ring(&mut self, ring: &[Point<Table>], dash: f64) {
        let mut gone = 0.0;
        for (a, b) in pairs(ring) {
            self.line(a, b, dash, &mut gone);
        }
    }

    fn line(&mut self, a: Point<Table>, b: Point<Table>, dash: f64, gone: &mut f64) {
        let step = self.p.light.cell() / 2.0;
        let length = (b - a).length();
        let n = (length / step).ceil() as usize;
        for (reach, level) in [(2, 0), (0, 255)] {
            for k in 0..=n {
                let s = length * k as f64 / n.max(1) as f64;
                if ((*gone + s) / (2.0 * dash)).fract() < 0.5 {
                    self.dot(a.lerp(b, k as f64 / n.max(1) as f64), reach, level);
                }
            }
        }
        *gone += length;
    }

    fn number(&mut self, number: usize, at: Point<Table>) {
        for (k, figure) in number.to_string().bytes().enumerate() {
            let bits = FIGURES[usize::from(figure - b'0') % 10];
            for (reach, level) in [(3, 0), (2, 255)] {
                for dot in (0..15).filter(|d| bits >> (14 - d) & 1 == 1) {
                    let by = Vector::new((dot % 3 + 4 * k) as f64, -((dot / 3) as f64)) * DOT;
                    self.dot(at + by, reach, level);
                }
            }
        }
    }
}
