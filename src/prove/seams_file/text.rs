//! The seams file as text, read; what its tables hold, as both ways know it.

use super::{Along, EdgeNaming, Place, STAMP, SeamsFile, VERSION};
use crate::fault::{Fault, Outcome, short};
use crate::measure::{Unit, parse_length, typed};
use crate::pattern::{EdgeName, FitsAt, RING_TOLERANCE, Ring, SEAM_TOLERANCE, Seam};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;
use toml::Spanned;

/// The largest file that is read, bytes; and how much may be in it.
const LARGEST: usize = 1 << 20;
const MOST_EDGES: usize = 2000;
const MOST_SEAMS: usize = 1000;
const MOST_IN_RUN: usize = 200;
const LONGEST_NAME: usize = 200;

/// A length as it is typed.
#[derive(Debug, Deserialize, Serialize)]
#[serde(transparent)]
pub(super) struct Typed(#[serde(deserialize_with = "typed::one")] pub(super) String);

#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Whole {
    pub(super) ghostchalk_seams: i64,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) edge: Vec<Spanned<EdgeText>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) seam: Vec<Spanned<SeamText>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub(super) ring: Vec<Spanned<RingText>>,
}

#[derive(Debug, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct EdgeText {
    pub(super) piece: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) number: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) from: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) to: Option<String>,
    pub(super) name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) length: Option<Typed>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) allowance: Option<Typed>,
}

#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SeamText {
    pub(super) name: String,
    pub(super) one: Vec<String>,
    pub(super) other: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) ease: Option<Typed>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) tolerance: Option<Typed>,
}

#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
pub(super) struct RingText {
    pub(super) name: String,
    pub(super) edges: Vec<String>,
    pub(super) girth: Typed,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) ease: Option<Typed>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) cloth: Option<Typed>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) at: Option<FitsAt>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) tolerance: Option<Typed>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) sewn: Option<Typed>,
}

/// The line of a byte of the text, from 1.
fn line(text: &str, byte: usize) -> usize {
    let before = text.as_bytes().iter().take(byte);
    1 + before.filter(|b| **b == b'\n').count()
}

fn toml_fault(text: &str, e: &toml::de::Error) -> Fault {
    Fault::in_text(e.message(), text, e.span().map(|s| s.start))
}

impl SeamsFile {
    /// Reads the text of a seams file.
    ///
    /// # Errors
    /// If it is no TOML, of another kind or version, has a key that is not known, a length
    /// that can't be read, a name twice or without words, no side to a seam, an ease below
    /// zero, or more in it than 2000 edges or 1000 seams and rings; placed by its line.
    pub fn parse(text: &str) -> Outcome<Self> {
        if text.len() > LARGEST {
            return Err(Fault::input(
                "the file is larger than 1 MB",
                "name the right file; a seams file is a few kilobytes",
            ));
        }
        let table: toml::Table = toml::from_str(text).map_err(|e| toml_fault(text, &e))?;
        match table.get(STAMP).and_then(toml::Value::as_integer) {
            Some(VERSION) => {}
            Some(v) => {
                return Err(Fault::input(
                    format!("it is of version {v}, and this program knows version {VERSION}"),
                    "use the program that wrote it, or a newer one",
                ));
            }
            None => {
                return Err(Fault::input(
                    format!("there is no {STAMP} in it, so this is another kind of file"),
                    format!("name the right file, or give it the line {STAMP} = {VERSION}"),
                ));
            }
        }
        let whole: Whole = toml::from_str(text).map_err(|e| toml_fault(text, &e))?;
        if whole.edge.len() > MOST_EDGES || whole.seam.len() + whole.ring.len() > MOST_SEAMS {
            return Err(Fault::input(
                format!("it has more than {MOST_EDGES} edges or {MOST_SEAMS} seams and rings"),
                "split it",
            ));
        }
        let at = |span: std::ops::Range<usize>| line(text, span.start);
        let mut file = Self::default();
        for edge in whole.edge {
            let line = at(edge.span());
            let naming = edge_of(edge.into_inner(), line);
            file.edges
                .push(naming.map_err(|f| f.at(format!("line {line}")))?);
        }
        for seam in whole.seam {
            let line = at(seam.span());
            let seam = seam_of(seam.into_inner());
            file.sewing
                .seams
                .push(seam.map_err(|f| f.at(format!("line {line}")))?);
        }
        for ring in whole.ring {
            let line = at(ring.span());
            let ring = ring_of(ring.into_inner());
            file.sewing
                .rings
                .push(ring.map_err(|f| f.at(format!("line {line}")))?);
        }
        file.unique()?;
        Ok(file)
    }

    fn unique(&self) -> Outcome<()> {
        let mut seen = HashSet::new();
        let seams = self.sewing.seams.iter().map(|s| &s.name);
        for name in seams.chain(self.sewing.rings.iter().map(|r| &r.name)) {
            if !seen.insert(name) {
                return Err(Fault::input(
                    format!("two seams or rings are called \"{name}\""),
                    "give each a name of its own",
                ));
            }
        }
        let mut seen = HashSet::new();
        for e in &self.edges {
            if !seen.insert((&e.piece, &e.name)) {
                let fault = Fault::input(
                    format!("two edges of \"{}\" are called \"{}\"", e.piece, e.name),
                    "give each a name of its own",
                );
                return Err(fault.at(format!("line {}", e.line)));
            }
        }
        Ok(())
    }
}

fn length(key: &str, text: &Typed) -> Outcome<f64> {
    parse_length(&text.0, Unit::Mm).map_err(|f| f.at(key))
}

/// A length that must be above zero, or `other` if nothing is said.
fn above_zero(key: &str, text: Option<&Typed>, other: f64) -> Outcome<f64> {
    let Some(text) = text else { return Ok(other) };
    let mm = length(key, text)?;
    if mm > 0.0 {
        return Ok(mm);
    }
    Err(Fault::input(
        format!("it is {} mm", short(mm)),
        "give a length above 0 mm",
    )
    .at(key))
}

fn not_below_zero(key: &str, text: &Typed) -> Outcome<f64> {
    let mm = length(key, text)?;
    if mm >= 0.0 {
        return Ok(mm);
    }
    Err(Fault::input(format!("it is {} mm", short(mm)), "give 0 mm or more").at(key))
}

fn words(key: &str, text: String) -> Outcome<String> {
    if text.trim().is_empty() || text.chars().count() > LONGEST_NAME {
        let remedy = format!("give a name of 1 to {LONGEST_NAME} characters");
        return Err(Fault::input("this is no name", remedy).at(key));
    }
    Ok(text.trim().to_owned())
}

fn place(key: &str, text: &str) -> Outcome<Place> {
    let mut parts = text.split_whitespace();
    let told = (
        parts.next(),
        parts.next().and_then(|n| n.parse().ok()),
        parts.next(),
    );
    match told {
        (Some("corner"), Some(n), None) if n > 0 => Ok(Place::Corner(n)),
        (Some("notch"), Some(n), None) if n > 0 => Ok(Place::Notch(n)),
        _ => {
            let shown: String = text.chars().take(40).collect();
            Err(Fault::input(
                format!("\"{shown}\" is no place of an outline"),
                "write \"corner 2\" or \"notch 4\", counted from 1",
            )
            .at(key))
        }
    }
}

fn edge_of(text: EdgeText, line: usize) -> Outcome<EdgeNaming> {
    let along = match (text.number, &text.from, &text.to) {
        (Some(n), None, None) if n > 0 => Along::Number(n),
        (None, Some(from), Some(to)) => Along::Between(place("from", from)?, place("to", to)?),
        _ => {
            return Err(Fault::input(
                "it is not told which edge is named",
                "give its number (from 1), or from and to",
            ));
        }
    };
    let name = words("name", text.name)?;
    if name.contains(':') {
        return Err(Fault::input(
            "a name can't have a colon, which stands between piece and edge",
            "take the colon out",
        )
        .at("name"));
    }
    // An unnamed edge is called by its number, so a name that is one would be two edges'.
    if name.parse::<u64>().is_ok() {
        return Err(
            Fault::input("a bare number is no name for an edge", "add a word to it").at("name"),
        );
    }
    let length = text.length.as_ref();
    Ok(EdgeNaming {
        piece: words("piece", text.piece)?,
        along,
        name,
        length: length
            .map(|_| above_zero("length", length, 0.0))
            .transpose()?,
        allowance: text
            .allowance
            .map(|a| not_below_zero("allowance", &a))
            .transpose()?,
        line,
    })
}

fn names(key: &str, texts: &[String]) -> Outcome<Vec<EdgeName>> {
    if texts.is_empty() || texts.len() > MOST_IN_RUN {
        let remedy = format!("name 1 to {MOST_IN_RUN} edges in it");
        return Err(Fault::input("there is nothing, or too much, in the list", remedy).at(key));
    }
    let all = texts.iter().map(|t| {
        EdgeName::parse(t).ok_or_else(|| {
            let shown: String = t.chars().take(40).collect();
            Fault::input(
                format!("\"{shown}\" names no edge of a piece"),
                "write the piece, a colon, and the edge: \"upper: throat\"",
            )
            .at(key)
        })
    });
    all.collect()
}

fn seam_of(text: SeamText) -> Outcome<Seam> {
    let ease = text.ease.map_or(Ok(0.0), |t| length("ease", &t))?;
    if ease < 0.0 {
        let what = format!(
            "it is {} mm, as if \"other\" were the longer side",
            short(ease)
        );
        let remedy = "name the longer side as \"one\", and how much longer it is without a sign";
        return Err(Fault::input(what, remedy).at("ease"));
    }
    Ok(Seam {
        name: words("name", text.name)?,
        one: names("one", &text.one)?,
        other: names("other", &text.other)?,
        ease,
        tolerance: above_zero("tolerance", text.tolerance.as_ref(), SEAM_TOLERANCE)?,
    })
}

fn ring_of(text: RingText) -> Outcome<Ring> {
    Ok(Ring {
        name: words("name", text.name)?,
        edges: names("edges", &text.edges)?,
        girth: above_zero("girth", Some(&text.girth), 0.0)?,
        ease: text.ease.map_or(Ok(0.0), |t| length("ease", &t))?,
        cloth: text
            .cloth
            .map_or(Ok(0.0), |t| not_below_zero("cloth", &t))?,
        at: text.at.unwrap_or_default(),
        tolerance: above_zero("tolerance", text.tolerance.as_ref(), RING_TOLERANCE)?,
        sewn: match &text.sewn {
            None => None,
            sewn => Some(above_zero("sewn", sewn.as_ref(), 0.0)?),
        },
    })
}
