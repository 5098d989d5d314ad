//! How deep the notches are clipped, against the allowance that they are clipped into.

use crate::pattern::{Finding, Severity, Spot, Topic};
use crate::pattern::{PatternPiece, walked};
use crate::shape::nearest;

/// A notch keeps this far from the seam, mm (common practice).
const SHORT: f64 = 1.0;

/// A drawing may be off by this, mm.
const SLACK: f64 = 0.1;

/// Notches that reach the seam, and those deeper than half the allowance (common practice).
pub fn too_deep(piece: &PatternPiece) -> Vec<Finding> {
    let net = walked(piece);
    if net.is_empty() || piece.cut.contains(&net) {
        return Vec::new();
    }
    let closed: Vec<_> = net.iter().chain(net.first()).copied().collect();
    let mut out = Vec::new();
    for n in &piece.notches {
        let Some((_, allowance)) = nearest(&closed, n.at) else {
            continue;
        };
        let what = format!(
            "a notch is clipped {:.1} mm into an allowance of {allowance:.1} mm",
            n.depth
        );
        let severity = match n.depth {
            d if d > allowance - SHORT + SLACK => Severity::Spoils,
            d if d > allowance / 2.0 + SLACK => Severity::Check,
            _ => continue,
        };
        let most = (allowance / 2.0).min(allowance - SHORT).max(0.0);
        let remedy = format!("draw it no deeper than {most:.1} mm");
        out.push(Finding::new(
            severity,
            Topic::Notch,
            Spot::piece(piece).at(n.at),
            what,
            remedy,
        ));
    }
    out
}
