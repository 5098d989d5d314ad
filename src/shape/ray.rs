//! Where a straight way out or in meets an outline, and what of a line lies in a region.

use super::{Region, Ring, pairs};
use crate::space::{Point, Vector};

/// How far beyond an edge's ends, as a part of it, it is still met: a ray through a corner
/// meets one of the edges there.
const END: f64 = 1e-9;

/// The first place where the ray from `from` along the unit vector `way` meets an edge of
/// the closed `rings`, and how far that is; 1e-6 mm behind its beginning still counts.
pub fn ray<'a, S: 'a>(
    rings: impl IntoIterator<Item = &'a Ring<S>>,
    from: Point<S>,
    way: Vector<S>,
) -> Option<(f64, Point<S>)> {
    let met = rings
        .into_iter()
        .flat_map(|r| pairs(r))
        .filter_map(|(a, b)| {
            let e = b - a;
            let turn = way.cross(e);
            let share = way.cross(from - a) / turn;
            let far = e.cross(from - a) / turn;
            let on = (-END..=1.0 + END).contains(&share) && far >= -1e-6;
            on.then(|| (far, a + e * share.clamp(0.0, 1.0)))
        });
    met.min_by(|a, b| a.0.total_cmp(&b.0))
}

/// The stretches of an open line that lie within a region, in its direction.
pub fn within<S>(line: &[Point<S>], region: &Region<S>) -> Vec<Vec<Point<S>>> {
    let mut out: Vec<Vec<Point<S>>> = Vec::new();
    // Whether the last stretch ends where the next edge begins.
    let mut runs_on = false;
    for w in line.windows(2) {
        let e = w[1] - w[0];
        let mut stops = vec![0.0, 1.0];
        for (a, b) in region.rings.iter().flat_map(|r| pairs(r)) {
            let f = b - a;
            let turn = e.cross(f);
            let (s, t) = ((a - w[0]).cross(f) / turn, (a - w[0]).cross(e) / turn);
            if (0.0..=1.0).contains(&s) && (-END..=1.0 + END).contains(&t) {
                stops.push(s);
            }
        }
        stops.sort_by(f64::total_cmp);
        for pair in stops.windows(2).filter(|p| p[0] < p[1]) {
            let at = |share: f64| match share {
                0.0 => w[0],
                1.0 => w[1],
                share => w[0] + e * share,
            };
            if !region.contains(at((pair[0] + pair[1]) / 2.0)) {
                runs_on = false;
                continue;
            }
            match out.last_mut().filter(|_| runs_on) {
                Some(stretch) => stretch.push(at(pair[1])),
                None => out.push(vec![at(pair[0]), at(pair[1])]),
            }
            runs_on = true;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::length;
    use crate::space::Table;

    fn square() -> Region<Table> {
        let corners = [(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)];
        Region::ring(corners.iter().map(|&(x, y)| Point::new(x, y)).collect())
    }

    #[test]
    fn a_ray_meets_the_nearest_edge_and_corners_too() {
        let square = square();
        let way = Vector::new(0.6, 0.8);
        let met = ray(&square.rings, Point::new(6.0, 2.0), way).unwrap();
        assert!((met.0 - 35.0).abs() < 1e-9 && (met.1 - Point::new(27.0, 30.0)).length() < 1e-9);
        let corner = ray(&square.rings, Point::new(12.0, 6.0), way).unwrap();
        assert_eq!(corner.1, Point::new(30.0, 30.0));
        assert!(ray(&square.rings, Point::new(40.0, 2.0), way).is_none());
    }

    #[test]
    fn a_line_is_parted_where_it_leaves_the_region() {
        let line: Vec<Point<Table>> = [
            (-10.0, 10.0),
            (10.0, 10.0),
            (10.0, 40.0),
            (20.0, 40.0),
            (20.0, 20.0),
        ]
        .iter()
        .map(|&(x, y)| Point::new(x, y))
        .collect();
        let lengths: Vec<f64> = within(&line, &square()).iter().map(|l| length(l)).collect();
        assert_eq!(lengths, [30.0, 10.0]);
        assert!(within(&line[2..4], &square()).is_empty());
    }
}
