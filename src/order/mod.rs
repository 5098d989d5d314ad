//! What was ordered: articles, the parts each needs, what is cut for it by length, and what
//! is bought.
//!
//! An article may be written out, or follow from an order: so many of a make, in a size, in
//! these cloths, with or without a lining ([`expand`]).

mod bias;
mod make;
mod tape;

#[cfg(test)]
mod tests;

pub use bias::{Strips, strips};
pub use make::{Make, MakePart, Order, expand, sized};
pub use tape::{Length, Tape, TapeMark, TapeMarkIs, tape};

use crate::fault::{Fault, Outcome};
use serde::{Deserialize, Serialize};

/// One thing to be made: everything of it stays together.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Article {
    /// Lit on every piece, so short: `1`, `2`.
    pub name: String,
    /// What the ticket says of it: `size 255, for her sister`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    #[serde(default, rename = "part")]
    pub parts: Vec<Part>,
    /// What is cut for it by length.
    #[serde(default, rename = "length", skip_serializing_if = "Vec::is_empty")]
    pub lengths: Vec<Length>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bought: Vec<Bought>,
    /// In which order it is sewn, a step each.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sew: Vec<String>,
    /// Cut besides, in case one is spoilt.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub spare: bool,
}

/// One line of an article's list: a piece, the cloth, how many.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    pub piece: String,
    pub cloth: String,
    /// How many are cut of this cloth for this article, ≥ 1.
    pub count: u32,
    /// As left and right: half of them mirrored.
    #[serde(default)]
    pub pair: bool,
    /// The piece that this one is put into, middle on middle: a stiffener's
    /// outline is shown on it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inside: Option<String>,
}

/// Something that is not cut: a buckle, a lace, elastic by the length.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bought {
    pub name: String,
    #[serde(default = "one")]
    pub count: u32,
    /// Of each, as it is typed.
    #[serde(
        default,
        deserialize_with = "crate::measure::typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub length: Option<String>,
}

pub(crate) fn one() -> u32 {
    1
}

/// So many of anything at most.
const MOST: u32 = 10_000;

/// # Errors
/// If it is none, or too many.
fn counted(what: &str, count: u32) -> Outcome<()> {
    if (1..=MOST).contains(&count) {
        return Ok(());
    }
    Err(Fault::input(
        format!("{what} is {count}"),
        format!("give a number from 1 to {MOST}"),
    ))
}

impl Part {
    /// How many of this part are cut face up and face down, for a pair; all
    /// the same hand otherwise (either face will do).
    pub fn hands(&self) -> (u32, u32) {
        if self.pair {
            (self.count.div_ceil(2), self.count / 2)
        } else {
            (self.count, 0)
        }
    }

    /// What the label says of it: `cut 2, a pair`.
    pub fn cut_note(&self) -> String {
        match (self.count, self.pair) {
            (2, true) => "cut 2, a pair".to_owned(),
            (n, true) => format!("cut {n}, in pairs"),
            (n, false) => format!("cut {n}"),
        }
    }
}
