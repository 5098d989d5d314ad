//! A page as PDF (ISO 32000: user unit 1/72 in).

use super::{Item, Page, Path, TextAt};
use crate::measure::MM_PER_PT;
use pdf_writer::{Content, Finish, Name, Pdf, Rect, Ref, Str};

fn pt(mm: f64) -> f32 {
    (mm / MM_PER_PT) as f32
}

pub(super) fn written(pages: &[Page]) -> Vec<u8> {
    let [catalog, tree, font] = [1, 2, 3].map(Ref::new);
    let refs = |k: usize| [4, 5].map(|first| Ref::new(first + 2 * k as i32));
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(tree);
    let kids = (0..pages.len()).map(|k| refs(k)[0]);
    pdf.pages(tree).kids(kids).count(pages.len() as i32);
    // One of the fonts that every reader has.
    pdf.type1_font(font)
        .base_font(Name(b"Helvetica"))
        .encoding_predefined(Name(b"WinAnsiEncoding"));
    for (k, own) in pages.iter().enumerate() {
        let [page, stream] = refs(k);
        let (width, height) = own.paper.size_mm();
        let mut p = pdf.page(page);
        p.media_box(Rect::new(0.0, 0.0, pt(width), pt(height)));
        p.parent(tree).contents(stream);
        p.resources().fonts().pair(Name(b"F1"), font);
        p.finish();
        pdf.stream(stream, &drawn(&own.items).finish());
    }
    pdf.finish()
}

fn drawn(items: &[Item]) -> Content {
    let mut content = Content::new();
    content.set_line_cap(pdf_writer::types::LineCapStyle::ButtCap);
    for item in items {
        match item {
            Item::Line { from, to, width } => {
                content
                    .set_line_width(pt(*width))
                    .move_to(pt(from.0), pt(from.1))
                    .line_to(pt(to.0), pt(to.1))
                    .stroke();
            }
            Item::Circle {
                centre,
                radius,
                width,
            } => {
                content.set_line_width(pt(*width));
                circle(&mut content, *centre, *radius);
            }
            Item::Area(rings) => {
                for ring in rings {
                    for (k, &(x, y)) in ring.iter().enumerate() {
                        if k == 0 {
                            content.move_to(pt(x), pt(y));
                        } else {
                            content.line_to(pt(x), pt(y));
                        }
                    }
                    content.close_path();
                }
                content.fill_even_odd();
            }
            Item::Path(p) => path(&mut content, p),
            Item::Text(t) => text(&mut content, t),
        }
    }
    content
}

fn path(content: &mut Content, path: &Path) {
    content.set_line_width(pt(path.width));
    if let Some((on, off)) = path.dash {
        content.set_dash_pattern([pt(on), pt(off)], 0.0);
    }
    for (k, &(x, y)) in path.points.iter().enumerate() {
        if k == 0 {
            content.move_to(pt(x), pt(y));
        } else {
            content.line_to(pt(x), pt(y));
        }
    }
    if path.closed {
        content.close_path();
    }
    content.stroke();
    if path.dash.is_some() {
        content.set_dash_pattern([], 0.0);
    }
}

/// Four cubic arcs (k = 4(√2−1)/3, error 0.03 % of the radius).
fn circle(content: &mut Content, centre: (f64, f64), radius: f64) {
    let k = 4.0 / 3.0 * (std::f64::consts::SQRT_2 - 1.0);
    let at = |x: f64, y: f64| (pt(centre.0 + radius * x), pt(centre.1 + radius * y));
    let start = at(1.0, 0.0);
    content.move_to(start.0, start.1);
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
        content.cubic_to(a.0, a.1, b.0, b.1, c.0, c.1);
    }
    content.close_path().stroke();
}

fn text(content: &mut Content, t: &TextAt) {
    content
        .begin_text()
        .set_font(Name(b"F1"), pt(t.size))
        .next_line(pt(t.x), pt(t.y))
        .show(Str(&win_ansi(&t.text)))
        .end_text();
}

/// What stands there.
const OTHERS: [(char, u8); 27] = [
    ('€', 0x80),
    ('‚', 0x82),
    ('ƒ', 0x83),
    ('„', 0x84),
    ('…', 0x85),
    ('†', 0x86),
    ('‡', 0x87),
    ('ˆ', 0x88),
    ('‰', 0x89),
    ('Š', 0x8a),
    ('‹', 0x8b),
    ('Œ', 0x8c),
    ('Ž', 0x8e),
    ('‘', 0x91),
    ('’', 0x92),
    ('“', 0x93),
    ('”', 0x94),
    ('•', 0x95),
    ('–', 0x96),
    ('—', 0x97),
    ('˜', 0x98),
    ('™', 0x99),
    ('š', 0x9a),
    ('›', 0x9b),
    ('œ', 0x9c),
    ('ž', 0x9e),
    ('Ÿ', 0x9f),
];

/// Text in the encoding that the page names; what it lacks becomes a question
/// mark. It has no minus sign: its en dash (0x96) is as long.
fn win_ansi(text: &str) -> Vec<u8> {
    text.chars()
        .map(|c| match c {
            '−' => 0x96,
            // ISO 8859-1's control codes stand where this encoding has others (ISO 32000-1,
            // annex D).
            '\u{80}'..='\u{9f}' => b'?',
            _ if OTHERS.iter().any(|(other, _)| *other == c) => {
                let found = OTHERS.iter().find(|(other, _)| *other == c);
                found.map_or(b'?', |(_, code)| *code)
            }
            _ => u8::try_from(u32::from(c)).unwrap_or(b'?'),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::Paper;

    #[test]
    fn the_page_has_its_papers_size_in_points() {
        let pdf = written(&[Page::new(Paper::Letter), Page::new(Paper::A4)]);
        let text = String::from_utf8_lossy(&pdf);
        assert!(text.contains("/MediaBox [0 0 612 792]"), "{text}");
        assert!(text.contains("/Count 2"), "{text}");
    }

    #[test]
    fn an_area_is_filled_by_the_even_odd_rule() {
        let ring = vec![(0.0, 0.0), (25.4, 0.0), (0.0, 25.4)];
        let mut page = Page::new(Paper::A4);
        page.area(vec![ring]);
        let pdf = written(&[page]);
        let text = String::from_utf8_lossy(&pdf);
        // ISO 32000-1, table 60: h closes the ring, f* fills.
        assert!(text.contains("0 0 m\n72 0 l\n0 72 l\nh\nf*"), "{text}");
    }

    #[test]
    fn a_minus_is_kept_and_what_the_font_lacks_is_asked_for() {
        assert_eq!(win_ansi("−3 é Ω"), b"\x963 \xe9 ?");
        assert_eq!(
            win_ansi("Anna’s “old” Š–ž"),
            b"Anna\x92s \x93old\x94 \x8a\x96\x9e"
        );
    }
}
