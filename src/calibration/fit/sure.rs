//! How sure a profile's light is, kept for whoever asks while pieces are moved.

use super::{Along, Fit, ShapeError, Sighted};
use crate::calibration::Profile;

/// A fit with the marks it was made from.
#[derive(Debug, Clone)]
pub struct Sure {
    marks: Vec<Sighted>,
    fit: Fit,
}

impl Sure {
    /// `None` if the profile does not keep its marks.
    pub fn of(profile: &Profile) -> Option<Self> {
        let (marks, _, fit) = profile.refit()?;
        Some(Self { marks, fit })
    }

    /// Standard errors of place and shape of an outline on the table, mm, from marks and
    /// setting. `None` where some of it is not lit.
    pub fn shape(&self, outline: Along<'_>) -> Option<ShapeError> {
        self.fit.field(&self.marks).shape(outline)
    }

    /// Whether the lens is known.
    pub fn knows_lens(&self) -> bool {
        self.fit.mapping.lens.is_some()
    }
}
