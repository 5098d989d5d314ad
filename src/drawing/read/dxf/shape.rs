//! What one entity draws, in drawing units, y up.

use kurbo::{Affine, BezPath, Circle, Point, Shape, Vec2};

use super::curve::{Spline, arc_to, bulge_to, ellipse};
use super::file::Entity;
use crate::drawing::read::drawn::limits::MAX_POINTS;
use crate::fault::{Fault, Outcome};

/// How near edges are to a spline, mm.
const SPLINE: f64 = 0.004;
/// A height above the drawing's plane that is no rounding, drawing units.
const FLAT: f64 = 1e-6;

/// What an entity comes to.
pub enum Drawn {
    Path(BezPath),
    Point(Point),
    Text {
        at: Point,
        words: String,
        height: f64,
    },
    /// It is no line; why.
    Not(&'static str, &'static str),
}

const SOLID: Drawn = Drawn::Not(
    "it is a solid or a surface, not a line",
    "they are solids or surfaces, not lines",
);
const OTHER: Drawn = Drawn::Not(
    "it is no line that can be read",
    "they are no lines that can be read",
);
const TILTED: Drawn = Drawn::Not(
    "it does not lie flat in the drawing's plane",
    "they do not lie flat in the drawing's plane",
);

/// Draws entities and counts what they cost.
pub struct Draw {
    /// Millimetres in a drawing unit.
    pub mm: f64,
    pub points: usize,
    /// Entities that have heights, and the greatest height, drawing units.
    pub raised: usize,
    pub highest: f64,
}

impl Draw {
    fn spend(&mut self, points: usize) -> Outcome<()> {
        self.points += points;
        if self.points > MAX_POINTS {
            return Err(Fault::input(
                "the drawing comes to more than 4 million points",
                "draw it with fewer points, or split the file",
            ));
        }
        Ok(())
    }

    fn height(&mut self, z: f64) {
        if z.abs() > FLAT {
            self.raised += 1;
            self.highest = self.highest.max(z.abs());
        }
    }

    /// What `entity` draws. The z of the points is left out and counted.
    ///
    /// # Errors
    ///
    /// When a number in it can't be read, or they do not fit together.
    pub fn entity(&mut self, entity: &Entity) -> Outcome<Drawn> {
        self.spend(1)?;
        let Some(own) = plane(entity)? else {
            return Ok(TILTED);
        };
        // POINT 30 in sewn-products files is a notch's depth.
        if !matches!(entity.kind, "POINT" | "POLYLINE" | "LWPOLYLINE" | "SPLINE") {
            let z = entity.number(30, 0.0)?;
            let z1 = if entity.kind == "LINE" {
                entity.number(31, 0.0)?
            } else {
                0.0
            };
            self.height(if z1.abs() > z.abs() { z1 } else { z });
        }
        let at = |x: i32| -> Outcome<Point> {
            Ok(Point::new(
                entity.number(x, 0.0)?,
                entity.number(x + 10, 0.0)?,
            ))
        };
        let path = match entity.kind {
            "LINE" => {
                let mut path = BezPath::new();
                path.move_to(at(10)?);
                path.line_to(at(11)?);
                return Ok(Drawn::Path(path));
            }
            "POINT" => return Ok(Drawn::Point(at(10)?)),
            "ELLIPSE" => return self.ellipse(entity, at(10)?, at(11)?.to_vec2()),
            "SPLINE" => return self.spline(entity),
            "LWPOLYLINE" => self.lightweight(entity)?,
            "POLYLINE" => match self.polyline(entity)? {
                Some(path) => path,
                None => return Ok(SOLID),
            },
            "CIRCLE" => Circle::new(at(10)?, entity.number(40, 0.0)?.abs()).to_path(1e-4 / self.mm),
            "ARC" => {
                let (centre, radius) = (at(10)?, entity.number(40, 0.0)?.abs());
                let (start, end) = (entity.number(50, 0.0)?, entity.number(51, 360.0)?);
                let sweep = (end - start).rem_euclid(360.0);
                let sweep = if sweep == 0.0 { 360.0 } else { sweep };
                let on = |degrees: f64| centre + Vec2::from_angle(degrees.to_radians()) * radius;
                let mut path = BezPath::new();
                path.move_to(on(start));
                let arc = kurbo::Arc::new(
                    centre,
                    (radius, radius),
                    start.to_radians(),
                    sweep.to_radians(),
                    0.0,
                );
                arc_to(&mut path, arc, on(end));
                path
            }
            "TEXT" | "MTEXT" | "ATTDEF" => {
                return Ok(Drawn::Text {
                    at: own * at(10)?,
                    words: text(entity),
                    height: entity.number(40, 1.0)?.abs(),
                });
            }
            "3DFACE" | "3DSOLID" | "MESH" | "BODY" | "REGION" | "SURFACE" | "SOLID" | "TRACE" => {
                return Ok(SOLID);
            }
            _ => return Ok(OTHER),
        };
        Ok(Drawn::Path(own * path))
    }

    fn lightweight(&mut self, entity: &Entity) -> Outcome<BezPath> {
        self.height(entity.number(38, 0.0)?);
        // (x, y, bulge), each begun by its x.
        let mut vertices: Vec<(Point, f64)> = Vec::new();
        for pair in entity.groups {
            match pair.code {
                10 => vertices.push((Point::new(pair.number()?, 0.0), 0.0)),
                20 => {
                    if let Some((p, _)) = vertices.last_mut() {
                        p.y = pair.number()?;
                    }
                }
                42 => {
                    if let Some((_, bulge)) = vertices.last_mut() {
                        *bulge = pair.number()?;
                    }
                }
                _ => {}
            }
        }
        self.spend(vertices.len())?;
        Ok(bulged(&vertices, entity.flags()? & 1 == 1))
    }

    /// None if it is a mesh.
    fn polyline(&mut self, entity: &Entity) -> Outcome<Option<BezPath>> {
        let flags = entity.flags()?;
        // Flags of the DXF reference: 16 mesh, 64 polyface.
        if flags & (16 | 64) != 0 {
            return Ok(None);
        }
        let mut z = entity.number(30, 0.0)?;
        let mut vertices = Vec::new();
        for vertex in entity.vertices() {
            // 16: a spline's frame, not the line.
            if vertex.flags()? & 16 != 0 {
                continue;
            }
            let p = Point::new(vertex.number(10, 0.0)?, vertex.number(20, 0.0)?);
            let own = vertex.number(30, 0.0)?;
            if own.abs() > z.abs() {
                z = own;
            }
            vertices.push((p, vertex.number(42, 0.0)?));
        }
        self.height(z);
        self.spend(vertices.len())?;
        Ok(Some(bulged(&vertices, flags & 1 == 1)))
    }

    fn ellipse(&mut self, entity: &Entity, centre: Point, major: Vec2) -> Outcome<Drawn> {
        use std::f64::consts::TAU;
        let ratio = entity.number(40, 1.0)?.abs();
        let (start, end) = (entity.number(41, 0.0)?, entity.number(42, TAU)?);
        let mut sweep = (end - start).rem_euclid(TAU);
        if sweep < 1e-12 {
            sweep = TAU;
        }
        let whole = (sweep - TAU).abs() < 1e-9;
        // Seen from below, the parameter runs the other way.
        let below = entity.number(230, 1.0)? < 0.0;
        let (start, sweep) = if below {
            (-start, -sweep)
        } else {
            (start, sweep)
        };
        let mut path = ellipse(centre, major, ratio, start, sweep);
        if whole {
            path.close_path();
        }
        Ok(Drawn::Path(path))
    }

    fn spline(&mut self, entity: &Entity) -> Outcome<Drawn> {
        let list = |code: i32| -> Outcome<Vec<f64>> {
            entity
                .groups
                .iter()
                .filter(|p| p.code == code)
                .map(|p| p.number())
                .collect()
        };
        let (xs, ys, zs) = (list(10)?, list(20)?, list(30)?);
        self.height(
            zs.into_iter()
                .fold(0.0, |a: f64, b| if b.abs() > a.abs() { b } else { a }),
        );
        if xs.is_empty() && entity.pair(11).is_some() {
            return Ok(Drawn::Not(
                "it is a spline through points only, without its control points",
                "they are splines through points only, without their control points",
            ));
        }
        let points: Vec<Point> = xs
            .iter()
            .zip(&ys)
            .map(|(&x, &y)| Point::new(x, y))
            .collect();
        let mut weights = list(41)?;
        if weights.is_empty() {
            weights = vec![1.0; points.len()];
        }
        let degree = entity.pair(71).map_or(Ok(3), |p| p.whole())?;
        let spline = Spline {
            degree: usize::try_from(degree).unwrap_or(0),
            knots: list(40)?,
            points,
            weights,
        };
        if xs.len() != ys.len() {
            return Err(Fault::input(
                "a point of the spline has no y",
                "export the drawing again",
            ));
        }
        spline.check()?;
        let within = SPLINE / self.mm;
        let mut path = spline.flat(within, |points| self.spend(points))?;
        if entity.flags()? & 1 == 1 {
            path.close_path();
        }
        Ok(Drawn::Path(path))
    }
}

fn bulged(vertices: &[(Point, f64)], closed: bool) -> BezPath {
    let mut path = BezPath::new();
    for (k, &(p, _)) in vertices.iter().enumerate() {
        match k {
            0 => path.move_to(p),
            _ => bulge_to(&mut path, vertices[k - 1].0, p, vertices[k - 1].1),
        }
    }
    if let (true, Some(&(first, _)), Some(&(last, bulge))) =
        (closed, vertices.first(), vertices.last())
    {
        if bulge.abs() > 1e-9 {
            bulge_to(&mut path, last, first, bulge);
        }
        path.close_path();
    }
    path
}

/// From the entity's own plane to the drawing's: seen from below, x is mirrored (DXF
/// reference, arbitrary axis). None if it is tilted.
fn plane(entity: &Entity) -> Outcome<Option<Affine>> {
    let normal = [
        entity.number(210, 0.0)?,
        entity.number(220, 0.0)?,
        entity.number(230, 1.0)?,
    ];
    let flat = normal[0].abs() < 1e-9 && normal[1].abs() < 1e-9 && normal[2] != 0.0;
    Ok(flat.then(|| Affine::scale_non_uniform(normal[2].signum(), 1.0)))
}

/// The words of a text: continuation lines first (group 3), formatting taken off.
fn text(entity: &Entity) -> String {
    let parts = entity.groups.iter().filter(|p| matches!(p.code, 1 | 3));
    let raw: String = parts.map(|p| p.value).collect();
    let mut words = String::new();
    let mut rest = raw.chars().peekable();
    while let Some(c) = rest.next() {
        match (c, rest.peek()) {
            ('{' | '}', _) if entity.kind == "MTEXT" => {}
            ('\\', Some('P' | '~')) => {
                rest.next();
                words.push(' ');
            }
            ('\\', Some('U')) => words.extend(escaped(&mut rest)),
            ('\\', Some('\\' | '{' | '}')) => words.extend(rest.next()),
            // A letter height, font or colour, up to its semicolon.
            ('\\', Some(&code)) if entity.kind == "MTEXT" && "ACcfFHhpQTW".contains(code) => {
                while rest.next().is_some_and(|c| c != ';') {}
            }
            ('\\', Some('L' | 'l' | 'O' | 'o' | 'K' | 'k')) if entity.kind == "MTEXT" => {
                rest.next();
            }
            ('%', Some('%')) => {
                rest.next();
                words.push_str(match rest.next() {
                    Some('d' | 'D') => "°",
                    Some('c' | 'C') => "⌀",
                    Some('p' | 'P') => "±",
                    _ => "",
                });
            }
            _ => words.push(c),
        }
    }
    words.trim().to_owned()
}

/// The letter of `U+` and four hexadecimal digits; a pair of them for what lies beyond.
fn escaped(rest: &mut std::iter::Peekable<std::str::Chars>) -> Option<char> {
    let unit = |rest: &mut std::iter::Peekable<std::str::Chars>| {
        rest.next();
        rest.next_if_eq(&'+')?;
        let digits: String = (0..4)
            .filter_map(|_| rest.next_if(char::is_ascii_hexdigit))
            .collect();
        u16::from_str_radix(&digits, 16).ok()
    };
    let first = unit(rest)?;
    if (0xd800..0xdc00).contains(&first) && rest.next_if_eq(&'\\').is_some() {
        let second = unit(rest)?;
        return char::decode_utf16([first, second]).next()?.ok();
    }
    char::from_u32(first.into())
}

/// Where an insert puts its block. Turns and scales of the block's own plane.
pub fn placement(entity: &Entity, base: [f64; 2]) -> Outcome<Option<Vec<Affine>>> {
    const MANY: i64 = 10_000;
    let Some(own) = plane(entity)? else {
        return Ok(None);
    };
    let at = Vec2::new(entity.number(10, 0.0)?, entity.number(20, 0.0)?);
    let (sx, sy) = (entity.number(41, 1.0)?, entity.number(42, 1.0)?);
    if sx == 0.0 || sy == 0.0 {
        return Err(Fault::input(
            "the block is inserted at scale 0",
            "take it out",
        ));
    }
    let turn = Affine::rotate(entity.number(50, 0.0)?.to_radians());
    let columns = entity.pair(70).map_or(Ok(1), |p| p.whole())?.max(1);
    let rows = entity.pair(71).map_or(Ok(1), |p| p.whole())?.max(1);
    if columns.saturating_mul(rows) > MANY {
        return Err(Fault::input(
            "the block is inserted more than 10 000 times",
            "take it out",
        ));
    }
    let (dx, dy) = (entity.number(44, 0.0)?, entity.number(45, 0.0)?);
    let inner = Affine::scale_non_uniform(sx, sy) * Affine::translate((-base[0], -base[1]));
    let cells = (0..rows).flat_map(|r| (0..columns).map(move |c| (c as f64, r as f64)));
    let all = cells.map(|(c, r)| {
        own * Affine::translate(at) * turn * Affine::translate((c * dx, r * dy)) * inner
    });
    Ok(Some(all.collect()))
}
