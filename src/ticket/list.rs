//! The list of all that is cut for an order, cloth by cloth.

use super::gather::{Ticket, TicketPart};
use crate::fault::counted;
use crate::lay::Hands;
use crate::measure::Unit;
use crate::shape::bounds;
use crate::sheet::{Page, Paper, broken};
use std::collections::BTreeMap;

const MARGIN: f64 = 12.0;
const TITLE: f64 = 6.0;
const HEAD: f64 = 4.0;
const PLAIN: f64 = 3.0;
const LEADING: f64 = 1.5;

/// Pages of the cut list: every part by cloth, with the articles that it is for, what is cut
/// of it; what is cut by length; what is bought.
pub fn cut_list(
    job: &str,
    tickets: &[Ticket],
    plan: &[String],
    paper: Paper,
    unit: Unit,
) -> Vec<Page> {
    let mut pen = Pen::new(paper);
    pen.line(TITLE, job);
    let spare = tickets.iter().filter(|t| t.spare).count();
    let count = tickets.len() - spare;
    let more = match spare {
        0 => String::new(),
        n => format!(", and {n} spare"),
    };
    let articles = counted(count, "article", "articles");
    pen.line(PLAIN, &format!("{articles}{more}"));
    for (cloth, parts) in by_cloth(tickets) {
        pen.title(&cloth);
        for row in parts {
            pen.part(&row, unit);
        }
    }
    let tapes = tickets
        .iter()
        .flat_map(|t| t.tapes.iter().map(move |tape| (t.article, tape)));
    let mut first = true;
    for (article, tape) in tapes {
        if std::mem::take(&mut first) {
            pen.title("by length");
        }
        let from = tape
            .cloth
            .as_deref()
            .map_or(String::new(), |c| format!(" of {c}"));
        let wide = tape
            .width
            .map_or(String::new(), |w| format!(", {} wide", unit.show(w)));
        let bias = if tape.bias { ", on the bias" } else { "" };
        let text = format!(
            "{} x {} for {article}{from}{wide}{bias}: {} ({})",
            tape.count,
            tape.name,
            unit.show(tape.total),
            tape.words(unit)
        );
        pen.boxed(&text);
    }
    let mut bought: BTreeMap<(&str, Option<&str>), u32> = BTreeMap::new();
    for b in tickets.iter().flat_map(|t| t.bought) {
        *bought.entry((&b.name, b.length.as_deref())).or_default() += b.count;
    }
    if !bought.is_empty() {
        pen.title("bought");
        for ((name, length), count) in bought {
            let long = length.map_or(String::new(), |l| format!(", {l} each"));
            pen.boxed(&format!("{count} x {name}{long}"));
        }
    }
    if !plan.is_empty() {
        pen.title("sheets, in the order in which they are cut");
        for line in plan {
            pen.boxed(line);
        }
    }
    pen.full.push(pen.last);
    pen.full
}

/// A part of one cloth, all articles together.
struct PartRow<'t> {
    part: &'t TicketPart<'t>,
    count: u32,
    hands: Hands,
    cut: Hands,
    articles: Vec<&'t str>,
}

fn by_cloth<'t>(tickets: &'t [Ticket<'t>]) -> BTreeMap<String, Vec<PartRow<'t>>> {
    let mut all: BTreeMap<String, Vec<PartRow>> = BTreeMap::new();
    for ticket in tickets {
        for part in &ticket.parts {
            let rows = all.entry(part.cloth.to_owned()).or_default();
            let same =
                |r: &&mut PartRow| r.part.piece.name == part.piece.name && r.part.pair == part.pair;
            match rows.iter_mut().find(same) {
                Some(row) => {
                    row.count += part.count;
                    row.hands = row.hands + ordered(part);
                    row.cut = row.cut + part.cut;
                    row.articles.push(ticket.article);
                }
                None => rows.push(PartRow {
                    part,
                    count: part.count,
                    hands: ordered(part),
                    cut: part.cut,
                    articles: vec![ticket.article],
                }),
            }
        }
    }
    all
}

/// As many of either hand as are ordered.
fn ordered(part: &TicketPart) -> Hands {
    match part.pair {
        true => Hands {
            up: part.count.div_ceil(2),
            down: part.count / 2,
        },
        false => Hands {
            up: part.count,
            down: 0,
        },
    }
}

/// Lines down the pages.
struct Pen {
    full: Vec<Page>,
    last: Page,
    paper: Paper,
    y: f64,
}

impl Pen {
    fn new(paper: Paper) -> Self {
        Self {
            full: Vec::new(),
            last: Page::new(paper),
            paper,
            y: paper.size_mm().1 - MARGIN,
        }
    }

    fn inner(&self) -> f64 {
        self.paper.size_mm().0 - 2.0 * MARGIN
    }

    /// Makes room for so much, on a new page if need be.
    fn room(&mut self, size: f64, lines: usize) {
        let high = size * LEADING * lines as f64;
        if self.y - high < MARGIN {
            let full = std::mem::replace(&mut self.last, Page::new(self.paper));
            self.full.push(full);
            self.y = self.paper.size_mm().1 - MARGIN;
        }
    }

    fn line(&mut self, size: f64, text: &str) {
        for text in broken(text, size, self.inner()) {
            self.room(size, 1);
            self.y -= size * LEADING;
            let y = self.y;
            let page = &mut self.last;
            page.words((MARGIN, y), size, &text);
        }
    }

    fn title(&mut self, text: &str) {
        // A title is not left alone at the foot of a page.
        self.room(HEAD, 4);
        self.y -= 2.0;
        self.line(HEAD, text);
        let y = self.y - 1.2;
        let inner = self.inner();
        let page = &mut self.last;
        page.line((MARGIN, y), (MARGIN + inner, y), 0.2);
        self.y -= 1.5;
    }

    /// A box to tick, and what it is for.
    fn boxed(&mut self, text: &str) {
        let indent = PLAIN + 2.0;
        let lines = broken(text, PLAIN, self.inner() - indent);
        self.room(PLAIN, lines.len().min(40));
        for (k, text) in lines.iter().enumerate() {
            self.room(PLAIN, 1);
            self.y -= PLAIN * LEADING;
            let y = self.y;
            let page = &mut self.last;
            if k == 0 {
                page.square((MARGIN, y - 0.2), PLAIN);
            }
            page.words((MARGIN + indent, y), PLAIN, text);
        }
    }

    fn part(&mut self, row: &PartRow, unit: Unit) {
        let p = row.part;
        let hands = match p.pair {
            true => format!(" ({} as drawn, {} mirrored)", row.hands.up, row.hands.down),
            false => String::new(),
        };
        let size = bounds(p.piece.cut.iter().flatten().copied()).map_or(String::new(), |b| {
            format!(", {} x {}", unit.show(b.width()), unit.show(b.height()))
        });
        let marks = p.marks().map_or(String::new(), |m| format!("; {m}"));
        let done = match row.cut.sum() {
            0 => String::new(),
            n => format!("; {n} cut"),
        };
        let articles = list(&row.articles);
        self.boxed(&format!(
            "{} x {}{hands}{size}; for {articles}{marks}{done}",
            row.count, p.piece.name
        ));
    }
}

/// `1, 2, 3` as it is; of many the first and the last.
fn list(articles: &[&str]) -> String {
    match articles {
        [first, .., last] if articles.len() > 12 => {
            format!("{} articles, {first} to {last}", articles.len())
        }
        all => all.join(", "),
    }
}
