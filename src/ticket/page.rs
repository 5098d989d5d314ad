//! Tickets on pages, several a sheet: cut apart along the dashes, one goes with each bundle.

use super::gather::{Ticket, TicketPart};
use super::picture;
use crate::measure::Unit;
use crate::shape::bounds;
use crate::sheet::{Page, Paper, Path, broken, width};

/// Left clear at every edge of the paper, mm: what most printers can't reach is less.
const MARGIN: f64 = 10.0;
/// A part's place, mm: so wide at least, and so high for its picture.
const CELL: f64 = 44.0;
const PICTURE: f64 = 24.0;
/// Sizes of text, mm, and from one line to the next.
const LARGE: f64 = 6.5;
const PLAIN: f64 = 2.9;
const SMALL: f64 = 2.4;
const LEADING: f64 = 1.3;
/// Between a ticket's rows, mm.
const GAP: f64 = 2.0;
/// Lines of a note, and under a part's picture, at most; longer ones are cut short. So a heading
/// and any row have room on a page.
const NOTE_LINES: usize = 8;
const PART_LINES: usize = 40;

/// A row of a ticket, which is not parted: how high it is, and what is in it.
enum Row<'t> {
    /// The ticket's name, whether it goes on here, and the lines of its note.
    Head(&'t Ticket<'t>, bool, Vec<String>),
    Parts(Vec<(&'t TicketPart<'t>, Vec<String>)>),
    /// A line with so many boxes to tick before it.
    Line(u32, String),
    Title(&'static str),
}

impl Row<'_> {
    fn height(&self) -> f64 {
        match self {
            Row::Head(_, _, note) => LARGE + PLAIN + note.len() as f64 * PLAIN * LEADING,
            Row::Parts(cells) => {
                let lines = cells.iter().map(|(_, lines)| lines.len()).max();
                PICTURE + lines.unwrap_or(0) as f64 * SMALL * LEADING + GAP
            }
            Row::Line(..) => PLAIN * LEADING,
            Row::Title(_) => PLAIN * LEADING + 1.0,
        }
    }
}

/// Pages of tickets.
pub fn ticket_pages(tickets: &[Ticket], paper: Paper, unit: Unit) -> Vec<Page> {
    let (wide, high) = paper.size_mm();
    let inner = wide - 2.0 * MARGIN;
    let mut pages: Vec<Page> = Vec::new();
    let mut y = 0.0;
    for ticket in tickets {
        let rows = rows(ticket, inner, unit);
        let all: f64 = rows.iter().map(Row::height).sum::<f64>() + 2.0 * GAP;
        let fits = pages.last().is_some() && y - all > MARGIN;
        match pages.last_mut().filter(|_| fits) {
            Some(page) => {
                page.path(dashes((0.0, y), (wide, y)));
                y -= 2.0 * GAP;
            }
            None => {
                pages.push(Page::new(paper));
                y = high - MARGIN;
            }
        }
        for (k, row) in rows.iter().enumerate() {
            // Nothing is gained by a new page under the heading alone; and a title does not stand
            // alone at a page's foot.
            let follows = match row {
                Row::Title(_) => rows.get(k + 1).map_or(0.0, Row::height),
                _ => 0.0,
            };
            if k > 1 && y - row.height() - follows < MARGIN {
                pages.push(Page::new(paper));
                y = high - MARGIN;
                let head = Row::Head(ticket, true, noted(ticket, inner));
                if let Some(page) = pages.last_mut() {
                    put(page, &head, y, inner);
                }
                y -= head.height();
            }
            if let Some(page) = pages.last_mut() {
                put(page, row, y, inner);
            }
            y -= row.height();
        }
        y -= 2.0 * GAP;
    }
    pages
}

fn dashes(from: (f64, f64), to: (f64, f64)) -> Path {
    Path {
        points: vec![from, to],
        closed: false,
        width: 0.15,
        dash: Some((3.0, 2.0)),
    }
}

fn noted(ticket: &Ticket, inner: f64) -> Vec<String> {
    let lines = ticket.note.map(|note| broken(note, PLAIN, inner));
    shortened(lines.unwrap_or_default(), NOTE_LINES)
}

/// So many lines at most; the last says if there are more.
fn shortened(mut lines: Vec<String>, most: usize) -> Vec<String> {
    if lines.len() > most {
        lines.truncate(most - 1);
        lines.push("...".to_owned());
    }
    lines
}

fn rows<'t>(ticket: &'t Ticket<'t>, inner: f64, unit: Unit) -> Vec<Row<'t>> {
    let mut rows = vec![Row::Head(ticket, false, noted(ticket, inner))];
    let columns = (inner / CELL).floor().max(1.0) as usize;
    let cell = inner / columns as f64;
    for parts in ticket.parts.chunks(columns) {
        let cells = parts.iter().map(|p| (p, about(p, cell - 2.0, unit)));
        rows.push(Row::Parts(cells.collect()));
    }
    let line = |boxes: u32, text: &str| -> Vec<Row<'t>> {
        let indent = boxes_wide(boxes);
        let lines = broken(text, PLAIN, inner - indent);
        let lines = lines.into_iter().enumerate();
        lines
            .map(|(k, text)| match k {
                0 => Row::Line(boxes, text),
                _ => Row::Line(0, format!("    {text}")),
            })
            .collect()
    };
    if !ticket.tapes.is_empty() {
        rows.push(Row::Title("cut by length"));
        for tape in &ticket.tapes {
            let marks = tape
                .marks
                .iter()
                .map(|m| format!("{} {}", m.is.words(), unit.show(m.at)));
            let from = tape
                .cloth
                .as_deref()
                .map_or(String::new(), |c| format!(" of {c}"));
            let bias = if tape.bias { ", on the bias" } else { "" };
            let wide = tape
                .width
                .map_or(String::new(), |w| format!(", {} wide", unit.show(w)));
            let marks: Vec<String> = marks.collect();
            let text = format!(
                "{}{from}{wide}{bias}: {}; marks at {}",
                tape.name,
                unit.show(tape.total),
                marks.join(", ")
            );
            rows.extend(line(tape.count, &text));
        }
    }
    if !ticket.bought.is_empty() {
        rows.push(Row::Title("bought"));
        for b in ticket.bought {
            let long = b
                .length
                .as_ref()
                .map_or(String::new(), |l| format!(", {l}"));
            rows.extend(line(b.count, &format!("{}{long}", b.name)));
        }
    }
    if !ticket.sew.is_empty() {
        rows.push(Row::Title("sewn in this order"));
        for (k, step) in ticket.sew.iter().enumerate() {
            rows.extend(line(1, &format!("{}. {step}", k + 1)));
        }
    }
    rows
}

/// What is said under a part's picture.
fn about(part: &TicketPart, most: f64, unit: Unit) -> Vec<String> {
    let mut lines = Vec::new();
    let mut say = |text: String| lines.extend(broken(&text, SMALL, most));
    say(format!("{}, {}", part.piece.name, part.cloth));
    say(part.hands());
    if let Some(b) = bounds(part.piece.cut.iter().flatten().copied()) {
        say(format!(
            "{} x {}",
            unit.show(b.width()),
            unit.show(b.height())
        ));
    }
    part.marks().into_iter().for_each(&mut say);
    part.shade.clone().into_iter().for_each(&mut say);
    if !part.alike.is_empty() {
        say(format!("not to be taken for {}", part.alike.join(", ")));
    }
    let mut lines = shortened(lines, PART_LINES);
    // The boxes to tick.
    lines.push(String::new());
    lines
}

/// Boxes side by side, mm; more than twelve are one.
fn boxes_wide(count: u32) -> f64 {
    f64::from(drawn_boxes(count)) * (PLAIN + 0.8) + if count > 12 { 9.0 } else { 0.0 }
}

fn drawn_boxes(count: u32) -> u32 {
    if count > 12 { 1 } else { count }
}

/// Boxes from `x` on, of which the first `ticked` are; many are one, with their number.
fn boxes(page: &mut Page, (x, y): (f64, f64), size: f64, count: u32, ticked: u32) {
    let shown = drawn_boxes(count);
    for k in 0..shown {
        let left = x + f64::from(k) * (size + 0.8);
        page.square((left, y), size);
        if k < ticked && (count == shown || ticked >= count) {
            page.line((left, y), (left + size, y + size), 0.25);
            page.line((left, y + size), (left + size, y), 0.25);
        }
    }
    if shown < count {
        let text = format!("x {count}");
        page.words((x + size + 1.2, y), SMALL, &text);
    }
}

fn put(page: &mut Page, row: &Row, y: f64, inner: f64) {
    match row {
        Row::Head(ticket, goes_on, note) => {
            let more = if *goes_on { ", continued" } else { "" };
            let spare = if ticket.spare { ", spare" } else { "" };
            let name = format!("{}{spare}{more}", ticket.article);
            page.words((MARGIN, y - LARGE), LARGE, &name);
            let right = (MARGIN + inner, y - PLAIN);
            page.text_right(right, PLAIN, ticket.job);
            for (k, line) in note.iter().enumerate() {
                let base = y - LARGE - PLAIN * LEADING * (k as f64 + 1.0);
                page.words((MARGIN, base), PLAIN, line);
            }
        }
        Row::Parts(cells) => {
            let columns = (inner / CELL).floor().max(1.0);
            let wide = inner / columns;
            for (k, (part, lines)) in cells.iter().enumerate() {
                cell(page, part, lines, MARGIN + k as f64 * wide, y, wide - 2.0);
            }
        }
        Row::Line(count, text) => {
            let base = y - PLAIN;
            boxes(page, (MARGIN, base), PLAIN - 0.4, *count, 0);
            page.words((MARGIN + boxes_wide(*count), base), PLAIN, text);
        }
        Row::Title(text) => {
            let base = y - PLAIN - 1.0;
            page.words((MARGIN, base), PLAIN, text);
            let from = MARGIN + width(text, PLAIN) + 2.0;
            page.line((from, base + 1.0), (MARGIN + inner, base + 1.0), 0.1);
        }
    }
}

fn cell(page: &mut Page, part: &TicketPart, lines: &[String], x: f64, y: f64, wide: f64) {
    let bottom = y - PICTURE;
    if part.pair {
        // Either hand as it looks on its face side.
        let half = wide / 2.0 - 1.0;
        picture::draw(page, part.piece, [x, bottom, half, PICTURE - 1.0], false);
        let right = [x + half + 2.0, bottom, half, PICTURE - 1.0];
        picture::draw(page, part.piece, right, true);
    } else {
        picture::draw(page, part.piece, [x, bottom, wide, PICTURE - 1.0], false);
    }
    let mut base = bottom - SMALL - 0.4;
    for line in lines.iter().take(lines.len().saturating_sub(1)) {
        page.words((x, base), SMALL, line);
        base -= SMALL * LEADING;
    }
    boxes(page, (x, base), SMALL, part.count, part.cut.sum());
}
