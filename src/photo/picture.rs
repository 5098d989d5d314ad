//! A photo as the camera wrote it: upright, in linear light when it is asked for.

use super::notes::Notes;
use super::profile::{self, Curve};
use super::whole;
use crate::colour::luminance;
use crate::fault::{Fault, Outcome};
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, Limits};
use std::io::Cursor;

/// Most picture points, as of the largest telephone cameras' usual pictures.
const MOST: u64 = 60_000_000;
/// Least side, px: under it a sheet and a card can't both be told.
const LEAST: u32 = 200;
/// Longest side, px.
const LONGEST: u32 = 30_000;

/// A photo, upright, of red, green and blue.
///
/// Memory: three bytes a pixel, or six if the file holds more than eight bits a channel;
/// while it is read, up to three times as much.
pub struct Picture {
    pub width: usize,
    pub height: usize,
    codes: Codes,
    curve: Curve,
    /// Focal length, px, if the camera noted it.
    pub focal: Option<f64>,
    /// What else the camera noted.
    pub notes: Notes,
}

enum Codes {
    Eight(Vec<u8>),
    Sixteen(Vec<u16>),
}

impl Picture {
    /// Reads JPEG, PNG, WebP or TIFF, of 8 or 16 bits a channel, up to 60 million pixels,
    /// turned as its notes say, its colours told by its profile (sRGB if it has none).
    ///
    /// # Errors
    /// If `bytes` are no such photo that can be read whole, or of a size that is no use.
    pub fn read(bytes: &[u8]) -> Outcome<Self> {
        let reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format();
        let mut reader = reader.map_err(|e| broken(&e))?;
        let format = reader.format();
        if bytes.get(4..8) == Some(b"ftyp") {
            return Err(Fault::input(
                "this photo is in HEIC or AVIF, which are not read",
                "save or send it as JPEG, or set the camera to JPEG",
            ));
        }
        if format.is_none() {
            return Err(Fault::input(
                "this is not a photo in JPEG, PNG, WebP or TIFF",
                "give the picture as the camera saved it, or save it as JPEG or PNG",
            ));
        }
        let mut limits = Limits::default();
        limits.max_alloc = Some(MOST * 10);
        limits.max_image_width = Some(LONGEST);
        limits.max_image_height = Some(LONGEST);
        reader.limits(limits);
        let mut decoder = reader.into_decoder().map_err(|e| undecoded(&e))?;
        let (width, height) = decoder.dimensions();
        let pixels = u64::from(width) * u64::from(height);
        if pixels > MOST {
            return Err(too_large());
        }
        // Four channels of 16 bits are the most; a TIFF may have some of 32.
        if decoder.total_bytes() > 8 * pixels {
            return Err(Fault::input(
                "the photo has more than 16 bits a channel",
                "save it with 8 or 16 bits a channel",
            ));
        }
        if width.min(height) < LEAST {
            return Err(Fault::input(
                format!("the photo is {width} by {height} px: too small to measure from"),
                "give the picture at the size the camera took it",
            ));
        }
        // The decoder fills up with grey what is missing of a JPEG.
        if format == Some(ImageFormat::Jpeg) && !whole::jpeg(bytes) {
            return Err(broken(&"it ends in the middle"));
        }
        let turned = decoder.orientation().ok();
        let profile = decoder.icc_profile().ok().flatten();
        let notes = decoder.exif_metadata().ok().flatten();
        let mut image = DynamicImage::from_decoder(decoder).map_err(|e| undecoded(&e))?;
        if let Some(turned) = turned {
            image.apply_orientation(turned);
        }
        let (width, height) = (image.width() as usize, image.height() as usize);
        let deep = image.color().bytes_per_pixel() > image.color().channel_count();
        let codes = if deep {
            Codes::Sixteen(image.into_rgb16().into_raw())
        } else {
            Codes::Eight(image.into_rgb8().into_raw())
        };
        let levels = if deep { 65536 } else { 256 };
        let notes = notes.map(Notes::read).unwrap_or_default();
        let diagonal = (width as f64).hypot(height as f64);
        Ok(Self {
            width,
            height,
            codes,
            curve: profile::curve(profile.as_deref(), levels),
            focal: notes.film_mm.map(|f| f / FILM_DIAGONAL * diagonal),
            notes,
        })
    }

    /// A picture from sRGB codes, red, green, blue, row by row from the top. `None` if
    /// there are not `3 * width * height`, or there is no pixel.
    pub fn from_srgb(width: usize, height: usize, codes: Vec<u8>) -> Option<Self> {
        let right = width > 0 && height > 0 && codes.len() == 3 * width * height;
        right.then(|| Self {
            width,
            height,
            codes: Codes::Eight(codes),
            curve: profile::curve(None, 256),
            focal: None,
            notes: Notes::default(),
        })
    }

    /// What was written of the pixel in column `x`, row `y`, held to the picture, as shares
    /// of the highest code: 0 to 1.
    pub fn code(&self, x: usize, y: usize) -> [f32; 3] {
        let at = self.index(x, y);
        std::array::from_fn(|k| match &self.codes {
            Codes::Eight(codes) => f32::from(codes[at + k]) / 255.0,
            Codes::Sixteen(codes) => f32::from(codes[at + k]) / 65535.0,
        })
    }

    /// Linear light of the pixel in column `x`, row `y`, held to the picture: red, green
    /// and blue of sRGB, 0 to 1.
    #[inline]
    pub fn light(&self, x: usize, y: usize) -> [f32; 3] {
        self.curve.in_srgb(self.own(x, y))
    }

    /// Linear light in the photo's own primaries: sums of it may be taken before
    /// [`Picture::settle`] makes them sRGB's.
    #[inline]
    pub(super) fn own(&self, x: usize, y: usize) -> [f32; 3] {
        let at = self.index(x, y);
        let linear = &self.curve.linear;
        match &self.codes {
            Codes::Eight(codes) => {
                let [r, g, b] = [codes[at], codes[at + 1], codes[at + 2]];
                [r, g, b].map(|c| linear[usize::from(c)])
            }
            Codes::Sixteen(codes) => {
                let [r, g, b] = [codes[at], codes[at + 1], codes[at + 2]];
                [r, g, b].map(|c| linear[usize::from(c)])
            }
        }
    }

    /// Own primaries to sRGB's.
    #[inline]
    pub(super) fn settle(&self, own: [f32; 3]) -> [f32; 3] {
        self.curve.in_srgb(own)
    }

    #[inline]
    fn index(&self, x: usize, y: usize) -> usize {
        3 * (y.min(self.height - 1) * self.width + x.min(self.width - 1))
    }

    /// Linear light between pixel centres; px as in [`crate::space`].
    pub fn between(&self, x: f64, y: f64) -> [f64; 3] {
        let hold = |v: f64, n: usize| (v - 0.5).clamp(0.0, (n - 1) as f64);
        let (x, y) = (hold(x, self.width), hold(y, self.height));
        let (c, r) = (x.floor(), y.floor());
        let (fx, fy) = (x - c, y - r);
        let (c, r) = (c as usize, r as usize);
        let corners = [
            (self.light(c, r), (1.0 - fx) * (1.0 - fy)),
            (self.light(c + 1, r), fx * (1.0 - fy)),
            (self.light(c, r + 1), (1.0 - fx) * fy),
            (self.light(c + 1, r + 1), fx * fy),
        ];
        std::array::from_fn(|k| corners.iter().map(|(l, w)| f64::from(l[k]) * w).sum())
    }

    pub fn diagonal(&self) -> f64 {
        (self.width as f64).hypot(self.height as f64)
    }

    /// Width and height, px.
    pub fn size(&self) -> [usize; 2] {
        [self.width, self.height]
    }

    /// How bright a place between pixel centres is to the eye, linear, 0 to 1: its
    /// [`luminance`].
    pub fn luminance(&self, x: f64, y: f64) -> f64 {
        luminance(self.between(x, y))
    }
}

/// The diagonal of 24 by 36 mm film, to which equivalent focal lengths refer
/// (CIPA DCG-001): mm.
const FILM_DIAGONAL: f64 = 43.266_615_305_567_87;

fn too_large() -> Fault {
    Fault::input(
        "the photo has more than 60 million pixels",
        "save it smaller: 12 million are plenty",
    )
}

fn undecoded(error: &ImageError) -> Fault {
    match error {
        ImageError::Limits(_) => too_large(),
        ImageError::Unsupported(_) => Fault::input(
            "this kind of picture is not read",
            "save the photo as JPEG or PNG",
        ),
        other => broken(other),
    }
}

fn broken(error: &dyn std::fmt::Display) -> Fault {
    let text = error.to_string();
    let first = text.lines().next().unwrap_or_default();
    Fault::input(
        format!(
            "the photo can't be read: {}",
            first.trim_end_matches(['.', ' '])
        ),
        "give the picture as the camera saved it",
    )
}

#[cfg(test)]
mod tests;
