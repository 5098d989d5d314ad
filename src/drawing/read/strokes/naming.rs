//! What a piece is called, and how often it is cut, from the texts on it.

use std::collections::{HashMap, HashSet};

use super::Text;
use super::single::{PAGE, Single};
use super::square::size_said;
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::drawn::place::excerpt;
use crate::fault::short;

/// Most pieces that a text may ask for.
const MAX_COUNT: u32 = 999;
/// Longest name, letters.
const MAX_NAME: usize = 80;

/// What the texts say of one piece.
pub struct Named<'s> {
    pub name: String,
    /// The text that the name was taken from.
    pub from: Option<&'s Text>,
    pub count: u32,
    pub pair: bool,
    pub notes: Vec<String>,
}

/// Names that are given already.
#[derive(Default)]
pub struct Names {
    given: HashSet<String>,
    /// The last number that was put to a name.
    last: HashMap<String, usize>,
    unnamed: usize,
}

impl Names {
    /// The name and count of a piece with these texts on it; other texts are listed.
    pub fn of<'s>(
        &mut self,
        texts: &[&'s Text],
        outline: &Single,
        left_out: &mut LeftOut,
    ) -> Named<'s> {
        let mut named = Named {
            name: String::new(),
            from: None,
            count: 1,
            pair: false,
            notes: Vec::new(),
        };
        let mut plain: Vec<&Text> = Vec::new();
        let mut counted = None;
        for &text in texts {
            let lower = text.words.to_lowercase();
            if let Some(found) = count_said(&lower) {
                counted.get_or_insert((found, text));
            }
            let tells = count_said(&lower).is_some_and(|_| lower.starts_with("cut"));
            if lower.contains("grain") {
                // Told with the grain.
            } else if tells
                || size_said(&lower).is_some()
                || !lower.chars().any(char::is_alphabetic)
            {
                if !tells {
                    left_out.add(text.place.place(), Why::Text);
                }
            } else if lower.contains("fold") && !lower.contains("unfold") {
                named.notes.push(format!(
                    "\"{}\" stands on a piece, but which edge lies on the fold is not guessed.",
                    excerpt(&text.words)
                ));
            } else {
                plain.push(text);
            }
        }
        // The largest letters, and of those the uppermost.
        let best = plain.iter().copied().min_by(|a, b| {
            let (high, low) = (a.height.max(b.height), a.height.min(b.height));
            if high - low <= 0.05 * high {
                a.at.y.total_cmp(&b.at.y)
            } else {
                b.height.total_cmp(&a.height)
            }
        });
        for text in plain
            .iter()
            .filter(|t| !best.is_some_and(|b| std::ptr::eq(b, **t)))
        {
            left_out.add(text.place.place(), Why::Text);
        }
        named.name = match best {
            Some(text) => text.words.trim().chars().take(MAX_NAME).collect(),
            None => {
                self.unnamed += 1;
                format!("piece {}", self.unnamed)
            }
        };
        named.from = best;
        self.single(&mut named, outline);
        if let Some(((count, pair), text)) = counted {
            (named.count, named.pair) = (count, pair);
            named.notes.push(format!(
                "piece \"{}\" is cut {}{}, by the text \"{}\".",
                excerpt(&named.name),
                crate::fault::counted(count as usize, "time", "times"),
                if pair { ", left and right" } else { "" },
                excerpt(&text.words)
            ));
        }
        named
    }

    /// Makes the name one that no other piece has.
    fn single(&mut self, named: &mut Named, outline: &Single) {
        if self.given.insert(named.name.clone()) {
            return;
        }
        let first = named.name.clone();
        // On from the last, or a thousand of one name would be a million tries.
        let number = self.last.entry(first.clone()).or_insert(1);
        loop {
            *number += 1;
            named.name = format!("{first} {number}");
            if self.given.insert(named.name.clone()) {
                break;
            }
        }
        let middle = PAGE.page(outline.bounds.center());
        named.notes.push(format!(
            "\"{}\" is the name of several pieces; the one around x {} mm, y {} mm is called \"{}\".",
            excerpt(&first),
            short(middle.x.round()),
            short(middle.y.round()),
            excerpt(&named.name)
        ));
    }
}

/// How many a text (in small letters) asks for, and whether as left and right: `cut 2`,
/// `cut 1 pair`.
pub fn count_said(lower: &str) -> Option<(u32, bool)> {
    let at = lower.find("cut")?;
    // A word of its own, not "cutout".
    let apart = |c: Option<char>| !c.is_some_and(char::is_alphanumeric);
    let rest = &lower[at + 3..];
    if !apart(lower[..at].chars().next_back()) || !apart(rest.chars().next()) {
        return None;
    }
    let rest = rest.trim_start_matches([':', ' ', '\u{a0}']);
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    let count: u32 = digits.parse().ok()?;
    let after = rest[digits.len()..].trim_start_matches(['x', '×', ' ', '\u{a0}']);
    let pair =
        after.starts_with("pair") || after.contains("mirrored") || after.contains("left and right");
    let count = if after.starts_with("pair") {
        count.checked_mul(2)?
    } else {
        count
    };
    let fits = (1..=MAX_COUNT).contains(&count) && (!pair || count % 2 == 0);
    fits.then_some((count, pair))
}
