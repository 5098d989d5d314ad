//! A page in the making, in the reader's px: words are set and wrapped here.

use super::{CodeRaster, LEAST_CAPITAL, MARGIN, Page, Shape, Words};
use crate::fault::Outcome;
use crate::light::text::{Letters, PITCH};
use crate::measure::fitted;
use crate::projection::{Reader, Upright};
use crate::scene::Level;
use crate::shape::Region;
use crate::space::{Bounds, Point, Projector, Table};

/// Capitals are at least the picture's longer side over this: 12 mm where the
/// light is 1200 mm long.
const CAPITALS_ALONG: f64 = 96.0;

/// But in a long, narrow picture no more than its shorter side over this.
const CAPITALS_ACROSS: f64 = 18.0;

/// Room above and below a capital that some letters reach into, as a share of
/// its height: the font's longest tails are 0.33.
const HEADROOM: f64 = 0.35;

/// How far ink may hang over the ends of a line together, as a share of a
/// capital's height.
const OVERHANG: f64 = 0.2;

/// From which end of the picture words are set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Align {
    Left,
    Middle,
}

pub(super) struct Sheet {
    on: Upright,
    letters: Letters,
    /// Height of a capital, px.
    pub capital: f64,
    /// How bright words are.
    pub level: Level,
    raster: Option<CodeRaster>,
    light: Vec<Shape>,
    words: Vec<Words>,
}

impl Sheet {
    /// A dark page whose capitals have the usual height.
    pub fn new(on: &Upright) -> Outcome<Self> {
        Self::with_capital(on, Self::usual_capital(on))
    }

    /// The height of a capital that can be read from where the person stands, px.
    pub fn usual_capital(on: &Upright) -> f64 {
        let [w, h] = on.picture.map(f64::from);
        LEAST_CAPITAL.max((w.max(h) / CAPITALS_ALONG).min(w.min(h) / CAPITALS_ACROSS))
    }

    /// A dark page with capitals of `capital` px.
    pub fn with_capital(on: &Upright, capital: f64) -> Outcome<Self> {
        Ok(Self {
            on: *on,
            letters: Letters::new(capital)?,
            capital,
            level: Level::FULL,
            raster: None,
            light: Vec::new(),
            words: Vec::new(),
        })
    }

    /// The reader's picture, px.
    pub fn size(&self) -> [u32; 2] {
        self.on.size()
    }

    /// Where words may stand, px.
    pub fn inner(&self) -> Bounds<Reader> {
        let [w, h] = self.size().map(f64::from);
        Bounds::new(
            Point::new(MARGIN, MARGIN),
            Point::new(w - MARGIN, h - MARGIN),
        )
    }

    /// From one line to the next, px.
    pub fn pitch(&self) -> f64 {
        PITCH * self.capital
    }

    /// The height of so many lines, with what their letters may reach beyond.
    pub fn height_of(&self, lines: usize) -> f64 {
        let between = self.pitch() * lines.saturating_sub(1) as f64;
        between + self.capital * (1.0 + 2.0 * HEADROOM)
    }

    /// The pixels of the page.
    pub fn raster(&mut self) -> &mut CodeRaster {
        let [w, h] = self.size();
        self.raster.get_or_insert_with(|| CodeRaster::new(w, h))
    }

    /// The room that a line takes at most, px.
    pub fn width(&mut self, line: &str) -> f64 {
        self.letters.width(line) + OVERHANG * self.capital
    }

    /// Breaks text into lines no wider than `width`, between words, and within
    /// a word only where it is wider by itself.
    pub fn wrap(&mut self, text: &str, width: f64) -> Vec<String> {
        if text.trim().is_empty() {
            return Vec::new();
        }
        fitted(text, |line| self.width(line) <= width)
    }

    /// Sets one line. `x` is its left end or its middle; `top` is where the
    /// headroom over its capitals begins.
    pub fn line(&mut self, text: &str, x: f64, top: f64, align: Align) -> Bounds<Reader> {
        let block = self.letters.block(&[text.to_owned()]);
        let room = block.lines.iter().copied().reduce(|a, b| a.union(&b));
        let room = room.unwrap_or_default();
        let middle = match align {
            Align::Left => x - room.min.x,
            Align::Middle => x,
        };
        let at = Point::new(middle, top + self.capital * (0.5 + HEADROOM));
        let lit = placed(&block.lit, at, &self.on);
        let room: Bounds<Reader> = Bounds::new(
            Point::new(at.x + room.min.x, at.y - room.max.y),
            Point::new(at.x + room.max.x, at.y - room.min.y),
        );
        let (a, b) = (self.on.pixel(room.min), self.on.pixel(room.max));
        self.words.push(Words {
            text: text.to_owned(),
            room: Bounds::new(a.min(b), a.max(b)),
        });
        self.light.push(Shape {
            region: lit,
            level: self.level,
        });
        room
    }

    /// Sets lines one under the other from `top`; returns all the room they take.
    pub fn lines(&mut self, lines: &[String], x: f64, top: f64, align: Align) -> Bounds<Reader> {
        let mut all: Option<Bounds<Reader>> = None;
        for (k, text) in lines.iter().enumerate() {
            let room = self.line(text, x, top + self.pitch() * k as f64, align);
            all = Some(all.map_or(room, |a| a.union(&room)));
        }
        all.unwrap_or_default()
    }

    /// Sets a sentence at the reader's own edge, wrapped and centred; returns
    /// the room it takes.
    pub fn foot(&mut self, text: &str) -> Bounds<Reader> {
        let inner = self.inner();
        let lines = self.wrap(text, inner.width());
        let top = inner.max.y - self.height_of(lines.len());
        self.lines(&lines, inner.center().x, top, Align::Middle)
    }

    /// Makes the pixels about words dark, so that their light stands alone.
    pub fn clear(&mut self, room: Bounds<Reader>) {
        let clear = self.capital / 2.0;
        let b = room.inflate(clear, clear);
        let edge = |v: f64| v.max(0.0) as u32;
        let area = [b.min.x, b.min.y, b.max.x.ceil(), b.max.y.ceil()].map(edge);
        self.raster().fill(area, |_, _| Some([0; 3]));
    }

    /// Lights an area. Its rings have positive area in the reader's own
    /// numbers, holes negative.
    pub fn light(&mut self, region: &Region<Reader>, level: Level) {
        let ring = |ring: &Vec<Point<Reader>>| {
            let mut out: Vec<_> = ring.iter().map(|&p| self.on.pixel(p)).collect();
            if self.on.mirror_rig {
                out.reverse();
            }
            out
        };
        let region = Region::new(region.rings.iter().map(ring).collect());
        self.light.push(Shape { region, level });
    }

    /// Lights a rectangle: left, top, right, bottom.
    pub fn bar(&mut self, [l, t, r, b]: [f64; 4]) {
        let ring = [(l, t), (r, t), (r, b), (l, b)].map(|(x, y)| Point::new(x, y));
        self.light(&Region::ring(ring.to_vec()), Level::FULL);
    }

    pub fn finish(self) -> Page {
        Page {
            picture: self.on.picture,
            raster: self.raster.map(|r| r.turned(&self.on)),
            light: self.light,
            words: self.words,
        }
    }
}

/// Letters set about their own middle, y up, put into the picture about `at`.
pub(super) fn placed(lit: &Region<Table>, at: Point<Reader>, on: &Upright) -> Region<Projector> {
    let ring = |ring: &Vec<Point<Table>>| {
        let point = |p: &Point<Table>| on.pixel(Point::new(at.x + p.x, at.y - p.y));
        let mut out: Vec<_> = ring.iter().map(point).collect();
        // The flip of y turns an outline over; a mirror turns it back.
        if !on.mirror_rig {
            out.reverse();
        }
        out
    };
    Region::new(lit.rings.iter().map(ring).collect())
}
