//! What a cut test found that a hand leaves at every edge, and the correction of that: in
//! the light only while the person has it on, and said wherever it is.

use super::stock::Stock;
use crate::cloth::{MOST_LAYERS, Panel};
use serde::{Deserialize, Serialize};

/// The largest trim that is taken, mm: the hand's error that changes the fit (1/8 in;
/// common practice). More is not a habit of the hand but another fault.
pub const MOST_TRIM: f64 = 3.0;

/// The result of a cut test with one tool in one cloth, as it is written in a job.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Trim {
    pub tool: String,
    pub cloth: String,
    /// Cut at once, 1 or 2.
    pub plies: u32,
    /// So much the hand leaves outside each edge, mm: the light moves inward by it.
    /// Negative: it cuts inside, and the light moves outward.
    pub edge_mm: f64,
    /// Standard error of that, mm.
    #[serde(default)]
    pub error_mm: f64,
    /// Whether the light is corrected by it.
    #[serde(default)]
    pub on: bool,
}

impl Trim {
    /// Whether two of them can't be on at once: the same cloth and plies.
    pub fn rivals(&self, other: &Trim) -> bool {
        self.cloth == other.cloth && self.plies == other.plies
    }

    /// Whether it can be lit.
    pub fn is_sound(&self) -> bool {
        self.edge_mm.abs() <= MOST_TRIM
            && (0.0..=MOST_TRIM).contains(&self.error_mm)
            && (1..=MOST_LAYERS).contains(&self.plies)
    }

    /// What it was cut with and from: `shears in canvas, one ply`.
    pub fn of(&self) -> String {
        let plies = match self.plies {
            1 => "one ply".to_owned(),
            2 => "two plies".to_owned(),
            n => format!("{n} plies"),
        };
        format!("{} in {}, {plies}", self.tool, self.cloth)
    }
}

/// By how much the light of a piece on a panel is moved inward, mm: the trim that is on
/// for its cloth and plies, else 0.
pub fn trim_on(trims: &[Trim], stock: &Stock, panel: &str, panels: &[Panel]) -> f64 {
    let Some(cloth) = panels.iter().find(|p| p.name == panel).map(|p| &p.cloth) else {
        return 0.0;
    };
    let plies = stock.plies(panel, panels);
    let on = |t: &&Trim| t.on && t.plies == plies && t.cloth == *cloth && t.is_sound();
    trims.iter().find(on).map_or(0.0, |t| t.edge_mm)
}
