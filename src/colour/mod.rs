//! Colour as it is measured: sRGB, XYZ, CIELAB, and how far two colours are apart.
//!
//! Settled here, once:
//! * **Observer**: CIE 1931, 2°, for sRGB is defined with it.
//! * **Illuminant**: D65 with the chromaticity that sRGB gives it ([`D65`]). Shade of cloth is
//!   commonly judged in D65 (ISO 105-J01 allows it; with the 10° observer, which a photo in
//!   sRGB can't give).
//! * **Adaptation**: colours seen in other light are brought to D65 by Bradford's transform
//!   ([`Adaptation`]), that light's white becoming D65's. Nothing here is relative to D50.
//! * **Scale**: light is *linear* and relative to white, which has Y = 1; L* runs from 0 to 100.
//!
//! A photo's red, green and blue are not a colorimeter's: they differ from what a person sees
//! most in saturated colours. Differences between like cloths in one photo bear that well.

mod difference;
mod lab;
mod srgb;
#[cfg(test)]
mod tests;
mod tint;
mod xyz;

pub use difference::ciede2000;
pub use lab::Lab;
pub use srgb::{decode_srgb, encode_srgb, luminance, luminance_f32};
pub use tint::Tint;
pub use xyz::{Adaptation, D65, Xyz};
