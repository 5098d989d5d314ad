//! How well a guide is seen at one place, in one light.

use super::{PLAIN, Seeing, TIMES, WINDOW};
use crate::colour::{Lab, Tint, Xyz, ciede2000};
use crate::space::{Point, Table};

/// Contrast at which an edge is still seen when one looks for it (see [`PLAIN`]).
const FAINT: f64 = 1.2;

/// How a guide is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sight {
    /// Not even when one looks for it.
    Lost,
    /// When one looks for it.
    Hard,
    /// While one cuts.
    Seen,
}

/// A place on a cut line, and how its guide is seen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighted {
    pub at: Point<Table>,
    /// Contrast there, and what would be wanted of a white guide, as ratios of light.
    pub contrast: f64,
    pub wanted: f64,
    /// What is there of what is wanted, 1 being enough: of white light in logarithms of
    /// contrast, of a colour in CIEDE2000.
    pub share: f64,
}

impl Sighted {
    pub fn sight(&self) -> Sight {
        if self.share >= 1.0 {
            Sight::Seen
        } else if self.share >= FAINT.ln() / PLAIN.ln() {
            Sight::Hard
        } else {
            Sight::Lost
        }
    }
}

/// Light as it is tried: the room's as a share of what it was in the photos; guide and work
/// light 0 to 1 of the projector's white, both in its colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tried {
    pub room: f64,
    pub guide: f64,
    pub work_light: f64,
    pub tint: Tint,
}

/// What the photos say of a place.
#[derive(Debug, Clone, Copy)]
pub(super) struct Known {
    pub at: Point<Table>,
    /// The projector's white ÷ the room.
    ratio: f64,
    /// Linear light about it: by the room alone, and with the projector white.
    dark: [f64; 3],
    white: [f64; 3],
}

impl Known {
    /// `None` where the photos don't measure.
    pub fn at(seeing: &Seeing, at: Point<Table>) -> Option<Self> {
        let ratio = seeing.projector_to_room(at)?;
        let [dark, white] = seeing.light_about(at, WINDOW / 2.0)?;
        Some(Self {
            at,
            ratio,
            dark,
            white,
        })
    }

    /// How a guide is seen here, where the cloth's own contrast at the guide's size is
    /// `spread`, a standard deviation of logarithms.
    pub fn seen(&self, light: &Tried, spread: f64) -> Sighted {
        let wanted = (TIMES * spread).exp().max(PLAIN);
        let contrast = self.contrast(light);
        let share = match light.tint {
            Tint::White => contrast.ln() / wanted.ln(),
            _ => self.difference(light, spread),
        };
        Sighted {
            at: self.at,
            contrast,
            wanted,
            share,
        }
    }

    /// (guide + room) ÷ (work light + room), in luminance.
    fn contrast(&self, light: &Tried) -> f64 {
        // What a colour's channels have of the white's luminance, as it comes back from here.
        let adds: [f64; 3] = std::array::from_fn(|k| self.white[k] - self.dark[k]);
        let on = light.tint.channels();
        let own = std::array::from_fn(|k| if on[k] { adds[k] } else { 0.0 });
        let part = Xyz::from_linear_srgb(own).y / Xyz::from_linear_srgb(adds).y;
        let k = part.clamp(0.0, 1.0) * self.ratio / light.room;
        (1.0 + light.guide * k) / (1.0 + light.work_light * k)
    }

    /// CIEDE2000 between lit and unlit cloth, the room's light in both, as a share of what is
    /// wanted: what plain cloth is asked for, or what the cloth's own contrast comes to. The
    /// projector's primaries are taken for the camera's.
    fn difference(&self, light: &Tried, spread: f64) -> f64 {
        let on = light.tint.channels();
        let with = |share: f64| -> [f64; 3] {
            std::array::from_fn(|k| {
                let adds = if on[k] {
                    self.white[k] - self.dark[k]
                } else {
                    0.0
                };
                light.room * self.dark[k] + share * adds
            })
        };
        let (unlit, lit) = (with(light.work_light), with(light.guide));
        // The eye's white is the cloth fully lit.
        let fully = |k: usize| self.white[k] - (1.0 - light.room) * self.dark[k];
        let brightest = (0..3).map(fully).fold(f64::MIN, f64::max);
        let lab = |l: [f64; 3]| Lab::from_xyz(Xyz::from_linear_srgb(l.map(|v| v / brightest)));
        let more = unlit.map(|v| v * (TIMES * spread).exp());
        let own = ciede2000(lab(unlit), lab(more));
        ciede2000(lab(unlit), lab(lit)) / plain_difference().max(own)
    }
}

/// A colour difference that is as plain to see as [`PLAIN`] on mid-grey cloth: CIEDE2000 of
/// L* 50 against that in 1.5 times the light, 9.0.
fn plain_difference() -> f64 {
    let lit = 116.0 * (luminance_of(50.0) * PLAIN).cbrt() - 16.0;
    ciede2000(Lab::new(50.0, 0.0, 0.0), Lab::new(lit, 0.0, 0.0))
}

/// CIE 15: L* to relative luminance, above the linear part.
fn luminance_of(l: f64) -> f64 {
    ((l + 16.0) / 116.0).powi(3)
}
