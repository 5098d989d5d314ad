//! Where the notches and joints of a seam's sides land on each other.

use super::laid::{AT_CORNER, Laid};
use super::meet::off;
use super::run::{Run, Stands, Stop};
use super::say;
use super::sense::Walked;
use crate::pattern::NotchKind;
use crate::pattern::Seam;
use crate::pattern::{Finding, Severity, Spot, Topic};
use serde::Serialize;

/// What a notch, or a joint of edges, lands on when the other side is laid against it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Meets {
    Notch,
    /// A notch of another kind.
    OtherKind,
    /// A place where two edges meet.
    Joint,
    Nothing,
}

/// Where a notch or a joint lands on the other side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Landing {
    /// `one` or `other`: the side on which it is.
    pub side: &'static str,
    pub piece: String,
    pub edge: String,
    /// `slit`, `double`, `vee` or `joint`.
    pub kind: &'static str,
    /// From the seam's start, on its own side, mm, darts closed.
    pub along_mm: f64,
    /// Where it lands, from the start of the other side, mm.
    pub lands_mm: f64,
    pub meets: Meets,
    /// How far it is off what it meets beyond what the seam's ease allows, mm: > 0 if
    /// that on side `one` lies too far on.
    pub off_mm: f64,
}

/// A part of a seam between two places that meet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stretch {
    /// mm, darts closed.
    pub one_mm: f64,
    pub other_mm: f64,
    /// one − other.
    pub eased_mm: f64,
}

/// A pair: one landing for each notch of it.
pub fn met(
    laid: &[Laid],
    seam: &Seam,
    walked: &Walked,
    (i, j): (usize, usize),
    out: &mut Vec<Finding>,
) -> Vec<Landing> {
    let (one, other) = (&walked.one, &walked.other);
    let (a, b) = (&one.stops[i], &other.stops[j]);
    let off = off(one, other, a.s, b.s);
    let meets = |own: &Stop, its: &Stop| match (own.stands, its.stands) {
        (_, Stands::Joint) => Meets::Joint,
        (Stands::Notch(_, x), Stands::Notch(_, y)) if x != y => Meets::OtherKind,
        _ => Meets::Notch,
    };
    let spot =
        |run: &Run, stop: &Stop| say::spot(laid, run, stop.step, Some(&seam.name)).at(stop.at);
    // What is moved is a notch; of two, the one on the other side.
    let movable = match (a.stands, b.stands) {
        (_, Stands::Notch(..)) => Some((other, b, off)),
        (Stands::Notch(..), _) => Some((one, a, -off)),
        _ => None,
    };
    if off.abs() > seam.tolerance {
        let what = format!(
            "the {} on {} and the {} on {} are {:.1} mm apart when sewn",
            say::kind(a),
            say::edge(laid, one, a.step),
            say::kind(b),
            say::edge(laid, other, b.step),
            off.abs()
        );
        out.push(match movable {
            Some((run, stop, by)) => Finding::new(
                Severity::Spoils,
                Topic::Notch,
                spot(run, stop),
                what,
                format!(
                    "move the {} on {} {:.1} mm towards {}",
                    say::kind(stop),
                    say::edge(laid, run, stop.step),
                    by.abs(),
                    say::end(laid, run, stop.step, by > 0.0)
                ),
            ),
            None => Finding::new(
                Severity::Check,
                Topic::Seam,
                spot(other, b),
                what,
                "let the crossing seams meet, or leave it if they need not",
            ),
        });
    }
    if meets(a, b) == Meets::OtherKind {
        // A double notch often marks the back: where it meets a single one, front is sewn to
        // back. Slit and vee are two ways to clip the same.
        let double = |stop: &Stop| matches!(stop.stands, Stands::Notch(_, NotchKind::Double));
        let (severity, remedy) = if double(a) || double(b) {
            (
                Severity::Spoils,
                "a double notch often marks the back: check that front is not sewn to back, and \
                 make both of one kind"
                    .to_owned(),
            )
        } else {
            let remedy = format!("make both of one kind, say {}", say::kind(a));
            (Severity::Check, remedy)
        };
        out.push(Finding::new(
            severity,
            Topic::Notch,
            spot(other, b),
            format!(
                "a {} on {} meets a {} on {}",
                say::kind(a),
                say::edge(laid, one, a.step),
                say::kind(b),
                say::edge(laid, other, b.step)
            ),
            remedy,
        ));
    }
    vec![
        landing(laid, walked, (a, true), b.s, meets(a, b), off),
        landing(laid, walked, (b, false), a.s, meets(b, a), off),
    ]
}

/// A notch that meets nothing.
pub fn alone(
    laid: &[Laid],
    seam: &Seam,
    walked: &Walked,
    (_, stop, on_one): (usize, &Stop, bool),
    out: &mut Vec<Finding>,
) -> Option<Landing> {
    let (own, its) = match on_one {
        true => (&walked.one, &walked.other),
        false => (&walked.other, &walked.one),
    };
    let Stands::Notch(_, kind) = stop.stands else {
        return None;
    };
    let lands = lands(walked, stop.s, on_one);
    let (step, place) = say::place(laid, its, lands);
    let mut spot = say::spot(laid, its, step, Some(&seam.name));
    if let Some(p) = its.point(laid, lands) {
        spot = spot.at(p);
    }
    out.push(Finding::new(
        Severity::Spoils,
        Topic::Notch,
        spot,
        format!(
            "the {} on {} meets no notch on {}",
            say::kind(stop),
            say::edge(laid, own, stop.step),
            say::edge(laid, its, step)
        ),
        format!(
            "add a {} to {}, {place}",
            say::notch(kind),
            say::edge(laid, its, step)
        ),
    ));
    Some(landing(
        laid,
        walked,
        (stop, on_one),
        lands,
        Meets::Nothing,
        0.0,
    ))
}

fn landing(
    laid: &[Laid],
    walked: &Walked,
    (stop, on_one): (&Stop, bool),
    lands: f64,
    meets: Meets,
    off: f64,
) -> Landing {
    let run = if on_one { &walked.one } else { &walked.other };
    let step = run.steps[stop.step];
    let piece = &laid[step.piece];
    Landing {
        side: if on_one { "one" } else { "other" },
        piece: piece.piece.name.clone(),
        edge: piece.edges[step.edge].name.clone(),
        kind: match stop.stands {
            Stands::Joint => "joint",
            Stands::Notch(_, NotchKind::Slit) => "slit",
            Stands::Notch(_, NotchKind::Double) => "double",
            Stands::Notch(_, NotchKind::Vee) => "vee",
        },
        along_mm: stop.s,
        lands_mm: lands,
        meets,
        off_mm: off,
    }
}

/// The places that meet, ends included, as mm on one and on the other.
fn knots(walked: &Walked) -> Vec<(f64, f64)> {
    let (one, other) = (&walked.one, &walked.other);
    let met = walked.meeting.pairs.iter();
    let met = met.map(|&(i, j)| (one.stops[i].s, other.stops[j].s));
    std::iter::once((0.0, 0.0))
        .chain(met)
        .chain(std::iter::once((one.length(), other.length())))
        .collect()
}

/// Where a place lands on the other side: between the places that meet, in proportion.
fn lands(walked: &Walked, s: f64, on_one: bool) -> f64 {
    let mut before = (0.0, 0.0);
    for knot in knots(walked) {
        let (own, its) = if on_one { knot } else { (knot.1, knot.0) };
        if s <= own {
            let share = if own > before.0 {
                (s - before.0) / (own - before.0)
            } else {
                0.0
            };
            return before.1 + share * (its - before.1);
        }
        before = (own, its);
    }
    before.1
}

pub fn stretches(walked: &Walked) -> Vec<Stretch> {
    let knots = knots(walked);
    let between = knots.windows(2).map(|w| {
        let (one_mm, other_mm) = (w[1].0 - w[0].0, w[1].1 - w[0].1);
        Stretch {
            one_mm,
            other_mm,
            eased_mm: one_mm - other_mm,
        }
    });
    between.collect()
}

/// With ease, a stretch whose long side is the shorter one.
pub fn taken_away(seam: &Seam, walked: &Walked, stretches: &[Stretch], out: &mut Vec<Finding>) {
    let d = walked.one.length() - walked.other.length();
    if d.abs() <= AT_CORNER.max(seam.tolerance) {
        return;
    }
    let mut from = 0.0;
    for stretch in stretches {
        let to = from + stretch.one_mm;
        if stretch.eased_mm * d.signum() < -seam.tolerance {
            out.push(Finding::new(
                Severity::Check,
                Topic::Seam,
                Spot::seam(&seam.name),
                format!(
                    "from {from:.1} mm to {to:.1} mm of it the side that is eased in is the shorter, by {:.1} mm",
                    stretch.eased_mm.abs()
                ),
                "move the notches at the ends of that stretch so that it takes up its share of the ease",
            ));
        }
        from = to;
    }
}
