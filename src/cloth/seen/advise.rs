//! Where the guide will be lost, and what helps most.

use super::{PLAIN, Seeing, TIMES};
use crate::colour::{Lab, Xyz, ciede2000};
use crate::space::{Point, Table};
use std::fmt;

/// How the guide is lit now.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Guide {
    /// 0 to 1 of the projector's full white.
    pub brightness: f64,
    pub work_light: f64,
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
    /// Guides of a colour: red, green and blue, each on or off.
    Colour([bool; 3]),
    /// Dashes that creep along the band, on request: nothing else on the table moves.
    Creep,
}

impl Remedy {
    /// The colour's name.
    fn colour(rgb: [bool; 3]) -> &'static str {
        match rgb {
            [true, true, true] => "white",
            [true, true, false] => "yellow",
            [true, false, true] => "magenta",
            [false, true, true] => "cyan",
            [true, false, false] => "red",
            [false, true, false] => "green",
            [false, false, true] => "blue",
            [false, false, false] => "dark",
        }
    }
}

impl fmt::Display for Remedy {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Remedy::DimRoom(to) => write!(f, "dim the room to {:.0} %", 100.0 * to),
            Remedy::NoWorkLight => f.write_str("turn the work light off under the guide"),
            Remedy::LightWaste => f.write_str("light the waste instead of a band"),
            Remedy::WiderBand(mm) => write!(f, "a band {mm:.0} mm wide"),
            Remedy::Colour(rgb) => write!(f, "{} guides", Remedy::colour(rgb)),
            Remedy::Creep => f.write_str("dashes that creep along the band"),
        }
    }
}

/// A place where the guide is lost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost {
    pub at: Point<Table>,
    /// Contrast there, and what would be wanted, as ratios.
    pub contrast: f64,
    pub wanted: f64,
}

/// A remedy and at how many of the places the guide is still lost with it alone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tried {
    pub remedy: Remedy,
    pub still_lost: usize,
}

/// What is advised.
#[derive(Debug, Clone, PartialEq)]
pub struct Advice {
    /// Places looked at: those where the photos measure.
    pub places: usize,
    pub lost: Vec<Lost>,
    /// All remedies up to the first that is enough, in order; empty if nothing is lost.
    pub tried: Vec<Tried>,
}

impl Advice {
    /// The first remedy in the list with which the guide is seen everywhere but at one
    /// place in a hundred.
    pub fn enough(&self) -> Option<Remedy> {
        let last = self.tried.last()?;
        (last.still_lost <= few(self.places)).then_some(last.remedy)
    }

    /// The remedy that leaves the fewest places lost, if none is enough.
    pub fn best(&self) -> Option<Tried> {
        self.tried.iter().min_by_key(|t| t.still_lost).copied()
    }
}

/// So many places may be lost without a word.
fn few(places: usize) -> usize {
    places / 100
}

/// Rooms are dimmed to a half, a quarter, a tenth: a lamp less, a blind, a curtain. Common
/// practice.
const DIMMED: [f64; 3] = [0.5, 0.25, 0.1];

/// Colours that are tried; blue alone is too dark on most projectors.
const COLOURS: [[bool; 3]; 5] = [
    [false, true, false],
    [false, true, true],
    [true, false, true],
    [true, true, false],
    [true, false, false],
];

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

/// Looks along places on the cut lines (about 5 mm apart) where the guide is lost with the
/// light as it is, and tries the remedies one by one, in order, until one is enough.
pub fn advise(seeing: &Seeing, along: &[Point<Table>], guide: &Guide) -> Advice {
    let texture = seeing.texture(guide.band);
    let known: Vec<(Point<Table>, f64, f64)> = along
        .iter()
        .filter_map(|&p| Some((p, seeing.projector_to_room(p)?, texture.spread(p))))
        .collect();
    let contrast = |k: f64, room: f64, work: f64| {
        let k = k / room;
        (1.0 + guide.brightness * k) / (1.0 + work * k)
    };
    let wanted = |spread: f64| (TIMES * spread).exp().max(PLAIN);
    let lost: Vec<Lost> = known
        .iter()
        .filter_map(|&(at, k, spread)| {
            let (contrast, wanted) = (contrast(k, 1.0, guide.work_light), wanted(spread));
            (contrast < wanted).then_some(Lost {
                at,
                contrast,
                wanted,
            })
        })
        .collect();
    let mut advice = Advice {
        places: known.len(),
        lost,
        tried: Vec::new(),
    };
    if advice.lost.len() <= few(advice.places) {
        return advice;
    }
    let lit = |room: f64, work: f64| {
        let lost = known
            .iter()
            .filter(|&&(_, k, s)| contrast(k, room, work) < wanted(s));
        lost.count()
    };
    // Wide light is compared with what the cloth has of contrast at that width.
    let sized = |mm: f64| {
        let texture = seeing.texture(mm);
        let short = |&&(at, k, _): &&(Point<Table>, f64, f64)| {
            contrast(k, 1.0, guide.work_light) < wanted(texture.spread(at))
        };
        known.iter().filter(short).count()
    };
    let mut try_out = |remedy: Remedy, still_lost: usize| {
        advice.tried.push(Tried { remedy, still_lost });
        still_lost <= few(known.len())
    };
    for to in DIMMED {
        if try_out(Remedy::DimRoom(to), lit(to, guide.work_light)) {
            return advice;
        }
    }
    if guide.work_light > 0.0 && try_out(Remedy::NoWorkLight, lit(1.0, 0.0)) {
        return advice;
    }
    if try_out(Remedy::LightWaste, sized(guide.waste)) {
        return advice;
    }
    let wider = [1.5, 2.0, 3.0, 4.0].map(|n| n * guide.band);
    for mm in wider.into_iter().filter(|&w| w <= guide.widest) {
        if try_out(Remedy::WiderBand(mm), sized(mm)) {
            return advice;
        }
    }
    for rgb in COLOURS {
        let still = coloured(seeing, &known, guide, rgb);
        if try_out(Remedy::Colour(rgb), still) {
            return advice;
        }
    }
    // Movement is seen where nothing else is; how well is not measured here.
    try_out(Remedy::Creep, 0);
    advice
}

/// At how many places a guide of this colour is no plainer than what is wanted: CIEDE2000
/// between lit and unlit cloth, the room's light in both, against what plain cloth is asked
/// for and what the cloth's own contrast comes to. The projector's primaries are taken for
/// the camera's.
fn coloured(
    seeing: &Seeing,
    known: &[(Point<Table>, f64, f64)],
    guide: &Guide,
    rgb: [bool; 3],
) -> usize {
    let plain = plain_difference();
    let lost = known.iter().filter(|&&(at, _, spread)| {
        let Some([dark, white]) = seeing.light_about(at, super::WINDOW / 2.0) else {
            return false;
        };
        let with = |share: [f64; 3]| -> [f64; 3] {
            std::array::from_fn(|k| dark[k] + share[k] * (white[k] - dark[k]))
        };
        let unlit = with([guide.work_light; 3]);
        let lit = with(rgb.map(|on| {
            if on {
                guide.brightness
            } else {
                guide.work_light
            }
        }));
        // The eye's white is the cloth fully lit.
        let lab = |light: [f64; 3]| {
            let brightest = white.iter().copied().fold(f64::MIN, f64::max);
            Lab::from_xyz(Xyz::from_linear_srgb(light.map(|v| v / brightest)))
        };
        let own = {
            let more = unlit.map(|v| v * (TIMES * spread).exp());
            ciede2000(lab(unlit), lab(more))
        };
        ciede2000(lab(unlit), lab(lit)) < plain.max(own)
    });
    lost.count()
}
