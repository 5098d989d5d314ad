//! A placement on the table as it is lit: the live table and a picture of it go by the same.

use super::cuts::Cuts;
use crate::cloth::Panel;
use crate::lay::{Laid, Placement, Stock, Trim, trim_on};

/// A placement where it lies, known to be cut or not, with the trim that is on for its cloth and
/// plies; `None` as of [`Stock::laid`].
pub fn lies<'a: 'b, 'b>(
    placed: &Placement,
    stock: &Stock<'a>,
    panels: &'b [Panel],
    trims: &[Trim],
    cuts: &Cuts,
) -> Option<Laid<'b>> {
    let laid = stock.laid(placed, panels)?;
    Some(Laid {
        is_cut: placed.id.is_some_and(|id| cuts.has(id)),
        trim: trim_on(trims, stock, &placed.panel, panels),
        ..laid
    })
}
