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
mod ground;
mod holes;
mod mask;
mod ring;

pub use holes::{ALL, Hole};

use crate::fault::{Fault, Outcome};
use crate::raster::Raster;
use crate::shape::{Ring, signed_area};
use crate::space::{Point, Table};

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
}

/// Looks for one cloth in the light of a table from above, linear sRGB, cells of 0.25 to 2 mm,
/// NaN where the photo doesn't reach or what lies there is known to be neither cloth nor table.
///
/// # Errors
/// If no cloth is seen, or it can't be told from the table.
pub fn find(light: &Raster<[f32; 3], Table>, seeds: &Seeds) -> Outcome<Found> {
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
        .ok_or_else(|| Fault::ours("the cloth has no outline", "report this"))?;
    let outline = edge::refined(light, &line);
    let holes = holes::holes(light, &apart);
    Ok(Found { outline, holes })
}
