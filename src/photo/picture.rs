//! A photo as the camera wrote it: upright, in linear light when it is asked for.

use crate::colour::decode;
use crate::fault::{Fault, Outcome};
use image::{DynamicImage, ImageDecoder, ImageError, ImageReader, Limits};
use std::io::Cursor;

/// Most picture points, as of the largest telephone cameras' usual pictures.
const MOST: u64 = 60_000_000;
/// Least side, px: under it a sheet and a card can't both be told.
const LEAST: u32 = 200;
/// Longest side, px.
const LONGEST: u32 = 30_000;

/// A photo, upright, three bytes a pixel in sRGB.
pub struct Picture {
    pub width: usize,
    pub height: usize,
    codes: Vec<u8>,
    linear: [f32; 256],
    /// Focal length, px, if the camera noted it.
    pub focal: Option<f64>,
}

impl Picture {
    /// # Errors
    /// If `bytes` are no PNG or JPEG that can be read whole, or of a size that is no use.
    pub fn read(bytes: &[u8]) -> Outcome<Self> {
        let reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format();
        let mut reader = reader.map_err(|e| broken(&e))?;
        if reader.format().is_none() {
            return Err(Fault::input(
                "this is not a photo in PNG or JPEG",
                "give the picture as the camera saved it, or save it as PNG or JPEG",
            ));
        }
        let mut limits = Limits::default();
        limits.max_alloc = Some(MOST * 10);
        limits.max_image_width = Some(LONGEST);
        limits.max_image_height = Some(LONGEST);
        reader.limits(limits);
        let mut decoder = reader.into_decoder().map_err(|e| undecoded(&e))?;
        let (width, height) = decoder.dimensions();
        if u64::from(width) * u64::from(height) > MOST {
            return Err(too_large());
        }
        if width.min(height) < LEAST {
            return Err(Fault::input(
                format!("the photo is {width} by {height} px: too small to measure from"),
                "give the picture at the size the camera took it",
            ));
        }
        let turned = decoder.orientation().ok();
        let notes = decoder.exif_metadata().ok().flatten();
        let mut image = DynamicImage::from_decoder(decoder).map_err(|e| undecoded(&e))?;
        if let Some(turned) = turned {
            image.apply_orientation(turned);
        }
        let codes = image.into_rgb8();
        let (width, height) = (codes.width() as usize, codes.height() as usize);
        let diagonal = (width as f64).hypot(height as f64);
        Ok(Self {
            width,
            height,
            codes: codes.into_raw(),
            linear: std::array::from_fn(|code| decode(code as f64 / 255.0) as f32),
            focal: notes
                .and_then(equivalent)
                .map(|f| f / FILM_DIAGONAL * diagonal),
        })
    }

    /// Linear light of the pixel in column `x`, row `y`, held to the picture: red, green
    /// and blue, 0 to 1.
    pub fn light(&self, x: usize, y: usize) -> [f32; 3] {
        let at = 3 * (y.min(self.height - 1) * self.width + x.min(self.width - 1));
        std::array::from_fn(|k| {
            let code = self.codes.get(at + k).copied().unwrap_or(0);
            self.linear[usize::from(code)]
        })
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
}

/// The diagonal of 24 by 36 mm film, to which equivalent focal lengths refer
/// (CIPA DCG-001): mm.
const FILM_DIAGONAL: f64 = 43.266_615_305_567_87;

/// What the camera noted as its focal length on 35 mm film, mm (EXIF 2.3, tag A405).
fn equivalent(notes: Vec<u8>) -> Option<f64> {
    let exif = exif::Reader::new().read_raw(notes).ok()?;
    let field = exif.get_field(exif::Tag::FocalLengthIn35mmFilm, exif::In::PRIMARY)?;
    let mm = f64::from(field.value.get_uint(0)?);
    // Nothing else is a camera held over a table; 0 means unknown.
    (8.0..=400.0).contains(&mm).then_some(mm)
}

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
            "save the photo as PNG or JPEG",
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
