//! CIELAB (ISO/CIE 11664-4): colour in steps that look about alike.

use super::xyz::{D65, Xyz};

/// L* a* b*.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Lab {
    /// Lightness, 0 (black) to 100 (white).
    pub l: f64,
    /// Redder (+) or greener (−).
    pub a: f64,
    /// Yellower (+) or bluer (−).
    pub b: f64,
}

/// Where the cube root gives way to a straight line: (6/29)³, and that line's slope.
const BEND: f64 = 216.0 / 24_389.0;
const SLOPE: f64 = 841.0 / 108.0;

impl Lab {
    pub fn new(l: f64, a: f64, b: f64) -> Self {
        Self { l, a, b }
    }

    /// Of a colour relative to [`D65`].
    pub fn from_xyz(colour: Xyz) -> Self {
        Self::relative(colour, D65)
    }

    /// Of a colour relative to some `white`, all three of whose values are positive.
    pub fn relative(colour: Xyz, white: Xyz) -> Self {
        let bent = |v: f64| {
            if v > BEND {
                v.cbrt()
            } else {
                SLOPE * v + 4.0 / 29.0
            }
        };
        let (x, y, z) = (
            bent(colour.x / white.x),
            bent(colour.y / white.y),
            bent(colour.z / white.z),
        );
        Self {
            l: 116.0 * y - 16.0,
            a: 500.0 * (x - y),
            b: 200.0 * (y - z),
        }
    }

    /// The colour back, relative to [`D65`].
    pub fn to_xyz(self) -> Xyz {
        self.on(D65)
    }

    /// The colour back, relative to `white`.
    pub fn on(self, white: Xyz) -> Xyz {
        let straight = |v: f64| {
            if v > 6.0 / 29.0 {
                v.powi(3)
            } else {
                (v - 4.0 / 29.0) / SLOPE
            }
        };
        let y = (self.l + 16.0) / 116.0;
        Xyz {
            x: white.x * straight(y + self.a / 500.0),
            y: white.y * straight(y),
            z: white.z * straight(y - self.b / 200.0),
        }
    }
}
