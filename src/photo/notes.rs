//! What the camera noted beside the picture: EXIF 2.3.

use exif::{Exif, In, Tag, Value};

/// What a camera noted; nothing of it is certain.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Notes {
    /// Focal length on film of 24 by 36 mm that would see as much, mm (tag A405).
    pub film_mm: Option<f64>,
    /// Exposure time, s (829A).
    pub exposure_s: Option<f64>,
    /// Focal length by aperture (829D).
    pub f_number: Option<f64>,
    /// Sensitivity, ISO (8827).
    pub iso: Option<f64>,
    /// Whether a flash fired (9209).
    pub flash: Option<bool>,
}

impl Notes {
    /// From the bytes of a TIFF structure; what can't be understood is left out.
    pub(super) fn read(bytes: Vec<u8>) -> Self {
        let Ok(exif) = exif::Reader::new().read_raw(bytes) else {
            return Self::default();
        };
        let within = |tag, low: f64, high: f64| {
            let v = number(&exif, tag)?;
            (low..=high).contains(&v).then_some(v)
        };
        Self {
            // Nothing else is a camera held over a table; 0 means unknown.
            film_mm: within(Tag::FocalLengthIn35mmFilm, 8.0, 400.0),
            exposure_s: within(Tag::ExposureTime, 1e-6, 600.0),
            f_number: within(Tag::FNumber, 0.5, 128.0),
            iso: within(Tag::PhotographicSensitivity, 1.0, 1e7),
            // Bit 0: fired.
            flash: number(&exif, Tag::Flash).map(|v| v as u32 & 1 == 1),
        }
    }
}

fn number(exif: &Exif, tag: Tag) -> Option<f64> {
    let field = exif.get_field(tag, In::PRIMARY)?;
    match &field.value {
        Value::Rational(all) => all.first().map(|r| r.to_f64()),
        other => other.get_uint(0).map(f64::from),
    }
}
