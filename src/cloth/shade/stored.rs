//! The map as two files, to be kept in a job: a picture and a few lines about it.
//!
//! The picture is a PNG of 16 bits with four channels: X, Y and Z, where 32768 is white's Y,
//! and alpha: 65535 cloth, 32768 blown, 0 none. A pixel is a cell, the top row the farthest
//! in y. The lines are TOML, and name the picture by its checksum.

use super::map::{Cell, Doubt, Ground, MOST, SIDES, ShadeMap};
use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::space::{Bounds, Point, Vector};
use image::{ColorType, DynamicImage, ImageBuffer, ImageDecoder, ImageFormat, Limits, Rgba};
use serde::{Deserialize, Serialize};
use std::io::Cursor;

const FORMAT: &str = "shade of cloth 1";
const BLOWN: u16 = 32_768;

/// A map as files.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// PNG.
    pub picture: Vec<u8>,
    /// TOML.
    pub about: String,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct About {
    format: String,
    picture_crc32c: String,
    cell_mm: f64,
    left_mm: f64,
    bottom_mm: f64,
    /// Linear sRGB of white, in the photo's own units.
    white: [f64; 3],
    /// One standard error: CIEDE2000 at any place.
    doubt_colour: f64,
    /// One standard error: L* in 100 mm.
    doubt_tilt: f64,
}

fn checksum(picture: &[u8]) -> String {
    let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISCSI).checksum(picture);
    format!("{crc:08x}")
}

impl<S> ShadeMap<S> {
    /// # Errors
    /// If the picture can't be made, which is no fault of the input.
    pub fn write(&self) -> Outcome<Written> {
        let (width, height) = (self.cells.width(), self.cells.height());
        let picture = ImageBuffer::from_fn(width as u32, height as u32, |x, y| {
            let cell = self.cells.get(x as usize, height - 1 - y as usize);
            let (xyz, alpha) = cell.map_or(([0; 3], 0), |c| match c.ground {
                Ground::Cloth => (c.xyz, u16::MAX),
                Ground::Blown => (c.xyz, BLOWN),
                Ground::Other => (c.xyz, 0),
            });
            Rgba([xyz[0], xyz[1], xyz[2], alpha])
        });
        let ours =
            |e: &dyn std::fmt::Display| Fault::mistake(format!("the shade can't be kept: {e}"));
        let mut bytes = Cursor::new(Vec::new());
        DynamicImage::ImageRgba16(picture)
            .write_to(&mut bytes, ImageFormat::Png)
            .map_err(|e| ours(&e))?;
        let picture = bytes.into_inner();
        let bounds = self.bounds();
        let about = About {
            format: FORMAT.to_owned(),
            picture_crc32c: checksum(&picture),
            cell_mm: self.cells.cell(),
            left_mm: bounds.min.x,
            bottom_mm: bounds.min.y,
            white: self.white,
            doubt_colour: self.doubt.colour,
            doubt_tilt: self.doubt.tilt,
        };
        let about = toml::to_string(&about).map_err(|e| ours(&e))?;
        Ok(Written { picture, about })
    }

    /// # Errors
    /// If the two files are not those of a map, don't belong together, or say what can't be.
    pub fn read(picture: &[u8], about: &str) -> Outcome<Self> {
        let again = "measure the cloth's shade again";
        let about: About = toml::from_str(about).map_err(|e| {
            let line = e.message().lines().next().unwrap_or_default().to_owned();
            Fault::input(
                format!("the lines about the cloth's shade can't be read: {line}"),
                again,
            )
        })?;
        if about.format != FORMAT {
            return Err(Fault::input(
                format!("the cloth's shade is in the form \"{}\"", about.format),
                "use the version that it was made with, or measure it again",
            ));
        }
        if about.picture_crc32c != checksum(picture) {
            return Err(Fault::input(
                "the picture of the cloth's shade is not the one that its lines are about",
                again,
            ));
        }
        let numbers = [
            about.left_mm,
            about.bottom_mm,
            about.doubt_colour,
            about.doubt_tilt,
        ];
        let sound = SIDES.contains(&about.cell_mm)
            && numbers.iter().chain(&about.white).all(|v| v.abs() < 1e5)
            && about.doubt_colour >= 0.0
            && about.doubt_tilt >= 0.0;
        if !sound {
            return Err(Fault::input(
                "the lines about the cloth's shade have a number that is not possible",
                again,
            ));
        }
        let (width, values) = pixels(picture)?;
        let height = values.len() / 4 / width;
        let origin = Point::new(about.left_mm, about.bottom_mm);
        let size = Vector::new(width as f64, height as f64) * about.cell_mm;
        let bounds = Bounds::new(origin, origin + size);
        let cells = Raster::over(bounds, about.cell_mm, |column, row, _| {
            let at = 4 * ((height - 1 - row) * width + column);
            let ground = match values[at + 3] {
                u16::MAX => Ground::Cloth,
                0 => Ground::Other,
                _ => Ground::Blown,
            };
            Cell {
                xyz: [values[at], values[at + 1], values[at + 2]],
                ground,
            }
        });
        Ok(Self {
            cells,
            white: about.white,
            doubt: Doubt {
                colour: about.doubt_colour,
                tilt: about.doubt_tilt,
            },
        })
    }
}

/// Width, and all values row by row.
fn pixels(picture: &[u8]) -> Outcome<(usize, Vec<u16>)> {
    let fault = |what: &str| {
        Fault::input(
            format!("the picture of the cloth's shade {what}"),
            "measure the cloth's shade again",
        )
    };
    let unread = || fault("can't be read");
    let mut decoder =
        image::codecs::png::PngDecoder::new(Cursor::new(picture)).map_err(|_| unread())?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(16 * MOST as u64);
    decoder.set_limits(limits).map_err(|_| unread())?;
    let (width, height) = decoder.dimensions();
    if u64::from(width) * u64::from(height) > MOST as u64 {
        return Err(fault("is too large"));
    }
    if decoder.color_type() != ColorType::Rgba16 {
        return Err(fault("is of another kind than was written"));
    }
    let image = DynamicImage::from_decoder(decoder).map_err(|_| unread())?;
    Ok((width as usize, image.into_rgba16().into_raw()))
}
