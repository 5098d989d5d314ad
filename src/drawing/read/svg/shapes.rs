//! The basic shapes as paths in user units (SVG 2, chapter 10).

use kurbo::{Arc, BezPath, Point, Size, Vec2};
use roxmltree::Node;
use std::f64::consts::FRAC_PI_2;
use svgtypes::NumberListParser;

use super::guard::{MAX_MM, MAX_POINTS};
use super::path_data::{self, append, unreadable};
use super::units::{self, Axis};
use crate::fault::{Fault, Outcome};

/// The path of a shape element in its own user units; empty if it draws
/// nothing. `scale` is the largest number of mm that a user unit makes on the
/// page, `viewport` what percentages are of.
///
/// # Errors
///
/// When an attribute can't be read or is negative where a size is meant.
pub fn path(node: Node, viewport: Option<Size>, scale: f64) -> Outcome<BezPath> {
    let shape = Shape {
        node,
        viewport,
        scale,
    };
    match node.tag_name().name() {
        "path" => path_data::parse(node.attribute("d").unwrap_or_default(), scale),
        "rect" => shape.rect(),
        "circle" => shape.circle(),
        "ellipse" => shape.ellipse(),
        "line" => shape.line(),
        "polygon" => shape.polyline(true),
        "polyline" => shape.polyline(false),
        _ => Ok(BezPath::new()),
    }
}

struct Shape<'a, 'd> {
    node: Node<'a, 'd>,
    viewport: Option<Size>,
    scale: f64,
}

impl Shape<'_, '_> {
    fn given(&self, name: &str, axis: Axis) -> Outcome<Option<f64>> {
        units::attribute(self.node, name, axis, self.viewport)
    }

    fn length(&self, name: &str, axis: Axis) -> Outcome<f64> {
        Ok(self.given(name, axis)?.unwrap_or(0.0))
    }

    fn point(&self, x: &str, y: &str) -> Outcome<Point> {
        Ok(Point::new(
            self.length(x, Axis::Width)?,
            self.length(y, Axis::Height)?,
        ))
    }

    /// A length that may not be negative, nor larger than any drawing.
    fn extent(&self, name: &str, axis: Axis) -> Outcome<Option<f64>> {
        let length = self.given(name, axis)?;
        match length {
            Some(length) if length < 0.0 => {
                Err(Fault::input("the size is negative", "give it a size of zero or more").at(name))
            }
            // The number of cubics in an arc grows with its radius.
            Some(length) if length * self.scale > 2.0 * MAX_MM => Err(too_large().at(name)),
            length => Ok(length),
        }
    }

    fn line(&self) -> Outcome<BezPath> {
        let mut path = BezPath::new();
        path.move_to(self.point("x1", "y1")?);
        path.line_to(self.point("x2", "y2")?);
        Ok(path)
    }

    fn polyline(&self, closed: bool) -> Outcome<BezPath> {
        let mut path = BezPath::new();
        let points = self.node.attribute("points").unwrap_or_default().trim();
        let mut numbers = NumberListParser::from(points);
        while let Some(x) = numbers.next() {
            let x = x.map_err(|error| unreadable("its list of points", &error))?;
            let y = numbers.next().ok_or_else(|| {
                Fault::input(
                    "its list of points ends within a point",
                    "give every point an x and a y",
                )
            })?;
            let y = y.map_err(|error| unreadable("its list of points", &error))?;
            if path.elements().is_empty() {
                path.move_to((x, y));
            } else {
                path.line_to((x, y));
            }
            if path.elements().len() > MAX_POINTS {
                return Err(Fault::input(
                    "the shape has more than 4 million points",
                    "draw it with fewer points",
                ));
            }
        }
        if closed && !path.elements().is_empty() {
            path.close_path();
        }
        Ok(path)
    }

    fn circle(&self) -> Outcome<BezPath> {
        let radius = self.extent("r", Axis::Both)?.unwrap_or(0.0);
        Ok(self.oval(self.point("cx", "cy")?, Vec2::new(radius, radius)))
    }

    fn ellipse(&self) -> Outcome<BezPath> {
        Ok(self.oval(self.point("cx", "cy")?, self.radii()?))
    }

    /// `rx` and `ry`, where one that is absent is as the other.
    fn radii(&self) -> Outcome<Vec2> {
        let rx = self.extent("rx", Axis::Width)?;
        let ry = self.extent("ry", Axis::Height)?;
        let radii = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
        Ok(radii.into())
    }

    fn oval(&self, centre: Point, radii: Vec2) -> BezPath {
        let mut path = BezPath::new();
        path.move_to(centre + Vec2::new(radii.x, 0.0));
        // By quarters, so that the extremes lie on the path exactly.
        for quarter in 0..4 {
            self.corner(&mut path, centre, radii, quarter);
        }
        path.close_path();
        path
    }

    fn rect(&self) -> Outcome<BezPath> {
        let corner = self.point("x", "y")?;
        let width = self.extent("width", Axis::Width)?.unwrap_or(0.0);
        let height = self.extent("height", Axis::Height)?.unwrap_or(0.0);
        let radii = self.radii()?;
        let radii = Vec2::new(radii.x.min(width / 2.0), radii.y.min(height / 2.0));
        let (left, top) = (corner.x, corner.y);
        let (right, bottom) = (left + width, top + height);
        let mut path = BezPath::new();
        if radii.x == 0.0 || radii.y == 0.0 {
            path.move_to((left, top));
            path.line_to((right, top));
            path.line_to((right, bottom));
            path.line_to((left, bottom));
        } else {
            let (x0, x1) = (left + radii.x, right - radii.x);
            let (y0, y1) = (top + radii.y, bottom - radii.y);
            path.move_to((right, y1));
            self.corner(&mut path, Point::new(x1, y1), radii, 0);
            path.line_to((x0, bottom));
            self.corner(&mut path, Point::new(x0, y1), radii, 1);
            path.line_to((left, y0));
            self.corner(&mut path, Point::new(x0, y0), radii, 2);
            path.line_to((x1, top));
            self.corner(&mut path, Point::new(x1, y0), radii, 3);
        }
        path.close_path();
        Ok(path)
    }

    /// Appends the quarter ellipse that begins `quarter` quarter turns from
    /// the x axis, towards y.
    fn corner(&self, path: &mut BezPath, centre: Point, radii: Vec2, quarter: u8) {
        let end = match quarter {
            0 => Vec2::new(0.0, radii.y),
            1 => Vec2::new(-radii.x, 0.0),
            2 => Vec2::new(0.0, -radii.y),
            _ => Vec2::new(radii.x, 0.0),
        };
        let scale = if self.scale > 0.0 { self.scale } else { 1.0 };
        let start = f64::from(quarter) * FRAC_PI_2;
        let middle = (centre.to_vec2() * scale).to_point();
        let arc = Arc::new(middle, radii * scale, start, FRAC_PI_2, 0.0);
        append(path, &arc, 1.0 / scale, centre + end);
    }
}

/// The fault of what is drawn farther out than [`MAX_MM`].
pub fn too_large() -> Fault {
    Fault::input(
        "it reaches beyond 100 m, which is no pattern",
        "check the units and the scale of the drawing",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{Rect, Shape as _};
    use std::f64::consts::PI;

    fn shape(element: &str) -> Outcome<BezPath> {
        let document = roxmltree::Document::parse(element).unwrap();
        path(document.root_element(), Some(Size::new(100.0, 50.0)), 1.0)
    }

    fn measures(element: &str) -> (Rect, f64) {
        let path = shape(element).unwrap();
        (path.bounding_box(), path.area().abs())
    }

    #[test]
    fn a_circle_has_its_area_and_its_exact_box() {
        let (bounds, area) = measures("<circle cx='1mm' cy='7' r='50'/>");
        let x = 96.0 / 25.4;
        assert_eq!(bounds, Rect::new(x - 50.0, -43.0, x + 50.0, 57.0));
        assert!((area - PI * 2500.0).abs() < 1e-3);
    }

    #[test]
    fn an_ellipse_has_its_area_and_one_radius_serves_for_both() {
        let (bounds, area) = measures("<ellipse rx='40' ry='20'/>");
        assert_eq!(bounds, Rect::new(-40.0, -20.0, 40.0, 20.0));
        assert!((area - PI * 800.0).abs() < 1e-3);
        assert!((measures("<ellipse ry='20'/>").1 - PI * 400.0).abs() < 1e-3);
    }

    #[test]
    fn a_rect_has_its_corners_rounded() {
        let plain = measures("<rect x='10%' y='10%' width='30' height='20'/>");
        assert_eq!(plain, (Rect::new(10.0, 5.0, 40.0, 25.0), 600.0));
        let (bounds, area) = measures("<rect width='30' height='20' rx='5'/>");
        assert_eq!(bounds, Rect::new(0.0, 0.0, 30.0, 20.0));
        assert!((area - (600.0 - 100.0 + PI * 25.0)).abs() < 1e-3);
        let (_, area) = measures("<rect width='30' height='20' rx='99' ry='4'/>");
        assert!((area - (600.0 - 240.0 + PI * 60.0)).abs() < 1e-3);
    }

    #[test]
    fn lines_and_polygons_hold_their_points() {
        let polygon = shape("<polygon points='0,0 4,0 4,3'/>").unwrap();
        assert_eq!(polygon.to_svg(), "M0,0 L4,0 L4,3 Z");
        let polyline = shape("<polyline points=' 0 0-4 3 '/>").unwrap();
        assert_eq!(polyline.to_svg(), "M0,0 L-4,3");
        let line = shape("<line x1='1' y2='9'/>").unwrap();
        assert_eq!(line.to_svg(), "M1,0 L0,9");
        assert!(shape("<polygon/>").unwrap().is_empty());
    }

    #[test]
    fn what_cannot_be_drawn_is_a_fault() {
        for bad in [
            "<rect width='-1' height='1'/>",
            "<circle r='1e9'/>",
            "<circle r='big'/>",
            "<circle r='1em'/>",
            "<polygon points='0 0 1'/>",
            "<polygon points='0 0 1 x'/>",
            "<path d='M0 0 L'/>",
        ] {
            assert!(shape(bad).is_err(), "{bad}");
        }
    }
}
