//! Notches that would help: on seams that can slip or be sewn on the wrong way round, and
//! at centres.

use super::form::turning;
use super::laid::Laid;
use super::run::{Run, Stands};
use super::say;
use super::sense::Walked;
use crate::pattern::Seam;
use crate::pattern::{Finding, Severity, Spot, Topic};

/// A seam without a notch is long from here on, mm (common practice: about two hands).
const LONG: f64 = 200.0;
/// Two edges curve against each other if both turn by more than this, degrees, over a
/// length that two hands can't hold at once, mm (common practice).
const CURVED: f64 = 20.0;
const CURVED_LONG: f64 = 60.0;
/// Below that the ends of an edge are told apart by eye, mm (common practice).
const TELLS_ITSELF: f64 = 60.0;
/// A centre wants a mark on edges longer than that, mm (common practice).
const CENTRED: f64 = 100.0;
/// A mark this near the middle marks it, mm.
const NEAR_MIDDLE: f64 = 2.0;

fn notches(run: &Run) -> usize {
    let own = run.stops.iter();
    own.filter(|s| matches!(s.stands, Stands::Notch(..)))
        .count()
}

/// What notches a seam would be better for.
pub fn missing(laid: &[Laid], seam: &Seam, walked: &Walked) -> Vec<Finding> {
    let (one, other) = (&walked.one, &walked.other);
    let mut out = Vec::new();
    let met = !walked.meeting.pairs.is_empty();
    let shortest = one.length().min(other.length());
    if !met && notches(one) + notches(other) == 0 {
        out.extend(none_at_all(laid, seam, (one, other), shortest));
    }
    if walked.either_way && shortest > TELLS_ITSELF && out.is_empty() {
        let turned = |run: &Run| {
            let step = run.steps[0];
            let piece = &laid[step.piece];
            let by_fold =
                [false, true].map(|after| piece.folded[piece.neighbour(step.edge, after)]);
            by_fold.contains(&true) || piece.symmetric(step.edge)
        };
        // A piece that is the same either side of that edge's middle can't be turned wrongly,
        // and a fold tells one end from the other.
        if !turned(one) && !turned(other) {
            out.push(Finding::new(
                Severity::Advice,
                Topic::Notch,
                say::spot(laid, one, 0, Some(&seam.name)),
                "this seam could be sewn the wrong way round: its notches would meet either way",
                format!(
                    "add a notch off the middle to both, say a third of the way along, {:.0} mm from one end",
                    one.length() / 3.0
                ),
            ));
        }
    }
    for run in [one, other] {
        out.extend(centre(laid, seam, run));
    }
    out
}

fn none_at_all(
    laid: &[Laid],
    seam: &Seam,
    (one, other): (&Run, &Run),
    shortest: f64,
) -> Option<Finding> {
    let turn = |run: &Run| -> f64 {
        let own = run.steps.iter();
        own.map(|s| turning(&laid[s.piece].edges[s.edge].line))
            .sum()
    };
    let (a, b) = (turn(one), turn(other));
    let against = a.abs() > CURVED && b.abs() > CURVED && a * b < 0.0;
    let what = if against && shortest > CURVED_LONG {
        "a hollow edge is sewn to a round one, and no notch holds them together"
    } else if shortest > LONG {
        "this seam is long, and no notch holds its sides together"
    } else {
        return None;
    };
    let (step, place) = say::place(laid, other, other.length() / 2.0);
    let mut spot = say::spot(laid, one, 0, Some(&seam.name));
    if let Some(p) = one.point(laid, one.length() / 2.0) {
        spot = spot.at(p);
    }
    Some(Finding::new(
        Severity::Advice,
        Topic::Notch,
        spot,
        what,
        format!(
            "add one to both sides, off the middle if they could be turned round: for the middle of {}, {place}",
            say::edge(laid, other, step)
        ),
    ))
}

/// An edge about whose middle its piece is symmetric, and that has no mark there.
fn centre(laid: &[Laid], seam: &Seam, run: &Run) -> Option<Finding> {
    let (k, step) = run.steps.iter().enumerate().find(|(_, step)| {
        let piece = &laid[step.piece];
        let edge = &piece.edges[step.edge];
        let marked = piece
            .marks
            .iter()
            .any(|m| m.edge == step.edge && (m.s - edge.length / 2.0).abs() <= NEAR_MIDDLE);
        edge.length > CENTRED && !marked && piece.symmetric(step.edge)
    })?;
    let edge = &laid[step.piece].edges[step.edge];
    let middle = (run.begins[k] + run.begins[k + 1]) / 2.0;
    let mut spot = say::spot(laid, run, k, Some(&seam.name));
    if let Some(p) = run.point(laid, middle) {
        spot = spot.at(p);
    }
    Some(Finding::new(
        Severity::Advice,
        Topic::Notch,
        spot,
        format!("the centre of {} has no mark", say::edge(laid, run, k)),
        format!(
            "add a notch in the middle, {:.1} mm from either end",
            edge.length / 2.0
        ),
    ))
}

/// A piece on the fold whose centre, at the fold, has no mark on an edge that is sewn.
pub fn at_fold(laid: &Laid, edge: usize) -> Option<Finding> {
    let ends = [(false, 0.0), (true, laid.edges[edge].length)];
    let (_, s) = ends.into_iter().find(|&(after, s)| {
        laid.folded[laid.neighbour(edge, after)]
            && !laid
                .marks
                .iter()
                .any(|m| m.edge == edge && (m.s - s).abs() <= NEAR_MIDDLE)
    })?;
    let line = &laid.edges[edge].line;
    let at = if s > 0.0 { line.last() } else { line.first() };
    Some(Finding::new(
        Severity::Advice,
        Topic::Notch,
        Spot::piece(laid.piece)
            .edge(&laid.edges[edge].name)
            .at(at.copied().unwrap_or_default()),
        format!(
            "the centre of \"{}: {}\", at the fold, has no mark",
            laid.piece.name, laid.edges[edge].name
        ),
        "clip the folded edge at the fold, or add a notch there",
    ))
}
