//! From the order to the articles: so many of a make, in a size, in these cloths.

use super::{Article, Bought, Length, Part, counted, one};
use crate::fault::{Fault, Outcome};
use crate::measure::typed;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Articles of one order at most.
const MOST: u32 = 500;

/// Articles of all orders together at most.
const MOST_OF_ALL: usize = 2_000;

/// No order begins past this number: it must stay legible on a piece.
const LAST: u32 = 9_999;

/// What one article is made of, whatever its size and cloth.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Make {
    pub name: String,
    /// The draft that is drawn for an order's measures, by its path from the job's folder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub draft: Option<String>,
    #[serde(default, rename = "part")]
    pub parts: Vec<MakePart>,
    #[serde(default, rename = "length", skip_serializing_if = "Vec::is_empty")]
    pub lengths: Vec<Length>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub bought: Vec<Bought>,
    /// In which order it is sewn, small before large.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub sew: Vec<String>,
}

/// A part of a make.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MakePart {
    pub piece: String,
    pub cloth: String,
    #[serde(default = "one")]
    pub count: u32,
    #[serde(default)]
    pub pair: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inside: Option<String>,
    /// Only for orders that say they are with it: `lining`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<String>,
}

/// What somebody wants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Order {
    /// Of this make.
    pub make: String,
    #[serde(default = "one")]
    pub count: u32,
    /// Its articles are numbered from here, ≥ 1: they keep their numbers whatever becomes of
    /// other orders. Without it they follow on, by the order's place in the job.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<u32>,
    /// So many sets are cut besides.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub spare: u32,
    /// The size of a pattern file, or what the measures shall be called.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<String>,
    /// What the make's draft is drawn for, as it is typed.
    #[serde(
        default,
        deserialize_with = "typed::by_name",
        skip_serializing_if = "BTreeMap::is_empty"
    )]
    pub measures: BTreeMap<String, String>,
    /// What is wanted that not every order wants: `lining`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub with: Vec<String>,
    /// Cloths that take the place of the make's.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub cloths: BTreeMap<String, String>,
    /// For the ticket: who it is for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
}

fn is_zero(n: &u32) -> bool {
    *n == 0
}

impl Order {
    /// What its size is called: what it says, else its measures; none: the pattern has one
    /// size alone.
    pub fn size_name(&self) -> Option<String> {
        if let Some(size) = &self.size {
            return Some(size.trim().to_owned());
        }
        let all: Vec<&str> = self.measures.values().map(|m| m.trim()).collect();
        (!all.is_empty()).then(|| all.join(" x "))
    }

    /// What it says of one of its articles.
    fn note(&self) -> Option<String> {
        let size = self.size_name().map(|s| format!("size {s}"));
        let measures = self.measures.iter().map(|(k, v)| format!("{k} {v}"));
        let measures = self.size.is_some().then(|| measures.collect::<Vec<_>>());
        let with = self.with.iter().map(|w| format!("with {w}"));
        let words = size
            .into_iter()
            .chain(measures.into_iter().flatten())
            .chain(with)
            .chain(self.note.clone());
        let words: Vec<String> = words.collect();
        (!words.is_empty()).then(|| words.join(", "))
    }
}

/// A name in a size: `upper 255`.
pub fn sized(name: &str, size: Option<&str>) -> String {
    match size {
        Some(size) => format!("{name} {size}"),
        None => name.to_owned(),
    }
}

/// The articles that orders come to. Their names go on from 1, past those that are `taken` and
/// those of orders that say where theirs begin; spare sets come after each order's articles and
/// are marked so. `has` tells whether the pattern has a piece of a name.
///
/// # Errors
/// Names the order, by its place from 1, and the part that can't be.
pub fn expand(
    makes: &[Make],
    orders: &[Order],
    taken: &[&str],
    has: &dyn Fn(&str) -> bool,
) -> Outcome<Vec<Article>> {
    let mut all = Vec::new();
    let mut follows = 1u32;
    let kept = numbers(orders, taken)?;
    for (k, order) in orders.iter().enumerate() {
        let place = |e: Fault| e.at(format!("order {} (\"{}\")", k + 1, order.make));
        let Some(make) = makes.iter().find(|m| m.name == order.make) else {
            let names: Vec<&str> = makes.iter().map(|m| m.name.as_str()).collect();
            return Err(place(Fault::input(
                format!("there is no make \"{}\"", order.make),
                match names.is_empty() {
                    true => "say what it is made of in a [[make]]".to_owned(),
                    false => format!("name one of {}", names.join(", ")),
                },
            )));
        };
        counted("count", order.count).map_err(place)?;
        if order.count.saturating_add(order.spare) > MOST {
            return Err(place(Fault::input(
                format!(
                    "{} and, to spare, {} are ordered at once",
                    order.count, order.spare
                ),
                format!("order {MOST} at most, or split it into several jobs"),
            )));
        }
        let sum = all.len() + (order.count + order.spare) as usize;
        if sum > MOST_OF_ALL {
            return Err(place(Fault::input(
                format!("with it {sum} articles are ordered"),
                format!("order {MOST_OF_ALL} at most, or split them into several jobs"),
            )));
        }
        let pattern = of_one(make, order, has).map_err(place)?;
        let mut own = order.first;
        let number = own.as_mut().unwrap_or(&mut follows);
        for set in 0..order.count + order.spare {
            let free = |n: u32| {
                order.first.is_some()
                    || !(taken.contains(&n.to_string().as_str()) || kept.contains(&n))
            };
            while !free(*number) {
                *number += 1;
            }
            all.push(Article {
                name: number.to_string(),
                spare: set >= order.count,
                ..pattern.clone()
            });
            *number += 1;
        }
    }
    Ok(all)
}

/// The numbers of the orders that say where theirs begin.
///
/// # Errors
/// If two want one number, or an article that is written out has it.
fn numbers(orders: &[Order], taken: &[&str]) -> Outcome<BTreeSet<u32>> {
    let mut kept = BTreeSet::new();
    for (k, order) in orders.iter().enumerate() {
        let Some(first) = order.first else { continue };
        let place = |e: Fault| e.at(format!("order {} (\"{}\")", k + 1, order.make));
        if !(1..=LAST).contains(&first) {
            return Err(place(Fault::input(
                format!("its first number is {first}"),
                format!("give one from 1 to {LAST}"),
            )));
        }
        // Too many are told where the order is expanded.
        for n in first..first + order.count.saturating_add(order.spare).min(MOST) {
            if taken.contains(&n.to_string().as_str()) || !kept.insert(n) {
                return Err(place(Fault::input(
                    format!("its articles are numbered from {first}, and {n} is taken"),
                    "let it begin past the numbers of the others",
                )));
            }
        }
    }
    Ok(kept)
}

/// One article of an order, without its name.
fn of_one(make: &Make, order: &Order, has: &dyn Fn(&str) -> bool) -> Outcome<Article> {
    let asked: Vec<&str> = make
        .parts
        .iter()
        .filter_map(|p| p.with.as_deref())
        .collect();
    let lengths = make.lengths.iter().filter_map(|l| l.with.as_deref());
    let asked: Vec<&str> = asked.into_iter().chain(lengths).collect();
    if let Some(with) = order.with.iter().find(|w| !asked.contains(&w.as_str())) {
        return Err(Fault::input(
            format!("it is ordered with \"{with}\", and nothing of the make is for that"),
            "check the spelling, or mark a part of the make so",
        ));
    }
    let cloths = make.parts.iter().map(|p| &p.cloth);
    let lengths = make.lengths.iter().filter_map(|l| l.cloth.as_ref());
    let cloths: Vec<&String> = cloths.chain(lengths).collect();
    if let Some(cloth) = order.cloths.keys().find(|c| !cloths.contains(c)) {
        return Err(Fault::input(
            format!("another cloth is given for \"{cloth}\", of which nothing is cut"),
            "check the spelling",
        ));
    }
    let size = order.size_name();
    let in_size = |p: &MakePart| has(&sized(&p.piece, size.as_deref()));
    let none = !make.parts.iter().any(in_size);
    let unmeasured = order.measures.is_empty() && !make.parts.is_empty();
    if let (Some(draft), true, true) = (&make.draft, none, unmeasured) {
        let what = match &size {
            Some(size) => format!("the size \"{size}\""),
            None => "it".to_owned(),
        };
        return Err(Fault::input(
            format!("{what} is ordered without measures, and {draft} is drawn for measures"),
            "give the order its measures, such as measures = { \"foot length\" = \"255 mm\" }",
        ));
    }
    if let (Some(size), true) = (&size, none) {
        return Err(Fault::input(
            format!("the pattern has no piece of it in size \"{size}\""),
            "check the spelling of the size, or of the pieces",
        ));
    }
    let wanted = |with: &Option<String>| with.as_ref().is_none_or(|w| order.with.contains(w));
    let cloth = |name: &String| order.cloths.get(name).unwrap_or(name).clone();
    let piece = |name: &str| {
        let own = sized(name, size.as_deref());
        match has(&own) {
            true => Ok(own),
            // What has one size alone, such as a strap.
            false if has(name) => Ok(name.to_owned()),
            false => Err(Fault::input(
                format!("the pattern has no \"{own}\""),
                "check the spelling, or the size",
            )),
        }
    };
    let mut parts = Vec::new();
    for p in make.parts.iter().filter(|p| wanted(&p.with)) {
        let place = |e: Fault| e.at(format!("part \"{}\" in {}", p.piece, p.cloth));
        counted("count", p.count).map_err(place)?;
        parts.push(Part {
            piece: piece(&p.piece).map_err(place)?,
            cloth: cloth(&p.cloth),
            count: p.count,
            pair: p.pair,
            inside: match &p.inside {
                Some(around) => Some(piece(around).map_err(place)?),
                None => None,
            },
        });
    }
    let lengths = make.lengths.iter().filter(|l| wanted(&l.with));
    let lengths = lengths.map(|l| Length {
        cloth: l.cloth.as_ref().map(cloth),
        with: None,
        size: size.clone(),
        ..l.clone()
    });
    Ok(Article {
        name: String::new(),
        note: order.note(),
        parts,
        lengths: lengths.collect(),
        bought: make.bought.clone(),
        sew: make.sew.clone(),
        spare: false,
    })
}
