//! A seam walked: its two sides compared, notch by notch.

use super::laid::{AT_CORNER, Laid};
use super::meet::off;
use super::run::{Run, Stands, Stop};
use super::say;
use super::sense::{self, Walked};
use super::sewn::Sewn;
use crate::pattern::finding::{Finding, Severity, Spot, Topic};
use crate::pattern::piece::NotchKind;
use crate::pattern::sewing::{EdgeName, Seam};
use serde::Serialize;

/// What the lengths of a seam's sides say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// Within the tolerance.
    Agrees,
    OneLong,
    OtherLong,
}

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

/// A seam walked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeamResult {
    pub seam: String,
    pub one: Vec<String>,
    pub other: Vec<String>,
    /// Net lengths, mm, darts closed.
    pub one_mm: f64,
    pub other_mm: f64,
    /// What darts take up, mm.
    pub one_darts_mm: f64,
    pub other_darts_mm: f64,
    pub ease_mm: f64,
    pub tolerance_mm: f64,
    /// one − other − ease.
    pub difference_mm: f64,
    pub verdict: Verdict,
    pub landings: Vec<Landing>,
    /// From each place that meets to the next, and the ends.
    pub stretches: Vec<Stretch>,
    /// The sides run the same way round, face up: one is sewn face down or mirrored.
    pub same_way: bool,
    /// The notches don't say which way round it is sewn.
    pub either_way: bool,
    /// What to do, a sentence each without a full stop; none if it agrees.
    pub remedies: Vec<String>,
}

/// The edges that a list of names means, as (piece, edge).
///
/// # Errors
/// A finding that names what is there instead.
pub fn find(
    laid: &[Laid],
    names: &[EdgeName],
    seam: &str,
) -> Result<Vec<(usize, usize)>, Box<Finding>> {
    let missing = |what: String, remedy: String| {
        Box::new(Finding::new(
            Severity::Spoils,
            Topic::Seam,
            Spot::seam(seam),
            what,
            remedy,
        ))
    };
    if names.is_empty() {
        return Err(missing(
            "a side of this has no edges".into(),
            "name the edges of both sides".into(),
        ));
    }
    let found = names.iter().map(|name| {
        let piece = laid.iter().position(|l| l.piece.name == name.piece);
        let Some(piece) = piece else {
            return Err(missing(
                format!("it names the piece \"{}\", which isn't there", name.piece),
                format!(
                    "the pieces are {}",
                    say::list(laid.iter().map(|l| &l.piece.name))
                ),
            ));
        };
        let Some(edge) = laid[piece].edge(&name.edge) else {
            return Err(missing(
                format!("it names the edge \"{name}\", which isn't there"),
                format!(
                    "the edges of \"{}\" are {}",
                    name.piece,
                    say::list(laid[piece].edges.iter().map(|e| &e.name))
                ),
            ));
        };
        Ok((piece, edge))
    });
    found.collect()
}

/// Walks a seam. What it could not be walked for, or what is wrong with it, is in the
/// findings.
pub fn walk(
    laid: &[Laid],
    sewn: &Sewn,
    seam: &Seam,
) -> (Option<(SeamResult, Walked)>, Vec<Finding>) {
    let sides = find(laid, &seam.one, &seam.name)
        .and_then(|one| Ok((one, find(laid, &seam.other, &seam.name)?)));
    let (one, other) = match sides {
        Ok(sides) => sides,
        Err(finding) => return (None, vec![*finding]),
    };
    let walked = sense::walk(laid, sewn, &one, &other, seam.tolerance);
    let mut findings = Vec::new();
    let result = compare(laid, seam, &walked, &mut findings);
    (Some((result, walked)), findings)
}

fn compare(laid: &[Laid], seam: &Seam, walked: &Walked, out: &mut Vec<Finding>) -> SeamResult {
    let (one, other) = (&walked.one, &walked.other);
    let difference = one.length() - other.length() - seam.ease;
    let verdict = match difference {
        d if d.abs() <= seam.tolerance => Verdict::Agrees,
        d if d > 0.0 => Verdict::OneLong,
        _ => Verdict::OtherLong,
    };
    if verdict != Verdict::Agrees {
        out.push(lengths(laid, seam, walked, difference));
    }
    let mut landings = Vec::new();
    for &(i, j) in &walked.meeting.pairs {
        landings.extend(met(laid, seam, walked, (i, j), out));
    }
    // Where none were tried, that one meets nothing says nothing.
    let untried = walked.meeting.too_many;
    if untried {
        out.push(Finding::new(
            Severity::Check,
            Topic::Notch,
            Spot::seam(&seam.name),
            format!(
                "it has so many notches that they are not compared: {} on one side, {} on the other",
                one.stops.len(),
                other.stops.len()
            ),
            "part it into several seams",
        ));
    }
    let met_one = |k: usize| untried || walked.meeting.pairs.iter().any(|p| p.0 == k);
    let met_other = |k: usize| untried || walked.meeting.pairs.iter().any(|p| p.1 == k);
    for (k, stop) in one.stops.iter().enumerate().filter(|(k, _)| !met_one(*k)) {
        landings.extend(alone(laid, seam, walked, (k, stop, true), out));
    }
    for (k, stop) in other
        .stops
        .iter()
        .enumerate()
        .filter(|(k, _)| !met_other(*k))
    {
        landings.extend(alone(laid, seam, walked, (k, stop, false), out));
    }
    landings.sort_by(|a, b| {
        a.side
            .cmp(b.side)
            .reverse()
            .then(a.along_mm.total_cmp(&b.along_mm))
    });
    let stretches = stretches(walked);
    taken_away(seam, walked, &stretches, out);
    let names = |side: &[EdgeName]| side.iter().map(EdgeName::to_string).collect();
    SeamResult {
        seam: seam.name.clone(),
        one: names(&seam.one),
        other: names(&seam.other),
        one_mm: one.length(),
        other_mm: other.length(),
        one_darts_mm: one.darts,
        other_darts_mm: other.darts,
        ease_mm: seam.ease,
        tolerance_mm: seam.tolerance,
        difference_mm: difference,
        verdict,
        landings,
        stretches,
        same_way: walked.same_way,
        either_way: walked.either_way,
        remedies: out.iter().map(|f| f.remedy.clone()).collect(),
    }
}

/// The two sides differ by more than the tolerance.
fn lengths(laid: &[Laid], seam: &Seam, walked: &Walked, difference: f64) -> Finding {
    let (long, short) = if difference > 0.0 {
        (&walked.one, &walked.other)
    } else {
        (&walked.other, &walked.one)
    };
    let (long, short) = (say::side(laid, long), say::side(laid, short));
    let by = difference.abs();
    let ease = match seam.ease {
        0.0 => String::new(),
        ease => format!(", with {ease:.1} mm of ease allowed for"),
    };
    // Marked on the first edge that is long.
    let run = if difference > 0.0 {
        &walked.one
    } else {
        &walked.other
    };
    let mut spot = say::spot(laid, run, 0, Some(&seam.name));
    if let Some(p) = run.point(laid, run.length() / 2.0) {
        let (step, _) = run.on(run.length() / 2.0);
        spot = say::spot(laid, run, step, Some(&seam.name)).at(p);
    }
    Finding::new(
        Severity::Spoils,
        Topic::Seam,
        spot,
        format!("{long} is {by:.1} mm too long for {short}{ease}"),
        format!(
            "take {by:.1} mm out of {long}, let {by:.1} mm into {short}, or say that it is eased in"
        ),
    )
}

/// A pair: one landing for each notch of it.
fn met(
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
        out.push(Finding::new(
            Severity::Check,
            Topic::Notch,
            spot(other, b),
            format!(
                "a {} on {} meets a {} on {}",
                say::kind(a),
                say::edge(laid, one, a.step),
                say::kind(b),
                say::edge(laid, other, b.step)
            ),
            format!("make both of one kind, say {}", say::kind(a)),
        ));
    }
    vec![
        landing(laid, walked, (a, true), b.s, meets(a, b), off),
        landing(laid, walked, (b, false), a.s, meets(b, a), off),
    ]
}

/// A notch that meets nothing.
fn alone(
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

fn stretches(walked: &Walked) -> Vec<Stretch> {
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
fn taken_away(seam: &Seam, walked: &Walked, stretches: &[Stretch], out: &mut Vec<Finding>) {
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
                    "from {from:.1} to {to:.1} mm of it the side that is eased in is the shorter, by {:.1} mm",
                    stretch.eased_mm.abs()
                ),
                "move the notches at the ends of that stretch so that it takes up its share of the ease",
            ));
        }
        from = to;
    }
}
