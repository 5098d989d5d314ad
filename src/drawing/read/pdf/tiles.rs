//! Pages that were parted for printing, joined into one sheet.

use kurbo::{Affine, BezPath, PathEl, Point, Rect, Shape, Vec2};

use super::clip;
use super::interpret::Drawn;
use super::joints;
use super::seams::Match;
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::strokes::{Sheet, Stroke, Text};
use crate::fault::{Fault, Outcome, short};

/// Ends of lines that meet where two pages do, mm: programs and printers round.
pub const SEAM: f64 = 0.3;
/// Between pages that do not belong to one another, mm.
const APART: f64 = 50.0;
/// A frame takes at least this part of its page, each way.
const FRAME: f64 = 0.6;
/// Frames of several pages are the same within this, mm.
const SAME: f64 = 0.1;
/// Most rectangles of a page that are looked at as its frame.
const FRAMES: usize = 16;

/// In which order the pages fill the sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Order {
    /// Along rows, from the left, the uppermost row first.
    #[default]
    Rows,
    /// Down columns, from the top, the leftmost column first.
    Columns,
}

/// How pages are laid to one sheet.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tiles {
    /// Pages in a row, ≥ 1.
    pub columns: usize,
    pub order: Order,
    /// How far neighbours overlap once trimmed, mm, 0 to 1000: those in a row, those in a column.
    pub overlap: [f64; 2],
    /// What is cut off each page first, mm, 0 to 1000: left, top, right, bottom.
    pub trim: [f64; 4],
}

/// One sheet of all pages.
pub struct Joined {
    pub sheet: Sheet,
    /// Whether lines may have been parted where pages meet.
    pub parted: bool,
}

/// Where pages go: column and row of each, and how far they overlap.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    pub cells: Vec<(usize, usize)>,
    pub overlap: Vec2,
}

impl Layout {
    /// Pages in a row.
    pub fn columns(&self) -> usize {
        self.cells.iter().map(|c| c.0 + 1).max().unwrap_or(1)
    }
}

/// Columns and rows of `count` pages, so many in a row.
pub fn cells(count: usize, columns: usize, order: Order) -> Vec<(usize, usize)> {
    let rows = count.div_ceil(columns);
    let cell = |k: usize| match order {
        Order::Rows => (k % columns, k / columns),
        Order::Columns => (k / rows, k % rows),
    };
    (0..count).map(cell).collect()
}

/// Joins the pages, as `given` or as found.
///
/// # Errors
///
/// When what is given does not fit the pages.
pub fn join(
    mut pages: Vec<Drawn>,
    given: Option<&Tiles>,
    notes: &mut Vec<String>,
    left_out: &mut LeftOut,
) -> Outcome<Joined> {
    let alike = pages.windows(2).all(|p| {
        let (a, b) = (p[0].paper, p[1].paper);
        (a.width() - b.width()).abs() < 1.0 && (a.height() - b.height()).abs() < 1.0
    });
    if let Some(tiles) = given {
        let mut lengths = tiles.overlap.iter().chain(&tiles.trim);
        let fits = lengths.all(|mm| (0.0..=1000.0).contains(mm));
        if tiles.columns == 0 || !fits {
            return Err(Fault::input(
                "pages can't be joined so: columns are 1 or more, overlap and trim 0 to 1000 mm",
                "count the pages in a row, and measure the overlap",
            ));
        }
        if !alike {
            return Err(Fault::input(
                "the pages are not all of one size",
                "keep only those that make up the sheet",
            ));
        }
        let paper = pages[0].paper;
        let [left, top, right, bottom] = tiles.trim;
        let trimmed = Rect::new(
            paper.x0 + left,
            paper.y0 + top,
            paper.x1 - right,
            paper.y1 - bottom,
        );
        let [across, down] = tiles.overlap;
        // Not by `Rect::width`, which knows no sign.
        if trimmed.x1 - trimmed.x0 <= across || trimmed.y1 - trimmed.y0 <= down {
            return Err(Fault::input(
                "overlap and trim leave nothing of the pages",
                "measure them again",
            ));
        }
        let frame = frames(&mut pages, left_out);
        let layout = Layout {
            cells: cells(pages.len(), tiles.columns, tiles.order),
            overlap: Vec2::new(across, down),
        };
        if pages.len() > 1 {
            joints::judge(&pages, trimmed, &layout, candidates(frame, &pages), notes)?;
        }
        if pages.iter().all(is_labelled) {
            drop_labels(&mut pages, left_out);
        }
        return Ok(laid(pages, trimmed, &layout));
    }
    let frame = frames(&mut pages, left_out);
    if let [page] = pages.as_mut_slice() {
        let sheet = Sheet {
            strokes: std::mem::take(&mut page.strokes),
            texts: std::mem::take(&mut page.texts),
        };
        return Ok(Joined {
            sheet,
            parted: false,
        });
    }
    if alike && let Some((trimmed, found)) = super::seams::find(&pages, candidates(frame, &pages)) {
        let Match { layout, met, ends } = found;
        let again = super::again::words(&layout, pages[0].paper, trimmed);
        notes.push(format!(
            "the {} pages were joined into one sheet of {} in a row, overlapping {} mm and {} mm: \
             {met} of {ends} lines that run over an edge go on on the next page; {again}.",
            pages.len(),
            layout.columns(),
            short(round(layout.overlap.x)),
            short(round(layout.overlap.y)),
        ));
        notes.extend(joints::square(&pages, trimmed, &layout));
        drop_labels(&mut pages, left_out);
        return Ok(laid(pages, trimmed, &layout));
    }
    notes.push(format!(
        "the {} pages were laid side by side, for no way was found in which lines run on from page to \
         page; if they are one sheet, say how many are in a row and how far they overlap.",
        pages.len()
    ));
    let mut sheet = Sheet::default();
    let mut x = 0.0;
    for page in pages {
        let by = Affine::translate((x, 0.0));
        x += page.paper.width() + APART;
        moved(page, by, &mut sheet);
    }
    Ok(Joined {
        sheet,
        parted: false,
    })
}

/// What may count of each page: its frame, what is drawn on any, all of it.
fn candidates(frame: Option<Rect>, pages: &[Drawn]) -> impl Iterator<Item = Rect> {
    let paper = pages.first().map(|page| page.paper);
    frame.into_iter().chain(covered(pages)).chain(paper)
}

fn is_labelled(page: &Drawn) -> bool {
    page.texts.iter().any(|text| label(&text.words).is_some())
}

fn round(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

/// The box of all that is drawn on any page.
fn covered(pages: &[Drawn]) -> Option<Rect> {
    let boxes = pages
        .iter()
        .flat_map(|p| &p.strokes)
        .map(|s| s.path.bounding_box());
    boxes
        .reduce(|a, b| a.union(b))
        .filter(|b| b.width() > 50.0 && b.height() > 50.0)
}

/// Takes the frame drawn round every page out, and says where it is. A rectangle that is
/// not the same on all pages is something drawn.
fn frames(pages: &mut [Drawn], left_out: &mut LeftOut) -> Option<Rect> {
    let several = pages.len() > 1;
    let large = |frame: &Rect, paper: Rect| {
        let share = if several { FRAME } else { 0.9 };
        // Of a single page, only what keeps to its edges all round.
        let even = several
            || (frame.x0 - (paper.width() - frame.x1)).abs() < 5.0
                && (frame.y0 - (paper.height() - frame.y1)).abs() < 5.0;
        even && frame.width() >= share * paper.width() && frame.height() >= share * paper.height()
    };
    let same = |a: &Rect, b: &Rect| {
        let off = [a.x0 - b.x0, a.y0 - b.y0, a.x1 - b.x1, a.y1 - b.y1];
        off.iter().all(|d| d.abs() <= SAME)
    };
    let of = |page: &Drawn| -> Vec<Rect> {
        let all = page.strokes.iter().filter_map(|s| upright(&s.path));
        all.filter(|f| large(f, page.paper)).take(FRAMES).collect()
    };
    let found: Vec<Vec<Rect>> = pages.iter().map(of).collect();
    let (first, others) = found.split_first()?;
    let on_all = |f: &&Rect| others.iter().all(|list| list.iter().any(|g| same(f, g)));
    let frame = *first.iter().find(on_all)?;
    for page in pages {
        page.strokes.retain(|stroke| {
            let is_frame = upright(&stroke.path).is_some_and(|f| same(&f, &frame));
            if is_frame {
                left_out.add(
                    stroke.place.place(),
                    Why::Said("it is the frame of a page", "they are the frames of pages"),
                );
            }
            !is_frame
        });
    }
    Some(frame)
}

/// The rectangle that a path of one closed, upright sub-path is.
pub fn upright(path: &BezPath) -> Option<Rect> {
    let corners: Vec<Point> = path
        .elements()
        .iter()
        .filter_map(PathEl::end_point)
        .collect();
    let lines = path
        .elements()
        .iter()
        .all(|e| !matches!(e, PathEl::CurveTo(..) | PathEl::QuadTo(..)));
    let starts = path
        .elements()
        .iter()
        .filter(|e| matches!(e, PathEl::MoveTo(_)))
        .count();
    if !lines || starts != 1 || !(4..=6).contains(&corners.len()) {
        return None;
    }
    let b = path.bounding_box();
    let near = |a: f64, b: f64| (a - b).abs() < 1e-3;
    let at_corner =
        |p: &Point| (near(p.x, b.x0) || near(p.x, b.x1)) && (near(p.y, b.y0) || near(p.y, b.y1));
    let area = (path.area().abs() / b.area() - 1.0).abs() < 1e-6;
    (corners.iter().all(at_corner) && area).then_some(b)
}

/// Takes the pages' own labels (A1, B2) out.
fn drop_labels(pages: &mut [Drawn], left_out: &mut LeftOut) {
    for page in pages {
        page.texts.retain(|text| {
            let is_label = label(&text.words).is_some();
            if is_label {
                left_out.add(
                    text.place.place(),
                    Why::Said("it is the label of a page", "they are the labels of pages"),
                );
            }
            !is_label
        });
    }
}

/// The letter (from 0) and number (from 1) of a page's label.
pub fn label(words: &str) -> Option<(usize, usize)> {
    let words = words.trim();
    let letter = words.chars().next().filter(char::is_ascii_uppercase)?;
    let number = words[1..].trim_start_matches(['-', ' ']);
    let number: usize = number.parse().ok().filter(|n| (1..=99).contains(n))?;
    Some((letter as usize - 'A' as usize, number))
}

/// All pages in their places, each cut to its own part of the sheet.
fn laid(pages: Vec<Drawn>, trimmed: Rect, layout: &Layout) -> Joined {
    let step = Vec2::new(
        trimmed.width() - layout.overlap.x,
        trimmed.height() - layout.overlap.y,
    );
    let last = layout
        .cells
        .iter()
        .fold((0, 0), |m, c| (m.0.max(c.0), m.1.max(c.1)));
    let mut sheet = Sheet::default();
    for (page, &(column, row)) in pages.into_iter().zip(&layout.cells) {
        // Half of each overlap is a page's own; what sticks out at the sheet's rim stays.
        let half = layout.overlap / 2.0;
        let far = 1e6;
        let own = Rect::new(
            if column > 0 {
                trimmed.x0 + half.x
            } else {
                -far
            },
            if row > 0 { trimmed.y0 + half.y } else { -far },
            if column < last.0 {
                trimmed.x1 - half.x
            } else {
                far
            },
            if row < last.1 {
                trimmed.y1 - half.y
            } else {
                far
            },
        );
        let mut page = page;
        for stroke in &mut page.strokes {
            stroke.path = clip::cut(&stroke.path, own);
        }
        page.texts.retain(|text| own.contains(text.at));
        let by = Affine::translate((
            column as f64 * step.x - trimmed.x0,
            row as f64 * step.y - trimmed.y0,
        ));
        moved(page, by, &mut sheet);
    }
    Joined {
        sheet,
        parted: true,
    }
}

fn moved(page: Drawn, by: Affine, sheet: &mut Sheet) {
    let strokes = page
        .strokes
        .into_iter()
        .filter(|s| !s.path.elements().is_empty());
    sheet.strokes.extend(strokes.map(|stroke| Stroke {
        path: by * stroke.path,
        ..stroke
    }));
    sheet.texts.extend(page.texts.into_iter().map(|text| Text {
        at: by * text.at,
        ..text
    }));
}
