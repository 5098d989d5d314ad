//! How much of a pixel a straight edge leaves lit, and the way back.
//!
//! The pixel is the unit square about the origin. The edge is a line with unit
//! normal n; the lit side is n·x ≤ c. By the square's symmetry only |n| counts:
//! with a ≥ b its two components, the lit area grows with c as ½·(c+m)²/(ab)
//! while the line cuts off one corner (m = (a+b)/2), then by 1/a for each unit
//! of c, then as it began.

/// A line's direction against the pixel grid: the components of its unit
/// normal without sign, the greater first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slant {
    major: f64,
    minor: f64,
}

impl Slant {
    /// From the components of a unit normal.
    pub(super) fn new(x: f64, y: f64) -> Self {
        let (x, y) = (x.abs(), y.abs());
        Self {
            major: x.max(y),
            minor: x.min(y),
        }
    }

    /// The lesser component of the normal: 0 for a line along the grid.
    pub(super) fn minor(self) -> f64 {
        self.minor
    }

    /// The area of the square where n·x ≤ `c`, in 0..=1.
    pub(super) fn area(self, c: f64) -> f64 {
        if c > 0.0 {
            return 1.0 - self.area(-c);
        }
        let beyond_corner = c + self.reach();
        if beyond_corner <= 0.0 {
            0.0
        } else if c < -self.shoulder() {
            beyond_corner * beyond_corner / (2.0 * self.major * self.minor)
        } else {
            0.5 + c / self.major
        }
    }

    /// The `c` at which [`Self::area`] is `area`, which is clamped to 0..=1.
    pub(super) fn offset(self, area: f64) -> f64 {
        if area > 0.5 {
            return -self.offset(1.0 - area);
        }
        let area = area.max(0.0);
        if area < self.area(-self.shoulder()) {
            (2.0 * self.major * self.minor * area).sqrt() - self.reach()
        } else {
            (area - 0.5) * self.major
        }
    }

    /// The length of the line n·x = `c` within the square, which is also the
    /// growth of the area with `c`.
    pub(super) fn chord(self, c: f64) -> f64 {
        let to_corner = self.reach() - c.abs();
        if to_corner <= 0.0 {
            0.0
        } else if c.abs() > self.shoulder() {
            to_corner / (self.major * self.minor)
        } else {
            1.0 / self.major
        }
    }

    /// The `c` at which the line touches the last corner.
    fn reach(self) -> f64 {
        (self.major + self.minor) / 2.0
    }

    /// The `c` at which the line touches the last corner but one.
    fn shoulder(self) -> f64 {
        (self.major - self.minor) / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2, TAU};

    #[test]
    fn a_line_along_the_grid_lights_a_rectangle() {
        for slant in [Slant::new(1.0, 0.0), Slant::new(0.0, -1.0)] {
            for c in [-0.5, -0.3, 0.0, 0.2, 0.5] {
                assert_eq!(slant.area(c), 0.5 + c);
                assert!((slant.offset(0.5 + c) - c).abs() < 1e-15);
            }
            assert_eq!([slant.area(-2.0), slant.area(2.0)], [0.0, 1.0]);
            assert_eq!([slant.chord(0.4), slant.chord(0.6)], [1.0, 0.0]);
        }
    }

    #[test]
    fn a_diagonal_lights_a_triangle() {
        let slant = Slant::new(-FRAC_1_SQRT_2, FRAC_1_SQRT_2);
        assert!((slant.area(0.0) - 0.5).abs() < 1e-15);
        assert!((slant.chord(0.0) - SQRT_2).abs() < 1e-15);
        // A right triangle of height h on its hypotenuse has area h².
        for h in [0.1, 0.3, 0.6] {
            assert!((slant.area(h - FRAC_1_SQRT_2) - h * h).abs() < 1e-15);
            assert!((slant.offset(h * h) - (h - FRAC_1_SQRT_2)).abs() < 1e-15);
            assert!((slant.offset(1.0 - h * h) + (h - FRAC_1_SQRT_2)).abs() < 1e-15);
            assert!((slant.chord(h - FRAC_1_SQRT_2) - 2.0 * h).abs() < 1e-15);
        }
    }

    #[test]
    fn a_3_4_5_line_through_a_corner_lights_a_triangle() {
        // From (−½, −½) up to (¼, ½): three quarters wide, one high.
        let slant = Slant::new(0.8, -0.6);
        assert!((slant.area(-0.1) - 0.375).abs() < 1e-15);
        assert!((slant.offset(0.375) + 0.1).abs() < 1e-15);
        assert!((slant.chord(-0.1) - 1.25).abs() < 1e-15);
    }

    proptest! {
        #[test]
        fn area_offset_and_chord_belong_together(turn in 0.0..TAU, area in 0.001..0.999f64) {
            let slant = Slant::new(turn.cos(), turn.sin());
            let c = slant.offset(area);
            prop_assert!((slant.area(c) - area).abs() < 1e-12);
            let growth = (slant.area(c + 1e-6) - slant.area(c - 1e-6)) / 2e-6;
            // The chord itself has steps at a line along the grid.
            let tame = slant.minor() > 1e-3;
            prop_assert!(!tame || (growth - slant.chord(c)).abs() < 1e-3);
        }
    }
}
