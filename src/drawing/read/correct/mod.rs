//! What a reader guessed, put right by a person: names, counts, what each stroke is, which
//! way the grain runs. A [`Correction`] says one such thing of what was read; all of them
//! together make another pattern, by the same step that makes pieces of any file, so that a
//! corrected piece is as sound as a drawn one.
//!
//! The size is not among them: a curve that was read at another scale was flattened too
//! coarsely, or too finely, so the file is read again ([`CorrectionDesk::scale_to`]).

mod desk;
mod stroke;

#[cfg(test)]
mod tests;

use std::borrow::Cow;

pub use desk::CorrectionDesk;
pub use stroke::{Stroke, Taken, strokes};

use super::drawn::assemble;
use super::drawn::drawing::{Drawing, Drawn, Group};
use super::drawn::left_out::{LeftOut, Why};
use super::drawn::place::{Part, Place, excerpt};
use super::drawn::roles::Told;
use super::scale;
use crate::fault::{Fault, Outcome};
use crate::pattern::{NotchKind, Pattern, PatternPiece};
use crate::shape::surrounds;

/// A piece is cut at most this often.
const MOST_CUT: u32 = 999;
/// Letters of a name at most.
const LONGEST_NAME: usize = 60;

/// One thing that a person says of what was read. Pieces and strokes are counted from 0, in
/// the pattern as it was read; of several that say the same thing the last one counts.
#[derive(Debug, Clone, PartialEq)]
pub enum Correction {
    /// What the piece is called.
    Name { piece: usize, name: String },
    /// How many are cut of it, 1 to 999, and whether as left and right.
    Count { piece: usize, cut: u32, pair: bool },
    /// What a stroke is.
    Take {
        piece: usize,
        stroke: usize,
        taken: Taken,
    },
    /// The grain's head is where its tail was.
    TurnGrain { piece: usize },
    /// It is no piece of the pattern.
    LeaveOut { piece: usize },
}

impl Correction {
    /// Whether both say the same kind of thing of the same piece or stroke.
    pub fn replaces(&self, other: &Self) -> bool {
        use Correction as C;
        match (self, other) {
            (C::Name { piece: a, .. }, C::Name { piece: b, .. })
            | (C::Count { piece: a, .. }, C::Count { piece: b, .. })
            | (C::TurnGrain { piece: a }, C::TurnGrain { piece: b })
            | (C::LeaveOut { piece: a }, C::LeaveOut { piece: b }) => a == b,
            (
                C::Take {
                    piece: a,
                    stroke: k,
                    ..
                },
                C::Take {
                    piece: b,
                    stroke: l,
                    ..
                },
            ) => (a, k) == (b, l),
            _ => false,
        }
    }
}

/// A piece with what was said of it.
struct Said {
    name: String,
    cut: u32,
    pair: bool,
    left_out: bool,
    turned: bool,
    strokes: Vec<Stroke>,
    /// Of each stroke, what it was read as.
    read_as: Vec<&'static str>,
    /// Of each stroke, whether a person said what it is.
    by_hand: Vec<bool>,
}

impl Said {
    fn of(read: &PatternPiece) -> Self {
        let strokes = strokes(read);
        Self {
            name: read.name.clone(),
            cut: read.cut_count,
            pair: read.pair,
            left_out: false,
            turned: false,
            by_hand: vec![false; strokes.len()],
            read_as: strokes.iter().map(|s| s.taken.words()).collect(),
            strokes,
        }
    }
}

/// The pieces of `read` with what was said of each, also where that can't be; and the first
/// thing that can't.
fn said(read: &Pattern, corrections: &[Correction]) -> (Vec<Said>, Outcome<()>) {
    let mut all: Vec<Said> = read.pieces.iter().map(Said::of).collect();
    let mut sound = Ok(());
    for correction in corrections {
        sound = sound.and(say(&mut all, correction));
    }
    for one in &mut all {
        make_room(one);
        let grain = one.strokes.iter_mut().filter(|s| s.taken == Taken::Grain);
        let turned = grain.filter(|_| one.turned);
        turned.for_each(|s| s.points.reverse());
    }
    (all, sound)
}

/// Says one thing of one of the pieces.
///
/// # Errors
///
/// When it speaks of what is not there, or says what can't be.
fn say(all: &mut [Said], correction: &Correction) -> Outcome<()> {
    match correction {
        Correction::Name { piece, name } => {
            let one = of(all, *piece)?;
            name.trim().clone_into(&mut one.name);
            checked_name(name)
        }
        Correction::Count { piece, cut, pair } => {
            let one = of(all, *piece)?;
            (one.cut, one.pair) = (*cut, *pair);
            if (1..=MOST_CUT).contains(cut) && (!pair || cut % 2 == 0) {
                return Ok(());
            }
            Err(Fault::input(
                format!("\"{}\" can't be cut {cut} times so", excerpt(&one.name)),
                format!("give a number from 1 to {MOST_CUT}, an even one for pairs"),
            ))
        }
        Correction::Take {
            piece,
            stroke,
            taken,
        } => {
            let one = of(all, *piece)?;
            let Some(found) = one.strokes.get_mut(*stroke) else {
                return Err(Fault::input(
                    format!("\"{}\" has no stroke {}", excerpt(&one.name), stroke + 1),
                    "choose one of its strokes",
                ));
            };
            found.taken = taken.clone();
            one.by_hand[*stroke] = true;
            match taken {
                Taken::Piece(name) => checked_name(name),
                _ => Ok(()),
            }
        }
        Correction::TurnGrain { piece } => {
            let one = of(all, *piece)?;
            one.turned = !one.turned;
            Ok(())
        }
        Correction::LeaveOut { piece } => {
            of(all, *piece)?.left_out = true;
            Ok(())
        }
    }
}

fn of(all: &mut [Said], piece: usize) -> Outcome<&mut Said> {
    all.get_mut(piece).ok_or_else(|| {
        Fault::input(
            format!("there is no piece {}", piece + 1),
            "choose one of the pieces that were read",
        )
    })
}

fn checked_name(name: &str) -> Outcome<()> {
    let name = name.trim();
    let long = name.chars().count() > LONGEST_NAME;
    if name.is_empty() || long || name.chars().any(char::is_control) {
        return Err(Fault::input(
            format!("\"{}\" can't be a piece's name", excerpt(name)),
            format!("use 1 to {LONGEST_NAME} letters and digits"),
        ));
    }
    Ok(())
}

/// What a person says is the one cut line or grain takes the place of what was read as
/// such; that stays as an inner line.
fn make_room(one: &mut Said) {
    for taken in [Taken::Cut, Taken::Grain, Taken::Label] {
        let named = |(s, by_hand): (&Stroke, &bool)| *by_hand && s.taken == taken;
        if !one.strokes.iter().zip(&one.by_hand).any(named) {
            continue;
        }
        for (stroke, by_hand) in one.strokes.iter_mut().zip(&one.by_hand) {
            if stroke.taken == taken && !by_hand {
                stroke.taken = match taken {
                    Taken::Label => Taken::LeftOut,
                    _ => Taken::Line,
                };
            }
        }
    }
}

/// A piece group to be made, and the strokes in it: each with its number, whether a person
/// said what it is, and what it is called where something is wrong with it.
struct Made {
    name: String,
    cut: u32,
    pair: bool,
    strokes: Vec<(usize, bool, Stroke, String)>,
}

/// `read` as it is with `corrections`, its sizes said anew. What was listed by the reader
/// stays listed, and so is what a correction leaves out.
///
/// # Errors
///
/// When a correction speaks of what is not there or says what can't be, two pieces have one
/// name, or a piece is not sound: no cut line, one that crosses itself, a stroke taken as a
/// notch or a fold that is none. The fault names the stroke.
pub fn corrected(read: &Pattern, corrections: &[Correction]) -> Outcome<Pattern> {
    let (all, sound) = said(read, corrections);
    sound?;
    let mut left_out = LeftOut::default();
    let mut groups = Vec::new();
    for one in all.into_iter().filter(|one| !one.left_out) {
        groups.extend(parted(one, &mut left_out));
    }
    if groups.is_empty() {
        return Err(Fault::input(
            "no piece is left",
            "take back one of the corrections that leave pieces out",
        ));
    }
    for group in &groups {
        // What a person says must hold; what the reader saw beside it may be listed.
        let strict = drawn(group, false, |by_hand, s| {
            by_hand || matches!(s.taken, Taken::Cut | Taken::Piece(_) | Taken::Cutout)
        });
        assemble::pattern(alone(strict), LeftOut::default())?;
    }
    let drawing = Drawing {
        groups: groups.iter().map(|g| drawn(g, true, |_, _| true)).collect(),
        grouped: true,
        ..Drawing::default()
    };
    let made = assemble::pattern(drawing, left_out)?;
    let is_size = |note: &&String| !note.starts_with(scale::LARGEST);
    let mut notes: Vec<String> = read.notes.iter().filter(is_size).cloned().collect();
    let fresh = made.notes.into_iter().filter(|n| !read.notes.contains(n));
    notes.extend(fresh);
    let mut pattern = Pattern {
        pieces: made.pieces,
        left_out: [read.left_out.clone(), made.left_out].concat(),
        notes,
    };
    scale::note_largest(&mut pattern);
    Ok(pattern)
}

/// The piece that `one` is, without what was left out; and each stroke that was taken as a
/// piece of its own, with what lies in it.
fn parted(one: Said, left_out: &mut LeftOut) -> Vec<Made> {
    const BY_HAND: Why = Why::Said("it was left out by hand", "they were left out by hand");
    let name = excerpt(&one.name);
    let mut own: Vec<Made> = Vec::new();
    let mut rings = Vec::new();
    let mut rest = Made {
        name: one.name,
        cut: one.cut,
        pair: one.pair,
        strokes: Vec::new(),
    };
    let mut others = Vec::new();
    let read_as = one.read_as;
    for (k, (stroke, by_hand)) in one.strokes.into_iter().zip(one.by_hand).enumerate() {
        let words = match stroke.taken {
            Taken::LeftOut => read_as[k],
            ref taken => taken.words(),
        };
        let called = format!("{words} of \"{name}\"");
        if stroke.taken == Taken::LeftOut {
            left_out.add(place(k, &called), BY_HAND);
        } else if let Taken::Piece(name) = &stroke.taken {
            rings.push(stroke.points.clone());
            own.push(Made {
                name: name.trim().to_owned(),
                cut: 1,
                pair: false,
                strokes: vec![(k, true, stroke, called)],
            });
        } else {
            others.push((k, by_hand, stroke, called));
        }
    }
    for (k, by_hand, stroke, called) in others {
        let within = |ring: &Vec<_>| {
            let count = stroke.points.len();
            let held = stroke
                .points
                .iter()
                .filter(|&&p| surrounds(ring, p))
                .count();
            2 * held > count || (count == 2 && held == 1)
        };
        let holder = (stroke.taken != Taken::Cut)
            .then(|| rings.iter().position(within))
            .flatten();
        let to = holder.map_or(&mut rest, |h| &mut own[h]);
        to.strokes.push((k, by_hand, stroke, called));
    }
    let has_cut = rest.strokes.iter().any(|(.., s, _)| s.taken == Taken::Cut);
    if own.is_empty() || has_cut {
        own.insert(0, rest);
    } else {
        // Where a frame was taken for a piece, nothing is left but the frame.
        for (k, _, _, called) in &rest.strokes {
            left_out.add(place(*k, called), Why::OutsidePieces);
        }
    }
    own
}

fn place(number: usize, called: &str) -> Place<'_> {
    Place {
        part: Part::Stroke,
        line: number + 1,
        tag: called,
        id: None,
    }
}

fn alone(group: Group) -> Drawing {
    Drawing {
        groups: vec![group],
        grouped: true,
        ..Drawing::default()
    }
}

fn drawn(made: &Made, lenient: bool, wanted: impl Fn(bool, &Stroke) -> bool) -> Group<'_> {
    let strokes = made
        .strokes
        .iter()
        .filter(|(_, by_hand, s, _)| wanted(*by_hand, s));
    let each = strokes.filter_map(|(k, _, stroke, called)| {
        Some(Drawn {
            place: place(*k, called),
            called: None,
            told: Told::Role(stroke.taken.role()?),
            notch: match stroke.taken {
                Taken::Notch(kind) => kind,
                _ => NotchKind::Slit,
            },
            path: stroke.path(),
            is_text: stroke.taken == Taken::Label,
        })
    });
    let drawn: Vec<Drawn> = each.collect();
    let first = made.strokes.first();
    Group {
        place: first.map_or(place(0, "piece"), |(k, .., called)| place(*k, called)),
        name: Cow::Borrowed(&made.name),
        cut_count: made.cut,
        pair: made.pair,
        drawn,
        hides: false,
        lenient,
    }
}
