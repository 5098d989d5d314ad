//! How the lay is lit, and for whom: all that a person sets once and keeps.

use crate::colour::Tint;
use crate::stand::{Hand, Side};
use serde::{Deserialize, Serialize};

/// What is lit of the lay.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Way {
    /// All guides; those of the piece in hand bright, the others dim.
    #[default]
    Guides,
    /// Only the piece in hand.
    Hand,
    /// Light inside the net lines, all else dark: the finished look, to judge a fade.
    Finished,
    /// Plain light over everything.
    Plain,
    Dark,
}

impl Way {
    pub const ALL: [Way; 5] = [Way::Guides, Way::Hand, Way::Finished, Way::Plain, Way::Dark];

    /// In the words of the panel and of the light.
    pub fn words(self) -> &'static str {
        match self {
            Way::Guides => "all guides",
            Way::Hand => "only the piece in hand",
            Way::Finished => "finished look",
            Way::Plain => "plain light",
            Way::Dark => "dark",
        }
    }
}

/// Most work light, percent of the projector's white: with more, a guide no
/// longer stands out.
pub const MOST_WORK_LIGHT: u8 = 50;

/// The bands that can be asked for, mm. The band that is lit is never less
/// than three projector pixels.
pub const BANDS: std::ops::RangeInclusive<f64> = 1.0..=12.0;

/// Width of the waste that may be lit in place of a band, mm.
pub const WASTE: f64 = 30.0;

/// The settings of the light.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Ways {
    /// The side of the table where the person stands.
    pub stands: Side,
    /// The hand that cuts.
    pub cuts: Hand,
    pub way: Way,
    /// Light under the guides, percent of white, 0 to [`MOST_WORK_LIGHT`].
    pub work_light: u8,
    /// Width of the guide band, mm, in [`BANDS`].
    pub band_mm: f64,
    /// Of the guides, percent of white, 5 to 100.
    pub brightness: u8,
    /// Of all light but the pages for setting the table.
    pub colour: Tint,
    /// The waste is lit for [`WASTE`] mm instead of a band.
    pub waste: bool,
    /// The table's bare marks keep a ring of light.
    pub watch: bool,
    /// Bands are cut into dashes that creep along them: all else on the table stays still.
    pub creep: bool,
}

impl Default for Ways {
    fn default() -> Self {
        Self {
            stands: Side::default(),
            cuts: Hand::default(),
            way: Way::default(),
            work_light: 0,
            band_mm: 3.0,
            brightness: 100,
            colour: Tint::default(),
            waste: false,
            watch: true,
            creep: false,
        }
    }
}

impl Ways {
    /// The nearest settings that can be had.
    #[must_use]
    pub fn within_reach(mut self) -> Self {
        self.work_light = self.work_light.min(MOST_WORK_LIGHT);
        self.brightness = self.brightness.clamp(5, 100);
        self.band_mm = if self.band_mm.is_finite() {
            self.band_mm.clamp(*BANDS.start(), *BANDS.end())
        } else {
            Self::default().band_mm
        };
        self
    }

    /// Whether anything creeps, as the light is now.
    pub fn creeps(&self) -> bool {
        self.creep && matches!(self.way, Way::Guides | Way::Hand)
    }

    /// The width that is lit outside a cut line, mm.
    pub fn lit_width(&self) -> f64 {
        if self.waste { WASTE } else { self.band_mm }
    }
}
