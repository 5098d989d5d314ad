//! Where the guide will be lost, and what helps most.

use super::Seeing;
use super::judge::{Known, Sighted, Tried as Light};
use crate::colour::Tint;
use crate::space::{Point, Table};
use std::fmt;

/// How the guide is lit now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guide {
    /// All light on the guide, and what lies beside it, 0 to 1 of the projector's full white.
    pub brightness: f64,
    pub work_light: f64,
    /// Of both.
    pub tint: Tint,
    /// mm.
    pub band: f64,
    /// What a wider band may grow to, mm; how wide the waste is lit instead, mm.
    pub widest: f64,
    pub waste: f64,
}

/// What may be done, in the order in which it is advised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Remedy {
    /// The room's light down to this share.
    DimRoom(f64),
    /// No work light under the guide.
    NoWorkLight,
    /// The waste is lit instead of a band.
    LightWaste,
    /// mm.
    WiderBand(f64),
    /// Light of another colour.
    Colour(Tint),
    /// Dashes that creep along the band, on request: nothing else on the table moves.
    Creep,
}

impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Remedy::DimRoom(to) => write!(f, "dim the room to {:.0} %", 100.0 * to),
            Remedy::NoWorkLight => f.write_str("turn the work light off under the guide"),
            Remedy::LightWaste => f.write_str("light the waste instead of a band"),
            Remedy::WiderBand(mm) => write!(f, "a band {mm} mm wide"),
            Remedy::Colour(tint) => write!(f, "{} light", tint.words()),
            Remedy::Creep => f.write_str("dashes that creep along the band"),
        }
    }
}

/// A remedy and at how many of the places the guide is still not plainly seen with it alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tried {
    pub remedy: Remedy,
    pub still_short: usize,
}

/// What is seen, and what is advised.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Cloth by cloth, each place as it was given; `None` where the photos don't measure.
    pub seen: Vec<Vec<Option<Sighted>>>,
    /// All remedies up to the first that is enough, in order; empty if none is needed.
    pub tried: Vec<Tried>,
}

impl Advice {
    /// The places where the photos measure.
    pub fn measured(&self) -> impl Iterator<Item = &Sighted> {
        self.seen.iter().flatten().flatten()
    }

    /// How many those are.
    pub fn places(&self) -> usize {
        self.measured().count()
    }

    /// Those where the guide is not plainly seen.
    pub fn short(&self) -> impl Iterator<Item = &Sighted> {
        self.measured().filter(|s| s.share < 1.0)
    }

    /// The first remedy in the list with which the guide is seen everywhere but at one
    /// place in a hundred.
    pub fn enough(&self) -> Option<Remedy> {
        let last = self.tried.last()?;
        (last.still_short <= few(self.places())).then_some(last.remedy)
    }

    /// The remedy that leaves the fewest places short, but for the last: how well movement
    /// is seen is not measured.
    pub fn best(&self) -> Option<Tried> {
        let light = self.tried.iter().filter(|t| t.remedy != Remedy::Creep);
        light.min_by_key(|t| t.still_short).copied()
    }
}

/// At so many places the guide may be lost without a word.
fn few(places: usize) -> usize {
    places / 100
}

/// Rooms are dimmed to a half, a quarter, a tenth: a lamp less, a blind, a curtain. Common
/// practice.
const DIMMED: [f64; 3] = [0.5, 0.25, 0.1];

/// Bands are tried at so many times their width.
const WIDER: [f64; 4] = [1.5, 2.0, 3.0, 4.0];

/// Looks along places on the cut lines (about 5 mm apart), cloth by cloth, for where the guide
/// is lost with the light as it is, and tries the remedies one by one, in order, until one is
/// enough for all.
pub fn advise(on: &[(&Seeing, &[Point<Table>])], guide: &Guide) -> Advice {
    let known: Vec<Vec<Option<Known>>> = on
        .iter()
        .map(|(seeing, along)| along.iter().map(|&p| Known::at(seeing, p)).collect())
        .collect();
    // What the cloth has of contrast is told at the light's own width.
    let all = |light: &Light, width: f64| -> Vec<Vec<Option<Sighted>>> {
        let cloths = on.iter().zip(&known);
        let cloth = cloths.map(|((seeing, _), known)| {
            let texture = seeing.texture(width);
            let seen = |k: &Option<Known>| k.map(|k| k.seen(light, texture.spread(k.at)));
            known.iter().map(seen).collect()
        });
        cloth.collect()
    };
    let now = Light {
        room: 1.0,
        guide: guide.brightness,
        work_light: guide.work_light,
        tint: guide.tint,
    };
    let mut advice = Advice {
        seen: all(&now, guide.band),
        tried: Vec::new(),
    };
    let enough = few(advice.places());
    if advice.short().count() <= enough {
        return advice;
    }
    let mut ways: Vec<(Remedy, Light, f64)> = Vec::new();
    let mut may = |remedy, light, width| ways.push((remedy, light, width));
    for room in DIMMED {
        may(Remedy::DimRoom(room), Light { room, ..now }, guide.band);
    }
    if guide.work_light > 0.0 {
        let none = Light {
            work_light: 0.0,
            ..now
        };
        may(Remedy::NoWorkLight, none, guide.band);
    }
    if guide.band < guide.waste {
        may(Remedy::LightWaste, now, guide.waste);
    }
    for mm in WIDER.map(|n| n * guide.band) {
        if mm <= guide.widest {
            may(Remedy::WiderBand(mm), now, mm);
        }
    }
    for tint in Tint::ALL.into_iter().filter(|t| *t != guide.tint) {
        may(Remedy::Colour(tint), Light { tint, ..now }, guide.band);
    }
    for (remedy, light, width) in ways {
        let seen = all(&light, width);
        let short = seen.iter().flatten().flatten().filter(|s| s.share < 1.0);
        let still_short = short.count();
        advice.tried.push(Tried {
            remedy,
            still_short,
        });
        if still_short <= enough {
            return advice;
        }
    }
    // Movement is seen where nothing else is; how well is not measured here.
    advice.tried.push(Tried {
        remedy: Remedy::Creep,
        still_short: 0,
    });
    advice
}
