//! The lines that tell whether a printer kept the size.

use crate::sheet::Page;

/// 100 mm above what is printed and 100 mm at its left, since printers err differently across
/// and along: `left` and `top` are its sides, mm.
pub(super) fn check_lines(page: &mut Page, left: f64, top: f64) {
    let (y, x) = (top + 2.5, left - 4.0);
    page.line((left, y), (left + 100.0, y), 0.25);
    page.line((x, top - 100.0), (x, top), 0.25);
    for end in [0.0, 100.0] {
        page.line((left + end, y - 1.5), (left + end, y + 1.5), 0.25);
        page.line((x - 1.5, top - end), (x + 1.5, top - end), 0.25);
    }
}
