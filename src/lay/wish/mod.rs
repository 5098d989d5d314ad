//! What a person wishes of a piece's place on the cloth: where the fade falls, a partner of
//! the same shade, the stripe, the nap.
//!
//! A [`Wish`] is what is written down. [`Terms`] are what wishes come to for one piece:
//! points inside its net lines at which the cloth is looked at, and what is known of
//! partner, neighbours and stripes. A [`Kept`] is how far one place keeps one wish, in the
//! wish's own unit, as a number and in words.
//!
//! Lightness is CIE L\* (0 black to 100 white). A place's score adds up what its wishes are
//! worth, in units of L\*; see [`Amount::worth`].

mod said;
mod samples;
mod shades;
mod terms;

#[cfg(test)]
mod tests;

pub use crate::cloth::Stripes;
pub use shades::{Shade, difference_1976, unlike};
pub use terms::{Amount, Beneath, Kept, Known, Neighbour, Partner, Terms};

use serde::{Deserialize, Serialize};

/// A part of a piece, in piece space. Written `{ edge = "toe" }`, `{ point_mm = [0, 90] }`
/// or `{ towards_deg = 90 }`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Part {
    /// The quarter of the piece nearest to an edge, by the edge's name.
    Edge(String),
    /// The tenth of the piece nearest to a point, mm.
    PointMm([f64; 2]),
    /// The quarter of the piece farthest in a direction, degrees counter-clockwise from +x.
    TowardsDeg(f64),
}

/// How a piece's grain arrow lies on cloth that has a nap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum NapWay {
    With,
    Against,
}

/// One thing that is wished. Written as a table with the key `is`:
/// `{ is = "fade", lighter = { edge = "toe" }, darker = { edge = "heel" } }`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "is", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Wish {
    /// Light here, darker there; of one part alone: than the rest of the piece.
    Fade {
        #[serde(default, skip_serializing_if = "Option::is_none")]
        lighter: Option<Part>,
        #[serde(default, skip_serializing_if = "Option::is_none")]
        darker: Option<Part>,
    },
    /// As even as possible.
    Even {},
    /// The same shade as its partner, each point like the one mirrored to it.
    LikePartner {},
    /// At the mirrored place on the mirrored panel.
    MirroredPlace {},
    /// A stripe's middle runs through this point of the piece, mm.
    StripeCentred {
        #[serde(default)]
        at_mm: [f64; 2],
    },
    /// The stripe runs on from this edge across the seam to the edge `to` of the piece `of`.
    StripeRunsOn {
        edge: String,
        of: String,
        to: String,
    },
    /// The grain's arrow with the nap or against it. It is kept or there is no place: it is
    /// not weighed against anything.
    Nap { way: NapWay },
}

impl Wish {
    /// Whether it is about the cloth under the piece, whatever else lies where.
    pub fn is_of_cloth(&self) -> bool {
        match self {
            Wish::Fade { .. } | Wish::Even {} => true,
            Wish::StripeCentred { .. } | Wish::StripeRunsOn { .. } => true,
            Wish::LikePartner {} | Wish::MirroredPlace {} | Wish::Nap { .. } => false,
        }
    }
}

/// A wish for a piece, as it is written in a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Wished {
    pub piece: String,
    /// Of this article only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub article: Option<String>,
    pub wish: Wish,
    /// How much it counts beside the piece's other wishes, above 0 to [`MOST_WEIGHT`].
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub weight: f64,
}

impl Wished {
    /// The pieces that it speaks of are called what `name` makes of their names.
    pub fn rename(&mut self, name: &impl Fn(&str) -> String) {
        self.piece = name(&self.piece);
        if let Wish::StripeRunsOn { of, .. } = &mut self.wish {
            *of = name(of);
        }
    }
}

/// The largest weight of a wish.
pub const MOST_WEIGHT: f64 = 100.0;

fn one() -> f64 {
    1.0
}

fn is_one(weight: &f64) -> bool {
    *weight == 1.0
}

impl Wished {
    /// A wish that counts once.
    pub fn new(piece: impl Into<String>, wish: Wish) -> Self {
        Self {
            piece: piece.into(),
            article: None,
            wish,
            weight: 1.0,
        }
    }

    /// Whether it can be written and read again: its weight and all places are numbers that
    /// count.
    pub fn is_sound(&self) -> bool {
        let near = |v: &f64| v.abs() < 1e5;
        let sound = |part: &Part| match part {
            Part::Edge(_) => true,
            Part::PointMm(at) => at.iter().all(near),
            Part::TowardsDeg(deg) => near(deg),
        };
        let places = match &self.wish {
            Wish::Fade { lighter, darker } => lighter.iter().chain(darker).all(sound),
            Wish::StripeCentred { at_mm } => at_mm.iter().all(near),
            _ => true,
        };
        places && self.weight > 0.0 && self.weight <= MOST_WEIGHT
    }

    /// Whether it is a wish for this piece of this article.
    pub fn is_for(&self, piece: &str, article: &str) -> bool {
        self.piece == piece && self.article.as_deref().is_none_or(|a| a == article)
    }
}

/// The way of the nap that is wished for, if one is; the last wish counts.
pub fn nap_way<'a>(wishes: impl IntoIterator<Item = &'a Wished>) -> Option<NapWay> {
    let ways = wishes.into_iter().filter_map(|w| match w.wish {
        Wish::Nap { way } => Some(way),
        _ => None,
    });
    ways.last()
}
