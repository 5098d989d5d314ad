//! The saved profile: how this table lies under this projector.

mod made;
mod mapping;
mod sealed;
#[cfg(test)]
mod tests;

pub use sealed::AsWritten;

use super::still::CheckFile;
use serde::{Deserialize, Serialize};

/// The version of the profile file that this program writes. It reads the first, too, which
/// differs from it only in having no checksum.
pub const PROFILE_VERSION: u32 = 2;

/// The largest side of a projector's picture, px.
pub const LARGEST: u32 = 16_384;

/// A profile as it is written: TOML. It is written with its checksum and read only if that is
/// right, whoever writes and reads it: see `sealed`.
///
/// A new key must be left out where it says nothing: the checksum is over all that is said, so
/// older files would no longer be as they were written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(remote = "Self", deny_unknown_fields)]
pub struct Profile {
    /// [`PROFILE_VERSION`], also of one that was read from a file of an older version.
    pub ghostchalk_profile: u32,
    /// What the file has for its checksum. Never here, but while it is read or written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checksum: Option<String>,
    /// Projector picture, px.
    pub projector_px: [u32; 2],
    /// Table mm to projector px, row-major, for points (x, y, 1).
    pub table_to_projector: [[f64; 3]; 3],
    /// The light goes over a mirror, so the picture is sent mirrored.
    #[serde(default)]
    pub mirror_rig: bool,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens: Option<LensFile>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lens_place: Option<LensPlaceFile>,
    /// The day on which it was made, as `2031-05-17`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub made: Option<String>,
    /// The name of the output that it was made on.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub output: Option<String>,
    /// The length of a pixel of the projector, across and down, in pixels of
    /// the picture, where it rescales what it is sent. The mapping is in sent
    /// pixels all the same; see [`Profile::finest`].
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub effective_px: Option<[f64; 2]>,
    /// The darkest sRGB code that could be told from darkness.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub least_code: Option<u8>,
    /// One-pixel lines of red and blue were as clear as white ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour_lines_clean: Option<bool>,
    /// What a tape said of the check picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub checked: Option<CheckedFile>,
    /// What was believed of the marks it was made from.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub believed: Option<BelievedFile>,
    /// Whether it was still true, check by check.
    #[serde(default, rename = "check", skip_serializing_if = "Vec::is_empty")]
    pub checks: Vec<CheckFile>,
    /// The marks it was made from.
    #[serde(default, rename = "mark", skip_serializing_if = "Vec::is_empty")]
    pub marks: Vec<MarkFile>,
}

/// Brown–Conrady coefficients; see [`Lens`](crate::projection::Lens).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LensFile {
    pub focal_px: f64,
    pub centre_px: [f64; 2],
    pub k1: f64,
    #[serde(default)]
    pub k2: f64,
    #[serde(default)]
    pub p1: f64,
    #[serde(default)]
    pub p2: f64,
}

/// See [`LensPlace`](crate::projection::LensPlace).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LensPlaceFile {
    pub foot_mm: [f64; 2],
    pub height_mm: f64,
}

/// What a tape laid on the check picture said.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CheckedFile {
    /// The reading furthest out for its tolerance was too long by this, mm.
    pub furthest_mm: f64,
    /// What it may be out by, mm.
    pub tolerance_mm: f64,
    /// How many of the six lengths were read.
    pub readings: usize,
}

/// What was believed of the marks: see [`Believed`](super::fit::Believed).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BelievedFile {
    /// Standard deviation of the hand that set the light, px on each axis.
    pub hand_px: f64,
    /// Standard deviation of a mark's place, mm on each axis.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub marks_mm: Option<f64>,
    /// Covariance of all the marks' coordinates as a tape gave it, x and y of each in
    /// turn, mm².
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub marks_mm2: Vec<Vec<f64>>,
}

/// One mark that was set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MarkFile {
    /// What it is called, where it has a name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    pub table_mm: [f64; 2],
    pub projector_px: [f64; 2],
}

/// What a profile has for an output's name where the light was in a window, for want of one.
pub const NO_OUTPUT: &str = "window";

/// Where the light went, by a profile's name for it, in words.
pub fn light_on(output: &str) -> String {
    match output {
        NO_OUTPUT => "a window".to_owned(),
        name => format!("the output {name}"),
    }
}

impl Profile {
    /// Why this profile is not for a picture of `size` px on `output`, in one
    /// sentence without a full stop; `None` if it is. A profile that names no
    /// output is for any.
    pub fn fits(&self, output: &str, size: [u32; 2]) -> Option<String> {
        let made = match &self.made {
            Some(day) => format!("the profile of {day}"),
            None => "the profile".to_owned(),
        };
        if self.projector_px != size {
            let [[a, b], [w, h]] = [self.projector_px, size];
            return Some(format!(
                "{made} was made for a picture of {a} × {b} px, and this one has {w} × {h}: light \
                 would fall in the wrong place"
            ));
        }
        match &self.output {
            Some(own) if own != output => Some(format!(
                "{made} was made on {}, and this is {output}: if another projector \
                 hangs on it, light would fall in the wrong place",
                light_on(own)
            )),
            _ => None,
        }
    }

    /// The width of the finest line of light, in pixels of the picture: a
    /// pixel, or a longer one of a projector that has fewer. What is stated in
    /// pixels, such as the least width of a band, is this many times wider.
    pub fn finest(&self) -> f64 {
        let each = self.effective_px.into_iter().flatten();
        each.filter(|v| v.is_finite()).fold(1.0, f64::max)
    }
}
