//! Each way in which a draft finds a point or draws a line.

use std::f64::consts::{PI, TAU};

use kurbo::{Point, Vec2};

use super::curve::{Curve, SAME};
use super::decl::{LineMake, Place, PointMake, TangentDecl};
use super::eval::{Eval, mirror};
use super::meet::{Locus, meet};
use super::names::{Path, PointRef};
use super::spline::{Tangent, through};
use crate::fault::{Fault, Outcome, short};

impl Eval<'_> {
    pub fn draw_point(&mut self, make: &PointMake) -> Outcome<Point> {
        match make {
            PointMake::Moved { from, go, steps } => {
                let mut at = match from {
                    Some(p) => self.point(*p)?,
                    None => Point::ZERO,
                };
                if let Some((heading, by)) = go {
                    at += self.heading(heading, at)? * self.length(by)?;
                }
                for (x, y, by) in steps {
                    at += Vec2::new(*x, *y) * self.length(by)?;
                }
                Ok(at)
            }
            PointMake::Corner { upright, level } => {
                Ok(Point::new(self.point(*upright)?.x, self.point(*level)?.y))
            }
            PointMake::On { run, at, back } => {
                let line = self.line(*run)?;
                let s = self.along(at, line.length(), *back)?;
                Ok(line.at(s).0)
            }
            PointMake::Meet { of, nearest } => self.meeting(of, *nearest),
            PointMake::Mirrored { of, about } => {
                let axis = self.line(*about)?;
                let (at, along) = axis.at(0.0);
                Ok(mirror(at, along) * self.point(*of)?)
            }
        }
    }

    fn meeting(&mut self, of: &[Place; 2], nearest: Option<PointRef>) -> Outcome<Point> {
        let mut paths = Vec::new();
        for place in of {
            paths.push(match place {
                Place::Path(path) => Some(self.line(*path)?),
                _ => None,
            });
        }
        let mut loci = Vec::new();
        for (place, path) in of.iter().zip(&paths) {
            loci.push(match (place, path) {
                (Place::Line(p, heading), _) => {
                    let at = self.point(*p)?;
                    Locus::Line(at, self.heading(heading, at)?)
                }
                (Place::Circle(c, radius), _) => {
                    Locus::Circle(self.point(*c)?, positive(self.length(radius)?, "radius")?)
                }
                (Place::Through([a, b, c]), _) => {
                    let (centre, r) = circle(self.point(*a)?, self.point(*b)?, self.point(*c)?)?;
                    Locus::Circle(centre, r)
                }
                (Place::Path(_), Some(path)) => Locus::Path(path),
                (Place::Path(_), None) => return Err(super::eval::lost()),
            });
        }
        let [one, other] = loci.as_slice() else {
            return Err(super::eval::lost());
        };
        let hits = meet(one, other)?;
        match (hits.as_slice(), nearest) {
            ([only], _) => Ok(*only),
            (all, Some(p)) => {
                let to = self.point(p)?;
                let far = |q: &Point| (*q - to).hypot();
                let near = all.iter().min_by(|a, b| far(a).total_cmp(&far(b)));
                near.copied().ok_or_else(super::eval::lost)
            }
            (all, None) => Err(Fault::input(
                format!("they meet in {} places", all.len()),
                "say which: nearest = \"a point beside it\"",
            )),
        }
    }

    pub fn draw_line(&mut self, make: &LineMake) -> Outcome<Curve> {
        let none = || {
            Fault::input(
                "it has no length, or two points that follow one another are one",
                "move a point",
            )
        };
        match make {
            LineMake::Straight(points) => Curve::straight(&self.points(points)?).ok_or_else(none),
            LineMake::Curve {
                points,
                tangents,
                closed,
            } => {
                let at = self.points(points)?;
                let mut given = Vec::new();
                for (p, decl) in at.iter().zip(tangents) {
                    given.push(match decl {
                        Some(decl) => Some(self.tangent(decl, *p)?),
                        None => None,
                    });
                }
                through(&at, &given, *closed).ok_or_else(none)
            }
            LineMake::ArcThrough([a, b, c]) => {
                let (a, b, c) = (self.point(*a)?, self.point(*b)?, self.point(*c)?);
                let (centre, _) = circle(a, b, c)?;
                let turn = if (b - a).cross(c - b) > 0.0 {
                    1.0
                } else {
                    -1.0
                };
                let sweep = sweep(a - centre, c - centre, turn);
                Curve::arc(centre, a, sweep).ok_or_else(none)
            }
            LineMake::ArcAbout([a, b, m], turn) => {
                let (a, b, m) = (self.point(*a)?, self.point(*b)?, self.point(*m)?);
                let off = ((a - m).hypot() - (b - m).hypot()).abs();
                if off > SAME {
                    return Err(Fault::input(
                        format!(
                            "its ends are not equally far from the centre: {} mm",
                            short(off)
                        ),
                        "move the centre, or use radius",
                    ));
                }
                let sweep = sweep(a - m, b - m, if *turn { 1.0 } else { -1.0 });
                Curve::arc(m, a, sweep).ok_or_else(none)
            }
            LineMake::ArcOf([a, b], radius, turn) => {
                let (a, b) = (self.point(*a)?, self.point(*b)?);
                let r = positive(self.length(radius)?, "radius")?;
                let half = (b - a).hypot() / 2.0;
                if half > r + 1e-9 {
                    return Err(Fault::input(
                        format!("its radius is {} mm too short to reach", short(half - r)),
                        "make it at least half of the straight distance",
                    ));
                }
                if half < SAME {
                    return Err(none());
                }
                // Turning left, the centre is on the left.
                let sign = if *turn { 1.0 } else { -1.0 };
                let side = super::curve::left((b - a).normalize()) * sign;
                let centre = a.midpoint(b) + side * (r * r - half * half).max(0.0).sqrt();
                let sweep = sweep(a - centre, b - centre, sign);
                Curve::arc(centre, a, sweep).ok_or_else(none)
            }
            LineMake::Part { of, from, to } => self.part(*of, *from, *to),
            LineMake::Join(all) => self.join(all),
            LineMake::Beside { of, by } => {
                let (line, by) = (self.line(*of)?, self.length(by)?);
                line.beside(by).ok_or_else(|| {
                    Fault::input(
                        "the line has a corner, or bends too tightly, for a parallel so far off",
                        "make the distance smaller, or draw the parts one by one",
                    )
                })
            }
            LineMake::Mirrored { of, about } => {
                let (at, along) = self.line(*about)?.at(0.0);
                let line = self.line(*of)?;
                line.moved(mirror(at, along)).ok_or_else(none)
            }
        }
    }

    fn points(&mut self, all: &[PointRef]) -> Outcome<Vec<Point>> {
        all.iter().map(|p| self.point(*p)).collect()
    }

    fn tangent(&mut self, decl: &TangentDecl, at: Point) -> Outcome<Tangent> {
        let along = self.heading(&decl.heading, at)?;
        let pull = match &decl.pull {
            Some(pull) => Some(positive(self.length(pull)?, "pull")?),
            None => None,
        };
        Ok(Tangent { along, pull })
    }

    /// How far along `line` the point lies, which must be on it.
    pub fn station(&mut self, line: &Curve, p: PointRef) -> Outcome<f64> {
        let at = self.point(p)?;
        let (s, off) = line.nearest(at);
        if off > SAME {
            let name = &self.draft.pieces[p.0].points[p.1].name;
            return Err(Fault::input(
                format!("\"{name}\" lies {} mm beside the line", short(off)),
                "put it on the line: on = …, at = …",
            ));
        }
        Ok(s)
    }

    fn part(&mut self, of: Path, from: PointRef, to: PointRef) -> Outcome<Curve> {
        let line = self.line(of)?;
        let (a, b) = (self.station(&line, from)?, self.station(&line, to)?);
        let whole = line.length();
        let found = if line.closed() {
            // Onwards round the ring. Its first point is its last, too.
            let a = if whole - a < SAME { 0.0 } else { a };
            let b = if b < SAME { whole } else { b };
            if a < b {
                line.part(a, b)
            } else {
                match (line.part(a, whole), line.part(0.0, b)) {
                    (Some(head), Some(tail)) => Some(head.then(&tail)),
                    (head, tail) => head.or(tail),
                }
            }
        } else if a < b {
            line.part(a, b)
        } else {
            line.part(b, a).map(|c| c.reversed())
        };
        found.ok_or_else(|| {
            Fault::input(
                "the part begins and ends at one place",
                "name two points of the line",
            )
        })
    }

    fn join(&mut self, all: &[Path]) -> Outcome<Curve> {
        let lines = all.iter().map(|p| Ok((*self.line(*p)?).clone()));
        let lines = chained(lines.collect::<Outcome<Vec<_>>>()?).map_err(|(k, gap)| {
            Fault::input(
                format!(
                    "line {} of those joined begins {} mm off the one before",
                    k + 1,
                    short(gap)
                ),
                "name them in the order in which they follow one another",
            )
        })?;
        let mut lines = lines.into_iter().map(|(line, _)| line);
        let first = lines.next().ok_or_else(super::eval::lost)?;
        Ok(lines.fold(first, |sum, next| sum.then(&next)))
    }
}

/// The lines end to end, each turned round if that is how it follows (and whether it
/// was).
///
/// # Errors
/// Which one does not follow, and by how many mm.
pub fn chained(lines: Vec<Curve>) -> Result<Vec<(Curve, bool)>, (usize, f64)> {
    let mut out: Vec<(Curve, bool)> = Vec::with_capacity(lines.len());
    for (k, line) in lines.into_iter().enumerate() {
        let Some((last, _)) = out.last() else {
            out.push((line, false));
            continue;
        };
        let gap = |a: Point, b: Point| (a - b).hypot();
        let (end, start) = (last.end(), last.start());
        let ahead = gap(end, line.start());
        let turned = gap(end, line.end());
        // The first may have been drawn against the direction in which the others follow.
        let first = out.len() == 1;
        let (behind, both) = (gap(start, line.start()), gap(start, line.end()));
        if ahead <= SAME {
            out.push((line, false));
        } else if turned <= SAME {
            out.push((line.reversed(), true));
        } else if first && behind.min(both) <= SAME {
            let (one, _) = out.remove(0);
            out.push((one.reversed(), true));
            let flip = behind > SAME;
            out.push((if flip { line.reversed() } else { line }, flip));
        } else {
            return Err((k, ahead.min(turned)));
        }
    }
    Ok(out)
}

fn positive(value: f64, what: &str) -> Outcome<f64> {
    if value > 0.0 {
        return Ok(value);
    }
    Err(Fault::input(
        format!("its {what} is {} mm", short(value)),
        "make it longer than 0",
    ))
}

/// The circle through three points: centre and radius. The centre lies where the
/// perpendicular bisectors meet (Euclid III.1, IV.5).
fn circle(a: Point, b: Point, c: Point) -> Outcome<(Point, f64)> {
    let (u, v) = (b - a, c - a);
    let cross = 2.0 * u.cross(v);
    let size = u.hypot().max(v.hypot());
    if cross.abs() <= 1e-9 * size * size.max(1e-9) {
        return Err(Fault::input(
            "the three points of an arc lie on one straight line",
            "move one of them, or draw it straight",
        ));
    }
    let (uu, vv) = (u.hypot2(), v.hypot2());
    let off = Vec2::new(v.y * uu - u.y * vv, u.x * vv - v.x * uu) / cross;
    Ok((a + off, off.hypot()))
}

/// The angle from `a` to `b`, turning left (`turn` 1) or right (−1): 0 < |angle| ≤ 2π.
fn sweep(a: Vec2, b: Vec2, turn: f64) -> f64 {
    let angle = a.cross(b).atan2(a.dot(b)) * turn;
    let angle = if angle <= 1e-12 { angle + TAU } else { angle };
    turn * angle.clamp(0.0, 2.0 * PI)
}
