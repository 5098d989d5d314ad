//! Pages laid as a person says: do lines go on where they meet?
//!
//! Where two pages meet, each is cut in the middle of their overlap. What crosses that
//! line on the one must cross it on the other, at the same height.

use kurbo::Rect;

use super::interpret::Drawn;
use super::seams::{self, ENOUGH, crossings};
use super::tiles::{Layout, SEAM};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Polyline;

/// Two crossings of one page nearer than this are one, mm: both segments at a vertex cross.
const ONE: f64 = 0.05;
/// An overlap wrong by so much is to be seen, mm.
const SEEN: f64 = 2.0;
/// So many places are named.
const NAMED: usize = 3;

/// What is found where pages meet.
#[derive(Default)]
struct Joints {
    /// Lines that go on.
    on: usize,
    /// Those that don't: on which page, at which of its edges, how far along that, mm.
    broken: Vec<(usize, &'static str, f64)>,
}

/// Says of a given layout how many lines go on where pages meet.
///
/// # Errors
///
/// When less than [`ENOUGH`] of them do, or none runs over a joint and there is another way
/// (what counts of a page being one of `others`) in which they do.
pub fn judge(
    pages: &[Drawn],
    trimmed: Rect,
    layout: &Layout,
    others: impl Iterator<Item = Rect>,
    notes: &mut Vec<String>,
) -> Outcome<()> {
    let Some(lines) = all_lines(pages) else {
        notes.push("there are too many lines to check where the pages meet.".to_owned());
        return Ok(());
    };
    let found = at_joints(&lines, trimmed, layout, [0.0; 2]);
    let (on, all) = (found.on, found.on + found.broken.len());
    if on as f64 >= ENOUGH * all as f64 && on > 0 {
        let broken = match found.broken.as_slice() {
            [] => String::new(),
            broken => format!("; none goes on from {}: look there", named(broken)),
        };
        notes.push(format!(
            "of {all} lines that run over where pages meet, {on} go on within {SEAM} mm{broken}."
        ));
        notes.extend(square(pages, trimmed, layout));
        return Ok(());
    }
    let what = match all {
        0 => "laid so, no line runs over from page to page".to_owned(),
        _ => format!(
            "laid so, only {on} of {all} lines that run over where pages meet go on within {SEAM} \
             mm: none does from {}",
            named(&found.broken)
        ),
    };
    if let Some((trim, found)) = seams::find(pages, others) {
        let again = super::again::words(&found.layout, pages[0].paper, trim);
        return Err(Fault::input(
            what,
            format!(
                "leave the layout out: {} of {} go on in another one ({again})",
                found.met, found.ends
            ),
        ));
    }
    if all == 0 {
        notes.push(format!(
            "{what}, so nothing shows that the pages lie right: measure what reaches over two of them."
        ));
        return Ok(());
    }
    Err(Fault::input(
        what,
        "measure the overlap, and what is trimmed off each side, again",
    ))
}

/// Says so where the lines run so square to the joints that a wrong overlap would not show.
pub fn square(pages: &[Drawn], trimmed: Rect, layout: &Layout) -> Option<String> {
    let lines = all_lines(pages)?;
    let all = |by: [f64; 2]| {
        let found = at_joints(&lines, trimmed, layout, by);
        (found.on > 0).then_some(found.on as f64 / (found.on + found.broken.len()) as f64)
    };
    let as_laid = all([0.0; 2])?;
    // Farther in on either page: there it has lines to be compared.
    let alike = [[SEEN, 0.0], [0.0, SEEN]]
        .into_iter()
        .all(|by| all(by).is_some_and(|share| share >= as_laid));
    alike.then(|| {
        format!(
            "the lines run so square over where pages meet that an overlap wrong by {} mm would not \
             show: measure what reaches over two pages.",
            short(SEEN)
        )
    })
}

fn all_lines(pages: &[Drawn]) -> Option<Vec<Vec<Polyline>>> {
    pages.iter().map(|p| seams::lines(p, p.paper)).collect()
}

/// What crosses where neighbours meet; or so many mm farther in on the one and on the other.
fn at_joints(lines: &[Vec<Polyline>], trimmed: Rect, layout: &Layout, farther: [f64; 2]) -> Joints {
    let mut found = Joints::default();
    let half = layout.overlap / 2.0;
    let at = |cell: (usize, usize)| layout.cells.iter().position(|c| *c == cell);
    for (a, &(column, row)) in layout.cells.iter().enumerate() {
        for across in [true, false] {
            let next = if across {
                (column + 1, row)
            } else {
                (column, row + 1)
            };
            let Some(b) = at(next) else { continue };
            let (high, low, from, to, names) = if across {
                let (from, to) = (trimmed.y0 + half.y, trimmed.y1 - half.y);
                let (high, low) = (trimmed.x1 - half.x, trimmed.x0 + half.x);
                (high, low, from, to, ["right", "left"])
            } else {
                let (from, to) = (trimmed.x0 + half.x, trimmed.x1 - half.x);
                let (high, low) = (trimmed.y1 - half.y, trimmed.y0 + half.y);
                (high, low, from, to, ["lower", "upper"])
            };
            let crossed = |page: usize, place: f64| {
                let mut all = crossings(&lines[page], place, across);
                all.retain(|u| (from..=to).contains(u));
                all.dedup_by(|a, b| (*a - *b).abs() < ONE);
                all
            };
            let ours = crossed(a, high - farther[0]);
            let theirs = crossed(b, low + farther[1]);
            let goes_on = |u: &f64, into: &[f64]| into.iter().any(|v| (u - v).abs() <= SEAM);
            let (on, broken): (Vec<f64>, Vec<f64>) = ours.iter().partition(|u| goes_on(u, &theirs));
            found.on += on.len();
            found
                .broken
                .extend(broken.iter().map(|&u| (a, names[0], u)));
            let broken = theirs.iter().filter(|u| !goes_on(u, &ours));
            found.broken.extend(broken.map(|&u| (b, names[1], u)));
        }
    }
    found
}

/// `page 1's right edge 120 mm from its top`, for the first few.
fn named(broken: &[(usize, &str, f64)]) -> String {
    let places: Vec<String> = broken
        .iter()
        .take(NAMED)
        .map(|(page, edge, along)| {
            let from = match *edge {
                "right" | "left" => "top",
                _ => "left",
            };
            let mm = short(along.round());
            format!("page {}'s {edge} edge {mm} mm from its {from}", page + 1)
        })
        .collect();
    let more = broken.len().saturating_sub(NAMED);
    let and = if more > 0 {
        format!(" and {more} more")
    } else {
        String::new()
    };
    places.join(", ") + &and
}
