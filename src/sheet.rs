//! Pages to print at true size, as PDF (ISO 32000: user unit 1/72 in).

use crate::measure::MM_PER_PT;
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str};

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

/// One page. All coordinates are mm from its lower left corner, y up.
pub struct Page {
    paper: Paper,
    content: Content,
}

fn pt(mm: f64) -> f32 {
    (mm / MM_PER_PT) as f32
}

impl Page {
    pub fn new(paper: Paper) -> Self {
        let mut content = Content::new();
        content.set_line_cap(pdf_writer::types::LineCapStyle::ButtCap);
        Self { paper, content }
    }

    /// A straight line `width` mm wide.
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), width: f64) {
        self.content
            .set_line_width(pt(width))
            .move_to(pt(from.0), pt(from.1))
            .line_to(pt(to.0), pt(to.1))
            .stroke();
    }

    /// A circle, as four cubic arcs (k = 4(√2−1)/3, error 0.03 % of the radius).
    pub fn circle(&mut self, centre: (f64, f64), radius: f64, width: f64) {
        let k = 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0);
        let at = |x: f64, y: f64| (pt(centre.0 + radius * x), pt(centre.1 + radius * y));
        let start = at(1.0, 0.0);
        self.content
            .set_line_width(pt(width))
            .move_to(start.0, start.1);
        for (cx, cy, sx, sy) in [
            (1.0, 0.0, 0.0, 1.0),
            (0.0, 1.0, -1.0, 0.0),
            (-1.0, 0.0, 0.0, -1.0),
            (0.0, -1.0, 1.0, 0.0),
        ] {
            let (a, b, c) = (
                at(cx + k * sx, cy + k * sy),
                at(sx + k * cx, sy + k * cy),
                at(sx, sy),
            );
            self.content.cubic_to(a.0, a.1, b.0, b.1, c.0, c.1);
        }
        self.content.close_path().stroke();
    }

    pub fn text(&mut self, t: &TextAt) {
        self.content
            .begin_text()
            .set_font(Name(b"F1"), pt(t.size))
            .next_line(pt(t.x), pt(t.y))
            .show(Str(&latin1(&t.text)))
            .end_text();
    }

    /// A line of text about the middle `x`. Widths are taken as half the size a
    /// letter, which is Helvetica's mean over English text, near enough to centre.
    pub fn text_centred(&mut self, x: f64, y: f64, size: f64, text: &str) {
        let width = 0.5 * size * text.chars().count() as f64;
        self.text(&TextAt {
            x: x - width / 2.0,
            y,
            size,
            text: text.to_owned(),
        });
    }

    /// The page as a PDF file.
    pub fn into_pdf(self) -> Vec<u8> {
        let [catalog, tree, page, font, stream] = [1, 2, 3, 4, 5].map(Ref::new);
        let (width, height) = self.paper.size_mm();
        let mut pdf = Pdf::new();
        pdf.catalog(catalog).pages(tree);
        pdf.pages(tree).kids([page]).count(1);
        let mut p = pdf.page(page);
        p.media_box(Rect::new(0.0, 0.0, pt(width), pt(height)));
        p.parent(tree).contents(stream);
        p.resources().fonts().pair(Name(b"F1"), font);
        p.finish();
        // One of the fonts that every reader has.
        pdf.type1_font(font)
            .base_font(Name(b"Helvetica"))
            .encoding_predefined(Name(b"WinAnsiEncoding"));
        pdf.stream(stream, &self.content.finish());
        pdf.finish()
    }
}

/// Text in the reader's built-in encoding; what it lacks becomes a question mark.
fn latin1(text: &str) -> Vec<u8> {
    text.chars()
        .map(|c| u8::try_from(u32::from(c)).unwrap_or(b'?'))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_page_has_its_papers_size_in_points() {
        let pdf = Page::new(Paper::Letter).into_pdf();
        let text = String::from_utf8_lossy(&pdf);
        assert!(text.contains("/MediaBox [0 0 612 792]"), "{text}");
    }
}
