//! Viewports: how a `viewBox` is fitted into a width and height.

use kurbo::{Affine, Point, Rect, Size};
use roxmltree::Node;
use svgtypes::{Align, AspectRatio, NumberListParser};

use super::page::Page;
use super::place::excerpt;
use crate::fault::{Fault, Outcome};
use crate::measure::MM_PER_PX;

/// A coordinate system set up by an `svg` or a `symbol`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Viewport {
    /// From user units inside it to the units outside; outside the root, to
    /// millimetres on the page.
    pub outward: Affine,
    /// Its size in user units inside, if known.
    pub size: Option<Size>,
}

/// The root's viewport, and what a person should check of its scale, if
/// anything. Without a width and height one user unit is one px, 1/96 inch.
///
/// # Errors
///
/// When a size or the `viewBox` can't be read, is relative, or is not
/// positive.
pub fn root(node: Node) -> Outcome<(Viewport, Option<&'static str>)> {
    let page = Page::of(node)?;
    let (width, height) = (page.width.map(|s| s.mm), page.height.map(|s| s.mm));
    let view = view_box(node)?;
    let note = page.note(view.is_some());
    let Some(view) = view else {
        let size = width.zip(height);
        let port = Viewport {
            outward: Affine::scale(MM_PER_PX),
            size: size.map(|(w, h)| Size::new(w / MM_PER_PX, h / MM_PER_PX)),
        };
        return Ok((port, note));
    };
    // A missing side follows from the other by the viewBox's proportions.
    let ratio = view.height() / view.width();
    let size = match (width, height) {
        (Some(width), Some(height)) => Size::new(width, height),
        (Some(width), None) => Size::new(width, width * ratio),
        (None, Some(height)) => Size::new(height / ratio, height),
        (None, None) => view.size() * MM_PER_PX,
    };
    let port = Viewport {
        outward: fit(view, size, aspect(node)?),
        size: Some(view.size()),
    };
    Ok((port, note))
}

/// The viewport of an inner `svg` or a `symbol` whose top left corner is at
/// `corner` and whose sides are `width` and `height`, in outer user units.
/// None if it has no area, and so shows nothing.
///
/// # Errors
///
/// When the `viewBox` can't be read, or stands in an unknown size.
pub fn inner(
    node: Node,
    corner: Point,
    width: Option<f64>,
    height: Option<f64>,
) -> Outcome<Option<Viewport>> {
    if width.is_some_and(|w| w <= 0.0) || height.is_some_and(|h| h <= 0.0) {
        return Ok(None);
    }
    let size = width.zip(height).map(|(w, h)| Size::new(w, h));
    let shift = Affine::translate(corner.to_vec2());
    let Some(view) = view_box(node)? else {
        return Ok(Some(Viewport {
            outward: shift,
            size,
        }));
    };
    let size = size.ok_or_else(|| {
        Fault::input(
            "the viewBox stands in an unknown size",
            "give the element a width and height",
        )
    })?;
    Ok(Some(Viewport {
        outward: shift * fit(view, size, aspect(node)?),
        size: Some(view.size()),
    }))
}

fn view_box(node: Node) -> Outcome<Option<Rect>> {
    let Some(text) = node.attribute("viewBox") else {
        return Ok(None);
    };
    let unclear = || {
        Fault::input(
            format!("the viewBox \"{}\" is not four numbers", excerpt(text)),
            "give it as left, top, width, height",
        )
    };
    let numbers: Result<Vec<f64>, _> = NumberListParser::from(text.trim()).take(5).collect();
    let numbers = numbers.map_err(|_| unclear())?;
    let [x, y, width, height] = numbers.try_into().map_err(|_| unclear())?;
    if width <= 0.0 || height <= 0.0 {
        return Err(Fault::input(
            "the viewBox has no area",
            "give it a width and height above zero",
        ));
    }
    Ok(Some(Rect::new(x, y, x + width, y + height)))
}

fn aspect(node: Node) -> Outcome<AspectRatio> {
    let text = node.attribute("preserveAspectRatio").unwrap_or_default();
    if text.trim().is_empty() {
        return Ok(AspectRatio::default());
    }
    text.parse().map_err(|_| {
        Fault::input(
            format!("preserveAspectRatio \"{}\" is not known", excerpt(text)),
            "use one such as xMidYMid meet",
        )
    })
}

/// The map that shows `view` in a rectangle of `size` at the origin (SVG 2,
/// "Computing the equivalent transform of an SVG viewport").
fn fit(view: Rect, size: Size, aspect: AspectRatio) -> Affine {
    let (sx, sy) = (size.width / view.width(), size.height / view.height());
    let (sx, sy) = match (aspect.align, aspect.slice) {
        (Align::None, _) => (sx, sy),
        (_, false) => (sx.min(sy), sx.min(sy)),
        (_, true) => (sx.max(sy), sx.max(sy)),
    };
    let right = match aspect.align {
        Align::None | Align::XMinYMin | Align::XMinYMid | Align::XMinYMax => 0.0,
        Align::XMidYMin | Align::XMidYMid | Align::XMidYMax => 0.5,
        Align::XMaxYMin | Align::XMaxYMid | Align::XMaxYMax => 1.0,
    };
    let down = match aspect.align {
        Align::None | Align::XMinYMin | Align::XMidYMin | Align::XMaxYMin => 0.0,
        Align::XMinYMid | Align::XMidYMid | Align::XMaxYMid => 0.5,
        Align::XMinYMax | Align::XMidYMax | Align::XMaxYMax => 1.0,
    };
    let spare_x = size.width - view.width() * sx;
    let spare_y = size.height - view.height() * sy;
    let shift = (
        right * spare_x - view.x0 * sx,
        down * spare_y - view.y0 * sy,
    );
    Affine::translate(shift) * Affine::scale_non_uniform(sx, sy)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the root given by `attributes` puts the user point (10, 20).
    fn put(attributes: &str) -> Outcome<(f64, f64)> {
        let text = format!("<svg {attributes}/>");
        let document = roxmltree::Document::parse(&text).unwrap();
        let (viewport, _) = root(document.root_element())?;
        let p = viewport.outward * Point::new(10.0, 20.0);
        Ok((p.x, p.y))
    }

    fn near(attributes: &str, x: f64, y: f64) {
        let (px, py) = put(attributes).unwrap();
        let off = (px - x).abs().max((py - y).abs());
        assert!(off < 1e-12, "{attributes}: {px}, {py} is not {x}, {y}");
    }

    #[test]
    fn the_root_size_and_viewbox_give_millimetres() {
        const PX: f64 = 25.4 / 96.0;
        near("", 10.0 * PX, 20.0 * PX);
        near("width='50mm' height='9in'", 10.0 * PX, 20.0 * PX);
        near("viewBox='5 5 100 100'", 5.0 * PX, 15.0 * PX);
        near(
            "width='210mm' height='297mm' viewBox='0 0 210 297'",
            10.0,
            20.0,
        );
        near(
            "width='10cm' height='20cm' viewBox='-10 10 200 400'",
            10.0,
            5.0,
        );
        near("width='50mm' viewBox='0 0 100 30'", 5.0, 10.0);
        near("height='15mm' viewBox='0 0 100 30'", 5.0, 10.0);
        near("width='auto' height='15mm' viewBox='0,0,100,30'", 5.0, 10.0);
    }

    /// A 100 by 100 view in 400 by 200 mm: the closed form of all settings.
    #[test]
    fn every_alignment_meets_and_slices_as_the_standard_says() {
        let parts = [("Min", 0.0), ("Mid", 0.5), ("Max", 1.0)];
        let base = "width='400mm' height='200mm' viewBox='0 0 100 100' preserveAspectRatio=";
        for (x, fx) in parts {
            for (y, fy) in parts {
                let meet = format!("{base}'x{x}Y{y} meet'");
                near(&meet, 20.0 + fx * 200.0, 40.0);
                near(&meet.replace(" meet", ""), 20.0 + fx * 200.0, 40.0);
                let slice = format!("{base}'x{x}Y{y} slice'");
                near(&slice, 40.0, 80.0 - fy * 200.0);
            }
        }
        near(&format!("{base}'none'"), 40.0, 40.0);
        near(&format!("{base}''"), 120.0, 40.0);
    }

    #[test]
    fn a_page_without_size_is_a_fault() {
        for bad in [
            "viewBox='0 0 0 10'",
            "viewBox='0 0 10'",
            "viewBox='0 0 10 10 10'",
            "viewBox='0 0 1e999 10'",
            "width='0' height='5'",
            "width='-5mm'",
            "width='100%' viewBox='0 0 10 10'",
            "width='3em'",
            "viewBox='0 0 10 10' preserveAspectRatio='middle'",
        ] {
            assert!(put(bad).is_err(), "{bad}");
        }
    }
}
