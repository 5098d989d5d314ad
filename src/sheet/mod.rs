//! Pages to print at true size. A page keeps what is drawn on it, and is
//! written as PDF, alone or with others, or as SVG.

mod font;
mod pdf;
mod svg;

pub use font::{broken, width};

/// The papers a person is likely to have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216: 210 × 297 mm.
    A4,
    /// US Letter: 8½ × 11 in (ANSI/ASME Y14.1, size A).
    Letter,
}

impl Paper {
    /// Width and height, mm.
    pub fn size_mm(self) -> (f64, f64) {
        match self {
            Paper::A4 => (210.0, 297.0),
            Paper::Letter => (215.9, 279.4),
        }
    }
}

/// A line of text: x and y of its baseline's start from the lower left corner
/// of the page, and its size, in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct TextAt {
    pub x: f64,
    pub y: f64,
    pub size: f64,
    pub text: String,
}

/// What is drawn, in black, all in mm.
enum Item {
    Line {
        from: (f64, f64),
        to: (f64, f64),
        width: f64,
    },
    Circle {
        centre: (f64, f64),
        radius: f64,
        width: f64,
    },
    Area(Vec<Vec<(f64, f64)>>),
    Path(Path),
    Text(TextAt),
}

/// A line of several stretches; all in mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Path {
    pub points: Vec<(f64, f64)>,
    pub closed: bool,
    pub width: f64,
    /// How long dashes and gaps are; none: it is solid.
    pub dash: Option<(f64, f64)>,
}

/// One page. All coordinates are mm from its lower left corner, y up.
pub struct Page {
    paper: Paper,
    items: Vec<Item>,
}

impl Page {
    pub fn new(paper: Paper) -> Self {
        Self {
            paper,
            items: Vec::new(),
        }
    }

    /// A straight line `width` mm wide; it ends square, where it is told to.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), width: f64) {
        self.items.push(Item::Line { from, to, width });
    }

    /// A circle whose line is `width` mm wide.
    pub fn circle(&mut self, centre: (f64, f64), radius: f64, width: f64) {
        self.items.push(Item::Circle {
            centre,
            radius,
            width,
        });
    }

    /// What an odd number of the rings go round, black; a ring's last corner is joined to its
    /// first. One area has no seams: black that is to be of one piece goes into one call.
    pub fn area(&mut self, rings: Vec<Vec<(f64, f64)>>) {
        self.items.push(Item::Area(rings));
    }

    /// A line of several stretches.
    pub fn path(&mut self, path: Path) {
        self.items.push(Item::Path(path));
    }

    pub fn text(&mut self, t: &TextAt) {
        self.items.push(Item::Text(t.clone()));
    }

    /// A square of side `size` from its lower left corner: a box to tick.
    pub fn square(&mut self, (x, y): (f64, f64), size: f64) {
        let corners = [(0.0, 0.0), (size, 0.0), (size, size), (0.0, size)];
        self.path(Path {
            points: corners.iter().map(|(a, b)| (x + a, y + b)).collect(),
            closed: true,
            width: 0.2,
            dash: None,
        });
    }

    /// A line of text from `x` on.
    pub fn words(&mut self, (x, y): (f64, f64), size: f64, text: &str) {
        let text = text.to_owned();
        self.text(&TextAt { x, y, size, text });
    }

    /// A line of text about the middle `x`.
    pub fn text_centred(&mut self, x: f64, y: f64, size: f64, text: &str) {
        self.words((x - width(text, size) / 2.0, y), size, text);
    }

    /// A line of text that ends at `x`.
    pub fn text_right(&mut self, (x, y): (f64, f64), size: f64, text: &str) {
        self.words((x - width(text, size), y), size, text);
    }

    /// The page as a PDF file.
    pub fn into_pdf(self) -> Vec<u8> {
        pdf(&[self])
    }

    /// The page as an SVG file.
    pub fn into_svg(self) -> String {
        svg::written(self.paper, &self.items)
    }
}

/// Pages as one PDF file, in their order; each has its own paper's size.
pub fn pdf(pages: &[Page]) -> Vec<u8> {
    pdf::written(pages)
}
