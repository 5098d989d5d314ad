//! Seams that nobody declared, proposed from equal lengths and matching notches. A
//! proposal is data with its reason; it is never applied.

use super::laid::Laid;
use super::meet;
use super::run::Stands;
use super::say;
use super::sense;
use super::sewn::Sewn;
use crate::pattern::{EdgeName, Sewing};
use crate::pattern::{Finding, Severity, Spot, Topic};
use serde::Serialize;
use std::collections::HashSet;

/// Two edges are of equal length within the larger of this, mm, and of [`SHARE`] of it
/// (common practice: what true-up takes away).
const EQUAL: f64 = 1.0;
const SHARE: f64 = 0.005;

/// Shorter edges are too many alike, mm.
const SHORTEST: f64 = 20.0;

/// At most so many are proposed, from at most so many pairs of equal length; edges with
/// more notches are passed over.
const MOST: usize = 100;
const MOST_PAIRS: usize = 20_000;
const MOST_NOTCHES: usize = 100;

/// A seam that could be meant.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    pub one: String,
    pub other: String,
    pub one_mm: f64,
    pub other_mm: f64,
    /// Notches that meet, each counted once.
    pub notches: usize,
    /// 0 to 1: equal lengths alone give at most a half, notches that meet the rest.
    pub score: f64,
    /// One sentence.
    pub reason: String,
}

/// Proposes seams between edges that no seam, and no fold, has yet; each edge once, in
/// its best pair. What there was too much of to look at is found.
pub fn propose(laid: &[Laid], sewing: &Sewing) -> (Vec<Proposal>, Vec<Finding>) {
    let declared: HashSet<&EdgeName> = sewing
        .seams
        .iter()
        .flat_map(|s| s.one.iter().chain(&s.other))
        .collect();
    let mut free: Vec<Free> = Vec::new();
    let mut crowded: Vec<EdgeName> = Vec::new();
    for (p, piece) in laid.iter().enumerate() {
        for (e, edge) in piece.edges.iter().enumerate() {
            let name = EdgeName {
                piece: piece.piece.name.clone(),
                edge: edge.name.clone(),
            };
            let length = edge.length - piece.taken(e);
            if length >= SHORTEST && !piece.folded[e] && !declared.contains(&name) {
                let own = piece.marks.iter().filter(|m| m.edge == e);
                if own.count() > MOST_NOTCHES {
                    crowded.push(name);
                    continue;
                }
                free.push((length, (p, e), name));
            }
        }
    }
    free.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut findings = Vec::new();
    let mut tell = |what: String, remedy: &str| {
        let (check, seam) = (Severity::Check, Topic::Seam);
        findings.push(Finding::new(check, seam, Spot::default(), what, remedy));
    };
    if !crowded.is_empty() {
        let names = say::list(crowded.iter());
        tell(
            format!(
                "no seams are proposed for edges with more than {MOST_NOTCHES} notches: {names}"
            ),
            "name their seams yourself",
        );
    }
    let mut pairs = Vec::new();
    'all: for i in 0..free.len() {
        for j in i + 1..free.len() {
            let limit = EQUAL.max(SHARE * free[j].0);
            if free[j].0 - free[i].0 > limit {
                break;
            }
            if pairs.len() == MOST_PAIRS {
                let more =
                    "so many edges are of equal length that not all were compared for proposals";
                tell(
                    format!("{more}: those up to {:.1} mm were", free[i].0),
                    "name the seams of the longer ones yourself",
                );
                break 'all;
            }
            pairs.push((i, j, (free[j].0 - free[i].0) / limit));
        }
    }
    let mut scored: Vec<(f64, usize, usize, Proposal)> = pairs
        .into_iter()
        .filter_map(|(i, j, apart)| {
            let p = judge(laid, &free[i], &free[j], apart)?;
            Some((p.score, i, j, p))
        })
        .collect();
    scored.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut taken = HashSet::new();
    let mut out = Vec::new();
    for (_, i, j, proposal) in scored {
        if !taken.contains(&i) && !taken.contains(&j) {
            taken.extend([i, j]);
            out.push(proposal);
        }
    }
    if out.len() > MOST {
        let more = out.len() - MOST;
        tell(
            format!("more seams could be proposed than the {MOST} that are: {more} more"),
            "name seams that you know, and ask again",
        );
        out.truncate(MOST);
    }
    (out, findings)
}

type Free = (f64, (usize, usize), EdgeName);

/// One pair; `None` if its notches speak against it, or if nothing but length speaks for
/// two edges of one piece.
fn judge(laid: &[Laid], one: &Free, other: &Free, apart: f64) -> Option<Proposal> {
    let tolerance = EQUAL.max(SHARE * other.0);
    let walked = sense::walk(laid, &Sewn::default(), &[one.1], &[other.1], tolerance);
    if meet::faults(&walked.one, &walked.other, &walked.meeting, tolerance) > 0 {
        return None;
    }
    let notches = walked
        .meeting
        .pairs
        .iter()
        .filter(|&&(i, _)| matches!(walked.one.stops[i].stands, Stands::Notch(..)))
        .count();
    if notches == 0 && one.1.0 == other.1.0 {
        return None;
    }
    let near = 0.5 * (1.0 - 0.5 * apart);
    // Each further notch halves what is left to doubt.
    let score = near + 0.5 * (1.0 - 0.5f64.powi(notches.min(30) as i32));
    let with = match notches {
        0 => ", and neither has a notch".to_owned(),
        1 => ", and their notch meets".to_owned(),
        n => format!(", and their {n} notches meet"),
    };
    Some(Proposal {
        reason: format!(
            "\"{}\" and \"{}\" are {:.1} mm and {:.1} mm long{with}",
            one.2, other.2, one.0, other.0
        ),
        one: one.2.to_string(),
        other: other.2.to_string(),
        one_mm: one.0,
        other_mm: other.0,
        notches,
        score,
    })
}
