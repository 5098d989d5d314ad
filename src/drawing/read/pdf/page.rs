//! Where what a page draws lies on paper.

use hayro_syntax::page::{Page, Rotation};
use kurbo::{Affine, Rect};

use crate::fault::{Fault, Outcome};
use crate::measure::MM_PER_PT;

/// Most millimetres that a page may be wide: what a PDF can say without UserUnit is 5.08 m.
const MAX_MM: f64 = 1e5;

/// A page's size, and the way from its user space to paper: mm, y down, from the upper
/// left corner of what shows, as it is turned.
pub fn paper(page: &Page, scale: f64) -> Outcome<(Affine, Rect)> {
    let shown = page.intersected_crop_box();
    let unit = match page.raw().get::<f64>("UserUnit") {
        Some(unit) if !(1e-3..=1e4).contains(&unit) => {
            return Err(Fault::input(
                format!("its UserUnit is {unit}, which is no size"),
                "print it to PDF again",
            ));
        }
        unit => unit.unwrap_or(1.0),
    };
    let mm = MM_PER_PT * unit * scale;
    let (w, h) = (shown.width() * mm, shown.height() * mm);
    if !(w > 0.0 && h > 0.0 && w <= MAX_MM && h <= MAX_MM) {
        return Err(Fault::input(
            "it has no size that can be used",
            "print it to PDF again",
        ));
    }
    let from = Affine::scale(mm) * Affine::translate((-shown.x0, -shown.y0));
    // x and y of user space, from its lower left corner, to paper.
    let (turn, w, h) = match page.rotation() {
        Rotation::None => (Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, h]), w, h),
        Rotation::Horizontal => (Affine::new([0.0, 1.0, 1.0, 0.0, 0.0, 0.0]), h, w),
        Rotation::Flipped => (Affine::new([-1.0, 0.0, 0.0, 1.0, w, 0.0]), w, h),
        Rotation::FlippedHorizontal => (Affine::new([0.0, -1.0, -1.0, 0.0, h, w]), h, w),
    };
    Ok((turn * from, Rect::new(0.0, 0.0, w, h)))
}
