//! Path data: the `d` attribute as a kurbo path.

use kurbo::{Arc, BezPath, Point, SvgArc, Vec2};
use svgtypes::{PathParser, PathSegment};

use super::guard::{MAX_MM, MAX_POINTS};
use crate::fault::{Fault, Outcome};

/// How far the cubics of an arc may stray from it, in mm.
pub const ARC_TOLERANCE: f64 = 1e-6;
/// Arcs of larger radius, in mm, are refused: their centre can't be told.
const MAX_RADIUS: f64 = 1e4 * MAX_MM;
/// Arcs with a chord below this, in mm, are straight.
const MIN_CHORD: f64 = 1e-9;

/// Path data as a path in user units, of which `scale` mm at most make one
/// on the page (the largest stretch of the transforms).
///
/// # Errors
///
/// When the data can't be read to its end, an arc's radius is beyond 10⁹ mm,
/// or there are more than [`MAX_POINTS`] commands.
pub fn parse(data: &str, scale: f64) -> Outcome<BezPath> {
    let mut pen = Pen {
        path: BezPath::new(),
        start: Point::ORIGIN,
        at: Point::ORIGIN,
        control: Control::None,
        closed: false,
        scale,
    };
    if data.trim() == "none" {
        return Ok(pen.path);
    }
    for segment in PathParser::from(data) {
        let segment = segment.map_err(|error| unreadable("its path data", &error))?;
        pen.draw(segment)?;
        if pen.path.elements().len() > MAX_POINTS {
            return Err(Fault::input(
                "the path has more than 4 million commands",
                "draw it with fewer points",
            ));
        }
    }
    Ok(pen.path)
}

/// The fault of text that svgtypes can't read; the error tells the position.
pub fn unreadable(what: &str, error: &svgtypes::Error) -> Fault {
    Fault::input(
        format!("{what} can't be read: {error}"),
        "save the drawing again, or draw the shape anew",
    )
}

/// The control point that a smooth command mirrors.
enum Control {
    None,
    Quadratic(Point),
    Cubic(Point),
}

struct Pen {
    path: BezPath,
    /// Where the sub-path began.
    start: Point,
    at: Point,
    control: Control,
    /// The sub-path was closed, so what comes next begins another.
    closed: bool,
    scale: f64,
}

impl Pen {
    fn draw(&mut self, segment: PathSegment) -> Outcome<()> {
        use PathSegment as S;
        let origin = if segment.is_abs() {
            Vec2::ZERO
        } else {
            self.at.to_vec2()
        };
        let point = |x: f64, y: f64| Point::new(x, y) + origin;
        if self.closed && !matches!(segment, S::MoveTo { .. } | S::ClosePath { .. }) {
            self.path.move_to(self.start);
            self.closed = false;
        }
        match segment {
            S::MoveTo { x, y, .. } => {
                self.start = point(x, y);
                self.at = self.start;
                self.control = Control::None;
                self.closed = false;
                self.path.move_to(self.start);
            }
            S::LineTo { x, y, .. } => self.line(point(x, y)),
            S::HorizontalLineTo { x, .. } => self.line(Point::new(x + origin.x, self.at.y)),
            S::VerticalLineTo { y, .. } => self.line(Point::new(self.at.x, y + origin.y)),
            S::CurveTo {
                x1,
                y1,
                x2,
                y2,
                x,
                y,
                ..
            } => self.cubic(point(x1, y1), point(x2, y2), point(x, y)),
            S::SmoothCurveTo { x2, y2, x, y, .. } => {
                let first = match self.control {
                    Control::Cubic(control) => self.at + (self.at - control),
                    _ => self.at,
                };
                self.cubic(first, point(x2, y2), point(x, y));
            }
            S::Quadratic { x1, y1, x, y, .. } => self.quadratic(point(x1, y1), point(x, y)),
            S::SmoothQuadratic { x, y, .. } => {
                let control = match self.control {
                    Control::Quadratic(control) => self.at + (self.at - control),
                    _ => self.at,
                };
                self.quadratic(control, point(x, y));
            }
            S::EllipticalArc {
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
                ..
            } => self.arc(SvgArc {
                from: self.at,
                to: point(x, y),
                radii: Vec2::new(rx, ry),
                x_rotation: x_axis_rotation.to_radians(),
                large_arc,
                sweep,
            })?,
            S::ClosePath { .. } => {
                if !self.closed {
                    self.path.close_path();
                }
                self.at = self.start;
                self.control = Control::None;
                self.closed = true;
            }
        }
        Ok(())
    }

    fn line(&mut self, to: Point) {
        self.path.line_to(to);
        self.at = to;
        self.control = Control::None;
    }

    fn quadratic(&mut self, control: Point, to: Point) {
        self.path.quad_to(control, to);
        self.at = to;
        self.control = Control::Quadratic(control);
    }

    fn cubic(&mut self, first: Point, second: Point, to: Point) {
        self.path.curve_to(first, second, to);
        self.at = to;
        self.control = Control::Cubic(second);
    }

    fn arc(&mut self, arc: SvgArc) -> Outcome<()> {
        // In mm, so that the tolerances of both libraries mean what they say
        // whatever the user unit is.
        let scale = if self.scale > 0.0 { self.scale } else { 1.0 };
        let to_mm = |p: Point| (p.to_vec2() * scale).to_point();
        let sized = SvgArc {
            from: to_mm(arc.from),
            to: to_mm(arc.to),
            radii: arc.radii * scale,
            ..arc
        };
        let chord = sized.from.distance(sized.to);
        let reach = sized.radii.x.abs().max(sized.radii.y.abs()).max(chord);
        if reach > MAX_RADIUS {
            return Err(Fault::input(
                "an arc's radius is too large",
                "draw the arc as a line or a curve",
            ));
        }
        let round = (chord > MIN_CHORD)
            .then(|| Arc::from_svg_arc(&sized))
            .flatten();
        match round {
            None => self.line(arc.to),
            Some(round) => {
                append(&mut self.path, &round, 1.0 / scale, arc.to);
                self.at = arc.to;
                self.control = Control::None;
            }
        }
        Ok(())
    }
}

/// Appends `arc`, given in mm, with `unit` user units to a mm. Its last point
/// is set to `end`, which the arc's angles only come near.
pub fn append(path: &mut BezPath, arc: &Arc, unit: f64, end: Point) {
    let mut curves = Vec::new();
    arc.to_cubic_beziers(ARC_TOLERANCE, |first, second, to| {
        curves.push([first, second, to].map(|p| (p.to_vec2() * unit).to_point()));
    });
    if let Some(last) = curves.last_mut() {
        last[2] = end;
    }
    for [first, second, to] in curves {
        path.curve_to(first, second, to);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::{PathSeg, Shape};
    use std::f64::consts::PI;

    fn svg(data: &str) -> String {
        parse(data, 1.0).unwrap().to_svg()
    }

    #[test]
    fn relative_commands_equal_absolute_ones() {
        let absolute = "M1 2 L3 4 H7 V9 C1 1 2 2 3 5 S6 6 7 8 Q1 1 2 4 T9 9 A3 2 30 1 0 12 11 Z";
        let relative = "m1 2 l2 2 h4 v5 c-6-8-5-7-4-4 s3 1 4 3 q-6-7-5-4 t7 5 a3 2 30 1 0 3 2 z";
        assert_eq!(svg(absolute), svg(relative));
    }

    #[test]
    fn a_smooth_command_mirrors_only_its_own_kind() {
        assert_eq!(
            svg("M0 0 C0 1 2 3 4 3 S8 1 8 0"),
            svg("M0 0 C0 1 2 3 4 3 C6 3 8 1 8 0")
        );
        assert_eq!(
            svg("M0 0 Q1 2 3 4 S8 1 8 0"),
            svg("M0 0 Q1 2 3 4 C3 4 8 1 8 0")
        );
        assert_eq!(svg("M0 0 Q1 2 3 4 T8 1"), svg("M0 0 Q1 2 3 4 Q5 6 8 1"));
        assert_eq!(svg("M0 0 L3 4 T8 1"), svg("M0 0 L3 4 Q3 4 8 1"));
    }

    #[test]
    fn after_a_close_the_pen_is_back_at_the_start() {
        assert_eq!(svg("M1 1 h5 v5 z l2 2"), svg("M1 1 h5 v5 z M1 1 L3 3"));
        assert_eq!(svg("M1 1 h5 v5 z m2 2 h1"), svg("M1 1 h5 v5 z M3 3 h1"));
    }

    #[test]
    fn arcs_stay_within_their_tolerance_of_the_circle() {
        let path = parse("M-100 0 A100 100 0 1 0 100 0 A100 100 0 0 0 -100 0Z", 1.0).unwrap();
        assert!((path.area().abs() - PI * 1e4).abs() < 2.0 * PI * 100.0 * ARC_TOLERANCE);
        assert!((path.perimeter(1e-9) - 200.0 * PI).abs() < 1e-4);
        for segment in path.segments() {
            let PathSeg::Cubic(cubic) = segment else {
                panic!("an arc gave {segment:?}");
            };
            for step in 0..=50 {
                let p = kurbo::ParamCurve::eval(&cubic, f64::from(step) / 50.0);
                let off = (p.to_vec2().hypot() - 100.0).abs();
                assert!(off < ARC_TOLERANCE, "{off}");
            }
        }
    }

    #[test]
    fn radii_too_small_are_scaled_up_and_zero_ones_are_lines() {
        let grown = parse("M0 0 A1 1 0 0 1 20 0", 1.0).unwrap();
        let height = grown.bounding_box().height();
        assert!((height - 10.0).abs() < 1e-5, "{height}");
        assert_eq!(svg("M0 0 A0 5 0 0 1 20 0"), svg("M0 0 L20 0"));
        assert_eq!(svg("M5 5 A9 9 0 1 1 5 5"), svg("M5 5 L5 5"));
        let turned = parse("M0 0 A-10 -10 0 0 1 20 0", 1.0).unwrap();
        assert!((turned.bounding_box().height() - 10.0).abs() < 1e-5);
    }

    #[test]
    fn a_bad_number_names_its_position_and_never_cuts_short() {
        let what = |data: &str| parse(data, 1.0).unwrap_err().what;
        assert!(what("M0 0 L5 5 L7 x").contains("position 14"));
        assert!(what("M0 0 L5").contains("end"));
        assert!(what("M0 0 L5 1e999").contains("invalid number"));
        assert!(what("M0 0 L5 NaN").contains("invalid number"));
        assert!(what("L5 5").contains("position 1"));
        assert!(what("M0 0 A1 1 0 2 0 5 5").contains("position"));
        assert!(what("M0 0 A1e300 1e300 0 0 0 5 5").contains("radius"));
        assert_eq!(svg(""), "");
        assert_eq!(svg("none"), "");
    }
}
