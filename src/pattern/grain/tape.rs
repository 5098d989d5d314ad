//! Stay tapes: for edges that stretch when handled. The tape decides the length.

use super::{EdgeGrain, mostly_on_bias};
use crate::pattern::sewing::{EdgeName, Sewing};
use crate::pattern::walk::{Laid, RingResult};
use serde::Serialize;

/// What a tape is cut longer than its marks, mm, each end (common practice).
pub const TAPE_ENDS: f64 = 10.0;

/// Shorter edges do not stretch enough to matter, mm (common practice).
const SHORTEST: f64 = 40.0;

/// A stay tape to be cut.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Tape {
    /// The edge, or the ring, that it stays.
    pub stays: String,
    /// Between the marks at its ends, mm.
    pub net_mm: f64,
    /// With [`TAPE_ENDS`] at either end, mm.
    pub cut_mm: f64,
    /// Where it is marked, mm from its cut end: the ends, the middle, and where two edges
    /// of a ring meet.
    pub marks_mm: Vec<f64>,
    /// One sentence.
    pub why: String,
}

fn tape(stays: String, net: f64, mut marks: Vec<f64>, why: String) -> Tape {
    marks.extend([0.0, net / 2.0, net]);
    marks.sort_by(f64::total_cmp);
    marks.dedup_by(|b, a| *b - *a < 0.05);
    Tape {
        stays,
        net_mm: net,
        cut_mm: net + 2.0 * TAPE_ENDS,
        marks_mm: marks.into_iter().map(|m| m + TAPE_ENDS).collect(),
        why,
    }
}

/// The tapes that rings and edges mostly on the bias want. A ring's is as long as the
/// ring is wanted, an edge's as its net line.
pub fn tapes(
    laid: &[Laid],
    grain: &[EdgeGrain],
    sewing: &Sewing,
    rings: &[RingResult],
) -> Vec<Tape> {
    let mut out = Vec::new();
    for ring in rings {
        let declared = sewing.rings.iter().find(|r| r.name == ring.ring);
        let lengths = declared
            .iter()
            .flat_map(|r| &r.edges)
            .filter_map(|n| net(laid, n));
        let mut at = 0.0;
        // What is eased in is spread evenly over the ring.
        let scale = ring.wanted_mm / ring.drawn_mm.max(f64::MIN_POSITIVE);
        let marks = lengths.map(|len| {
            at += len * scale;
            at
        });
        let marks = marks.filter(|m| *m < ring.wanted_mm - 0.05).collect();
        out.push(tape(
            ring.ring.clone(),
            ring.wanted_mm,
            marks,
            format!(
                "a ring, {:.0} of {:.0} mm on the bias; the tape is as long as the ring is wanted",
                ring.bias_mm, ring.drawn_mm
            ),
        ));
    }
    for edge in grain {
        let name = EdgeName {
            piece: edge.piece.clone(),
            edge: edge.edge.clone(),
        };
        let ringed = sewing.rings.iter().any(|r| r.edges.contains(&name));
        if ringed || edge.length_mm < SHORTEST || !mostly_on_bias(edge.bias_mm, edge.length_mm) {
            continue;
        }
        let length = net(laid, &name).unwrap_or(edge.length_mm);
        let seam = sewing
            .seams
            .iter()
            .find(|s| s.one.contains(&name) || s.other.contains(&name));
        let within = seam.map_or(String::new(), |s| format!(", in the seam \"{}\"", s.name));
        out.push(tape(
            name.to_string(),
            length,
            Vec::new(),
            format!(
                "{:.0} of its {:.0} mm run on the bias{within}",
                edge.bias_mm, edge.length_mm
            ),
        ));
    }
    out
}

/// The net length of an edge, darts closed.
fn net(laid: &[Laid], name: &EdgeName) -> Option<f64> {
    let piece = laid.iter().find(|l| l.piece.name == name.piece)?;
    let edge = piece.edge(&name.edge)?;
    Some(piece.edges[edge].length - piece.taken(edge))
}
