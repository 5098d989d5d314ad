//! The one thing that would improve a calibration most.

use super::{Next, Outside, Slip, map};
use crate::calibration::fit::{Believed, Choice, Fit, LENS, Places, Sighted};
use crate::space::{Point, Table};

/// So many marks, set to the table's edge, are about enough.
const ENOUGH: usize = 20;

#[allow(clippy::too_many_arguments)]
pub(super) fn improve(
    choice: &Choice,
    marks: &[Sighted],
    size: [u32; 2],
    believed: &Believed,
    table: [Point<Table>; 2],
    slip: Option<&Slip>,
    outside: Option<Outside>,
    next: Option<Next>,
) -> String {
    if let Some(slip) = slip {
        return format!("set {} again", slip.name);
    }
    let at = |n: Next| format!("({:.0}, {:.0})", n.table_mm[0], n.table_mm[1]);
    if marks.len() < LENS {
        return format!(
            "more marks, best five by four to within 25 mm of the table's edge: with {} nothing is \
             known of the lens, which bends light by millimetres",
            marks.len()
        );
    }
    if let (Some(_), Some(next)) = (outside, next) {
        return format!("a mark nearer to the table's edge, at {} mm", at(next));
    }
    // What each halved error would leave over the table.
    let fit = &choice.fit;
    let with = |believed: &Believed| {
        let halved = Fit::new(marks, size, believed, fit.form).ok()?;
        // These readings are no finer than they were: that they scatter more than is now
        // believed is no error of those that would be taken.
        Some(rms(&halved, marks, table) * fit.widened() / halved.widened())
    };
    let now = rms(fit, marks, table);
    let steadier = Believed {
        hand_px: believed.hand_px / 2.0,
        ..believed.clone()
    };
    let nearer = Believed {
        places: match &believed.places {
            Places::Each(mm) => Places::Each(mm / 2.0),
            Places::Covariance(c) => Places::Covariance(c / 4.0),
        },
        ..believed.clone()
    };
    let shown = |mm: f64| format!("{mm:.2}");
    let to = |mm: f64| format!("from {} down to {} mm", shown(now), shown(mm));
    let mut ways = Vec::new();
    if let Some(mm) = with(&steadier) {
        let words = format!(
            "set the marks of light twice as finely, with the vernier sheets ({})",
            to(mm)
        );
        ways.push((mm, words));
    }
    if let Some(mm) = with(&nearer) {
        let words = format!(
            "measure the marks' places twice as well, by more readings or a better tape ({})",
            to(mm)
        );
        ways.push((mm, words));
    }
    if let Some(next) = next.filter(|n| marks.len() < ENOUGH && n.before_mm > 0.0) {
        // It is foretold at other places of the table, and not widened: only the share counts.
        let mm = now * next.after_mm / next.before_mm;
        let words = format!("one more mark at {} mm ({})", at(next), to(mm));
        ways.push((mm, words));
    }
    // What is not seen in the figures is no advice.
    ways.retain(|(mm, _)| *mm < now && shown(*mm) != shown(now));
    let best = ways.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
    best.map_or_else(
        || "nothing that is known, by even 0.01 mm".to_owned(),
        |(_, words)| words,
    )
}

fn rms(fit: &Fit, marks: &[Sighted], table: [Point<Table>; 2]) -> f64 {
    let errors = map::of(fit, marks, table).error_mm;
    let lit: Vec<f64> = errors.into_iter().flatten().collect();
    (lit.iter().map(|e| e * e).sum::<f64>() / lit.len().max(1) as f64).sqrt()
}
