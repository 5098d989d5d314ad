//! What a calibration knows of itself: what is left at the marks, how sure the light is
//! of its place anywhere, and the one thing that would make it surer.

mod gain;
mod map;

pub use map::svg;

use super::fit::{Believed, Choice, Fit, Form, LENS, Sighted, next_mark};
use crate::space::{Point, Table};
use serde::Serialize;
use std::fmt;

/// Cells of the map of errors, across and deep.
pub const CELLS: [usize; 2] = [24, 16];

/// The outer marks lie so near to the table's corners, or the error grows outside them,
/// mm: 25 mm from both edges.
pub const EDGE: f64 = 25.0 * std::f64::consts::SQRT_2;

/// The account. Lengths in mm; errors are standard errors across a line, root mean
/// square over its directions, unless they say otherwise.
#[derive(Debug, Clone, Serialize)]
pub struct Account {
    /// `plane`, `lens` or `lens with k2`.
    pub form: &'static str,
    pub because: String,
    /// Whether the marks can say what the lens bends: often millimetres.
    pub lens_known: bool,
    /// Errors are stated so many times as large as was believed, for the readings scatter
    /// so much.
    pub widened: f64,
    pub marks: Vec<MarkLine>,
    /// Distances left in the picture, root mean square, px.
    pub left_px: f64,
    /// What the marks say of one another, root mean square: the error that a mark not
    /// set would have shown. `None` if some are not checked by the others.
    pub left_out_mm: Option<f64>,
    /// The readings scatter so many times as much as believed; `None` with none to spare.
    pub scatter: Option<f64>,
    /// How likely sound readings would scatter at least so much.
    pub chance: f64,
    /// A mark that looks set on the wrong place.
    pub slip: Option<Slip>,
    /// Over the table: root mean square, and the worst.
    pub error_mm: [f64; 2],
    /// Where the table lies outside the marks: the furthest, and the worst error there.
    pub outside: Option<Outside>,
    /// Pixels on the table, the smallest and the largest.
    pub pixel_mm: [f64; 2],
    /// Where one more mark would help most, and the error over the table before and after.
    pub next_mark: Option<Next>,
    /// The one thing that would improve it most.
    pub improve: String,
    /// The lens' coefficients and their standard errors.
    pub lens: Vec<Coefficient>,
    /// Errors cell by cell, from the front left, row by row away from the person.
    pub map: Map,
}

#[derive(Debug, Clone, Serialize)]
pub struct MarkLine {
    pub name: String,
    pub table_mm: [f64; 2],
    /// From the mark to the light that was set on it, by the mapping.
    pub left_mm: [f64; 2],
    /// The same by a mapping that does not know the mark.
    pub left_out_mm: Option<f64>,
    pub slip: bool,
}

#[derive(Debug, Clone, Serialize)]
pub struct Slip {
    pub name: String,
    /// How far off the others say it is.
    pub by_mm: f64,
    /// How far it moves the light, at worst over the table.
    pub moves_mm: f64,
}

#[derive(Debug, Clone, Copy, Serialize)]
pub struct Outside {
    pub furthest_mm: f64,
    /// `None` where there is no light.
    pub error_mm: Option<f64>,
}

#[derive(Debug, Clone, Copy, Serialize)]
pub struct Next {
    pub table_mm: [f64; 2],
    pub before_mm: f64,
    pub after_mm: f64,
}

#[derive(Debug, Clone, Copy, Serialize)]
pub struct Coefficient {
    pub name: &'static str,
    pub value: f64,
    pub error: f64,
}

#[derive(Debug, Clone, Serialize)]
pub struct Map {
    pub from_mm: [f64; 2],
    pub to_mm: [f64; 2],
    pub cells: [usize; 2],
    /// `None` where there is no light.
    pub error_mm: Vec<Option<f64>>,
}

impl Map {
    /// The middle of a cell.
    pub fn place(&self, k: usize) -> Point<Table> {
        let [across, deep] = self.cells;
        let at = |k: usize, n: usize, axis: usize| {
            let [a, b] = [self.from_mm[axis], self.to_mm[axis]];
            a + (b - a) * (k as f64 + 0.5) / n as f64
        };
        Point::new(at(k % across, across, 0), at(k / across, deep, 1))
    }
}

impl Account {
    /// What is done about the lens, as a person reads it, without a full stop.
    fn bends(&self) -> &'static str {
        match self.form {
            "plane" => "What the lens bends is not taken out",
            _ => "What the lens bends is taken out",
        }
    }

    /// A reading of the tape does not go with the others: until it is put right, no mark
    /// is said to be set wrong, and it is what would improve the calibration most.
    pub fn blames_tape(&mut self, reading: &str) {
        self.slip = None;
        for mark in &mut self.marks {
            mark.slip = false;
        }
        self.improve = format!("take the tape's reading from {reading} again");
    }
}

/// Accounts for a fit. `table`: its corners front left and back right, if they are known;
/// else it is taken to end at the outer marks.
pub fn account(
    choice: &Choice,
    marks: &[Sighted],
    size: [u32; 2],
    believed: &Believed,
    table: Option<[Point<Table>; 2]>,
) -> Account {
    let fit = &choice.fit;
    let table = table.unwrap_or_else(|| bounds(marks));
    let field = fit.field(marks);
    let map = map::of(fit, marks, table);
    let lit: Vec<f64> = map.error_mm.iter().flatten().copied().collect();
    let n = lit.len().max(1) as f64;
    let rms = (lit.iter().map(|e| e * e).sum::<f64>() / n).sqrt();
    // The cells' middles stop short of the corners, where it is worst.
    let corners = corners(table);
    let ends = corners
        .iter()
        .filter_map(|p| Some(field.across(*p)? * fit.widened()));
    let worst = lit.iter().copied().chain(ends).fold(0.0, f64::max);
    let far = corners.iter().map(|p| (field.beyond(*p), field.across(*p)));
    let far = far.max_by(|a, b| a.0.total_cmp(&b.0));
    let outside = far.filter(|(mm, _)| *mm > EDGE).map(|(mm, error)| Outside {
        furthest_mm: mm,
        error_mm: error.map(|mm| mm * fit.widened()),
    });
    let pixels = marks
        .iter()
        .filter_map(|m| fit.mapping.pixel_size(m.table, 0.0));
    let pixel_mm = pixels.fold([f64::INFINITY, 0.0], |[l, h], s| [s.min(l), s.max(h)]);
    let slip = slip(fit, marks, size, believed, &map);
    let places: Vec<Point<Table>> = marks.iter().map(|m| m.table).collect();
    let next = next_mark(fit, &places, believed, table).map(|(p, [before, after])| Next {
        table_mm: p.to_array(),
        before_mm: before,
        after_mm: after,
    });
    let lines = marks.iter().zip(&fit.marks).map(|(m, f)| MarkLine {
        name: m.name.clone(),
        table_mm: m.table.to_array(),
        left_mm: f.left_mm.to_array(),
        left_out_mm: f.left_out_mm(),
        slip: f.is_slip() && fit.slip().is_some(),
    });
    let lens = fit.lens_coefficients().into_iter();
    Account {
        form: match fit.form {
            Form::Plane => "plane",
            Form::Lens => "lens",
            Form::LensK2 => "lens with k2",
        },
        because: choice.because.clone(),
        lens_known: marks.len() >= LENS,
        widened: fit.widened(),
        marks: lines.collect(),
        left_px: fit.rms_px,
        left_out_mm: super::fit::left_out(fit),
        scatter: fit.scatter(),
        chance: fit.chance(),
        improve: gain::improve(
            choice,
            marks,
            size,
            believed,
            table,
            slip.as_ref(),
            outside,
            next,
        ),
        slip,
        error_mm: [rms, worst],
        outside,
        pixel_mm,
        next_mark: next,
        lens: lens
            .map(|(name, value, error)| Coefficient { name, value, error })
            .collect(),
        map,
    }
}

/// The mark that looks wrong the most, and what it does to the light.
fn slip(
    fit: &Fit,
    marks: &[Sighted],
    size: [u32; 2],
    believed: &Believed,
    map: &Map,
) -> Option<Slip> {
    let k = fit.slip()?;
    let found = &fit.marks[k];
    let rest: Vec<Sighted> = (marks.iter().enumerate())
        .filter(|(i, _)| *i != k)
        .map(|(_, m)| m.clone())
        .collect();
    let without = Fit::new(&rest, size, &believed.without(k), fit.form).ok()?;
    let moved = (0..map.error_mm.len()).filter_map(|c| {
        let p = map.place(c);
        Some((without.mapping.place(fit.mapping.pixel(p, 0.0)?)? - p).length())
    });
    Some(Slip {
        name: found.name.clone(),
        by_mm: found.left_out_mm()?,
        moves_mm: moved.fold(0.0, f64::max),
    })
}

fn bounds(marks: &[Sighted]) -> [Point<Table>; 2] {
    let by = |f: fn(f64, f64) -> f64, start: f64| {
        let fold = |s: Point<Table>, p: Point<Table>| Point::new(f(s.x, p.x), f(s.y, p.y));
        marks
            .iter()
            .map(|m| m.table)
            .fold(Point::new(start, start), fold)
    };
    [by(f64::min, f64::INFINITY), by(f64::max, f64::NEG_INFINITY)]
}

fn corners([a, b]: [Point<Table>; 2]) -> [Point<Table>; 4] {
    [a, Point::new(b.x, a.y), b, Point::new(a.x, b.y)]
}

impl fmt::Display for Account {
    /// The account as a person reads it, a sentence a line.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [rms, worst] = self.error_mm;
        writeln!(
            f,
            "Light is true to {rms:.2} mm over the table (typical miss across a line), {worst:.2} \
             at worst{}.",
            if self.lens_known {
                ""
            } else {
                ", but for what the lens bends: so few marks can't tell, and 1 to 4 mm are common"
            }
        )?;
        writeln!(f, "{} ({}).", self.bends(), self.because)?;
        match (self.left_out_mm, self.scatter) {
            (Some(mm), Some(scatter)) => writeln!(
                f,
                "Each mark lies {mm:.2} mm from where the others put it; that is {scatter:.2} times as \
                 much as was expected{}.",
                if self.chance < 0.01 {
                    ", more than chance: a mark, the tape or the lens is worse than expected, and what \
                     is stated here is widened by as much"
                } else {
                    ""
                }
            )?,
            _ => writeln!(f, "So few marks can't show their own error.")?,
        }
        if let Some(s) = &self.slip {
            writeln!(
                f,
                "{} looks set on the wrong place, {:.1} mm off; it moves the light by up to {:.1} \
                 mm. Set it again, or leave it out.",
                s.name, s.by_mm, s.moves_mm
            )?;
        }
        if let Some(o) = self.outside {
            let there = match o.error_mm {
                Some(mm) => format!("light there is true to {mm:.1} mm only"),
                None => "some of it has no light".to_owned(),
            };
            writeln!(
                f,
                "The table reaches {:.0} mm beyond the outer marks, and {there}.",
                o.furthest_mm
            )?;
        }
        writeln!(f, "What would improve it most: {}.", self.improve)?;
        writeln!(
            f,
            "\nmark            x       y    off mm   by the others mm"
        )?;
        for m in &self.marks {
            let [x, y] = m.table_mm;
            let left = m.left_mm[0].hypot(m.left_mm[1]);
            let others = m.left_out_mm.map_or("–".to_owned(), |v| format!("{v:.2}"));
            let slip = if m.slip { "  set again" } else { "" };
            writeln!(
                f,
                "{:<12}{x:>8.1}{y:>8.1}{left:>10.2}{others:>12}{slip}",
                m.name
            )?;
        }
        Ok(())
    }
}
