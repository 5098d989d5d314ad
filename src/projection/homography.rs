//! The plane-to-plane projective map, and its exact solution from four points.

use crate::fault::{Fault, Outcome, short};
use crate::space::{Point, Projector, Table};
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};
use std::marker::PhantomData;

/// A projective map from plane `A` to plane `B`, scaled so that the
/// denominator is positive in front of the lens and the last entry is ±1
/// where it is not vanishing.
#[derive(Debug)]
pub struct Homography<A, B> {
    m: Matrix3<f64>,
    _planes: PhantomData<(A, B)>,
}

impl<A, B> Clone for Homography<A, B> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<A, B> Copy for Homography<A, B> {}

impl<A, B> PartialEq for Homography<A, B> {
    fn eq(&self, other: &Self) -> bool {
        self.m == other.m
    }
}

/// Which way round the light lies on the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Orientation {
    /// F in the picture reads F on the table.
    Reads,
    /// F in the picture is mirrored on the table: the light goes over one
    /// mirror, or through the back of a screen.
    Mirrored,
}

impl Homography<Table, Projector> {
    /// Which way round the light lies, where it is in front of the lens. The
    /// table's y runs up and the picture's down, so a map that reads turns the
    /// numbers over.
    pub fn orientation(&self) -> Orientation {
        if self.m.determinant() < 0.0 {
            Orientation::Reads
        } else {
            Orientation::Mirrored
        }
    }
}

impl<A, B> Homography<A, B> {
    /// From a row-major 3×3. `None` if an entry is not finite or the map is
    /// not invertible.
    pub fn from_rows(rows: [[f64; 3]; 3]) -> Option<Self> {
        let m = Matrix3::from_fn(|r, c| rows[r][c]);
        let scale = m.abs().max();
        let invertible = scale > 0.0 && (m / scale).determinant().abs() > 1e-15;
        (m.iter().all(|v| v.is_finite()) && invertible).then_some(Self {
            m,
            _planes: PhantomData,
        })
    }

    /// The row-major 3×3.
    pub fn rows(&self) -> [[f64; 3]; 3] {
        std::array::from_fn(|r| std::array::from_fn(|c| self.m[(r, c)]))
    }

    /// The denominator at `p`: the map is defined where it is positive, and
    /// straight lines that reach zero go to infinity.
    #[inline]
    pub fn depth(&self, p: Point<A>) -> f64 {
        self.m[(2, 0)] * p.x + self.m[(2, 1)] * p.y + self.m[(2, 2)]
    }

    /// Maps a point. `None` on or behind the horizon.
    #[inline]
    pub fn point(&self, p: Point<A>) -> Option<Point<B>> {
        let v = self.m * Vector3::new(p.x, p.y, 1.0);
        (v.z > 0.0).then(|| Point::new(v.x / v.z, v.y / v.z))
    }

    /// The map back, scaled to be positive where this map's picture lies.
    pub fn inverse(&self) -> Option<Homography<B, A>> {
        let inverse = self.m.try_inverse()?;
        // w'(H p) · w(p) = 1 for the plain inverse, so the sign is right as it is.
        Homography::from_rows(std::array::from_fn(|r| {
            std::array::from_fn(|c| inverse[(r, c)])
        }))
    }

    /// The same map, its sign chosen so that `q` lies in front of the lens.
    /// `None` if `q` is the image of the horizon.
    pub fn in_front(self, q: Point<B>) -> Option<Self> {
        let back = self.m.try_inverse()? * Vector3::new(q.x, q.y, 1.0);
        // For the plain inverse, the depths there and back have one sign.
        (back.z != 0.0).then(|| Self {
            m: self.m * back.z.signum(),
            _planes: PhantomData,
        })
    }

    /// The exact map that takes each of `from` to its partner in `to`.
    ///
    /// Eight equations in eight unknowns with the last entry fixed at one
    /// (Hartley & Zisserman, *Multiple View Geometry*, 4.1), solved in
    /// coordinates normalised to their centroid and mean distance (ibid. 4.4.4)
    /// so that f64 meets the points to about 1e-11 px.
    ///
    /// `None` if three points of either side lie in a line, or two coincide.
    pub fn through(from: [Point<A>; 4], to: [Point<B>; 4]) -> Option<Self> {
        let (a, ta) = normalise(&from)?;
        let (b, tb) = normalise(&to)?;
        let mut lhs = SMatrix::<f64, 8, 8>::zeros();
        let mut rhs = SVector::<f64, 8>::zeros();
        for (k, (p, q)) in a.iter().zip(&b).enumerate() {
            let (x, y, u, v) = (p.0, p.1, q.0, q.1);
            let rows = [
                [x, y, 1.0, 0.0, 0.0, 0.0, -x * u, -y * u],
                [0.0, 0.0, 0.0, x, y, 1.0, -x * v, -y * v],
            ];
            for (r, row) in rows.iter().enumerate() {
                for (c, value) in row.iter().enumerate() {
                    lhs[(2 * k + r, c)] = *value;
                }
            }
            rhs[2 * k] = u;
            rhs[2 * k + 1] = v;
        }
        let lu = lhs.full_piv_lu();
        let mut h = lu.solve(&rhs)?;
        // One step of refinement takes the residual to the last bits.
        h += lu.solve(&(rhs - lhs * h))?;
        let n = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0);
        let m = tb.try_inverse()? * n * ta;
        let sign = (m * Vector3::new(from[0].x, from[0].y, 1.0)).z.signum();
        let last = m[(2, 2)].abs();
        let scale = if last > 1e-12 * m.abs().max() {
            last
        } else {
            m.norm()
        };
        let m = m * (sign / scale);
        Self::from_rows(std::array::from_fn(|r| std::array::from_fn(|c| m[(r, c)])))
    }
}

type Normalised = ([(f64, f64); 4], Matrix3<f64>);

/// Coordinates about their centroid with mean distance √2, and the similarity
/// that makes them so. `None` for coincident or non-finite points.
fn normalise<S>(points: &[Point<S>; 4]) -> Option<Normalised> {
    let centre = points
        .iter()
        .fold((0.0, 0.0), |c, p| (c.0 + p.x / 4.0, c.1 + p.y / 4.0));
    let mean = points
        .iter()
        .map(|p| (p.x - centre.0).hypot(p.y - centre.1) / 4.0)
        .sum::<f64>();
    if !(mean.is_finite() && mean > 0.0) {
        return None;
    }
    let s = std::f64::consts::SQRT_2 / mean;
    let t = Matrix3::new(s, 0.0, -s * centre.0, 0.0, s, -s * centre.1, 0.0, 0.0, 1.0);
    let at = |p: &Point<S>| ((p.x - centre.0) * s, (p.y - centre.1) * s);
    Some((std::array::from_fn(|k| at(&points[k])), t))
}

/// The map from four marks to the projector, and which way round it lies.
///
/// # Errors
/// Names the marks (counted from 1) that are not finite, coincide, lie in a
/// line, or are crossed.
pub fn from_marks(
    marks: [Point<Table>; 4],
    pixels: [Point<Projector>; 4],
) -> Outcome<(Homography<Table, Projector>, Orientation)> {
    check_side("on the table", "mm", &marks)?;
    check_side("in the picture", "px", &pixels)?;
    let Some(orientation) = orientation(&marks, &pixels) else {
        return Err(crossed(&marks, &pixels));
    };
    let h = Homography::through(marks, pixels).ok_or_else(|| {
        Fault::input(
            "the four marks do not tell where light lands",
            "set them well apart, near the corners of the table",
        )
    })?;
    Ok((h, orientation))
}

const TRIPLES: [[usize; 3]; 4] = [[0, 1, 2], [0, 1, 3], [0, 2, 3], [1, 2, 3]];

/// Twice the signed area of three of the points.
fn triple<S>(p: &[Point<S>; 4], [a, b, c]: [usize; 3]) -> f64 {
    (p[b] - p[a]).cross(p[c] - p[a])
}

fn check_side<S>(side: &str, unit: &str, points: &[Point<S>; 4]) -> Outcome<()> {
    let name = |k: usize| {
        let p = points[k];
        format!("{} ({}, {} {unit})", k + 1, short(p.x), short(p.y))
    };
    if let Some(k) = (0..4).find(|&k| !points[k].is_finite()) {
        return Err(Fault::input(
            format!("mark {} {side} is not a number", name(k)),
            "read or set it again",
        ));
    }
    let reach = points
        .iter()
        .flat_map(|a| points.iter().map(move |b| (*a - *b).length()))
        .fold(0.0, f64::max);
    for a in 0..4 {
        for b in a + 1..4 {
            if (points[a] - points[b]).length() <= 1e-3 * reach {
                return Err(Fault::input(
                    format!(
                        "marks {} and {} are the same place {side}",
                        name(a),
                        name(b)
                    ),
                    "give each mark a place of its own",
                ));
            }
        }
    }
    for t in TRIPLES {
        // The triangle's height over its longest side, against the marks' reach.
        let longest = [(0, 1), (0, 2), (1, 2)]
            .iter()
            .map(|&(i, j)| (points[t[i]] - points[t[j]]).length())
            .fold(0.0, f64::max);
        if triple(points, t).abs() <= 5e-3 * reach * longest {
            return Err(Fault::input(
                format!(
                    "marks {}, {} and {} lie in a line {side}",
                    name(t[0]),
                    name(t[1]),
                    name(t[2])
                ),
                "use four marks of which no three are in a line, such as the table's corners",
            ));
        }
    }
    Ok(())
}

/// The sense of every triangle of marks must turn over (or every one keep):
/// exactly then do all four lie in front of the lens.
fn orientation(marks: &[Point<Table>; 4], pixels: &[Point<Projector>; 4]) -> Option<Orientation> {
    let keeps = TRIPLES.map(|t| triple(marks, t) * triple(pixels, t) > 0.0);
    // The table's y runs up and the picture's down, so a picture that reads
    // has every sense turned over.
    match keeps {
        [false, false, false, false] => Some(Orientation::Reads),
        [true, true, true, true] => Some(Orientation::Mirrored),
        _ => None,
    }
}

fn crossed(marks: &[Point<Table>; 4], pixels: &[Point<Projector>; 4]) -> Fault {
    let swaps = (0..4).flat_map(|a| (a + 1..4).map(move |b| (a, b)));
    let cure: Vec<String> = swaps
        .filter(|&(a, b)| {
            let mut tried = *pixels;
            tried.swap(a, b);
            orientation(marks, &tried) == Some(Orientation::Reads)
        })
        .map(|(a, b)| format!("{} and {}", a + 1, b + 1))
        .collect();
    let what = if cure.is_empty() {
        "marks 1, 2, 3 and 4 are crossed: no projector could light them in this order".to_owned()
    } else {
        format!(
            "the marks are crossed: marks {} look swapped",
            cure.join(", or ")
        )
    };
    Fault::input(
        what,
        "set each mark of light on its own table mark, in the same order",
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points<S>(p: [(f64, f64); 4]) -> [Point<S>; 4] {
        p.map(|(x, y)| Point::new(x, y))
    }

    fn table() -> [Point<Table>; 4] {
        points([(0.0, 0.0), (1200.0, 0.0), (1200.0, 800.0), (0.0, 800.0)])
    }

    fn keystone() -> [Point<Projector>; 4] {
        points([
            (35.0, 1050.0),
            (1880.0, 1031.0),
            (1721.0, 40.0),
            (190.0, 22.0),
        ])
    }

    #[test]
    fn the_points_are_met() {
        let (h, o) = from_marks(table(), keystone()).unwrap();
        assert_eq!(o, Orientation::Reads);
        for (a, b) in table().iter().zip(keystone()) {
            assert!((h.point(*a).unwrap() - b).length() < 1e-9);
        }
    }

    #[test]
    fn there_and_back_is_the_same_place() {
        let (h, _) = from_marks(table(), keystone()).unwrap();
        let back = h.inverse().unwrap();
        let p = Point::new(311.0, 640.0);
        assert!((back.point(h.point(p).unwrap()).unwrap() - p).length() < 1e-9);
    }

    #[test]
    fn behind_the_horizon_there_is_no_pixel() {
        let (h, _) = from_marks(table(), keystone()).unwrap();
        let rows = h.rows();
        let y = -(rows[2][2] + 100.0 * rows[2][0]) / rows[2][1];
        assert!(h.point(Point::new(100.0, y + y.signum() * 10.0)).is_none());
    }

    #[test]
    fn a_mirrored_order_is_told_from_a_crossed_one() {
        let mut mirrored = keystone();
        mirrored.swap(0, 1);
        mirrored.swap(2, 3);
        assert_eq!(
            from_marks(table(), mirrored).unwrap().1,
            Orientation::Mirrored
        );
        let mut crossed = keystone();
        crossed.swap(1, 2);
        let said = from_marks(table(), crossed).unwrap_err().to_string();
        assert!(said.contains("2 and 3 look swapped"), "{said}");
    }

    #[test]
    fn marks_that_fix_nothing_are_named() {
        let said = |m, p| from_marks(m, p).unwrap_err().to_string();
        let mut line = table();
        line[2] = Point::new(1200.0, 0.4);
        line[1] = Point::new(600.0, 0.0);
        assert!(said(line, keystone()).contains("in a line on the table"));
        let mut same = keystone();
        same[3] = same[0];
        let text = said(table(), same);
        assert!(
            text.contains("same place in the picture") && text.contains("4 ("),
            "{text}"
        );
        let mut nan = table();
        nan[1].x = f64::NAN;
        assert!(said(nan, keystone()).contains("mark 2"));
    }
}
