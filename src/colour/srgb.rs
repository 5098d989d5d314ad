//! sRGB's transfer curve, IEC 61966-2-1.

/// Linear light of an encoded value, both 0 to 1. Code c of 255 is the value c / 255.
pub fn decode(encoded: f64) -> f64 {
    if encoded <= 0.040_45 {
        encoded / 12.92
    } else {
        ((encoded + 0.055) / 1.055).powf(2.4)
    }
}

/// Encoded value of linear light, both 0 to 1.
pub fn encode(linear: f64) -> f64 {
    if linear <= 0.003_130_8 {
        12.92 * linear
    } else {
        1.055 * linear.powf(1.0 / 2.4) - 0.055
    }
}
