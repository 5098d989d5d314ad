//! Stay tapes: for edges that stretch when handled. The tape decides the length.

use super::{EdgeGrain, mostly_on_bias};
use crate::pattern::{EdgeName, Sewing};
use crate::prove::walk::{Laid, RingResult};
use serde::Serialize;
use std::collections::{HashMap, HashSet};

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
    for ring in rings.iter().filter(|r| r.wanted_mm > 0.0) {
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
                "a ring, {:.0} mm of {:.0} mm on the bias; its stay tape is as long as the ring is wanted",
                ring.bias_mm, ring.drawn_mm
            ),
        ));
    }
    let ringed: HashSet<&EdgeName> = sewing.rings.iter().flat_map(|r| &r.edges).collect();
    let sewn: HashMap<&EdgeName, &str> = sewing
        .seams
        .iter()
        .rev()
        .flat_map(|s| s.one.iter().chain(&s.other).map(|n| (n, s.name.as_str())))
        .collect();
    for edge in grain {
        let name = EdgeName {
            piece: edge.piece.clone(),
            edge: edge.edge.clone(),
        };
        if ringed.contains(&name)
            || edge.length_mm < SHORTEST
            || !mostly_on_bias(edge.bias_mm, edge.length_mm)
        {
            continue;
        }
        let length = net(laid, &name).unwrap_or(edge.length_mm);
        let within = sewn
            .get(&name)
            .map_or(String::new(), |s| format!(", in the seam \"{s}\""));
        out.push(tape(
            name.to_string(),
            length,
            Vec::new(),
            format!(
                "{:.0} mm of its {:.0} mm run on the bias{within}",
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

#[cfg(test)]
mod tests {
    use super::super::of;
    use super::*;
    use crate::pattern::PatternPiece;
    use crate::pattern::{FitsAt, Ring, Seam};
    use crate::prove::walk::ring;
    use crate::space::Point;

    /// A square of 100 mm, its grain along a diagonal: all four edges are on the bias.
    fn square() -> PatternPiece {
        let mut piece = PatternPiece::named("p");
        let at = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)];
        piece.cut = vec![at.into_iter().map(|(x, y)| Point::new(x, y)).collect()];
        piece.grain = Some([Point::origin(), Point::new(50.0, 50.0)]);
        piece
    }

    fn names(all: &[&str]) -> Vec<EdgeName> {
        all.iter().map(|n| EdgeName::parse(n).unwrap()).collect()
    }

    #[test]
    fn a_ring_has_one_tape_and_each_other_edge_on_the_bias_its_own() {
        let piece = square();
        let laid = [Laid::new(&piece)];
        let grain = of(&piece).unwrap();
        let declared = Ring {
            name: "r".into(),
            edges: names(&["p: 1", "p: 2", "p: 3"]),
            girth: 294.0,
            ease: 0.0,
            cloth: 0.0,
            at: FitsAt::Outside,
            tolerance: 1.0,
            sewn: None,
        };
        let seam = Seam {
            name: "side".into(),
            one: names(&["p: 4"]),
            other: names(&["q: 1"]),
            ease: 0.0,
            tolerance: 1.0,
        };
        let rings = [ring(&laid, &grain, &declared).0.unwrap()];
        let sewing = Sewing {
            seams: vec![seam],
            rings: vec![declared],
        };
        let [round, side] = tapes(&laid, &grain, &sewing, &rings).try_into().unwrap();
        // 6 mm are eased in: the joints of the edges stand at thirds of the tape.
        assert_eq!((round.net_mm, round.cut_mm), (294.0, 314.0));
        let marks: Vec<f64> = round.marks_mm.iter().map(|m| m.round()).collect();
        assert_eq!(marks, [10.0, 108.0, 157.0, 206.0, 304.0]);
        assert_eq!((side.stays.as_str(), side.cut_mm), ("p: 4", 120.0));
        assert_eq!(side.marks_mm, [10.0, 60.0, 110.0]);
        assert!(side.why.ends_with("in the seam \"side\""), "{}", side.why);
    }

    #[test]
    fn what_is_on_grain_wants_none() {
        let mut piece = square();
        piece.grain = Some([Point::origin(), Point::new(0.0, 50.0)]);
        let laid = [Laid::new(&piece)];
        let grain = of(&piece).unwrap();
        assert_eq!(tapes(&laid, &grain, &Sewing::default(), &[]), []);
    }
}
