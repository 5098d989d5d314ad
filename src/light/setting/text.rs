//! Pages that are nothing but words.

use super::Page;
use super::sheet::{Align, Sheet};
use crate::fault::Outcome;
use crate::projection::Upright;

/// What to do in the projector before anything else, and why.
const FIRST: [&str; 3] = [
    "In the projector's own menu, switch off automatic keystone and automatic focus.",
    "A projector that corrects by itself moves the light after it was set. \
     The program can't see that, and what is cut comes out wrong.",
    "Set its picture to native size: no zoom, no overscan. Switch off what dims it by itself.",
];

/// The cautions of the trade.
/// What must not be overlooked; shown where it applies.
pub const CAUTIONS: [&str; 5] = [
    "Mount: a falling projector injures. Keep to the mount maker's load rating and to local \
     building and electrical codes. Use a safety cable. Leave mains wiring to a licensed person.",
    "Light: do not look into the lens. Keep it above eye level or shield it, and mind the risk \
     group on its label.",
    "Hands: the holding hand stays behind the blade and off the line. Close a wheel's guard \
     whenever you put it down. Never reach for a key with the blade moving. Cut on a mat.",
    "Cloth: wash old cloth before cutting it, and look for pins and metal.",
    "The millimetres are an aid: measure before you cut what can't be replaced.",
];

/// How to read a mark in the grid.
const READING: [&str; 3] = [
    "Next comes a grid of light. Walk to each of the four marks and read where it lies.",
    "First the name of its cell, such as H12. Then count fine lines: from the cell's left line \
     across, and from its far line towards you, as the letters stand; judge tenths.",
    "Example: H12 3.5 7.2. Type the four readings.",
];

/// Largest capitals on a page of text: the picture's shorter side over this.
const LARGEST_SHARE: f64 = 14.0;

/// Each try at fitting text is this much smaller than the last.
const SMALLER: f64 = 0.93;

/// Switch off what corrects by itself, and why.
///
/// # Errors
/// As all pages: if the bundled font can't be read.
pub fn first_words(on: &Upright) -> Outcome<Vec<Page>> {
    paged(on, &FIRST)
}

/// Mount, light, hands and cloth; in a small picture on more than one page.
///
/// # Errors
/// As [`first_words`].
pub fn cautions(on: &Upright) -> Outcome<Vec<Page>> {
    paged(on, &CAUTIONS)
}

/// How a mark is read in the grid of light.
///
/// # Errors
/// As [`first_words`].
pub fn how_to_read(on: &Upright) -> Outcome<Vec<Page>> {
    paged(on, &READING)
}

/// Paragraphs as large as they fit on one page; where the least size is too
/// large for one, on several.
fn paged(on: &Upright, paragraphs: &[&str]) -> Outcome<Vec<Page>> {
    let [w, h] = on.picture.map(f64::from);
    let least = Sheet::usual_capital(on);
    let mut capital = (w.min(h) / LARGEST_SHARE).max(least);
    loop {
        let mut sheet = Sheet::with_capital(on, capital)?;
        let inner = sheet.inner();
        let broken: Vec<Vec<String>> = paragraphs
            .iter()
            .map(|p| sheet.wrap(p, inner.width()))
            .collect();
        // Paragraphs stand half a line apart.
        let (mut pages, mut top, mut onto_next) = (Vec::new(), inner.min.y, false);
        for paragraph in &broken {
            if top > inner.min.y {
                top += sheet.pitch() / 2.0;
            }
            for (k, line) in paragraph.iter().enumerate() {
                // One is kept whole if any page can hold it.
                let whole = sheet.height_of(paragraph.len());
                let keep = k == 0 && whole <= inner.height();
                let needs = if keep { whole } else { sheet.height_of(1) };
                if top + needs > inner.max.y && top > inner.min.y {
                    onto_next = true;
                    let full = std::mem::replace(&mut sheet, Sheet::with_capital(on, capital)?);
                    pages.push(full.finish());
                    top = inner.min.y;
                }
                sheet.line(line, inner.min.x, top, Align::Left);
                top += sheet.pitch();
            }
        }
        if !onto_next || capital <= least {
            pages.push(sheet.finish());
            return Ok(pages);
        }
        capital = (capital * SMALLER).max(least);
    }
}

/// A sentence or more at the reader's own edge, such as a fault. What is too
/// long for the picture is set smaller, never cut short.
///
/// # Errors
/// As [`first_words`].
pub fn say(lines: &[&str], on: &Upright) -> Outcome<Page> {
    let mut capital = Sheet::usual_capital(on);
    loop {
        let mut sheet = Sheet::with_capital(on, capital)?;
        let inner = sheet.inner();
        let broken: Vec<String> = lines
            .iter()
            .flat_map(|l| sheet.wrap(l, inner.width()))
            .collect();
        let high = sheet.height_of(broken.len());
        // Below a pixel nothing can be read, nor shown.
        if high <= inner.height() || capital < 1.0 {
            let (x, top) = (inner.center().x, inner.max.y - high);
            sheet.lines(&broken, x, top, Align::Middle);
            return Ok(sheet.finish());
        }
        capital *= SMALLER;
    }
}

/// How long the light has been on, and how long a projector moves while it
/// warms (an estimate from the bench).
pub fn warm_up_words(minutes: u32) -> String {
    format!("lit for {minutes} min; settles after 20 to 30 min (estimate)")
}

/// The warm-up clock: `minutes` since first light, at the reader's edge.
///
/// # Errors
/// As [`first_words`].
pub fn warm_up(on: &Upright, minutes: u32) -> Outcome<Page> {
    say(&[&warm_up_words(minutes)], on)
}
