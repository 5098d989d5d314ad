//! Lines, dashes, hatching and words of light on the table.

use crate::light::{Letters, lettering};
use crate::scene::{Figure, Level, Patch};
use crate::shape::{Caps, Region, dashes, intersection, stroke};
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::Side;

/// How a line is told from others: by its pattern, never by brightness alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Line {
    Solid,
    /// Dash and gap, mm.
    Dashed(f64, f64),
}

pub const DASHED: Line = Line::Dashed(9.0, 6.0);
pub const DOTTED: Line = Line::Dashed(1.6, 4.0);

/// The ground of words reaches so far beyond them, mm.
pub const GROUND: f64 = 5.0;

/// Figures in the making, all in one plane.
#[derive(Debug, Default)]
pub struct Pen {
    patches: Vec<Patch>,
    /// No words here.
    kept_off: Option<Bounds<Table>>,
}

impl Pen {
    /// From here on no words are put down that cross a room: two grounds over each
    /// other put out the words of both.
    pub fn keep_off(&mut self, room: Option<Bounds<Table>>) {
        self.kept_off = room;
    }

    pub fn lit(&mut self, region: Region<Table>, level: Level) {
        if !region.is_empty() {
            self.patches.push(Patch { region, level });
        }
    }

    /// An open line, `width` mm wide.
    pub fn line(&mut self, points: &[Point<Table>], line: Line, width: f64, level: Level) {
        match line {
            Line::Solid if points.len() > 1 => {
                self.lit(stroke(points, width / 2.0, Caps::Flat), level);
            }
            Line::Dashed(dash, gap) if points.len() > 1 => {
                let mut all = Region::default();
                for part in dashes(points, dash, gap) {
                    all.append(stroke(&part, width / 2.0, Caps::Flat));
                }
                self.lit(all, level);
            }
            _ => {}
        }
    }

    /// A closed one.
    pub fn ring(&mut self, ring: &[Point<Table>], line: Line, width: f64, level: Level) {
        let closed: Vec<Point<Table>> = ring.iter().copied().chain(ring.first().copied()).collect();
        self.line(&closed, line, width, level);
    }

    /// All rings of a region.
    pub fn outline(&mut self, region: &Region<Table>, line: Line, width: f64, level: Level) {
        for ring in &region.rings {
            self.ring(ring, line, width, level);
        }
    }

    /// A region in slanting stripes, 2 mm of 6.
    pub fn hatched(&mut self, region: &Region<Table>, level: Level) {
        let Some(b) = region.bounds() else { return };
        let (from, to) = (b.min.x + b.min.y, b.max.x + b.max.y);
        let mut stripes = Region::default();
        let mut at = (from / 6.0).floor() * 6.0;
        // At most so many: a wrong outline must not hold up the light.
        while at < to && stripes.rings.len() < 2000 {
            let (low, high) = (b.min.y - 1.0, b.max.y + 1.0);
            let corner = |sum: f64, y: f64| Point::new(sum - y, y);
            stripes.append(Region::ring(vec![
                corner(at, low),
                corner(at + 2.0, low),
                corner(at + 2.0, high),
                corner(at, high),
            ]));
            at += 6.0;
        }
        self.lit(intersection(&stripes, region), level);
    }

    /// Words on a ground of their own darkness, so that they can be read over
    /// any light; returns the room they take: `None` where there are none, or they
    /// must keep off.
    pub fn words(
        &mut self,
        letters: &mut Letters,
        lines: &[String],
        middle: Point<Table>,
        side: Side,
    ) -> Option<Bounds<Table>> {
        let set = lettering(letters, lines, middle, side);
        let rooms = set.lines.iter().copied();
        let room = rooms.reduce(|a, b| a.union(&b))?.inflate(GROUND, GROUND);
        if self.kept_off.is_some_and(|off| off.intersects(&room)) {
            return None;
        }
        self.on_ground(set.lit, &room);
        Some(room)
    }

    /// Letters on a ground of their own darkness.
    pub fn on_ground(&mut self, letters: Region<Table>, ground: &Bounds<Table>) {
        self.lit(super::rectangle(ground), Level::BLACKED);
        self.lit(letters, Level::ON_BLACKED);
    }

    /// A cross, its arms along the person's axes, open in the middle so that
    /// what it points at is seen; dark on light where `dark`.
    pub fn cross(&mut self, at: Point<Table>, side: Side, reach: f64, width: f64, level: Level) {
        for (x, y) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            let along = side.to_table(Vector::new(x, y));
            let (from, to) = (at + along * (reach / 6.0), at + along * reach);
            self.line(&[from, to], Line::Solid, width, level);
        }
    }

    pub fn finish(self, height: f64) -> Option<Figure> {
        (!self.patches.is_empty()).then_some(Figure {
            patches: self.patches,
            height,
        })
    }
}
