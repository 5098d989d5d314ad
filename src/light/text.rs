//! Text in light: outlines of a bundled free font, as areas.
//!
//! B612 Bold (SIL Open Font License), drawn for legibility at a glance.

use crate::fault::{Fault, Outcome};
use crate::shape::{Region, union};
use crate::space::{Bounds, Point, Rigid, Table, Vector};
use lyon::path::iterator::PathIterator;
use std::collections::HashMap;

/// The letters' file: the panel is read in the same.
pub static FONT: &[u8] = include_bytes!("font/B612-Bold.otf");

/// How far a flattened letter may be from its curve, mm.
const FLATTEN: f32 = 0.02;

/// Line pitch over capital height: 1.1 em, close, for lines are few and short.
pub(super) const PITCH: f64 = 1.5;

/// Letters at one size, made once each.
#[derive(Debug)]
pub struct Letters {
    face: ttf_parser::Face<'static>,
    /// Height of a capital, mm.
    height: f64,
    /// mm per font unit.
    scale: f64,
    made: HashMap<char, (Region<Table>, f64)>,
}

impl Letters {
    /// Letters whose capitals are `height` mm high.
    pub fn new(height: f64) -> Outcome<Self> {
        let broken = |_| {
            Fault::ours(
                "the letters that come with the program can't be read",
                "install the program again",
            )
        };
        let face = ttf_parser::Face::parse(FONT, 0).map_err(broken)?;
        // What is drawn, not what the font says of itself.
        let capital = face
            .glyph_index('H')
            .and_then(|h| face.glyph_bounding_box(h))
            .map_or(face.units_per_em() as i16 * 7 / 10, |b| b.y_max);
        Ok(Self {
            scale: height / f64::from(capital),
            face,
            height,
            made: HashMap::new(),
        })
    }

    /// One letter about the start of its baseline, and how far the next one
    /// stands from it, mm. Characters that the font lacks become a box.
    fn letter(&mut self, c: char) -> &(Region<Table>, f64) {
        let (face, scale) = (&self.face, self.scale);
        self.made.entry(c).or_insert_with(|| {
            let id = face.glyph_index(c).unwrap_or_default();
            let advance = f64::from(face.glyph_hor_advance(id).unwrap_or(0)) * scale;
            let mut pen = Pen {
                path: lyon::path::Path::builder(),
                scale: scale as f32,
                open: false,
            };
            face.outline_glyph(id, &mut pen);
            let mut rings: Vec<Vec<Point<Table>>> = Vec::new();
            for event in pen.path.build().iter().flattened(FLATTEN) {
                match event {
                    lyon::path::PathEvent::Begin { at } => rings.push(vec![point(at)]),
                    lyon::path::PathEvent::Line { to, .. } => {
                        if let Some(ring) = rings.last_mut() {
                            ring.push(point(to));
                        }
                    }
                    _ => {}
                }
            }
            (union([&Region::new(rings)]), advance)
        })
    }

    /// The characters of `text` that the font can't draw.
    pub fn lacks(&self, text: &str) -> String {
        text.chars()
            .filter(|c| self.face.glyph_index(*c).is_none())
            .collect()
    }

    /// Width of a line, mm.
    pub(super) fn width(&mut self, line: &str) -> f64 {
        line.chars().map(|c| self.letter(c).1).sum()
    }

    /// Lines of text as one area, centred on each other, the whole block's
    /// middle at the origin.
    pub fn block(&mut self, lines: &[String]) -> Block {
        let pitch = PITCH * self.height;
        let height = pitch * (lines.len().max(1) - 1) as f64 + self.height;
        let mut block = Block {
            lit: Region::default(),
            lines: Vec::new(),
        };
        for (k, line) in lines.iter().enumerate() {
            let half = self.width(line) / 2.0;
            let mut x = -half;
            let y = height / 2.0 - self.height - pitch * k as f64;
            let mut room = Bounds::new(Point::new(x, y), Point::new(half, y + self.height));
            for c in line.chars() {
                let (letter, advance) = self.letter(c);
                let at: Rigid<Table, Table> = Rigid::new(false, 0.0, Vector::new(x, y));
                x += advance;
                let letter = letter.moved(&at);
                // Descenders reach below the line.
                room = letter.bounds().map_or(room, |b| room.union(&b));
                block.lit.append(letter);
            }
            block.lines.push(room);
        }
        block
    }
}

/// Set text: what is lit about its own middle, and the room each line takes.
#[derive(Debug, Clone)]
pub struct Block {
    pub lit: Region<Table>,
    pub lines: Vec<Bounds<Table>>,
}

fn point(p: lyon::math::Point) -> Point<Table> {
    Point::new(f64::from(p.x), f64::from(p.y))
}

/// The font's outline commands, into a path in mm.
struct Pen {
    path: lyon::path::path::Builder,
    scale: f32,
    open: bool,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> lyon::math::Point {
        lyon::math::point(x * self.scale, y * self.scale)
    }
}

impl ttf_parser::OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        if self.open {
            self.path.end(true);
        }
        self.path.begin(self.at(x, y));
        self.open = true;
    }

    fn line_to(&mut self, x: f32, y: f32) {
        self.path.line_to(self.at(x, y));
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        self.path
            .quadratic_bezier_to(self.at(x1, y1), self.at(x, y));
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        self.path
            .cubic_bezier_to(self.at(x1, y1), self.at(x2, y2), self.at(x, y));
    }

    fn close(&mut self) {
        if self.open {
            self.path.end(true);
            self.open = false;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capitals_have_the_height_asked_for() {
        let mut letters = Letters::new(12.0).unwrap();
        let b = letters.letter('H').0.bounds().unwrap();
        assert!((b.max.y - b.min.y - 12.0).abs() < 0.02, "{b:?}");
    }

    #[test]
    fn the_hole_of_an_o_is_dark() {
        let mut letters = Letters::new(12.0).unwrap();
        let o = letters.letter('O').0.clone();
        let middle = o.bounds().unwrap().center();
        assert!(!o.contains(middle) && o.area() > 0.0);
    }

    #[test]
    fn a_block_holds_its_ink() {
        let block = Letters::new(12.0)
            .unwrap()
            .block(&["upper 1".into(), "gy".into()]);
        let b = block.lit.bounds().unwrap();
        let all = block.lines[0].union(&block.lines[1]);
        assert!(all.contains_box(&b), "{all:?} {b:?}");
        assert!(block.lines[0].min.y > block.lines[1].max.y && all.width() > 40.0);
    }
}
