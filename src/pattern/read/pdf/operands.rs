//! The operands of an operator, and what paths are built of.

use hayro_syntax::object::{Array, Name, Object};
use hayro_syntax::page::Resources;
use kurbo::{Affine, BezPath, Point};

/// The name among the operands.
pub fn name<'o, 'a>(args: &[&'o Object<'a>]) -> Option<&'o Name<'a>> {
    args.iter().find_map(|a| match a {
        Object::Name(name) => Some(name),
        _ => None,
    })
}

/// Whether a colour space of one number is one of grays.
pub fn is_gray(args: &[&Object], resources: &Resources) -> bool {
    let gray = |name: &str| matches!(name, "DeviceGray" | "CalGray" | "ICCBased");
    let Some(name) = name(args) else {
        return false;
    };
    if gray(name.as_str()) {
        return true;
    }
    let space = resources.get_color_space(name).and_then(Object::into_array);
    space
        .and_then(|s| s.iter::<Name>().next())
        .is_some_and(|kind| gray(kind.as_str()))
}

pub fn is_dashed(gaps: &Array) -> bool {
    let lengths: Vec<f64> = gaps.iter::<f64>().take(16).collect();
    lengths.iter().any(|l| *l > 0.0) && !lengths.is_empty()
}

/// The numbers among the operands.
pub struct Numbers(pub Vec<f64>);

impl Numbers {
    pub fn of(args: &[&Object]) -> Self {
        let number = |a: &&Object| match a {
            Object::Number(n) => Some(n.as_f64()),
            _ => None,
        };
        Self(args.iter().filter_map(number).collect())
    }

    pub fn matrix(&self) -> Option<Affine> {
        let m = <[f64; 6]>::try_from(self.0.as_slice()).ok()?;
        m.iter().all(|v| v.is_finite()).then(|| Affine::new(m))
    }

    /// Of a gray (or a tint of an ink), RGB or CMYK colour.
    pub fn is_white(&self, gray: bool) -> bool {
        match self.0.as_slice() {
            [shade] if gray => *shade >= 1.0,
            [tint] => *tint <= 0.0,
            [r, g, b] => r.min(*g).min(*b) >= 1.0,
            [c, m, y, k] => c.max(*m).max(*y).max(*k) <= 0.0,
            _ => false,
        }
    }
}

/// Adds to the path, on paper, what one operator draws.
pub fn build(path: &mut BezPath, operator: &str, n: &Numbers, ctm: Affine) {
    let p = |k: usize| ctm * Point::new(n.0[k], n.0[k + 1]);
    let begun = !path.elements().is_empty();
    // The current point; after a close, the start of the sub-path.
    match (operator, n.0.len()) {
        ("m", 2) => path.move_to(p(0)),
        ("l", 2) if begun => path.line_to(p(0)),
        ("c", 6) if begun => path.curve_to(p(0), p(2), p(4)),
        ("v", 4) if begun => {
            let at = path.current_position().unwrap_or_default();
            path.curve_to(at, p(0), p(2));
        }
        ("y", 4) if begun => path.curve_to(p(0), p(2), p(2)),
        ("h", _) => close(path),
        ("re", 4) => {
            let (x, y, w, h) = (n.0[0], n.0[1], n.0[2], n.0[3]);
            path.move_to(ctm * Point::new(x, y));
            path.line_to(ctm * Point::new(x + w, y));
            path.line_to(ctm * Point::new(x + w, y + h));
            path.line_to(ctm * Point::new(x, y + h));
            path.close_path();
        }
        _ => {}
    }
}

pub fn close(path: &mut BezPath) {
    if !matches!(
        path.elements().last(),
        None | Some(kurbo::PathEl::ClosePath)
    ) {
        path.close_path();
    }
}

/// A path as it is filled: every sub-path closed.
pub fn all_closed(path: &BezPath) -> BezPath {
    let mut out = BezPath::new();
    for &element in path.elements() {
        if matches!(element, kurbo::PathEl::MoveTo(_)) {
            close(&mut out);
        }
        out.push(element);
    }
    close(&mut out);
    out
}
