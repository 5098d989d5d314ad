//! Room for words in the picture: each where it lies on no other.

use std::collections::HashMap;

/// A letter is about so wide, as a share of its size (estimate for a plain typeface).
pub const LETTER: f64 = 0.56;

/// What is taken is kept by cells of this side, mm.
const CELL: f64 = 50.0;

/// Left, top, right, bottom, mm; y down.
pub type Box = [f64; 4];

/// Words that may stand at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct Word {
    pub at: [f64; 2],
    /// As SVG's `text-anchor`: `start`, `middle`, `end`.
    pub anchor: &'static str,
    pub size: f64,
    pub text: String,
}

impl Word {
    /// What it covers.
    pub fn covers(&self) -> Box {
        let [x, y] = self.at;
        let wide = self.text.chars().count() as f64 * LETTER * self.size;
        let left = match self.anchor {
            "start" => x,
            "end" => x - wide,
            _ => x - wide / 2.0,
        };
        [left, y - 0.8 * self.size, left + wide, y + 0.25 * self.size]
    }
}

/// What is taken so far.
#[derive(Debug, Default)]
pub struct Room {
    taken: HashMap<(i64, i64), Vec<Box>>,
}

impl Room {
    pub fn take(&mut self, b: Box) {
        for cell in cells(b) {
            self.taken.entry(cell).or_default().push(b);
        }
    }

    pub fn is_free(&self, b: Box) -> bool {
        let over = |t: &Box| b[0] < t[2] && t[0] < b[2] && b[1] < t[3] && t[1] < b[3];
        let mut near = cells(b).filter_map(|c| self.taken.get(&c)).flatten();
        !near.any(over)
    }

    /// The first of these that lies on nothing, its place then taken; none if all do.
    pub fn find(&mut self, choices: impl IntoIterator<Item = Word>) -> Option<Word> {
        let mut choices = choices.into_iter();
        let word = choices.find(|w| self.is_free(w.covers()))?;
        self.take(word.covers());
        Some(word)
    }
}

fn cells([x0, y0, x1, y1]: Box) -> impl Iterator<Item = (i64, i64)> {
    let cell = |v: f64| (v / CELL).floor() as i64;
    (cell(x0)..=cell(x1)).flat_map(move |x| (cell(y0)..=cell(y1)).map(move |y| (x, y)))
}
