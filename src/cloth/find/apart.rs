//! Cloth from table, cell by cell.

use super::Seeds;
use super::ground::{ANY, Dyes, Ground, Logs, logs};
use super::mask::{Mask, mean_about};
use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::space::{Point, Table, Vector};

/// Side of the cells in which cloth is told from table, mm, about.
pub(super) const CELL: f64 = 1.0;

/// How wide the rim is that shows what the table looks like, mm.
const RIM: f64 = 14.0;

/// Share of the rim that must be of one colour, and its shadow, to be believed the table.
const ONE: f64 = 0.4;

/// So far round a place that the person named, cells are like it, mm.
const ABOUT: f64 = 4.0;

/// One cell says no more than this, in logarithms of odds.
const MOST: f64 = 6.0;

/// The smallest cloth, mm².
const LEAST: f64 = 1000.0;

/// Share of the strip along the outline that may look like the other side, before the person is
/// asked and after.
const ALIKE: [f64; 2] = [0.05, 0.15];

/// Where there is cloth.
#[derive(Debug)]
pub(super) struct Apart {
    /// Logarithms of light.
    pub(super) field: Raster<Logs, Table>,
    /// Logarithms of the odds for cloth, averaged over a few cells.
    pub(super) odds: Raster<f32, Table>,
    /// The cloth with all that it encloses.
    pub(super) whole: Mask,
    pub(super) notes: Vec<String>,
}

const SEEDS: &str =
    "name a place on the cloth and one on the table beside it, or draw the outline by hand";

pub(super) fn field(light: &Raster<[f32; 3], Table>) -> Raster<Logs, Table> {
    let times = (CELL / light.cell()).round().max(1.0) as usize;
    if times == 1 {
        return light.map(|v| logs(*v));
    }
    Raster::over(light.bounds(), light.cell() * times as f64, |c, r, _| {
        let mut sum = [0.0f32; 3];
        let mut n = 0.0;
        for k in 0..times * times {
            let at = light.get(c * times + k % times, r * times + k / times);
            if let Some(v) = at.filter(|v| v[0].is_finite()) {
                sum = std::array::from_fn(|c| sum[c] + v[c]);
                n += 1.0;
            }
        }
        logs(sum.map(|v| v / n))
    })
}

fn about(field: &Raster<Logs, Table>, places: &[Point<Table>]) -> Vec<usize> {
    let reach = (ABOUT / field.cell()).ceil() as i64;
    let mut out = Vec::new();
    for p in places {
        for k in 0..(2 * reach + 1).pow(2) {
            let by = Vector::new(
                (k % (2 * reach + 1) - reach) as f64,
                (k / (2 * reach + 1) - reach) as f64,
            );
            let q = *p + by * field.cell();
            if (q - *p).length() <= ABOUT
                && let Some((c, r)) = field.cell_at(q)
            {
                out.push(r * field.width() + c);
            }
        }
    }
    out
}

pub(super) fn apart(light: &Raster<[f32; 3], Table>, seeds: &Seeds) -> Outcome<Apart> {
    let field = field(light);
    let (w, h) = (field.width(), field.height());
    let known = Mask::new(w, h, |k| field.values()[k][0].is_finite());
    // Where the photo ends within the raster is a rim too.
    let rim = (RIM / field.cell()) as f32;
    let depth = known.depth();
    let mut samples: Vec<usize> = (0..w * h)
        .filter(|k| known.on[*k] && depth[*k] <= rim)
        .collect();
    let named = about(&field, &seeds.table);
    if !named.is_empty() {
        // Half of what speaks for the table is what the person named.
        let times = (samples.len() / named.len()).max(1);
        for _ in 0..times {
            samples.extend(&named);
        }
    }
    let mut ground = Ground::fit(&field, &samples).ok_or_else(|| {
        Fault::input(
            "too little of the table is in the photo",
            "take a photo that shows the table all round the cloth",
        )
    })?;
    if named.is_empty() && ground.share < ONE {
        return Err(Fault::input(
            "the rim of the photo is not of one colour, so it does not show what is table",
            "name a place on the table (--table-at X,Y), or spread the cloth so that table shows all round it",
        ));
    }
    let own = about(&field, &seeds.cloth);
    let mut seeded = Dyes::new();
    for k in &own {
        seeded.add(field.values()[*k], 1.0);
    }
    let seeded = (!own.is_empty()).then(|| seeded.smooth());
    let mut dyes: Option<Dyes> = None;
    let mut found = None;
    let mut notes = Vec::new();
    for pass in 0..4 {
        let odds = odds(&field, &ground, dyes.as_ref(), seeded.as_ref());
        let on = Mask::new(w, h, |k| odds[k] > 0.0);
        // Threads of likeness between cloth and what else lies on the table part.
        let open = on.shrunk(2.0);
        let Some(part) = chosen(&field, &open, &own) else {
            return Err(none(&field, &ground, &known));
        };
        notes = beside(&field, &open, &part);
        let near = part.grown(3.0);
        let cloth = Mask::new(w, h, |k| on.on[k] && near.on[k]);
        let whole = cloth.filled();
        let inner = cloth.shrunk(2.0);
        let mut seen = Dyes::new();
        for k in (0..w * h).filter(|k| inner.on[*k]) {
            seen.add(field.values()[k], 1.0);
        }
        dyes = Some(seen.smooth());
        if pass < 2 {
            // Then the table is what is not cloth, not the rim alone.
            let far = whole.grown(4.0);
            let mut beside: Vec<usize> =
                (0..w * h).filter(|k| known.on[*k] && !far.on[*k]).collect();
            beside.extend(named.iter().cycle().take(if named.is_empty() {
                0
            } else {
                beside.len() / 2
            }));
            if let Some(better) = Ground::fit(&field, &beside) {
                ground = better;
            }
        }
        found = Some((odds, whole));
    }
    let (odds, whole) = found.ok_or_else(|| none(&field, &ground, &known))?;
    let mut k = 0;
    let odds = field.map(|_| {
        k += 1;
        odds[k - 1]
    });
    let apart = Apart {
        field,
        odds,
        whole,
        notes,
    };
    apart.check(ALIKE[usize::from(!own.is_empty())])?;
    Ok(apart)
}

/// Averaged over a few cells.
fn odds(
    field: &Raster<Logs, Table>,
    ground: &Ground,
    dyes: Option<&Dyes>,
    seeded: Option<&Dyes>,
) -> Vec<f32> {
    let raw: Vec<f32> = (0..field.values().len())
        .map(|k| {
            let v = field.values()[k];
            if !v[0].is_finite() {
                return f32::NAN;
            }
            let mut cloth = dyes.map_or(ANY, |d| d.density(v));
            if let Some(seeded) = seeded {
                cloth = 0.5 * cloth + 0.5 * seeded.density(v);
            }
            let table = ground.density(&ground.off(field, k));
            (cloth / table).ln().clamp(-MOST, MOST) as f32
        })
        .collect();
    let once = mean_about(&raw, field.width(), 1);
    mean_about(&once, field.width(), 1)
        .into_iter()
        .zip(&raw)
        .map(|(v, raw)| if raw.is_nan() { -(MOST as f32) } else { v })
        .collect()
}

/// The part that the person named, or the largest.
fn chosen(field: &Raster<Logs, Table>, open: &Mask, own: &[usize]) -> Option<Mask> {
    let (number, counts) = open.parts();
    let mut named: Vec<u32> = own.iter().map(|k| number[*k]).filter(|n| *n > 0).collect();
    named.sort_unstable();
    named.dedup();
    if named.is_empty() {
        let (most, count) = counts.iter().enumerate().skip(1).max_by_key(|c| c.1)?;
        if (*count as f64) * field.cell().powi(2) < LEAST {
            return None;
        }
        named.push(most as u32);
    }
    Some(Mask::new(open.width, open.height, |k| {
        named.contains(&number[k])
    }))
}

/// Whether another thing of some size lies beside the part that was chosen.
fn beside(field: &Raster<Logs, Table>, open: &Mask, part: &Mask) -> Vec<String> {
    let rest = Mask::new(open.width, open.height, |k| open.on[k] && !part.on[k]);
    let (number, counts) = rest.parts();
    let own = part.on.iter().filter(|on| **on).count();
    let large = (1..counts.len()).filter(|n| counts[*n] * 5 > own);
    large
        .filter_map(|n| {
            let k = number.iter().position(|m| *m as usize == n)?;
            let p = field.centre(k % open.width, k / open.width);
            Some(format!(
                "Something else that is no table begins at ({:.0}, {:.0}) mm: if it is the cloth, or of it, name a place on it and one on the rest.",
                p.x, p.y
            ))
        })
        .collect()
}

fn none(field: &Raster<Logs, Table>, ground: &Ground, known: &Mask) -> Fault {
    let shade =
        (0..known.on.len()).filter(|k| known.on[*k] && ground.is_shade(&ground.off(field, *k)));
    let area = shade.count() as f64 * field.cell().powi(2);
    if area > 5.0 * LEAST {
        return Fault::input(
            "the cloth looks like the table in shadow, or there is none",
            SEEDS,
        );
    }
    Fault::input(
        "no cloth is seen: all of the table looks alike",
        "spread the cloth so that table shows all round it, or name a place on it",
    )
}

impl Apart {
    /// Whether cloth and table differ all along the outline.
    fn check(&self, alike: f64) -> Outcome<()> {
        let (w, cell) = (self.field.width(), self.field.cell());
        let within = self.whole.depth();
        let outside = self.whole.not().depth();
        let strip = |depth: &[f32], from: f64, to: f64| -> Vec<usize> {
            let mm = |k: &usize| f64::from(depth[*k]) * cell;
            (0..depth.len())
                .filter(|k| (from..to).contains(&mm(k)))
                .collect()
        };
        let inner = strip(&within, 2.0, 6.0);
        let outer = strip(&outside, 2.0, 8.0);
        let odds = self.odds.values();
        let like_table: Vec<usize> = inner.iter().copied().filter(|k| odds[*k] < 0.5).collect();
        let known = |k: &usize| self.field.values()[*k][0].is_finite();
        let like_cloth: Vec<usize> = outer
            .iter()
            .copied()
            .filter(|k| known(k) && odds[*k] > -0.5)
            .collect();
        let share = |some: &[usize], all: &[usize]| some.len() as f64 / all.len().max(1) as f64;
        let (a, b) = (share(&like_table, &inner), share(&like_cloth, &outer));
        if a < alike && b < alike {
            return Ok(());
        }
        let worst = if a > b { like_table } else { like_cloth };
        let k = worst[worst.len() / 2];
        let p = self.field.centre(k % w, k / w);
        Err(Fault::input(
            format!(
                "cloth and table look alike along {:.0} % of the cloth's edge, such as about ({:.0}, {:.0}) mm",
                100.0 * a.max(b),
                p.x,
                p.y
            ),
            SEEDS,
        ))
    }
}
