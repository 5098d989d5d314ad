//! Sentences at the person's edge of the table.

use super::Glow;
use super::over::Notice;
use super::pen::{GROUND, Pen};
use super::rim::{Top, seen};
use crate::light::{Letters, lettering};
use crate::measure;
use crate::space::{Bounds, Point};
use crate::stand::{Person, Side};
use crate::work::{Bench, Said};

/// How wide lines may be, of the table: narrower where its light is askew.
const SHARES: [f64; 3] = [0.8, 0.6, 0.4];

/// Letters in a line, at least.
const LEAST: usize = 12;

/// What is asked for, and what the program has to say, the newest last: wholly on the
/// table, as near to the person as may be.
pub(super) fn say(glow: &mut Glow, pen: &mut Pen, bench: &Bench, asks: &[String], notice: &Notice) {
    let mut sentences: Vec<String> = notice.lines.clone();
    sentences.extend(notice.trouble.clone());
    sentences.extend(bench.unchecked().map(str::to_owned));
    sentences.extend_from_slice(asks);
    sentences.extend(notice.shade.clone());
    sentences.extend(notice.said.as_ref().map(signed));
    let side = bench.ways().stands;
    let Glow {
        letters,
        top,
        lit,
        keys,
        ..
    } = glow;
    let keys = keys.map(|k| seen(side, &k));
    for top in Top::known(top, bench, lit) {
        // Where there is no room for all, the oldest go: the panel has them.
        for first in 0..sentences.len() {
            if let Some((lines, middle)) =
                placed(letters, &top, &sentences[first..], side, keys.as_ref())
            {
                let middle = side.to_table(middle.to_vector()).to_point();
                pen.words(letters, &lines, middle, side);
                return;
            }
        }
    }
}

/// Sentences in lines, and the middle of these, where there is room for all of them.
fn placed(
    letters: &mut Letters,
    top: &Top,
    sentences: &[String],
    side: Side,
    but: Option<&Bounds<Person>>,
) -> Option<(Vec<String>, Point<Person>)> {
    SHARES.into_iter().find_map(|share| {
        let wide = top.seen().width() * share / (super::WORDS * 0.75);
        let lines: Vec<String> = sentences
            .iter()
            .flat_map(|s| measure::lines(s, (wide as usize).max(LEAST)))
            .collect();
        let room = room(letters, &lines, side)?;
        let at = top.near([room.width(), room.height()], but)?;
        Some((lines, at.center() - room.center().to_vector()))
    })
}

/// The room of lines and their ground about their middle, as the person sees it.
fn room(letters: &mut Letters, lines: &[String], side: Side) -> Option<Bounds<Person>> {
    let set = lettering(letters, lines, Point::origin(), side);
    let all = set.lines.iter().copied().reduce(|a, b| a.union(&b))?;
    Some(seen(side, &all.inflate(GROUND, GROUND)))
}

/// A warning is told by its sign, not by its brightness.
pub(super) fn signed(said: &Said) -> String {
    let sign = if said.warning { "! " } else { "" };
    format!("{sign}{}", said.words)
}
