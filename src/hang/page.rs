//! The page: the table from above and from its end, to one scale; a pixel, enlarged; and what
//! follows from it in sentences.

use super::view::{Pen, Place, View, rectangle};
use super::words::long;
use super::{Hang, plan, side, told, warnings};
use crate::measure::Unit;
use crate::sheet::{Page, Paper, broken};

/// The size of text, and from one line to the next, mm.
pub(super) const TEXT: f64 = 2.5;
pub(super) const LEAD: f64 = 3.4;
const TITLE: f64 = 5.0;
/// Left clear at every edge of the paper, and between parts of the page, mm.
const MARGIN: f64 = 14.0;
const GAP: f64 = 7.0;
/// Between two paragraphs, mm.
const PARTED: f64 = 0.8;
/// The plan's column is so wide at least, mm, for what its lines mean.
const COLUMN: f64 = 76.0;
/// Under the plan, mm: which edge is the near one.
const CAPTION: f64 = 6.0;

/// 1 : so much; the first that fits is drawn.
const SCALES: [f64; 14] = [
    5.0, 10.0, 20.0, 25.0, 30.0, 40.0, 50.0, 75.0, 100.0, 200.0, 250.0, 500.0, 1000.0, 2000.0,
];

/// A pixel is drawn so many times as large, so that it is no larger than [`PIXEL`] mm.
const ENLARGED: [f64; 8] = [10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05];
const PIXEL: f64 = 20.0;
/// Beside a pixel there are two rows of words, mm.
const BESIDE: f64 = 10.0;

/// The page for what was worked out, with the cautions that apply.
pub fn hang_page(h: &Hang, paper: Paper, unit: Unit, cautions: &[&str]) -> Page {
    let (wide, high) = paper.size_mm();
    let inner = wide - 2.0 * MARGIN;
    let warned = warnings(h, unit);
    let paragraphs = told(h, unit)
        .into_iter()
        .chain(warned.iter().map(|text| format!("Beware: {text}.")))
        .chain(cautions.iter().map(|text| (*text).to_owned()));
    let paragraphs: Vec<Vec<String>> = paragraphs.map(|t| broken(&t, TEXT, inner)).collect();
    let each = paragraphs.iter().map(|p| p.len() as f64 * LEAD + PARTED);
    let text_high: f64 = each.sum();
    // The scale is told in the head, which must not take more lines by it than was reckoned.
    let head = |scale: f64| broken(&asked(h, unit, scale), TEXT, inner);
    let head_lines = SCALES
        .map(|s| head(s).len())
        .into_iter()
        .fold(0, usize::max);
    let top = high - MARGIN - TITLE - head_lines as f64 * LEAD - GAP;
    let room = top - MARGIN - text_high - GAP;

    let column = side::column(h, unit);
    let enlarged = Enlarged::of(h);
    let meanings = |scale: f64| plan::legend(h, unit, scale, COLUMN - plan::INDENT);
    // How much the drawings take across and down.
    let takes = |scale: f64| {
        let (above, beside) = (plan::view(h, scale).size(), side::view(h, scale).size());
        let below = CAPTION + plan::high(&meanings(scale)) + GAP / 2.0 + enlarged.high();
        let across = above.0.max(COLUMN) + GAP + beside.0 + column;
        (across, (above.1 + below).max(side::high(h, unit, scale)))
    };
    let fits = |scale: &f64| {
        let (across, down) = takes(*scale);
        across <= inner && down <= room
    };
    let scale = SCALES.into_iter().find(fits).unwrap_or(SCALES[13]);

    let mut page = Page::new(paper);
    let mut base = high - MARGIN - TITLE;
    page.words((MARGIN, base), TITLE, "Where to hang the lens");
    for line in head(scale) {
        base -= LEAD;
        page.words((MARGIN, base - 1.0), TEXT, &line);
    }

    let plan_view = plan::view(h, scale);
    let (plan_wide, plan_high) = plan_view.size();
    let column_wide = plan_wide.max(COLUMN);
    let plan_view = View {
        corner: (MARGIN + (column_wide - plan_wide) / 2.0, top - plan_high),
        ..plan_view
    };
    plan::draw(&mut page, h, &plan_view);
    let middle = MARGIN + column_wide / 2.0;
    let mut below = top - plan_high - CAPTION + 2.0;
    page.text_centred(middle, below, TEXT, "near edge: you stand here");
    below -= 2.0;
    let legend = meanings(scale);
    plan::put(&mut page, &legend, (MARGIN, below));
    below -= plan::high(&legend) + GAP / 2.0;
    enlarged.put(&mut page, (MARGIN, below));

    let side_view = View {
        corner: (MARGIN + column_wide + GAP, top - side::high(h, unit, scale)),
        ..side::view(h, scale)
    };
    side::draw(&mut page, h, unit, &side_view);

    let mut base = (top - takes(scale).1 - GAP).max(MARGIN + text_high);
    for lines in &paragraphs {
        for line in lines {
            base -= LEAD;
            page.words((MARGIN, base + LEAD - TEXT), TEXT, line);
        }
        base -= PARTED;
    }
    page
}

/// What was asked, and how it is drawn.
fn asked(h: &Hang, unit: Unit, scale: f64) -> String {
    let w = &h.wanted;
    let [along, away] = w.table.map(|mm| long(unit, mm));
    let [wide, high] = w.picture;
    format!(
        "Table {along} by {away}, picture {wide} by {high} px, throw ratio {}, lens offset {:.0} %; \
         a lens that looks straight down. The table from above and from its right end, 1:{scale:.0} \
         if printed at 100 %, \"actual size\".",
        w.throw,
        w.offset * 100.0
    )
}

/// A pixel as it is drawn.
struct Enlarged {
    /// Along x and y, mm.
    pixel: [f64; 2],
    times: f64,
}

impl Enlarged {
    fn of(h: &Hang) -> Self {
        let pixel = h.pixel();
        let largest = pixel[0].max(pixel[1]);
        let fits = |times: &f64| times * largest <= PIXEL;
        let times = ENLARGED.into_iter().find(fits);
        Self {
            pixel,
            times: times.unwrap_or(ENLARGED[7]),
        }
    }

    fn high(&self) -> f64 {
        (self.pixel[1] * self.times).max(BESIDE)
    }

    /// The pixel below and right of a place, and beside it what it is and a bar of 1 or 10 mm.
    fn put(&self, page: &mut Page, (x, top): Place) {
        let [wide, high] = self.pixel.map(|mm| mm * self.times);
        let corners = rectangle((x, top - high), (x + wide, top));
        let outline = corners.into_iter().chain([corners[0]]).collect();
        Pen::solid(0.2).draw(page, outline);
        let ratio = match self.times < 1.0 {
            true => format!("1:{:.0}", 1.0 / self.times),
            false => format!("{:.0}:1", self.times),
        };
        let left = x + wide + 4.0;
        let text = format!("a pixel, {:.2} mm, drawn {ratio}", self.pixel[0]);
        page.words((left, top - TEXT), TEXT, &text);
        let bar = if self.times < 2.0 { 10.0 } else { 1.0 };
        let (y, end) = (top - TEXT - LEAD, left + bar * self.times);
        page.line((left, y), (end, y), 0.3);
        for tick in [left, end] {
            page.line((tick, y - 1.0), (tick, y + 1.0), 0.2);
        }
        let text = format!("{bar:.0} mm, drawn {ratio}");
        page.words((end + 2.0, y - 0.35 * TEXT), TEXT, &text);
    }
}
