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

/// What the numbers of a colour say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Space {
    /// One is a gray, three are RGB, four CMYK.
    Device,
    /// Tints of inks: 0 is none.
    Inks,
    /// A place in a palette, a pattern, or something that is not read: taken for dark.
    Other,
}

/// The colour space that an operator sets.
pub fn space(args: &[&Object], resources: &Resources) -> Space {
    let known = |name: &str| match name {
        "DeviceGray" | "CalGray" | "ICCBased" | "DeviceRGB" | "CalRGB" | "DeviceCMYK" => {
            Some(Space::Device)
        }
        "Separation" | "DeviceN" => Some(Space::Inks),
        _ => None,
    };
    let Some(name) = name(args) else {
        return Space::Other;
    };
    let listed = || {
        let object = resources.get_color_space(name)?;
        match object {
            Object::Name(name) => known(name.as_str()),
            other => known(other.into_array()?.iter::<Name>().next()?.as_str()),
        }
    };
    known(name.as_str()).or_else(listed).unwrap_or(Space::Other)
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

    /// Whether they are white paint, or none.
    pub fn is_white(&self, space: Space) -> bool {
        match (space, self.0.as_slice()) {
            (Space::Device, [shade]) => *shade >= 1.0,
            (Space::Device, [r, g, b]) => r.min(*g).min(*b) >= 1.0,
            (Space::Device, [c, m, y, k]) => c.max(*m).max(*y).max(*k) <= 0.0,
            (Space::Inks, tints) => !tints.is_empty() && tints.iter().all(|t| *t <= 0.0),
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
