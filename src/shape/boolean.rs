//! Union, difference and intersection of regions, by Clipper2.

use super::Region;
use crate::space::Point;
use clipper2_rust as clipper;
use clipper2_rust::FillRule::NonZero;

/// Decimal places kept by the integer grid that Clipper2 works on: a result
/// is within 1e-6 of the exact one, 10⁵ units reach 10¹¹ of i64's 9·10¹⁸.
pub(super) const DECIMALS: i32 = 6;

pub(super) fn to_paths<S>(region: &Region<S>) -> clipper::PathsD {
    region.rings.iter().map(|r| to_path(r)).collect()
}

pub(super) fn to_path<S>(points: &[Point<S>]) -> clipper::PathD {
    points
        .iter()
        .map(|p| clipper::Point { x: p.x, y: p.y })
        .collect()
}

pub(super) fn from_paths<S>(paths: clipper::PathsD) -> Region<S> {
    let ring = |path: clipper::PathD| path.into_iter().map(|p| Point::new(p.x, p.y)).collect();
    Region::new(paths.into_iter().map(ring).collect())
}

/// Everything that lies in any of the regions.
pub fn union<'a, S: 'a>(regions: impl IntoIterator<Item = &'a Region<S>>) -> Region<S> {
    let all = regions.into_iter().flat_map(to_paths).collect();
    from_paths(clipper::union_subjects_d(&all, NonZero, DECIMALS))
}

/// What lies in `a` and not in `b`.
pub fn difference<S>(a: &Region<S>, b: &Region<S>) -> Region<S> {
    from_paths(clipper::difference_d(
        &to_paths(a),
        &to_paths(b),
        NonZero,
        DECIMALS,
    ))
}

/// What lies in both.
pub fn intersection<S>(a: &Region<S>, b: &Region<S>) -> Region<S> {
    from_paths(clipper::intersect_d(
        &to_paths(a),
        &to_paths(b),
        NonZero,
        DECIMALS,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Table;

    fn disc(x: f64) -> Region<Table> {
        Region::disc(Point::new(x, 0.0), 10.0)
    }

    #[test]
    fn areas_obey_inclusion_and_exclusion() {
        let (a, b) = (disc(0.0), disc(9.0));
        let both = intersection(&a, &b).area();
        // Lens of two circles, closed form: 2r² acos(d/2r) − d/2 √(4r² − d²).
        let lens = 200.0 * (9.0f64 / 20.0).acos() - 4.5 * (400.0f64 - 81.0).sqrt();
        assert!((lens - both).abs() < 0.1, "{both} {lens}");
        assert!((union([&a, &b]).area() - (a.area() + b.area() - both)).abs() < 1e-3);
        assert!((difference(&a, &b).area() - (a.area() - both)).abs() < 1e-3);
    }
}
