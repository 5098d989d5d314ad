//! The code thresholds of sRGB's transfer curve in the units that the shader
//! sums.

use crate::colour::decode_srgb;

/// A fully lit pixel in the shader's units: level 255 × area 65536.
pub(super) const FULL: f64 = 255.0 * 65536.0;

/// For each code, the least sum that rounds to it.
pub(super) fn thresholds() -> [i32; 256] {
    std::array::from_fn(|code| {
        if code == 0 {
            i32::MIN
        } else {
            (FULL * decode_srgb((code as f64 - 0.5) / 255.0)).ceil() as i32
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_light_is_code_188() {
        let half = (FULL / 2.0) as i32;
        let code = thresholds().iter().filter(|t| half >= **t).count() - 1;
        assert_eq!(code, 188);
    }

    #[test]
    fn every_code_comes_back_as_itself() {
        let t = thresholds();
        for code in 0..256 {
            let light = (FULL * decode_srgb(code as f64 / 255.0)).round() as i32;
            assert_eq!(t.iter().filter(|t| light >= **t).count() - 1, code);
        }
    }
}
