//! Closed rings against the girth they must go round.
//!
//! A ring on the outside of cloth of thickness t goes round a body that is larger by t
//! all round: its girth is 2πt more (closed form, for any smooth convex body: the length
//! of its parallel curve, Steiner). At mid-wall it is πt more.

use super::laid::Laid;
use super::seam::find;
use crate::pattern::{Finding, Severity, Spot, Topic};
use crate::pattern::{FitsAt, Ring};
use crate::prove::grain::{EdgeGrain, mostly_on_bias};
use serde::Serialize;
use std::f64::consts::PI;

/// The rule of thumb for the girth that thickness takes, mm: 1/4 to 3/8 in (common
/// practice). It stands beside the closed form, and decides nothing.
pub const RULE_OF_THUMB: [f64; 2] = [6.0, 10.0];

/// Of its length on the bias, so much can be eased away by hand; more puckers (common
/// practice).
pub const BIAS_EASES: f64 = 0.05;

/// What a ring's length says.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RingVerdict {
    /// Within the tolerance.
    Fits,
    /// Longer than its tape, and on the bias: to be eased in.
    EaseIn,
    Long,
    Short,
}

/// What a sewn ring's edge likely grew by.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Grown {
    pub edge: String,
    /// mm; negative if it was drawn in.
    pub by_mm: f64,
    /// What to make it shorter by next time, mm (longer, if negative), so that the sewn
    /// ring comes out as wanted.
    pub shorten_mm: f64,
}

/// A ring that was measured when it was sewn.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RingSewn {
    pub measured_mm: f64,
    /// measured − drawn.
    pub grew_mm: f64,
    /// measured − wanted.
    pub off_mm: f64,
    pub likely: Vec<Grown>,
}

/// A ring compared.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RingResult {
    pub ring: String,
    pub edges: Vec<String>,
    /// Along the net lines, mm, darts closed.
    pub drawn_mm: f64,
    pub girth_mm: f64,
    pub ease_mm: f64,
    /// 2πt or πt, mm.
    pub thickness_mm: f64,
    pub rule_of_thumb_mm: [f64; 2],
    /// girth + ease + thickness: the length of its tape.
    pub wanted_mm: f64,
    pub tolerance_mm: f64,
    /// drawn − wanted.
    pub difference_mm: f64,
    /// How much of it runs on the bias, mm.
    pub bias_mm: f64,
    pub verdict: RingVerdict,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sewn: Option<RingSewn>,
}

/// What cloth of `thickness` mm in all, between body and measured line, adds to the girth.
pub fn thickness_ease(thickness: f64, at: FitsAt) -> f64 {
    match at {
        FitsAt::Outside => 2.0 * PI * thickness,
        FitsAt::MidWall => PI * thickness,
    }
}

/// Compares a ring. `grain` tells of every edge of every piece that has a grain.
pub fn ring(laid: &[Laid], grain: &[EdgeGrain], ring: &Ring) -> (Option<RingResult>, Vec<Finding>) {
    let edges = match find(laid, &ring.edges, &ring.name) {
        Ok(edges) => edges,
        Err(finding) => return (None, vec![*finding]),
    };
    let length = |&(p, e): &(usize, usize)| laid[p].edges[e].length - laid[p].taken(e);
    let told: Vec<Option<&EdgeGrain>> = ring
        .edges
        .iter()
        .map(|n| {
            grain
                .iter()
                .find(|g| g.piece == n.piece && g.edge == n.edge)
        })
        .collect();
    let bias = told.iter().flatten().map(|g| g.bias_mm).sum::<f64>();
    let drawn: f64 = edges.iter().map(length).sum();
    let thickness = thickness_ease(ring.cloth, ring.at);
    let wanted = ring.girth + ring.ease + thickness;
    let difference = drawn - wanted;
    let verdict = match difference {
        d if d.abs() <= ring.tolerance => RingVerdict::Fits,
        d if d < 0.0 => RingVerdict::Short,
        _ if mostly_on_bias(bias, drawn) => RingVerdict::EaseIn,
        _ => RingVerdict::Long,
    };
    let mut findings = Vec::new();
    let mut spot = Spot::seam(&ring.name);
    if let (Some(name), Some(&(p, e))) = (ring.edges.first(), edges.first()) {
        spot.piece = Some(name.piece.clone());
        let edge = &laid[p].edges[e];
        spot = spot.edge(&name.edge);
        if let Some(st) = crate::shape::along(&edge.line, edge.length / 2.0) {
            spot = spot.at(st.at);
        }
    }
    findings.extend(verdict_finding(&spot, (verdict, difference, wanted, bias)));
    let sewn = ring.sewn.map(|measured| {
        let lengths: Vec<f64> = edges.iter().map(length).collect();
        let sewn = grown(ring, &lengths, &told, (measured, wanted));
        findings.extend(sewn_finding(ring, &spot, &sewn));
        sewn
    });
    let result = RingResult {
        ring: ring.name.clone(),
        edges: ring.edges.iter().map(ToString::to_string).collect(),
        drawn_mm: drawn,
        girth_mm: ring.girth,
        ease_mm: ring.ease,
        thickness_mm: thickness,
        rule_of_thumb_mm: RULE_OF_THUMB,
        wanted_mm: wanted,
        tolerance_mm: ring.tolerance,
        difference_mm: difference,
        bias_mm: bias,
        verdict,
        sewn,
    };
    (Some(result), findings)
}

fn verdict_finding(
    spot: &Spot,
    (verdict, difference, wanted, bias): (RingVerdict, f64, f64, f64),
) -> Option<Finding> {
    let by = difference.abs();
    let (severity, what, remedy) = match verdict {
        RingVerdict::Fits => return None,
        RingVerdict::EaseIn if by <= BIAS_EASES * bias => (
            Severity::Advice,
            format!(
                "the ring is {by:.1} mm longer than its stay tape, and {bias:.0} mm of it run on the bias"
            ),
            format!("ease {by:.1} mm in onto a stay tape of {wanted:.1} mm: the stay tape decides"),
        ),
        RingVerdict::EaseIn => (
            Severity::Check,
            format!(
                "the ring is {by:.1} mm longer than its stay tape: more than a hand eases out of {bias:.0} mm on the bias"
            ),
            format!(
                "shorten it by {:.1} mm and ease the rest in onto a stay tape of {wanted:.1} mm",
                by - BIAS_EASES * bias
            ),
        ),
        RingVerdict::Long => (
            Severity::Spoils,
            format!("the ring is {by:.1} mm long for what it goes round ({wanted:.1} mm wanted)"),
            format!("shorten its edges by {by:.1} mm in all"),
        ),
        RingVerdict::Short => (
            Severity::Spoils,
            format!("the ring is {by:.1} mm short for what it goes round ({wanted:.1} mm wanted)"),
            format!("lengthen its edges by {by:.1} mm in all"),
        ),
    };
    Some(Finding::new(
        severity,
        Topic::Ring,
        spot.clone(),
        what,
        remedy,
    ))
}

/// What grew is shared out by length × how far on the bias (common practice). How far is
/// the mean of sin² 2θ: the shear's part of an off-axis stretch of cloth, 0 along and
/// across the grain and 1 at 45° (orthotropic sheet: R. M. Jones, Mechanics of Composite
/// Materials, 1999, section 2.8, where shear is by far the softest). Where no edge has
/// any of it, or no grain is drawn, by length.
fn grown(
    ring: &Ring,
    lengths: &[f64],
    told: &[Option<&EdgeGrain>],
    (measured, wanted): (f64, f64),
) -> RingSewn {
    let drawn: f64 = lengths.iter().sum();
    let (grew, off) = (measured - drawn, measured - wanted);
    let by_bias: Vec<f64> = lengths
        .iter()
        .zip(told)
        .map(|(len, g)| len * g.map_or(0.0, |g| g.shear))
        .collect();
    let enough = by_bias.iter().sum::<f64>() > 1e-6 * drawn;
    let weights = if enough { by_bias } else { lengths.to_vec() };
    let sum = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    let likely = ring.edges.iter().zip(weights).map(|(name, w)| Grown {
        edge: name.to_string(),
        by_mm: grew * w / sum,
        shorten_mm: off * w / sum,
    });
    RingSewn {
        measured_mm: measured,
        grew_mm: grew,
        off_mm: off,
        likely: likely.collect(),
    }
}

fn sewn_finding(ring: &Ring, spot: &Spot, sewn: &RingSewn) -> Option<Finding> {
    if sewn.off_mm.abs() <= ring.tolerance {
        return None;
    }
    let did = if sewn.grew_mm < 0.0 {
        "was drawn in"
    } else {
        "grew"
    };
    let mut most: Vec<&Grown> = sewn.likely.iter().collect();
    most.sort_by(|a, b| b.shorten_mm.abs().total_cmp(&a.shorten_mm.abs()));
    let change = if sewn.off_mm > 0.0 {
        "shorter"
    } else {
        "longer"
    };
    let each = most
        .iter()
        .take(4)
        .map(|g| format!("\"{}\" {:.1} mm {change}", g.edge, g.shorten_mm.abs()));
    let each = each.collect::<Vec<_>>().join(", ");
    let stay = if sewn.grew_mm > 0.0 {
        ", or hold them with a stay tape"
    } else {
        ""
    };
    Some(Finding::new(
        Severity::Advice,
        Topic::Ring,
        spot.clone(),
        format!(
            "sewn, the ring measured {:.1} mm: it {did} by {:.1} mm and is {:.1} mm {} than wanted",
            sewn.measured_mm,
            sewn.grew_mm.abs(),
            sewn.off_mm.abs(),
            if sewn.off_mm > 0.0 {
                "longer"
            } else {
                "shorter"
            }
        ),
        format!("next time make {each}{stay}"),
    ))
}
