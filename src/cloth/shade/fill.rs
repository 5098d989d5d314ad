//! Which cells lie in a region.

use crate::raster::Raster;
use crate::shape::{Region, pairs};
use std::ops::Range;

/// Calls `each` with a row and the columns in it whose middles lie in `region`; a row may come
/// more than once. Cells outside the raster are left out.
pub(super) fn rows_in<S, T>(
    region: &Region<S>,
    raster: &Raster<T, S>,
    mut each: impl FnMut(usize, Range<usize>),
) {
    let (origin, side) = (raster.bounds().min, raster.cell());
    // From mm to rows and columns, middles being whole numbers.
    let scaled = |v: f64, from: f64| (v - from) / side - 0.5;
    let mut crossings: Vec<(usize, f64, i32)> = Vec::new();
    for (a, b) in region.rings.iter().flat_map(|r| pairs(r)) {
        let (ya, yb) = (scaled(a.y, origin.y), scaled(b.y, origin.y));
        let (low, high, way) = if ya <= yb { (ya, yb, 1) } else { (yb, ya, -1) };
        let first = low.ceil().max(0.0);
        let end = high.ceil().min(raster.height() as f64);
        if first >= end {
            continue;
        }
        let (xa, xb) = (scaled(a.x, origin.x), scaled(b.x, origin.x));
        for row in first as usize..end as usize {
            let x = xa + (xb - xa) * (row as f64 - ya) / (yb - ya);
            crossings.push((row, x, way));
        }
    }
    crossings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let column = |x: f64| x.ceil().clamp(0.0, raster.width() as f64) as usize;
    let mut winding = 0;
    for pair in crossings.windows(2) {
        let ((row, from, way), (next, to, _)) = (pair[0], pair[1]);
        winding += way;
        if winding == 0 || row != next {
            continue;
        }
        let columns = column(from)..column(to);
        if !columns.is_empty() {
            each(row, columns);
        }
    }
}
