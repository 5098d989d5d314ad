//! How far two places of a piece are from each other: how much its points move from one to
//! the other.

use crate::space::{Cloth, Piece, Point, Rigid, Vector, mean};

/// The spread of a piece's points, from which their mean displacement follows.
#[derive(Debug, Clone, Copy)]
pub struct Spread {
    middle: Point<Piece>,
    /// Mean squared distance of the points from their middle, mm².
    square: f64,
}

/// A turn, with all worked out that places in it have in common.
#[derive(Debug, Clone, Copy)]
pub struct Turned {
    cos: f64,
    sin: f64,
    /// From the piece's origin to the middle of its points.
    middle: Vector<Cloth>,
}

impl Spread {
    pub fn of(points: &[Point<Piece>]) -> Self {
        let n = points.len().max(1) as f64;
        let middle = mean(points.iter().copied()).unwrap_or_default();
        let square = points.iter().map(|p| (*p - middle).square_length());
        Self {
            middle,
            square: square.sum::<f64>() / n,
        }
    }

    pub fn turned(&self, pose: &Rigid<Piece, Cloth>) -> Turned {
        let (sin, cos) = pose.turn.sin_cos();
        Turned {
            cos,
            sin,
            middle: pose.point(self.middle) - pose.shift.to_point(),
        }
    }

    /// Mean square of how far the points lie from each other in two places, mm²; `by` is
    /// from the second's origin to the first's, and the same side is up. For rigid motions
    /// it is |Δm|² + 2·s·(1 − cos Δturn), m the points' middle and s their spread.
    pub fn apart_squared(&self, a: &Turned, b: &Turned, by: Vector<Cloth>) -> f64 {
        let turn = 1.0 - (a.cos * b.cos + a.sin * b.sin);
        (by + a.middle - b.middle).square_length() + 2.0 * self.square * turn.max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_the_mean_square_of_the_points_ways() {
        let points: Vec<Point<Piece>> = [(0.0, 0.0), (50.0, 10.0), (30.0, -20.0), (-7.0, 33.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
        let a: Rigid<Piece, Cloth> = Rigid::new(true, 0.3, Vector::new(100.0, 20.0));
        let b: Rigid<Piece, Cloth> = Rigid::new(true, -1.1, Vector::new(80.0, 45.0));
        let square = |p: &Point<Piece>| (a.point(*p) - b.point(*p)).square_length();
        let want = points.iter().map(square).sum::<f64>() / 4.0;
        let spread = Spread::of(&points);
        let (ta, tb) = (spread.turned(&a), spread.turned(&b));
        assert!((spread.apart_squared(&ta, &tb, a.shift - b.shift) - want).abs() < 1e-9);
    }
}
