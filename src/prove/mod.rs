//! The pattern proven before it is cut: every check run, and all that they found in one
//! report.

pub mod grain;
mod notches;
mod picture;
mod pieces;
mod room;
mod seams_file;
mod text;
pub mod walk;

#[cfg(test)]
mod tests;

pub use picture::svg;
pub use pieces::{AllowanceMeasured, PieceResult};
pub use seams_file::{Applied, SeamsFile, Written};
pub use text::text;

use self::grain::{EdgeGrain, Tape};
use self::walk::{Laid, Proposal, RingResult, SeamResult, Sewn};
use crate::pattern::PatternPiece;
use crate::pattern::{EdgeName, Ring, Seam, Sewing};
use crate::pattern::{Finding, Severity, Spot, Topic};
use serde::Serialize;
use std::collections::HashSet;

/// What is asked of [`prove`].
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// Propose seams that nobody declared.
    pub propose: bool,
    /// How far two corners may add up to other than 180°, degrees.
    pub corner_deg: f64,
    /// What other checks found: listed with the rest.
    pub findings: Vec<Finding>,
}

impl Default for Asked {
    fn default() -> Self {
        Self {
            propose: true,
            corner_deg: walk::TRUED,
            findings: Vec::new(),
        }
    }
}

/// All that was found of a pattern. Lengths are mm, angles degrees.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Proof {
    /// What matters most first.
    pub findings: Vec<Finding>,
    pub pieces: Vec<PieceResult>,
    /// The piece with the longest side, for the person to check the size by.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub largest: Option<Largest>,
    pub seams: Vec<SeamResult>,
    pub rings: Vec<RingResult>,
    /// Of pieces that have a grain.
    pub grain: Vec<EdgeGrain>,
    pub tapes: Vec<Tape>,
    pub proposals: Vec<Proposal>,
}

/// The largest piece: a file read at the wrong scale shows here.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Largest {
    pub piece: String,
    /// Its box along x and y of piece space.
    pub width_mm: f64,
    pub height_mm: f64,
}

impl Proof {
    /// Whether something would spoil the work.
    pub fn spoils(&self) -> bool {
        self.findings.iter().any(|f| f.severity == Severity::Spoils)
    }

    /// Adds what another check found, in its place.
    pub fn add(&mut self, findings: impl IntoIterator<Item = Finding>) {
        self.findings.extend(findings);
        self.findings.sort_by_key(|f| (f.severity, f.topic));
    }
}

/// Runs every check on the pieces as drawn, and on what is declared of their sewing.
pub fn prove(pieces: &[PatternPiece], sewing: &Sewing, asked: &Asked) -> Proof {
    let laid: Vec<Laid> = pieces.iter().map(Laid::new).collect();
    let mut findings = asked.findings.clone();
    let mut results = Vec::new();
    let mut edge_grain = Vec::new();
    for piece in &laid {
        let (result, found) = pieces::check(piece);
        results.push(result);
        findings.extend(found);
        findings.extend(notches::too_deep(piece.piece));
        edge_grain.extend(grain::of(piece.piece).unwrap_or_default());
    }
    if sewing.seams.is_empty() {
        findings.push(Finding::new(
            Severity::Check,
            Topic::Seam,
            Spot::default(),
            "nobody says what is sewn to what, so no seam was walked",
            "write it in a seams file, or in the draft",
        ));
    }
    let sewn = Sewn::new(&laid, sewing);
    let mut seams = Vec::new();
    for seam in &sewing.seams {
        if let Some(finding) = unusable(seam) {
            findings.push(finding);
            continue;
        }
        findings.extend(to_itself(&laid, seam));
        let (result, found) = walk::walk(&laid, &sewn, seam);
        findings.extend(found);
        if let Some((result, walked)) = result {
            findings.extend(walk::missing(&laid, seam, &walked));
            findings.extend(walk::trued(&laid, &sewn, seam, &walked, asked.corner_deg));
            seams.push(result);
        }
    }
    findings.extend(at_folds(&laid, sewing));
    let mut rings = Vec::new();
    for ring in &sewing.rings {
        if let Some(finding) = unusable_ring(ring) {
            findings.push(finding);
            continue;
        }
        let (result, found) = walk::ring(&laid, &edge_grain, ring);
        findings.extend(found);
        rings.extend(result);
    }
    let tapes = grain::tapes(&laid, &edge_grain, sewing, &rings);
    let (proposals, found) = match asked.propose {
        true => walk::propose(&laid, sewing),
        false => Default::default(),
    };
    findings.extend(found);
    let mut proof = Proof {
        findings: Vec::new(),
        largest: pieces::largest(&results),
        pieces: results,
        seams,
        rings,
        grain: edge_grain,
        tapes,
        proposals,
    };
    proof.add(findings);
    proof
}

/// A seam made in code, not read from a file, whose numbers can't be used.
fn unusable(seam: &Seam) -> Option<Finding> {
    let sound = seam.ease.is_finite() && seam.tolerance.is_finite() && seam.tolerance > 0.0;
    (!sound).then(|| numbers(&seam.name, "ease and a tolerance above 0 mm"))
}

fn unusable_ring(ring: &Ring) -> Option<Finding> {
    let all = [ring.girth, ring.ease, ring.cloth, ring.tolerance];
    let sound = all.iter().all(|v| v.is_finite())
        && ring.girth > 0.0
        && ring.cloth >= 0.0
        && ring.tolerance > 0.0
        && ring.sewn.is_none_or(|s| s.is_finite() && s > 0.0);
    (!sound).then(|| {
        numbers(
            &ring.name,
            "a girth and a tolerance above 0 mm, and no negative cloth",
        )
    })
}

fn numbers(name: &str, want: &str) -> Finding {
    Finding::new(
        Severity::Spoils,
        Topic::Seam,
        Spot::seam(name),
        "its lengths can't be used",
        format!("give it {want}"),
    )
}

/// Edges on both sides of a seam, of a piece of which there is one: of two, left is sewn to
/// right; of half a piece on the fold, the half to its mirror image.
fn to_itself(laid: &[Laid], seam: &Seam) -> Vec<Finding> {
    let lone = |name: &&EdgeName| {
        let piece = laid.iter().find(|l| l.piece.name == name.piece);
        piece.is_some_and(|l| l.piece.cut_count < 2 && l.piece.folds.is_empty())
    };
    let both = seam.one.iter().filter(|name| seam.other.contains(name));
    both.filter(lone)
        .map(|name| {
            let spot = Spot {
                piece: Some(name.piece.clone()),
                edge: Some(name.edge.clone()),
                ..Spot::seam(&seam.name)
            };
            Finding::new(
                Severity::Spoils,
                Topic::Seam,
                spot,
                format!("\"{name}\" is sewn to itself, and the pattern asks for one of the piece"),
                "name what it is sewn to, or ask for two of the piece",
            )
        })
        .collect()
}

/// Centres at the fold on edges that are sewn.
fn at_folds(laid: &[Laid], sewing: &Sewing) -> Vec<Finding> {
    let sewn: HashSet<(&str, &str)> = sewing
        .seams
        .iter()
        .flat_map(|s| s.one.iter().chain(&s.other))
        .map(|n| (n.piece.as_str(), n.edge.as_str()))
        .collect();
    let mut out = Vec::new();
    for piece in laid {
        for (e, edge) in piece.edges.iter().enumerate() {
            if sewn.contains(&(piece.piece.name.as_str(), edge.name.as_str())) {
                out.extend(walk::at_fold(piece, e));
            }
        }
    }
    out
}
