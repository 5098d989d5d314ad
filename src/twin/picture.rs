//! A frame of the projector, as light.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::{blur, normal};
use crate::space::{Point, Projector};

/// Shares of red, green and blue in the luminance of linear sRGB
/// (ITU-R BT.709, item 3.2).
const LUMINANCE: [f64; 3] = [0.2126, 0.7152, 0.0722];

/// How the projector turns code values into light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Response {
    /// Applied to the light an sRGB display would give; 1 is a true display,
    /// more than 1 darkens what lies between black and white.
    pub exponent: f64,
}

impl Default for Response {
    fn default() -> Self {
        Self { exponent: 1.0 }
    }
}

impl Response {
    /// The linear light of an 8 bit sRGB code, white = 1
    /// (IEC 61966-2-1, the transfer function of 5.2).
    pub fn light(&self, code: u8) -> f64 {
        let v = f64::from(code) / 255.0;
        let light = if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        };
        light.powf(self.exponent)
    }

    fn table(&self) -> [f64; 256] {
        std::array::from_fn(|code| self.light(code as u8))
    }
}

/// The darkest and the brightest light of a picture: unlit and fully lit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// Where the picture is black.
    pub dark: f64,
    /// Where the picture is white.
    pub full: f64,
}

/// Linear light by pixel, white = 1. Every pixel emits evenly over its square.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    width: u32,
    height: u32,
    light: Vec<f32>,
}

impl Picture {
    /// A picture from its light, row by row from the top left.
    ///
    /// `None` if the number of values is not width × height, or either is 0.
    pub fn from_light(width: u32, height: u32, light: Vec<f32>) -> Option<Self> {
        (pixels(width, height)? == light.len()).then_some(Self {
            width,
            height,
            light,
        })
    }

    /// A picture from 8 bit sRGB grey, one byte a pixel; see
    /// [`Self::from_light`] for the order and for `None`.
    pub fn from_grey(width: u32, height: u32, codes: &[u8], response: &Response) -> Option<Self> {
        let table = response.table();
        let light = codes.iter().map(|&c| table[usize::from(c)] as f32);
        Self::from_light(width, height, light.collect())
    }

    /// The luminance of a frame of 8 bit sRGB red, green, blue and alpha, four
    /// bytes a pixel; see [`Self::from_light`] for the order and for `None`.
    ///
    /// A projector knows nothing of alpha: it is ignored.
    pub fn from_rgba(width: u32, height: u32, codes: &[u8], response: &Response) -> Option<Self> {
        let table = response.table();
        let (frame, rest) = codes.as_chunks::<4>();
        let light = frame.iter().map(|pixel| {
            let sum: f64 = (0..3)
                .map(|c| LUMINANCE[c] * table[usize::from(pixel[c])])
                .sum();
            sum as f32
        });
        Self::from_light(width, height, light.collect()).filter(|_| rest.is_empty())
    }

    /// Red, green and blue of a frame apart; otherwise as [`Self::from_rgba`].
    pub fn channels(
        width: u32,
        height: u32,
        codes: &[u8],
        response: &Response,
    ) -> Option<[Self; 3]> {
        let table = response.table();
        let (frame, rest) = codes.as_chunks::<4>();
        if pixels(width, height)? != frame.len() || !rest.is_empty() {
            return None;
        }
        Some([0, 1, 2].map(|c| {
            Self {
                width,
                height,
                light: frame
                    .iter()
                    .map(|pixel| table[usize::from(pixel[c])] as f32)
                    .collect(),
            }
        }))
    }

    /// The picture out of focus: Gaussian blur with `sigma` in pixels. Light
    /// does not come in from beyond the picture's border, nor come back from
    /// there.
    ///
    /// A `sigma` that is not positive leaves the picture sharp.
    #[must_use]
    pub fn blurred(mut self, sigma: f64) -> Self {
        blur::gaussian(&mut self.light, self.width as usize, sigma);
        self
    }

    /// The picture with the room's light, the same everywhere, added.
    #[must_use]
    pub fn in_room_light(mut self, light: f32) -> Self {
        for value in &mut self.light {
            *value += light;
        }
        self
    }

    /// The picture with normal noise of standard deviation `sigma` added to
    /// the light of each pixel. It may go below zero, so that it has no bias.
    #[must_use]
    pub fn with_noise(mut self, sigma: f64, seed: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        for values in self.light.chunks_mut(2) {
            for (value, draw) in values.iter_mut().zip(normal::pair(&mut rng)) {
                *value += (sigma * draw) as f32;
            }
        }
        self
    }

    /// Width and height in pixels.
    pub fn size(&self) -> [u32; 2] {
        [self.width, self.height]
    }

    /// The light sent through the picture point `p`: that of the pixel whose
    /// square it lies in, 0 outside the picture.
    pub fn emits(&self, p: Point<Projector>) -> f64 {
        self.pixel(p.x.floor(), p.y.floor())
    }

    /// The light of the pixel of column `x` and row `y`, whole numbers; 0
    /// outside the picture.
    pub(super) fn pixel(&self, x: f64, y: f64) -> f64 {
        let inside = |v: f64, side: u32| v >= 0.0 && v < f64::from(side);
        if !(inside(x, self.width) && inside(y, self.height)) {
            return 0.0;
        }
        f64::from(self.light[y as usize * self.width as usize + x as usize])
    }

    /// The least and the greatest light in the picture.
    pub fn levels(&self) -> Levels {
        let start = (f32::INFINITY, f32::NEG_INFINITY);
        let (dark, full) = self
            .light
            .iter()
            .fold(start, |(lo, hi), &v| (lo.min(v), hi.max(v)));
        Levels {
            dark: f64::from(dark),
            full: f64::from(full),
        }
    }
}

/// The number of pixels of a picture that has any.
fn pixels(width: u32, height: u32) -> Option<usize> {
    let count = (width as usize).checked_mul(height as usize)?;
    (count > 0).then_some(count)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_decode_to_the_standards_light() {
        let display = Response::default();
        assert_eq!(display.light(0), 0.0);
        assert_eq!(display.light(255), 1.0);
        // On the straight part, and 0.5 and 0.2 of full light from above.
        assert!((display.light(10) - 10.0 / 255.0 / 12.92).abs() < 1e-15);
        assert!((display.light(188) - 0.502886).abs() < 1e-6);
        assert!((display.light(124) - 0.201556).abs() < 1e-6);
        let dull = Response { exponent: 2.0 };
        assert!((dull.light(188) - 0.502886_f64.powi(2)).abs() < 1e-6);
    }

    #[test]
    fn a_pixel_emits_over_its_half_open_square() {
        let picture = Picture::from_grey(2, 2, &[0, 255, 0, 0], &Response::default());
        let picture = picture.expect("a picture");
        let light = |x, y| picture.emits(Point::new(x, y));
        assert_eq!([light(1.0, 0.0), light(1.999, 0.999)], [1.0, 1.0]);
        assert_eq!([light(0.999, 0.5), light(1.5, 1.0)], [0.0, 0.0]);
        for (x, y) in [(2.0, 0.5), (-0.1, 0.5), (1.5, -1e-9), (f64::NAN, 0.5)] {
            assert_eq!(light(x, y), 0.0);
        }
    }

    #[test]
    fn colours_weigh_as_the_eye_weighs_them_and_alpha_is_nothing() {
        let frame = [255, 0, 0, 0, 0, 255, 0, 9, 0, 0, 255, 255];
        let response = Response::default();
        let grey = Picture::from_rgba(3, 1, &frame, &response).expect("a picture");
        assert_eq!(grey.light, [0.2126, 0.7152, 0.0722]);
        let [red, green, _] = Picture::channels(3, 1, &frame, &response).expect("a picture");
        assert_eq!(red.light, [1.0, 0.0, 0.0]);
        assert_eq!(green.light, [0.0, 1.0, 0.0]);
    }

    #[test]
    fn a_frame_of_the_wrong_length_is_refused() {
        let response = Response::default();
        assert!(Picture::from_grey(2, 2, &[0; 5], &response).is_none());
        assert!(Picture::from_grey(0, 0, &[], &response).is_none());
        assert!(Picture::from_rgba(1, 1, &[0; 5], &response).is_none());
        assert!(Picture::channels(1, 1, &[0; 3], &response).is_none());
        assert!(Picture::from_light(u32::MAX, u32::MAX, vec![]).is_none());
    }

    #[test]
    fn noise_is_repeatable_and_of_the_width_it_is_given() {
        let flat = || Picture::from_light(100, 99, vec![0.5; 9900]).expect("a picture");
        let noisy = flat().with_noise(0.1, 3);
        assert_eq!(noisy, flat().with_noise(0.1, 3));
        assert_ne!(noisy, flat().with_noise(0.1, 4));
        let square = |v: &f32| f64::from(v - 0.5).powi(2);
        let variance = noisy.light.iter().map(square).sum::<f64>() / 9900.0;
        assert!((variance.sqrt() - 0.1).abs() < 0.004);
        let levels = flat().in_room_light(0.25).levels();
        assert_eq!([levels.dark, levels.full], [0.75, 0.75]);
    }
}
