//! How far a place keeps a wish, in words.

use super::{Amount, Kept, NapWay, Part, Wish};
use crate::measure::Unit;
use std::fmt;

impl fmt::Display for Part {
    /// After "lighter": `at the toe`, `towards the upper left`, `at (12, 40)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            // Edges that nobody named go by their number.
            Part::Edge(name) if name.chars().all(|c| c.is_ascii_digit()) => {
                write!(f, "at edge {name}")
            }
            Part::Edge(name) => write!(f, "at the {name}"),
            Part::PointMm([x, y]) => write!(f, "at ({x:.0}, {y:.0})"),
            Part::TowardsDeg(deg) => {
                const SIDES: [&str; 8] = [
                    "right",
                    "upper right",
                    "top",
                    "upper left",
                    "left",
                    "lower left",
                    "bottom",
                    "lower right",
                ];
                let eighth = (deg / 45.0).round().rem_euclid(8.0) as usize;
                write!(f, "towards the {}", SIDES[eighth % 8])
            }
        }
    }
}

impl fmt::Display for Wish {
    /// As it is listed: `lighter at the toe than at the heel`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Wish::Fade { lighter, darker } => match (lighter, darker) {
                (Some(a), Some(b)) => write!(f, "lighter {a} than {b}"),
                (Some(a), None) => write!(f, "lighter {a}"),
                (None, Some(b)) => write!(f, "darker {b}"),
                (None, None) => f.write_str("a fade"),
            },
            Wish::Even {} => f.write_str("as even as possible"),
            Wish::LikePartner {} => f.write_str("like its partner"),
            Wish::MirroredPlace {} => f.write_str("at the mirrored place on the mirrored panel"),
            Wish::StripeCentred { at_mm: [0.0, 0.0] } => f.write_str("a stripe through its middle"),
            Wish::StripeCentred { at_mm: [x, y] } => write!(f, "a stripe through ({x:.0}, {y:.0})"),
            Wish::StripeRunsOn { edge, of, to } => {
                let [own, theirs] = [edge, to].map(|e| Part::Edge(e.clone()).to_string());
                let [own, theirs] = [own, theirs].map(|e| e.trim_start_matches("at ").to_owned());
                write!(f, "stripes run on from {own} to {theirs} of {of}")
            }
            Wish::Nap { way: NapWay::With } => f.write_str("with the nap"),
            Wish::Nap {
                way: NapWay::Against,
            } => f.write_str("against the nap"),
        }
    }
}

impl fmt::Display for Kept {
    /// In few words, without a full stop: `lighter at the toe by 5.0`,
    /// `stripe 1.2 mm off centre`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.amount {
            Amount::Lighter { by } => faded(f, &self.wish, by),
            Amount::Uneven { spread } => write!(f, "even within {spread:.1}"),
            Amount::Unlike { mean, most } => {
                write!(
                    f,
                    "like its partner within {mean:.1}, at most {most:.1} off"
                )
            }
            Amount::Away { mm, degrees } => {
                let far = Unit::Mm.show(mm);
                match mm < 0.05 && degrees < 0.05 {
                    true => f.write_str("at the mirrored place"),
                    false => write!(f, "{far} and {degrees:.1}° off the mirrored place"),
                }
            }
            Amount::OffCentre { mm } => write!(f, "stripe {} off centre", Unit::Mm.show(mm)),
            Amount::OffSeam { mm } => {
                let Wish::StripeRunsOn { edge, of, .. } = &self.wish else {
                    return Ok(());
                };
                let edge = Part::Edge(edge.clone());
                write!(f, "stripe {} off {of}'s {edge}", Unit::Mm.show(mm))
            }
            Amount::Napped => f.write_str("nap as wished"),
            Amount::ShadeUnknown => f.write_str("the shade is not known there"),
            Amount::Nothing => match &self.wish {
                Wish::LikePartner {} => f.write_str("its partner is not laid"),
                Wish::MirroredPlace {} => f.write_str("there is no mirrored place"),
                Wish::StripeRunsOn { of, .. } => {
                    write!(f, "{of} is not laid, or its stripes are not known")
                }
                _ => f.write_str("the stripes are not known"),
            },
        }
    }
}

fn faded(f: &mut fmt::Formatter<'_>, wish: &Wish, by: f64) -> fmt::Result {
    let Wish::Fade { lighter, darker } = wish else {
        return Ok(());
    };
    let word = |light: bool| if light { "lighter" } else { "darker" };
    let size = by.abs();
    match (lighter, darker) {
        (Some(a), Some(b)) => write!(f, "{} {a} than {b} by {size:.1}", word(by >= 0.0)),
        (Some(a), None) => write!(f, "{} {a} by {size:.1}", word(by >= 0.0)),
        (None, Some(b)) => write!(f, "{} {b} by {size:.1}", word(by < 0.0)),
        (None, None) => Ok(()),
    }
}
