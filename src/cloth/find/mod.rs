//! Where the good cloth is, by a photo of the table from above: proposals, and nothing else.
//!
//! ```text
//! light of the table ─▶ apart ─▶ edge ─▶ outline, holes
//!                         └────▶ stripes, weave, selvedge ─▶ grain
//!                                   └──▶ spots ─▶ stains, hardware, ridges
//! ```
//!
//! * What the rim of the photo shows most is table; what looks otherwise is cloth, whatever its
//!   colours. A shadow has the table's hue, so it is table. Where that does not tell them apart
//!   it is said, and the person names a place on each ([`Seeds`]).
//! * All places are table mm.

mod apart;
mod edge;
mod even;
mod grain;
mod ground;
mod holes;
mod mask;
mod profile;
mod ridges;
mod ring;
mod spots;
mod stripes;
#[cfg(test)]
mod tests;
mod weave;
mod window;

pub use grain::{By, Grain};
pub use holes::{ALL, Hole};
pub use spots::{Candidate, Kind};
pub use stripes::{Repeat, Striped};
pub use weave::{Threads, Weave};

use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::shape::{Ring, signed_area};
use crate::space::{Bounds, Point, Table, Vector};

/// Half the side of the square in which threads are looked for, mm.
const CLOSE: f64 = 90.0;

/// What the person says of places in the photo.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seeds {
    pub cloth: Vec<Point<Table>>,
    pub table: Vec<Point<Table>>,
}

/// What is proposed.
#[derive(Debug, Clone)]
pub struct Found {
    /// Counter-clockwise.
    pub outline: Ring<Table>,
    pub holes: Vec<Hole>,
    /// The surest first.
    pub candidates: Vec<Candidate>,
    pub grain: Grain,
    pub stripes: Option<Striped>,
    pub weave: Weave,
    /// What the person should know, one sentence each.
    pub notes: Vec<String>,
}

/// Looks for one cloth in the light of a table from above, linear sRGB, cells of 0.25 to 2 mm,
/// NaN where the photo doesn't reach or what lies there is known to be neither cloth nor table.
///
/// `close` is asked for the light within some bounds in finer cells, 0.15 to 0.5 mm, in which
/// threads are seen; without it nothing is said of the weave.
///
/// # Errors
/// If no cloth is seen, or it can't be told from the table.
pub fn find(
    light: &Raster<[f32; 3], Table>,
    close: &mut dyn FnMut(Bounds<Table>) -> Option<Raster<[f32; 3], Table>>,
    seeds: &Seeds,
) -> Outcome<Found> {
    let apart = apart::apart(light, seeds)?;
    let mut k = 0;
    let inner = apart.whole.shrunk(3.0);
    let whole = apart.odds.map(|v| {
        k += 1;
        // What it encloses is a matter for itself.
        match (inner.on[k - 1], apart.whole.on[k - 1]) {
            (true, _) => v.max(0.5),
            (false, true) => v.max(0.01),
            (false, false) => v.min(-0.01),
        }
    });
    let lines = ring::zero_lines(&whole);
    let line = lines
        .into_iter()
        .max_by(|a, b| signed_area(a).total_cmp(&signed_area(b)))
        .ok_or_else(|| Fault::mistake("the cloth has no outline"))?;
    let outline = edge::refined(light, &line);
    let holes = holes::holes(light, &apart);
    let good = good(&apart, &holes);
    let stripes = stripes::stripes(&apart.field, &good);
    let near = clearest(&apart, &good).and_then(&mut *close);
    let weave = near.map_or(Weave::Unseen, |near| {
        let there = |p| {
            let at = apart.field.cell_at(p);
            at.is_some_and(|(c, r)| good.on[r * good.width + c])
        };
        weave::weave(&near, there)
    });
    let out = even::standing_out(&apart.field, &good, stripes.map(|s| s.runs_deg));
    let candidates = spots::spots(&apart.field, &good, &out);
    Ok(Found {
        grain: grain::grain(&outline, stripes.as_ref(), &weave),
        outline,
        holes,
        candidates,
        stripes,
        weave,
        notes: apart.notes,
    })
}

/// Cells that are cloth for sure: clear of the outline and of holes.
fn good(apart: &apart::Apart, holes: &[Hole]) -> mask::Mask {
    let edge = (3.0 / apart.field.cell()) as f32;
    let (w, h) = (apart.whole.width, apart.whole.height);
    let open = crate::shape::Region::new(holes.iter().map(|h| h.outline.clone()).collect());
    let boxes: Vec<_> = open
        .rings
        .iter()
        .filter_map(|r| crate::shape::bounds(r.iter().copied()))
        .collect();
    let hole = mask::Mask::new(w, h, |k| {
        let p = apart.field.centre(k % w, k / w);
        boxes.iter().any(|b| b.contains(p)) && open.contains(p)
    });
    let (near, inside) = (hole.grown(edge), apart.whole.shrunk(edge));
    mask::Mask::new(w, h, |k| {
        inside.on[k] && !near.on[k] && apart.field.values()[k][0].is_finite()
    })
}

/// A square in the widest part of the cloth, for a closer look.
fn clearest(apart: &apart::Apart, good: &mask::Mask) -> Option<Bounds<Table>> {
    let depth = good.depth();
    let (k, deep) = depth.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1))?;
    let middle = apart.field.centre(k % good.width, k / good.width);
    // Beyond the disc that fits, what is no cloth is passed over.
    let half = (1.4 * f64::from(*deep) * apart.field.cell()).min(CLOSE);
    let half = Vector::new(half, half);
    (half.x > 20.0).then(|| Bounds::new(middle - half, middle + half))
}
