//! The shade of the ply beneath a panel, as the panel above it has its cells.

use super::Shades;
use crate::cloth::{Panel, Stripes};
use crate::lay::Stock;
use crate::lay::wish::Beneath;
use crate::raster::Raster;
use crate::space::Cloth;

/// What is known of the ply beneath.
pub(super) struct Below {
    shade: Raster<[f32; 3], Cloth>,
    stripes: Option<Stripes>,
}

impl Below {
    /// Of a panel's, where both plies' shades are known.
    pub fn of(stock: &Stock, panels: &[Panel], panel: &str, shades: &Shades) -> Option<Self> {
        let ply = stock.beneath(panel, panels)?;
        let (own, lower) = (shades.get(panel)?, shades.get(&ply.panel.name)?);
        let onto = ply.onto.mapper();
        let shade = Raster::over(own.bounds(), own.cell(), |_, _, p| {
            lower.at(onto(p)).copied().unwrap_or([f32::NAN; 3])
        });
        let looks = ply.panel.looks.as_ref();
        let stripes = looks.and_then(|l| l.stripes);
        Some(Self {
            shade,
            stripes: stripes.map(|s| s.moved(&ply.onto.inverse())),
        })
    }

    pub fn known(&self) -> Beneath<'_> {
        Beneath {
            shade: &self.shade,
            stripes: self.stripes,
        }
    }
}
