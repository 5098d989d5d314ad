//! CIE XYZ: from linear sRGB, and from one light to another.

/// A colour in CIE XYZ, 2° observer, relative: white has `y` = 1.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Xyz {
    pub x: f64,
    pub y: f64,
    pub z: f64,
}

/// sRGB's white: the chromaticity x = 0.3127, y = 0.3290 (IEC 61966-2-1) at Y = 1.
pub const D65: Xyz = Xyz {
    x: 0.950_455_927_051_671_8,
    y: 1.0,
    z: 1.089_057_750_759_878_4,
};

/// Linear sRGB to XYZ, from the primaries of ITU-R BT.709 (red 0.64, 0.33; green 0.30, 0.60;
/// blue 0.15, 0.06) and [`D65`], in exact fractions. IEC 61966-2-1 prints it to four decimals.
const FROM_SRGB: [[f64; 3]; 3] = [
    [
        0.412_390_799_265_959_5,
        0.357_584_339_383_877_96,
        0.180_480_788_401_834_3,
    ],
    [
        0.212_639_005_871_510_36,
        0.715_168_678_767_755_9,
        0.072_192_315_360_733_72,
    ],
    [
        0.019_330_818_715_591_85,
        0.119_194_779_794_625_99,
        0.950_532_152_249_660_6,
    ],
];

/// XYZ to the sharpened cone responses of the Bradford transform (Lam 1985; as in
/// ICC.1:2022, annex E).
const BRADFORD: [[f64; 3]; 3] = [
    [0.8951, 0.2664, -0.1614],
    [-0.7502, 1.7135, 0.0367],
    [0.0389, -0.0685, 1.0296],
];

impl Xyz {
    pub fn new(x: f64, y: f64, z: f64) -> Self {
        Self { x, y, z }
    }

    /// Of linear sRGB: red, green and blue, in which white is 1, 1, 1. Light beyond white, or
    /// below 0, is carried on linearly.
    pub fn from_linear_srgb(rgb: [f64; 3]) -> Self {
        Self::from(times(&FROM_SRGB, rgb))
    }
}

impl From<[f64; 3]> for Xyz {
    fn from([x, y, z]: [f64; 3]) -> Self {
        Self { x, y, z }
    }
}

impl From<Xyz> for [f64; 3] {
    fn from(c: Xyz) -> Self {
        [c.x, c.y, c.z]
    }
}

/// Colours seen in one light as they would be in another: a von Kries scaling of Bradford's
/// cone responses. Linear, and it takes the one white to the other exactly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Adaptation {
    matrix: [[f64; 3]; 3],
}

impl Adaptation {
    /// From the light whose white is `from` to the one whose white is `to`. Neither need have
    /// Y = 1: brightness is scaled too.
    ///
    /// `None` if a white is no colour that eyes could see as white: its cone responses must be
    /// positive and finite.
    pub fn between(from: Xyz, to: Xyz) -> Option<Self> {
        let sharp = |c: Xyz| times(&BRADFORD, c.into());
        let (from, to) = (sharp(from), sharp(to));
        let sound = |cones: [f64; 3]| cones.iter().all(|c| *c > 1e-9 && c.is_finite());
        if !sound(from) || !sound(to) {
            return None;
        }
        let scaled: [[f64; 3]; 3] =
            std::array::from_fn(|i| BRADFORD[i].map(|v| v * to[i] / from[i]));
        let back = inverse(&BRADFORD);
        let column = |j: usize| times(&back, std::array::from_fn(|i| scaled[i][j]));
        let columns: [[f64; 3]; 3] = std::array::from_fn(column);
        Some(Self {
            matrix: std::array::from_fn(|i| std::array::from_fn(|j| columns[j][i])),
        })
    }

    pub fn apply(&self, colour: Xyz) -> Xyz {
        times(&self.matrix, colour.into()).into()
    }
}

fn times(m: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    m.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

fn inverse(m: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    // The rows' cross products are the columns of the adjugate.
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [
            a[1] * b[2] - a[2] * b[1],
            a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0],
        ]
    };
    let columns = [cross(m[1], m[2]), cross(m[2], m[0]), cross(m[0], m[1])];
    let det = m[0][0] * columns[0][0] + m[0][1] * columns[0][1] + m[0][2] * columns[0][2];
    std::array::from_fn(|i| std::array::from_fn(|j| columns[j][i] / det))
}
