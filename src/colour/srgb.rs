//! sRGB's transfer curve and the eye's weights of its primaries, IEC 61966-2-1.

/// Linear light of an encoded value, both 0 to 1. Code c of 255 is the value c / 255.
pub fn decode_srgb(encoded: f64) -> f64 {
    if encoded <= 0.040_45 {
        encoded / 12.92
    } else {
        ((encoded + 0.055) / 1.055).powf(2.4)
    }
}

/// Encoded value of linear light, both 0 to 1.
pub fn encode_srgb(linear: f64) -> f64 {
    if linear <= 0.003_130_8 {
        12.92 * linear
    } else {
        1.055 * linear.powf(1.0 / 2.4) - 0.055
    }
}

/// How bright linear red, green and blue are to the eye; of white, 1, 1, 1, it is 1. With the
/// standard's four decimals; [`Xyz`](super::Xyz) has more.
pub fn luminance([r, g, b]: [f64; 3]) -> f64 {
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

/// [`luminance`] in single precision, for whole pictures.
pub fn luminance_f32([r, g, b]: [f32; 3]) -> f32 {
    0.2126 * r + 0.7152 * g + 0.0722 * b
}
