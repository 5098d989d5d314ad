//! From codes to linear light, and from a photo's own colours to sRGB's: many telephones
//! write wider primaries (Display P3) and say so in an ICC profile.

use crate::colour::decode_srgb;
use moxcms::{ColorProfile, DataColorSpace, ToneReprCurve};

/// What a photo's codes mean.
pub(super) struct Curve {
    /// Light by code.
    pub linear: Vec<f32>,
    /// From own primaries to sRGB's, if they differ.
    pub primaries: Option<[[f32; 3]; 3]>,
}

impl Curve {
    /// Light that sRGB can't make (a negative amount of one primary) is held to 0.
    #[inline]
    pub fn in_srgb(&self, own: [f32; 3]) -> [f32; 3] {
        let Some(m) = &self.primaries else {
            return own;
        };
        m.map(|row| (row[0] * own[0] + row[1] * own[1] + row[2] * own[2]).max(0.0))
    }
}

/// The curve of a profile of three primaries and one curve, for codes of so many `levels`;
/// sRGB where there is none, or it is of another kind.
pub(super) fn curve(profile: Option<&[u8]>, levels: usize) -> Curve {
    profile
        .and_then(|bytes| shaped(bytes, levels))
        .unwrap_or_else(|| Curve {
            linear: (0..levels)
                .map(|c| decode_srgb(c as f64 / (levels - 1) as f64) as f32)
                .collect(),
            primaries: None,
        })
}

fn shaped(bytes: &[u8], levels: usize) -> Option<Curve> {
    let own = ColorProfile::new_from_slice(bytes).ok()?;
    if own.color_space != DataColorSpace::Rgb {
        return None;
    }
    let red = own.red_trc.as_ref()?;
    let same = |other: Option<&ToneReprCurve>| other.is_some_and(|o| alike(red, o));
    if !same(own.green_trc.as_ref()) || !same(own.blue_trc.as_ref()) {
        return None;
    }
    let eval = red.make_linear_evaluator().ok()?;
    let step = (levels - 1) as f32;
    let linear: Vec<f32> = (0..levels)
        .map(|c| eval.evaluate_value(c as f32 / step))
        .collect();
    // Both matrices lead to the profiles' common white (D50).
    let m = own.transform_matrix(&ColorProfile::new_srgb()).v;
    let m = m.map(|row| row.map(|v| v as f32));
    let sound = linear.iter().all(|v| (0.0..=1.001).contains(v))
        && m.iter().flatten().all(|v| v.abs() < 10.0)
        // White stays white: no such profile is of a camera's picture.
        && m.iter().all(|row| (row.iter().sum::<f32>() - 1.0).abs() < 0.02);
    let plain = m.iter().enumerate().all(|(r, row)| {
        let off = |(c, v): (usize, &f32)| (v - if r == c { 1.0 } else { 0.0 }).abs();
        row.iter().enumerate().map(off).all(|off| off < 0.003)
    });
    sound.then_some(Curve {
        linear,
        primaries: (!plain).then_some(m),
    })
}

fn alike(a: &ToneReprCurve, b: &ToneReprCurve) -> bool {
    match (a, b) {
        (ToneReprCurve::Lut(a), ToneReprCurve::Lut(b)) => a == b,
        (ToneReprCurve::Parametric(a), ToneReprCurve::Parametric(b)) => a == b,
        _ => false,
    }
}
