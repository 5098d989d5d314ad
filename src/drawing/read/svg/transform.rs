//! Transforms as affine maps.

use std::str::FromStr;

use kurbo::Affine;
use roxmltree::Node;

use super::path_data::unreadable;
use crate::fault::{Fault, Outcome};

/// The map that the `transform` of `node` describes.
///
/// # Errors
///
/// When it can't be read, or the root carries one.
pub fn transform(node: Node) -> Outcome<Affine> {
    let text = node.attribute("transform").unwrap_or_default().trim();
    if text.is_empty() || text == "none" {
        return Ok(Affine::IDENTITY);
    }
    if node.parent_element().is_none() {
        // Where its origin is depends on the page that shows the drawing.
        return Err(Fault::input(
            "the drawing as a whole is moved, turned or scaled (transform)",
            "put all of it in a group, and move, turn or scale that",
        ));
    }
    let t = svgtypes::Transform::from_str(text);
    let t = t.map_err(|error| unreadable("its transform", &error))?;
    Ok(Affine::new([t.a, t.b, t.c, t.d, t.e, t.f]))
}

/// The most that `map` lengthens any vector: its largest singular value.
pub fn stretch(map: Affine) -> f64 {
    let [a, b, c, d, ..] = map.as_coeffs();
    ((a + d).hypot(b - c) + (a - d).hypot(b + c)) / 2.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Point;

    #[test]
    fn the_stretch_is_the_longest_that_a_unit_vector_becomes() {
        let map = Affine::new([1.0, 0.5, -3.0, 2.0, 40.0, 50.0]);
        let reach = |degrees: f64| {
            let (sin, cos) = degrees.to_radians().sin_cos();
            ((map * Point::new(cos, sin)) - (map * Point::ORIGIN)).hypot()
        };
        let longest = (0..36_000).map(|i| reach(f64::from(i) / 100.0));
        let longest = longest.fold(0.0, f64::max);
        assert!((stretch(map) - longest).abs() < 1e-6);
        assert!((stretch(Affine::scale_non_uniform(-7.0, 2.0)) - 7.0).abs() < 1e-12);
    }
}
