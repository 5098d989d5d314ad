//! A suspect seam is walked: an edge of a part, and edges that it may be sewn to,
//! lit end to end. Where the run is smooth and their lengths add up, the seam is
//! true; a jag shows at the join, a fault of length in the words.

use super::{Lying, Of, Phase};
use crate::lay::inside_of;
use crate::measure::Unit;
use crate::pattern::{Edge, edges};
use crate::shape::Region;
use crate::space::{Piece, Point, Rigid, Table, Vector};
use crate::work::act::{Reply, Touched};
use crate::work::bench::Bench;

/// Lengths that differ by less than this are one length to the hand, mm (common
/// practice: the thickness of a pencil line).
const SAME: f64 = 0.5;

/// An edge that may be sewn to another.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Other {
    pub(super) piece: String,
    /// Its number among the piece's edges, from 0.
    pub(super) at: usize,
    pub(super) edge: Edge,
}

impl Bench {
    pub(super) fn edges_of(&self, of: Of) -> Vec<Edge> {
        let part = self.part_of(of);
        let piece = part.and_then(|p| self.goods.stock().piece(&p.piece));
        piece.map(edges).unwrap_or_default()
    }

    /// All other edges of the same article, those of the nearest length first:
    /// which of them it is sewn to the person knows.
    pub(super) fn others_of(&self, of: Of, edge: usize) -> Vec<Other> {
        let Some(part) = self.part_of(of) else {
            return Vec::new();
        };
        let stock = self.goods.stock();
        let (Some(own), Some(article)) = (
            self.edges_of(of).into_iter().nth(edge),
            stock.article(&part.article),
        ) else {
            return Vec::new();
        };
        let mut all: Vec<Other> = Vec::new();
        for piece in article.parts.iter().filter_map(|p| stock.piece(&p.piece)) {
            if all.iter().any(|o| o.piece == piece.name) {
                continue;
            }
            for (at, other) in edges(piece).into_iter().enumerate() {
                if piece.name != part.piece || at != edge {
                    all.push(Other {
                        piece: piece.name.clone(),
                        at,
                        edge: other,
                    });
                }
            }
        }
        let off = |o: &Other| (o.edge.length - own.length).abs();
        all.sort_by(|a, b| off(a).total_cmp(&off(b)));
        all
    }

    pub(super) fn walk_on(&mut self, phase: &Phase) -> Reply {
        let Phase::Walk { of, edge, to, over } = *phase else {
            return Reply::default();
        };
        let next = |at: usize, n: usize| (at + 1) % n.max(1);
        let (edge, to) = match to {
            None => (next(edge, self.edges_of(of).len()), None),
            Some(k) => (edge, Some(next(k, self.others_of(of, edge).len()))),
        };
        self.turn_to(Phase::Walk { of, edge, to, over });
        Reply::touching(Touched::All)
    }

    pub(super) fn walk_back(&mut self, phase: &Phase) -> Reply {
        let Phase::Walk { of, edge, to, over } = *phase else {
            return Reply::default();
        };
        let any = to.is_none() && !self.others_of(of, edge).is_empty();
        self.turn_to(if any {
            Phase::Walk {
                of,
                edge,
                to: Some(0),
                over,
            }
        } else {
            Phase::LaidBack { of, over }
        });
        Reply::touching(Touched::All)
    }

    pub(super) fn walk_words(&self, of: Of, edge: usize, to: Option<usize>) -> Vec<String> {
        let all = self.edges_of(of);
        let (Some(part), Some(own)) = (self.part_of(of), all.get(edge)) else {
            return Vec::new();
        };
        let first = format!(
            "{}: edge {} of {}, {}",
            part.piece,
            edge + 1,
            all.len(),
            Unit::Mm.show(own.length)
        );
        let Some(to) = to else {
            return vec![
                first,
                "go on: another edge".to_owned(),
                "back: walk this one".to_owned(),
            ];
        };
        let others = self.others_of(of, edge);
        let Some(other) = others.get(to) else {
            return Vec::new();
        };
        // Of the lengths as they are said.
        let tenth = |mm: f64| (mm * 10.0).round() / 10.0;
        let by = tenth(other.edge.length) - tenth(own.length);
        let compared = if by.abs() < SAME {
            "as long".to_owned()
        } else {
            let which = if by > 0.0 { "longer" } else { "shorter" };
            format!("{} {which}", Unit::Mm.show(by.abs()))
        };
        vec![
            first,
            format!(
                "{}: edge {}, {}: {compared}",
                other.piece,
                other.at + 1,
                Unit::Mm.show(other.edge.length)
            ),
            "go on: another edge".to_owned(),
            "back: done".to_owned(),
        ]
    }

    /// The part with its edge lit and, beginning where that ends, in the same
    /// direction, the other one's.
    pub(super) fn walked(&self, of: Of, edge: usize, to: Option<usize>, over: bool) -> Vec<Lying> {
        let all = self.edges_of(of);
        let (Some(own), Some(mut first)) = (all.get(edge), self.lying(of, over)) else {
            return Vec::new();
        };
        first.edge.clone_from(&own.line);
        let Some(to) = to else { return vec![first] };
        let others = self.others_of(of, edge);
        let stock = self.goods.stock();
        let (Some(other), Some(piece)) = (others.get(to), stock.piece(&first.piece)) else {
            return vec![first];
        };
        let Some(second) = stock.piece(&other.piece) else {
            return vec![first];
        };
        let here = Rigid::new(first.pose.mirrored, first.pose.turn, Vector::zero());
        let Some(there) = end_to_end(&here, &own.line, &other.edge.line) else {
            return vec![first];
        };
        let mut both: Region<Table> = inside_of(piece).moved(&here);
        both.append(inside_of(second).moved(&there));
        // Where both have no room side by side, the first stays where it was.
        if let Some((place, over_cloth)) = self.free_place(&both) {
            first.pose = here.then(&place);
            first.over_cloth = over_cloth;
        }
        let Some(pose) = end_to_end(&first.pose, &own.line, &other.edge.line) else {
            return vec![first];
        };
        let article = stock.article(&first.article);
        let mut parts = article.into_iter().flat_map(|a| &a.parts);
        let part = parts.find(|p| p.piece == other.piece);
        let lying = Lying {
            piece: other.piece.clone(),
            cloth: part.map_or(first.cloth.clone(), |p| p.cloth.clone()),
            edge: other.edge.line.clone(),
            pose,
            ..first.clone()
        };
        vec![first, lying]
    }
}

/// Where a piece lies whose edge goes on where another's ends, without a bend;
/// mirrored as that one is. `None` if an edge has no length.
fn end_to_end(
    first: &Rigid<Piece, Table>,
    ends: &[Point<Piece>],
    begins: &[Point<Piece>],
) -> Option<Rigid<Piece, Table>> {
    let [.., before, end] = *ends else {
        return None;
    };
    let [start, after, ..] = *begins else {
        return None;
    };
    let mirror: Rigid<Piece, Table> = Rigid::new(first.mirrored, 0.0, Vector::zero());
    let (out, on) = (first.vector(end - before), mirror.vector(after - start));
    if out.length() == 0.0 || on.length() == 0.0 {
        return None;
    }
    // The vector library's own angle is an approximation.
    let turn = on.cross(out).atan2(on.dot(out));
    let turned: Rigid<Piece, Table> = Rigid::new(first.mirrored, turn, Vector::zero());
    let shift = first.point(end) - turned.point(start);
    Some(Rigid::new(first.mirrored, turn, shift))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_second_edge_goes_on_where_the_first_ends() {
        let p = |x: f64, y: f64| Point::new(x, y);
        let own = [p(0.0, 0.0), p(30.0, 10.0), p(50.0, 40.0)];
        let other = [p(-5.0, 7.0), p(-5.0, -20.0), p(10.0, -60.0)];
        for mirrored in [false, true] {
            let first = Rigid::new(mirrored, 0.7, Vector::new(300.0, 200.0));
            let second = end_to_end(&first, &own, &other).unwrap();
            assert_eq!(second.mirrored, mirrored);
            let (end, start) = (first.point(own[2]), second.point(other[0]));
            assert!((end - start).length() < 1e-9);
            let out = first.vector(own[2] - own[1]).normalize();
            let on = second.vector(other[1] - other[0]).normalize();
            assert!((out - on).length() < 1e-9, "{out:?} {on:?}");
        }
        let first = Rigid::new(false, 0.0, Vector::zero());
        assert_eq!(end_to_end(&first, &own, &[p(1.0, 1.0)]), None);
    }
}
