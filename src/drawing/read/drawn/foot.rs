//! The point of a set of closed lines that is nearest to another.

use crate::pattern::Polyline;
use crate::space::{Piece, Point};

/// A point on a closed line.
#[derive(Debug, Clone, Copy)]
pub struct Foot {
    pub at: Point<Piece>,
    /// From the point asked for, in mm.
    pub distance: f64,
    /// Index of the line.
    pub line: usize,
    /// Index of the edge, which begins at the line's point of that index.
    pub edge: usize,
    /// How far along the edge, 0 to 1.
    pub part: f64,
}

/// The foot of `p` on `lines`; none if they are none.
pub fn nearest<'a>(p: Point<Piece>, lines: impl IntoIterator<Item = &'a Polyline>) -> Option<Foot> {
    let mut best: Option<Foot> = None;
    // Squared until the end, for the root costs more than all the rest.
    let mut least = f64::INFINITY;
    for (line, points) in lines.into_iter().enumerate() {
        let next = points.iter().cycle().skip(1);
        for (edge, (&a, &b)) in points.iter().zip(next).enumerate() {
            let along = b - a;
            let part = ((p - a).dot(along) / along.square_length()).clamp(0.0, 1.0);
            let at = a + along * part;
            let distance = (p - at).square_length();
            if distance < least {
                least = distance;
                best = Some(Foot {
                    at,
                    distance,
                    line,
                    edge,
                    part,
                });
            }
        }
    }
    best.map(|foot| Foot {
        distance: foot.distance.sqrt(),
        ..foot
    })
}
