//! From light to the codes of an image.

use super::blur;
use super::surface::lattice;

/// Red, green and blue light, a plane each, in rows of `width`.
pub(super) struct Planes {
    pub(super) width: usize,
    pub(super) light: [Vec<f32>; 3],
}

/// How an eye, or a camera in its place, takes the light in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Taking {
    /// Factor on the light.
    pub(super) exposure: f64,
    /// Blur, image pixels.
    pub(super) blur: f64,
    /// The share of the light that strays about its place.
    pub(super) glare: f64,
    /// How far it strays, image pixels.
    pub(super) glare_reach: f64,
}

/// The light blurred and with glare, exposed, and encoded as 8 bit sRGB.
pub(super) fn develop(mut planes: Planes, taking: &Taking) -> Vec<u8> {
    let width = planes.width;
    for plane in &mut planes.light {
        blur::gaussian(plane, width, taking.blur);
        if taking.glare > 0.0 {
            let mut stray = plane.clone();
            blur::soft(&mut stray, width, taking.glare_reach);
            for (light, stray) in plane.iter_mut().zip(stray) {
                *light += taking.glare as f32 * (stray - *light);
            }
        }
    }
    let pixels = planes.light[0].len();
    let mut codes = Vec::with_capacity(3 * pixels);
    for i in 0..pixels {
        // Less than a code of dither keeps dark gradients from banding.
        let dither = lattice((i % width) as f64, (i / width) as f64) - 0.5;
        for plane in &planes.light {
            let code = 255.0 * encode(film(f64::from(plane[i]) * taking.exposure));
            codes.push((code + dither).round().clamp(0.0, 255.0) as u8);
        }
    }
    codes
}

/// A film's answer to light: straight in the shadows, and bright light nears
/// white but does not clip.
fn film(exposed: f64) -> f64 {
    1.0 - (-exposed.max(0.0)).exp()
}

/// The sRGB code of a light in 0..=1, as a share of full code
/// (IEC 61966-2-1, the inverse of the transfer function of 5.2).
pub(super) fn encode(light: f64) -> f64 {
    if light <= 0.003_130_8 {
        12.92 * light
    } else {
        1.055 * light.powf(1.0 / 2.4) - 0.055
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::twin::picture::Response;

    #[test]
    fn encoding_undoes_decoding() {
        for code in 0..=255 {
            let again = encode(Response::default().light(code)) * 255.0;
            assert!((again - f64::from(code)).abs() < 1e-3);
        }
    }

    #[test]
    fn shadows_stay_and_bright_light_nears_white() {
        assert!((film(0.01) / 0.01 - 1.0).abs() < 0.006);
        assert!(film(8.0) < 1.0 && film(8.0) > 0.999);
        assert_eq!(film(-1.0), 0.0);
    }

    #[test]
    fn glare_moves_light_and_makes_none() {
        let mut plane = vec![0.0; 81 * 81];
        plane[40 * 81 + 40] = 0.5;
        let planes = Planes {
            width: 81,
            light: [plane.clone(), plane.clone(), plane],
        };
        let taking = Taking {
            exposure: 1.0,
            blur: 0.0,
            glare: 0.5,
            glare_reach: 4.0,
        };
        let codes = develop(planes, &taking);
        let at = |x: usize, y: usize| codes[3 * (81 * y + x)];
        assert!(at(40, 40) > 120 && at(40, 40) < 140, "{}", at(40, 40));
        assert!(at(43, 40) > 2);
        assert!(at(0, 0) <= 1);
    }
}
