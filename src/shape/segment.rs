//! One straight edge and a point: the place on the edge that is nearest.

use crate::space::Point;

/// How far along an edge its place nearest to `p` lies: 0 at its start, 1 at its end; 0 if it
/// has no length.
pub fn edge_share<S>((a, b): (Point<S>, Point<S>), p: Point<S>) -> f64 {
    let step = b - a;
    let square = step.square_length();
    if square > 0.0 {
        ((p - a).dot(step) / square).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The place on an edge that is nearest to `p`.
pub fn edge_foot<S>((a, b): (Point<S>, Point<S>), p: Point<S>) -> Point<S> {
    a + (b - a) * edge_share((a, b), p)
}

/// How far a point is from an edge, in units of `S`.
pub fn edge_distance<S>(edge: (Point<S>, Point<S>), p: Point<S>) -> f64 {
    (p - edge_foot(edge, p)).length()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    #[test]
    fn beside_an_edge_it_is_upright_and_beyond_it_the_end() {
        let edge: (Point<Table>, Point<Table>) = (Point::new(10.0, 0.0), Point::new(50.0, 0.0));
        for (p, share, far) in [
            (Point::new(20.0, -7.0), 0.25, 7.0),
            (Point::new(7.0, 4.0), 0.0, 5.0),
            (Point::new(53.0, 4.0), 1.0, 5.0),
        ] {
            assert_eq!(edge_share(edge, p), share);
            assert_eq!(edge_distance(edge, p), far);
        }
    }

    #[test]
    fn an_edge_of_no_length_is_its_point() {
        let at: Point<Table> = Point::new(3.0, 4.0);
        assert_eq!(edge_foot((at, at), Point::origin()), at);
        assert_eq!(edge_distance((at, at), Point::origin()), 5.0);
    }
}
