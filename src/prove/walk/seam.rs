//! A seam walked: its two sides compared, notch by notch.

use super::laid::Laid;
use super::landing::{Landing, Stretch, alone, met, stretches, taken_away};
use super::say;
use super::sense::{self, Walked};
use super::sewn::Sewn;
use crate::pattern::{EdgeName, Seam};
use crate::pattern::{Finding, Severity, Spot, Topic};
use serde::Serialize;

/// What the lengths of a seam's sides say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Within the tolerance.
    Agrees,
    OneLong,
    OtherLong,
}

/// A seam walked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeamResult {
    pub seam: String,
    pub one: Vec<String>,
    pub other: Vec<String>,
    /// Net lengths, mm, darts closed.
    pub one_mm: f64,
    pub other_mm: f64,
    /// What darts take up, mm.
    pub one_darts_mm: f64,
    pub other_darts_mm: f64,
    pub ease_mm: f64,
    pub tolerance_mm: f64,
    /// one − other − ease.
    pub difference_mm: f64,
    pub verdict: Verdict,
    pub landings: Vec<Landing>,
    /// From each place that meets to the next, and the ends.
    pub stretches: Vec<Stretch>,
    /// The sides run the same way round, face up: one is sewn face down or mirrored.
    pub same_way: bool,
    /// The notches don't say which way round it is sewn.
    pub either_way: bool,
    /// What to do, a sentence each without a full stop; none if it agrees.
    pub remedies: Vec<String>,
}

/// The edges that a list of names means, as (piece, edge).
///
/// # Errors
/// A finding that names what is there instead.
pub fn find(
    laid: &[Laid],
    names: &[EdgeName],
    seam: &str,
) -> Result<Vec<(usize, usize)>, Box<Finding>> {
    let missing = |what: String, remedy: String| {
        Box::new(Finding::new(
            Severity::Spoils,
            Topic::Seam,
            Spot::seam(seam),
            what,
            remedy,
        ))
    };
    if names.is_empty() {
        return Err(missing(
            "a side of this has no edges".into(),
            "name the edges of both sides".into(),
        ));
    }
    let found = names.iter().map(|name| {
        let piece = laid.iter().position(|l| l.piece.name == name.piece);
        let Some(piece) = piece else {
            return Err(missing(
                format!("it names the piece \"{}\", which isn't there", name.piece),
                format!(
                    "the pieces are {}",
                    say::list(laid.iter().map(|l| &l.piece.name))
                ),
            ));
        };
        let Some(edge) = laid[piece].edge(&name.edge) else {
            return Err(missing(
                format!("it names the edge \"{name}\", which isn't there"),
                format!(
                    "the edges of \"{}\" are {}",
                    name.piece,
                    say::list(laid[piece].edges.iter().map(|e| &e.name))
                ),
            ));
        };
        Ok((piece, edge))
    });
    found.collect()
}

/// Walks a seam. What it could not be walked for, or what is wrong with it, is in the
/// findings.
pub fn walk(
    laid: &[Laid],
    sewn: &Sewn,
    seam: &Seam,
) -> (Option<(SeamResult, Walked)>, Vec<Finding>) {
    let sides = find(laid, &seam.one, &seam.name)
        .and_then(|one| Ok((one, find(laid, &seam.other, &seam.name)?)));
    let (one, other) = match sides {
        Ok(sides) => sides,
        Err(finding) => return (None, vec![*finding]),
    };
    let walked = sense::walk(laid, sewn, &one, &other, seam.tolerance);
    let mut findings = Vec::new();
    let result = compare(laid, seam, &walked, &mut findings);
    (Some((result, walked)), findings)
}

fn compare(laid: &[Laid], seam: &Seam, walked: &Walked, out: &mut Vec<Finding>) -> SeamResult {
    let (one, other) = (&walked.one, &walked.other);
    let difference = one.length() - other.length() - seam.ease;
    let verdict = match difference {
        d if d.abs() <= seam.tolerance => Verdict::Agrees,
        d if d > 0.0 => Verdict::OneLong,
        _ => Verdict::OtherLong,
    };
    if verdict != Verdict::Agrees {
        out.push(lengths(laid, seam, walked, difference));
    }
    let mut landings = Vec::new();
    for &(i, j) in &walked.meeting.pairs {
        landings.extend(met(laid, seam, walked, (i, j), out));
    }
    // Where none were tried, that one meets nothing says nothing.
    let untried = walked.meeting.too_many;
    if untried {
        out.push(Finding::new(
            Severity::Check,
            Topic::Notch,
            Spot::seam(&seam.name),
            format!(
                "it has so many notches that they are not compared: {} on one side, {} on the other",
                one.stops.len(),
                other.stops.len()
            ),
            "part it into several seams",
        ));
    }
    let met_one = |k: usize| untried || walked.meeting.pairs.iter().any(|p| p.0 == k);
    let met_other = |k: usize| untried || walked.meeting.pairs.iter().any(|p| p.1 == k);
    for (k, stop) in one.stops.iter().enumerate().filter(|(k, _)| !met_one(*k)) {
        landings.extend(alone(laid, seam, walked, (k, stop, true), out));
    }
    for (k, stop) in other
        .stops
        .iter()
        .enumerate()
        .filter(|(k, _)| !met_other(*k))
    {
        landings.extend(alone(laid, seam, walked, (k, stop, false), out));
    }
    landings.sort_by(|a, b| {
        a.side
            .cmp(b.side)
            .reverse()
            .then(a.along_mm.total_cmp(&b.along_mm))
    });
    let stretches = stretches(walked);
    taken_away(seam, walked, &stretches, out);
    let names = |side: &[EdgeName]| side.iter().map(EdgeName::to_string).collect();
    SeamResult {
        seam: seam.name.clone(),
        one: names(&seam.one),
        other: names(&seam.other),
        one_mm: one.length(),
        other_mm: other.length(),
        one_darts_mm: one.darts,
        other_darts_mm: other.darts,
        ease_mm: seam.ease,
        tolerance_mm: seam.tolerance,
        difference_mm: difference,
        verdict,
        landings,
        stretches,
        same_way: walked.same_way,
        either_way: walked.either_way,
        remedies: out.iter().map(|f| f.remedy.clone()).collect(),
    }
}

/// The two sides differ by more than the tolerance.
fn lengths(laid: &[Laid], seam: &Seam, walked: &Walked, difference: f64) -> Finding {
    let (long, short) = if difference > 0.0 {
        (&walked.one, &walked.other)
    } else {
        (&walked.other, &walked.one)
    };
    let (long, short) = (say::side(laid, long), say::side(laid, short));
    let by = difference.abs();
    let ease = match seam.ease {
        0.0 => String::new(),
        ease => format!(", with {ease:.1} mm of ease allowed for"),
    };
    // Marked on the first edge that is long.
    let run = if difference > 0.0 {
        &walked.one
    } else {
        &walked.other
    };
    let mut spot = say::spot(laid, run, 0, Some(&seam.name));
    if let Some(p) = run.point(laid, run.length() / 2.0) {
        let (step, _) = run.on(run.length() / 2.0);
        spot = say::spot(laid, run, step, Some(&seam.name)).at(p);
    }
    Finding::new(
        Severity::Spoils,
        Topic::Seam,
        spot,
        format!("{long} is {by:.1} mm too long for {short}{ease}"),
        format!(
            "take {by:.1} mm out of {long}, let {by:.1} mm into {short}, or say that it is eased in"
        ),
    )
}
