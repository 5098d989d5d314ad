//! The cloth that is left when pieces have been cut from it: offcuts.

use crate::shape::{Region, connected, difference, intersection, offset, union};

/// Cloth narrower than this is a strip that nothing is cut from, mm: twice a usual seam
/// allowance and a little. Common practice.
pub const NARROW: f64 = 20.0;

/// The least area that is kept as an offcut, mm²: a square of 50 mm. Common practice.
pub const LEAST: f64 = 2500.0;

/// What is left of a cloth: sheets that hang together, the largest first, each with its
/// holes. What is narrower than 20 mm falls away, and what is smaller than a square of 50 mm.
///
/// Each place that was cut takes `border` mm more, ≥ 0: the band that fell away with it.
pub fn rest<S>(cloth: &Region<S>, cut: &[Region<S>], border: f64) -> Vec<Region<S>> {
    let grown: Vec<Region<S>> = cut.iter().map(|c| offset(c, border)).collect();
    let left = difference(cloth, &union(&grown));
    // What a disc of the width gets to: the opening of the shape.
    let open = offset(&offset(&left, -NARROW / 2.0), NARROW / 2.0);
    let open = intersection(&open, &left);
    let mut sheets = connected(&open);
    sheets.retain(|s| s.area() >= LEAST);
    sheets.sort_by(|a, b| b.area().total_cmp(&a.area()));
    sheets
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::{Cloth, Point};

    fn oblong(x: f64, y: f64, w: f64, h: f64) -> Region<Cloth> {
        let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)];
        Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
    }

    #[test]
    fn two_sheets_are_left_beside_a_piece_that_parts_the_cloth() {
        let cloth = oblong(0.0, 0.0, 400.0, 200.0);
        let piece = oblong(100.0, -10.0, 100.0, 220.0);
        let left = rest(&cloth, &[piece], 3.0);
        let areas: Vec<f64> = left.iter().map(Region::area).collect();
        assert_eq!(areas.len(), 2);
        // Corners are rounded by a disc of 10 mm: (4 − π) 100 mm² for each sheet's four.
        let lost = (4.0 - std::f64::consts::PI) * 100.0;
        assert!((areas[0] - (197.0 * 200.0 - lost)).abs() < 3.0, "{areas:?}");
        assert!((areas[1] - (97.0 * 200.0 - lost)).abs() < 3.0, "{areas:?}");
    }

    #[test]
    fn a_hole_stays_a_hole_and_what_is_narrow_falls_away() {
        let cloth = oblong(0.0, 0.0, 300.0, 300.0);
        let cut = [
            oblong(100.0, 100.0, 80.0, 80.0),
            oblong(0.0, 280.0, 285.0, 20.0),
        ];
        let left = rest(&cloth, &cut, 0.0);
        assert_eq!(left.len(), 1);
        assert_eq!(left[0].rings.len(), 2);
        // The tab of 15 mm beside the second cut is gone.
        assert!(!left[0].contains(Point::new(292.0, 295.0)));
        assert!(left[0].contains(Point::new(150.0, 230.0)));
        assert!(!left[0].contains(Point::new(140.0, 140.0)));
    }

    #[test]
    fn nothing_is_left_of_nothing() {
        assert!(
            rest(
                &oblong(0.0, 0.0, 60.0, 60.0),
                &[oblong(0.0, 0.0, 60.0, 30.0)],
                3.0
            )
            .is_empty()
        );
    }
}
