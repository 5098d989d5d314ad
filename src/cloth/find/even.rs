//! What each place of the cloth would look like if nothing were there: along a stripe the middle
//! of what lies along it, elsewhere of what lies round about. What is left is what stands out.

use super::ground::Logs;
use super::mask::Mask;
use crate::adjust::median;
use crate::raster::Raster;
use crate::space::Table;

/// Along a stripe so far to both sides, mm; in steps of so many.
const ALONG: f64 = 70.0;
const STEP: f64 = 10.0;
/// Round about, blocks of so many mm, so many to each side.
const BLOCK: f64 = 8.0;
const BLOCKS: i64 = 5;
/// Of a row of blocks, at least so many must be known.
const KNOWN: usize = 4;

fn middles(all: &[Logs]) -> Logs {
    std::array::from_fn(|c| {
        let mut own: Vec<f32> = all.iter().map(|v| v[c]).collect();
        median(&mut own)
    })
}

/// Each good cell's light, in logarithms, less what is expected there; NaN elsewhere.
pub(super) fn standing_out(
    field: &Raster<Logs, Table>,
    good: &Mask,
    runs_deg: Option<f64>,
) -> Vec<Logs> {
    let w = field.width();
    let cell = field.cell();
    // Blocks in a frame that is turned with the stripes: a line of cells across, a step along.
    let (sin, cos) = runs_deg.unwrap_or(0.0).to_radians().sin_cos();
    let (across, along) = if runs_deg.is_some() {
        (cell, STEP)
    } else {
        (BLOCK, BLOCK)
    };
    let middle_of = field.bounds().center();
    let block = |k: usize| {
        let p = field.centre(k % w, k / w) - middle_of;
        let (s, t) = (cos * p.x + sin * p.y, cos * p.y - sin * p.x);
        ((s / along).floor() as i64, (t / across).floor() as i64)
    };
    let reach = (field
        .bounds()
        .size()
        .width
        .hypot(field.bounds().size().height))
        / 2.0;
    let (ns, nt) = ((reach / along) as i64 + 2, (reach / across) as i64 + 2);
    let (ws, wt) = ((2 * ns + 1) as usize, (2 * nt + 1) as usize);
    let at = |(s, t): (i64, i64)| (t + nt) as usize * ws + (s + ns) as usize;
    let mut blocks: Vec<Vec<Logs>> = vec![Vec::new(); ws * wt];
    for k in (0..good.on.len()).filter(|k| good.on[*k]) {
        blocks[at(block(k))].push(field.values()[k]);
    }
    let nothing = [f32::NAN; 3];
    let own: Vec<Logs> = blocks
        .iter()
        .map(|b| if b.is_empty() { nothing } else { middles(b) })
        .collect();
    let (reach_s, reach_t) = match runs_deg {
        Some(_) => ((ALONG / STEP) as i64, 0),
        None => (BLOCKS, BLOCKS),
    };
    let expected: Vec<Logs> = (0..ws * wt)
        .map(|k| {
            if own[k][0].is_nan() {
                return nothing;
            }
            let (s, t) = ((k % ws) as i64, (k / ws) as i64);
            let mut near = Vec::new();
            for b in t - reach_t..=t + reach_t {
                for a in s - reach_s..=s + reach_s {
                    if a >= 0 && b >= 0 && (a as usize) < ws && (b as usize) < wt {
                        let v = own[b as usize * ws + a as usize];
                        if v[0].is_finite() {
                            near.push(v);
                        }
                    }
                }
            }
            if near.len() < KNOWN {
                nothing
            } else {
                middles(&near)
            }
        })
        .collect();
    let size = |v: &Logs| v.iter().map(|v| v * v).sum::<f32>();
    (0..good.on.len())
        .map(|k| {
            if !good.on[k] {
                return nothing;
            }
            let (s, t) = block(k);
            let v = field.values()[k];
            // Beside a stripe's edge, either stripe's colour is expected.
            let lines = if runs_deg.is_some() { -3..=3 } else { 0..=0 };
            let offs = lines.filter(|d| (t + d).abs() <= nt).map(|d| {
                let e = expected[at((s, t + d))];
                std::array::from_fn::<f32, 3, _>(|c| v[c] - e[c])
            });
            offs.filter(|o: &Logs| o[0].is_finite())
                .min_by(|a, b| size(a).total_cmp(&size(b)))
                .unwrap_or(nothing)
        })
        .collect()
}
