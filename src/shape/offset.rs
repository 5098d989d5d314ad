//! Offsets of outlines and strokes along lines, by Clipper2, with round joins:
//! the set of all points within a distance.

use super::boolean::{DECIMALS, from_paths, to_path, to_paths};
use super::{Region, union};
use crate::space::Point;
use clipper2_rust::{EndType, JoinType, inflate_paths_d, ramer_douglas_peucker_paths};

/// How far a round join's chords may fall inside the true arc, mm: 1/200 of
/// the coarsest projector pixel the tool meets.
pub const ARC_ERROR: f64 = 0.003;

/// The shape of a stroke's ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Caps {
    /// The stroke ends square, exactly at the line's end.
    Flat,
    /// The stroke ends in a half disc about the line's end.
    Round,
}

/// All points within `by` ≥ 0 of the region (round joins), or, for `by` < 0,
/// all points deeper inside than −`by`. Error at most [`ARC_ERROR`].
pub fn offset<S>(region: &Region<S>, by: f64) -> Region<S> {
    from_paths(inflate_paths_d(
        &to_paths(region),
        by,
        JoinType::Round,
        EndType::Polygon,
        2.0,
        DECIMALS,
        ARC_ERROR,
    ))
}

/// An area that holds all points within `by` > 0 of the region, or, for `by` < 0, only
/// points deeper inside than −`by`; nowhere more than 4·`error` mm further than [`offset`]
/// would have it. Outlines with fewer vertices, which is what an offset's time goes by.
/// Spikes and slits narrower than `error` may be lost.
pub fn offset_roughly<S>(region: &Region<S>, by: f64, error: f64) -> Region<S> {
    // Once for what is cut off outlines, once for chords of round joins.
    let by = by + (2.0 * error).copysign(by);
    from_paths(inflate_paths_d(
        &ramer_douglas_peucker_paths(&to_paths(region), error),
        by,
        JoinType::Round,
        EndType::Polygon,
        2.0,
        DECIMALS,
        error,
    ))
}

/// All points within `half_width` of an open line, as one region.
pub fn stroke<S>(line: &[Point<S>], half_width: f64, caps: Caps) -> Region<S> {
    let end = match caps {
        Caps::Flat => EndType::Butt,
        Caps::Round => EndType::Round,
    };
    let raw = from_paths(inflate_paths_d(
        &vec![to_path(line)],
        half_width,
        JoinType::Round,
        end,
        2.0,
        DECIMALS,
        ARC_ERROR,
    ));
    union([&raw])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shape::difference;
    use crate::space::Table;
    use std::f64::consts::PI;

    #[test]
    fn a_convex_offset_grows_by_steiner() {
        let square: Region<Table> = Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(40.0, 0.0),
            Point::new(40.0, 30.0),
            Point::new(0.0, 30.0),
        ]);
        // Steiner: A + P·w + π·w².
        let want = 1200.0 + 140.0 * 3.0 + PI * 9.0;
        let short = want - offset(&square, 3.0).area();
        assert!(
            (0.0..2.0 * PI * 3.0 * ARC_ERROR).contains(&short),
            "{short}"
        );
    }

    #[test]
    fn a_rough_offset_is_on_the_safe_side_and_not_far() {
        // Two discs joined: it bends out, and in at two corners.
        let disc = |x: f64| Region::<Table>::disc(Point::new(x, 0.0), 40.0);
        let shape = union([&disc(0.0), &disc(50.0)]);
        for error in [0.02, 0.1, 0.5] {
            for by in [0.5, 3.9, -0.5, -3.9] {
                let rough = offset_roughly(&shape, by, error);
                let (least, most) = (
                    offset(&shape, by),
                    offset(&shape, by + (4.0 * error).copysign(by)),
                );
                let (inner, outer) = if by > 0.0 {
                    (&least, &most)
                } else {
                    (&most, &least)
                };
                let out = |a: &Region<Table>, b: &Region<Table>| difference(a, b).area();
                // Of an outline of 400 mm.
                assert!(out(inner, &rough) < 400.0 * ARC_ERROR, "{by} {error}");
                assert!(out(&rough, outer) < 400.0 * ARC_ERROR, "{by} {error}");
                let count = |r: &Region<Table>| r.rings.iter().map(Vec::len).sum::<usize>();
                assert!(3 * count(&rough) < 2 * count(&least), "{by} {error}");
            }
        }
    }

    #[test]
    fn a_flat_stroke_is_a_rectangle() {
        let line: Vec<Point<Table>> = vec![Point::new(0.0, 0.0), Point::new(30.0, 40.0)];
        assert!((stroke(&line, 0.75, Caps::Flat).area() - 75.0).abs() < 1e-3);
    }
}
