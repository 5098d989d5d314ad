//! The seams file as text: read and written.

use super::{Along, EdgeNaming, Place, STAMP, SeamsFile, VERSION};
use crate::fault::{Fault, Outcome, short};
use crate::measure::{Unit, parse_length};
use crate::pattern::sewing::{EdgeName, FitsAt, RING_TOLERANCE, Ring, SEAM_TOLERANCE, Seam};
use serde::{Deserialize, Serialize};
use std::collections::HashSet;
use toml::Spanned;

/// The largest file that is read, bytes; and how much may be in it.
const LARGEST: usize = 1 << 20;
const MOST_EDGES: usize = 2000;
const MOST_SEAMS: usize = 1000;
const MOST_IN_RUN: usize = 200;
const LONGEST_NAME: usize = 200;

#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct Whole {
    ghostchalk_seams: i64,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    edge: Vec<Spanned<EdgeText>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    seam: Vec<Spanned<SeamText>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    ring: Vec<Spanned<RingText>>,
}

#[derive(Debug, Default, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct EdgeText {
    piece: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    from: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    to: Option<String>,
    name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    length: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    allowance: Option<String>,
}

#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct SeamText {
    name: String,
    one: Vec<String>,
    other: Vec<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ease: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tolerance: Option<String>,
}

#[derive(Debug, Deserialize, Serialize)]
#[serde(deny_unknown_fields)]
struct RingText {
    name: String,
    edges: Vec<String>,
    girth: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    ease: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cloth: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<FitsAt>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tolerance: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sewn: Option<String>,
}

/// The line of a byte of the text, from 1.
fn line(text: &str, byte: usize) -> usize {
    let before = text.as_bytes().iter().take(byte);
    1 + before.filter(|b| **b == b'\n').count()
}

fn toml_fault(text: &str, e: &toml::de::Error) -> Fault {
    let mut message = e.message().replace('`', "\"").replace('\n', " ");
    for (jargon, plain) in [
        ("unknown variant", "unknown word"),
        ("unknown field", "unknown key"),
        ("missing field", "missing key"),
        ("a sequence", "a list"),
        ("expected usize", "expected a whole number"),
        ("expected i64", "expected a whole number"),
    ] {
        message = message.replace(jargon, plain);
    }
    let fault = Fault::input(message, "put that right and try again");
    match e.span() {
        Some(span) => fault.at(format!("line {}", line(text, span.start))),
        None => fault,
    }
}

impl SeamsFile {
    /// Reads the text of a seams file.
    ///
    /// # Errors
    /// If it is no TOML, of another kind or version, has a key that is not known, a length
    /// that can't be read, a name twice or without words, no side to a seam, or more in
    /// it than 2000 edges or 1000 seams and rings; placed by its line.
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

    /// The file as text; read again it is the same, but for the lines.
    ///
    /// # Errors
    /// Only if the TOML library fails.
    pub fn to_text(&self) -> Outcome<String> {
        let whole = Whole {
            ghostchalk_seams: VERSION,
            edge: self
                .edges
                .iter()
                .map(|e| Spanned::new(0..0, edge_text(e)))
                .collect(),
            seam: self
                .sewing
                .seams
                .iter()
                .map(|s| Spanned::new(0..0, seam_text(s)))
                .collect(),
            ring: self
                .sewing
                .rings
                .iter()
                .map(|r| Spanned::new(0..0, ring_text(r)))
                .collect(),
        };
        toml::to_string(&whole)
            .map_err(|e| Fault::ours(format!("it can't be written as TOML: {e}"), "report this"))
    }
}

fn length(key: &str, text: &str) -> Outcome<f64> {
    parse_length(text, Unit::Mm).map_err(|f| f.at(key))
}

/// A length that must be above zero, or `other` if nothing is said.
fn above_zero(key: &str, text: Option<&String>, other: f64) -> Outcome<f64> {
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

fn not_below_zero(key: &str, text: &str) -> Outcome<f64> {
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
        return Err(Fault::input("a colon parts piece and edge", "leave it out").at("name"));
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
    Ok(Seam {
        name: words("name", text.name)?,
        one: names("one", &text.one)?,
        other: names("other", &text.other)?,
        ease: text.ease.map_or(Ok(0.0), |t| length("ease", &t))?,
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

/// Shortest digits that read back to the same length.
fn mm(value: f64) -> String {
    format!("{value} mm")
}

fn place_text(place: Place) -> String {
    match place {
        Place::Corner(n) => format!("corner {n}"),
        Place::Notch(n) => format!("notch {n}"),
    }
}

fn edge_text(e: &EdgeNaming) -> EdgeText {
    let mut text = EdgeText {
        piece: e.piece.clone(),
        name: e.name.clone(),
        length: e.length.map(mm),
        allowance: e.allowance.map(mm),
        ..EdgeText::default()
    };
    match e.along {
        Along::Number(n) => text.number = Some(n),
        Along::Between(from, to) => {
            text.from = Some(place_text(from));
            text.to = Some(place_text(to));
        }
    }
    text
}

fn seam_text(s: &Seam) -> SeamText {
    let list = |names: &[EdgeName]| names.iter().map(ToString::to_string).collect();
    SeamText {
        name: s.name.clone(),
        one: list(&s.one),
        other: list(&s.other),
        ease: Some(mm(s.ease)),
        tolerance: Some(mm(s.tolerance)),
    }
}

fn ring_text(r: &Ring) -> RingText {
    RingText {
        name: r.name.clone(),
        edges: r.edges.iter().map(ToString::to_string).collect(),
        girth: mm(r.girth),
        ease: Some(mm(r.ease)),
        cloth: Some(mm(r.cloth)),
        at: Some(r.at),
        tolerance: Some(mm(r.tolerance)),
        sewn: r.sewn.map(mm),
    }
}
