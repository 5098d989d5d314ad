//! The graphics state, as far as lines and texts need it.

use std::rc::Rc;

use kurbo::{Affine, Point, Rect};

use super::font::Font;
use super::operands::Space;

/// What is saved and restored.
#[derive(Clone)]
pub struct State {
    /// From user space to paper.
    pub ctm: Affine,
    /// What still shows, on paper: the box of all clips.
    pub clip: Rect,
    pub dashed: bool,
    /// White paint on white paper shows nothing.
    pub white_stroke: bool,
    pub white_fill: bool,
    pub stroke_space: Space,
    pub fill_space: Space,
    pub text: TextState,
}

/// The text state.
#[derive(Clone)]
pub struct TextState {
    pub font: Option<Rc<Font>>,
    pub size: f64,
    pub letter_space: f64,
    pub word_space: f64,
    /// As a part.
    pub stretch: f64,
    pub leading: f64,
    pub rise: f64,
    /// From text space to user space, and where the line begins.
    pub matrix: Affine,
    pub line: Affine,
}

impl State {
    pub fn new(ctm: Affine, clip: Rect) -> Self {
        Self {
            ctm,
            clip,
            dashed: false,
            white_stroke: false,
            white_fill: false,
            stroke_space: Space::Device,
            fill_space: Space::Device,
            text: TextState {
                font: None,
                size: 1.0,
                letter_space: 0.0,
                word_space: 0.0,
                stretch: 1.0,
                leading: 0.0,
                rise: 0.0,
                matrix: Affine::IDENTITY,
                line: Affine::IDENTITY,
            },
        }
    }
}

impl TextState {
    /// To the start of a line (`Td`).
    pub fn next_line(&mut self, x: f64, y: f64) {
        self.line *= Affine::translate((x, y));
        self.matrix = self.line;
    }

    pub fn set(&mut self, matrix: Affine) {
        self.line = matrix;
        self.matrix = matrix;
    }

    /// Where the next letter begins, in user space.
    pub fn at(&self) -> Point {
        self.matrix * Point::new(0.0, self.rise)
    }

    /// Past letters that run for `ems`.
    pub fn advance(&mut self, ems: f64, letters: usize, spaces: usize) {
        let by =
            ems * self.size + self.letter_space * letters as f64 + self.word_space * spaces as f64;
        self.matrix *= Affine::translate((by * self.stretch, 0.0));
    }
}
