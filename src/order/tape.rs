//! What is cut by length: stay tapes, bindings, bands, cords. The girth of the pattern along
//! its net lines, and what it takes besides; and the marks to lay it along by.

use super::{counted, one, sized};
use crate::fault::{Fault, Outcome, short};
use crate::measure::{Unit, parse_length, typed};
use crate::pattern::EdgeName;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

/// The longest that is cut in one, mm.
const LONGEST: f64 = 100_000.0;

/// Something that is cut by length, as it is written; lengths as they are typed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Length {
    pub name: String,
    /// What it is cut from; none: it is bought as it is, and cut to length.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cloth: Option<String>,
    #[serde(default = "one")]
    pub count: u32,
    /// As long as this ring of the pattern, …
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ring: Option<String>,
    /// … or as these edges, end to end, as `upper: throat`, …
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub along: Vec<String>,
    /// … or so long.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub length: Option<String>,
    /// Longer by this; negative for what is stretched in sewing.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub ease: Option<String>,
    /// All the cloth, in thickness, that a closed tape goes round outside of: 2π of it more.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub round: Option<String>,
    /// Allowance beyond its marks, at either end.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub ends: Option<String>,
    /// It is pieced in so many places, …
    #[serde(default, skip_serializing_if = "is_zero")]
    pub joins: u32,
    /// … each of which takes so much, both allowances together.
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub join: Option<String>,
    #[serde(
        default,
        deserialize_with = "typed::maybe",
        skip_serializing_if = "Option::is_none"
    )]
    pub width: Option<String>,
    /// Cut at 45° to the grain.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub bias: bool,
    /// Only for orders that say they are with it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub with: Option<String>,
    /// The size of the pieces and rings that it names.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<String>,
}

fn is_zero(n: &u32) -> bool {
    *n == 0
}

/// Which mark of a tape.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum TapeMarkIs {
    /// Where sewing starts.
    Start,
    /// Where one edge ends and the next begins: a seam meets it there.
    Seam(String),
    Middle,
    /// Where sewing ends.
    End,
}

impl TapeMarkIs {
    pub fn words(&self) -> &str {
        match self {
            Self::Start => "start",
            Self::Seam(name) => name,
            Self::Middle => "middle",
            Self::End => "end",
        }
    }
}

/// A mark on a tape, so far from where it is cut, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct TapeMark {
    pub at: f64,
    pub is: TapeMarkIs,
}

/// What is cut by length, worked out; all lengths mm.
#[derive(Debug, Clone, PartialEq)]
pub struct Tape {
    pub name: String,
    pub cloth: Option<String>,
    pub count: u32,
    /// Along the net lines, or as it is given.
    pub net: f64,
    pub ease: f64,
    /// 2π of what it goes round.
    pub round: f64,
    /// At either end.
    pub ends: f64,
    pub joins: u32,
    /// Taken by each join.
    pub join: f64,
    pub width: Option<f64>,
    pub bias: bool,
    /// From cut to cut.
    pub total: f64,
    /// In order.
    pub marks: Vec<TapeMark>,
}

/// Works a tape out. `edges` tells an edge's length along the net line, mm, what its darts
/// take left away; `rings` a ring's edges.
///
/// # Errors
/// If it is not said how long it is, or twice; if an edge or ring isn't there, or a length
/// is none.
pub fn tape(
    of: &Length,
    edges: &dyn Fn(&EdgeName) -> Option<f64>,
    rings: &dyn Fn(&str) -> Option<Vec<EdgeName>>,
) -> Outcome<Tape> {
    worked_out(of, edges, rings).map_err(|e| e.at(format!("length \"{}\"", of.name)))
}

fn worked_out(
    of: &Length,
    edges: &dyn Fn(&EdgeName) -> Option<f64>,
    rings: &dyn Fn(&str) -> Option<Vec<EdgeName>>,
) -> Outcome<Tape> {
    counted("count", of.count)?;
    if of.joins > 1000 {
        return Err(Fault::input(
            format!("it is pieced in {} places", of.joins),
            "give up to 1000 joins",
        ));
    }
    let positive = |what: &str, text: &Option<String>| {
        let mm = text
            .as_ref()
            .map(|t| parse_length(t, Unit::Mm))
            .transpose()?;
        match mm {
            Some(mm) if mm < 0.0 => Err(Fault::input(
                format!("{what} is {} mm", short(mm)),
                "give a length that is not negative",
            )),
            mm => Ok(mm),
        }
    };
    let ease = of
        .ease
        .as_ref()
        .map(|t| parse_length(t, Unit::Mm))
        .transpose()?;
    let (ease, round) = (
        ease.unwrap_or(0.0),
        positive("round", &of.round)?.unwrap_or(0.0),
    );
    let (ends, join) = (
        positive("ends", &of.ends)?.unwrap_or(0.0),
        positive("join", &of.join)?.unwrap_or(0.0),
    );
    let width = positive("width", &of.width)?;
    let runs = runs(of, edges, rings, positive("length", &of.length)?)?;
    let net: f64 = runs.iter().map(|(_, mm)| mm).sum();
    let round = TAU * round;
    let sewn = net + ease + round;
    let total = sewn + 2.0 * ends + f64::from(of.joins) * join;
    if !(sewn > 0.0 && net > 0.0 && total < LONGEST) {
        return Err(Fault::input(
            format!("it comes to {} mm", short(total)),
            "check its length and ease: it must be longer than 0 and at most 100 m",
        ));
    }
    let mut marks = vec![(0.0, TapeMarkIs::Start)];
    let mut at = 0.0;
    for (k, (_, mm)) in runs.iter().enumerate().take(runs.len() - 1) {
        at += mm;
        // Ease is spread evenly.
        let there = at * sewn / net;
        let name = format!("{} | {}", runs[k].0, runs[k + 1].0);
        marks.push((there, TapeMarkIs::Seam(name)));
    }
    marks.push((sewn / 2.0, TapeMarkIs::Middle));
    marks.push((sewn, TapeMarkIs::End));
    marks.sort_by(|a, b| a.0.total_cmp(&b.0));
    let marks = marks
        .into_iter()
        .map(|(at, is)| TapeMark { at: ends + at, is });
    Ok(Tape {
        name: of.name.clone(),
        cloth: of.cloth.clone(),
        count: of.count,
        net,
        ease,
        round,
        ends,
        joins: of.joins,
        join,
        width,
        bias: of.bias,
        total,
        marks: marks.collect(),
    })
}

/// What it runs along, with names and lengths.
fn runs(
    of: &Length,
    edges: &dyn Fn(&EdgeName) -> Option<f64>,
    rings: &dyn Fn(&str) -> Option<Vec<EdgeName>>,
    length: Option<f64>,
) -> Outcome<Vec<(String, f64)>> {
    let says = [of.ring.is_some(), !of.along.is_empty(), length.is_some()];
    if says.iter().filter(|s| **s).count() != 1 {
        return Err(Fault::input(
            "it must be said once how long it is",
            "give \"ring\", or \"along\" some edges, or a \"length\"",
        ));
    }
    if let Some(mm) = length {
        return Ok(vec![(of.name.clone(), mm)]);
    }
    let size = of.size.as_deref();
    let names: Vec<EdgeName> = match &of.ring {
        Some(ring) => {
            let own = rings(&sized(ring, size)).or_else(|| rings(ring));
            own.ok_or_else(|| {
                Fault::input(
                    format!("there is no ring \"{}\"", sized(ring, size)),
                    "check the spelling, or declare it in the seams file",
                )
            })?
        }
        None => {
            let read = of.along.iter().map(|text| {
                EdgeName::parse(text).ok_or_else(|| {
                    Fault::input(
                        format!("\"{text}\" names no edge"),
                        "write the piece and its edge, as \"upper: throat\"",
                    )
                })
            });
            read.collect::<Outcome<_>>()?
        }
    };
    let measured = names.into_iter().map(|name| {
        let own = EdgeName {
            piece: sized(&name.piece, size),
            edge: name.edge.clone(),
        };
        match edges(&own).or_else(|| edges(&name)) {
            // Short, for the light: the edges that meet there.
            Some(mm) => Ok((name.edge.clone(), mm)),
            None => Err(Fault::input(
                format!("there is no edge \"{own}\""),
                "check the spelling: prove shows what each edge is called",
            )),
        }
    });
    measured.collect()
}

impl Tape {
    /// What it is made up of: `338.0 mm, 6.0 mm of ease, 10.7 mm round 1.7 mm of cloth`.
    pub fn words(&self, unit: Unit) -> String {
        let mut words = format!("{} along the pattern", unit.show(self.net));
        if self.ease != 0.0 {
            let more = if self.ease > 0.0 { "ease" } else { "stretch" };
            words += &format!(", {} of {more}", unit.show(self.ease.abs()));
        }
        if self.round > 0.0 {
            words += &format!(
                ", {} to go round {} of cloth",
                unit.show(self.round),
                unit.show(self.round / TAU)
            );
        }
        if self.ends > 0.0 {
            words += &format!(", {} at either end", unit.show(self.ends));
        }
        match self.joins {
            0 => {}
            1 => words += &format!(", a join that takes {}", unit.show(self.join)),
            n => words += &format!(", {n} joins that take {} each", unit.show(self.join)),
        }
        words
    }
}
