//! Lines of a draft, exactly: runs of cubic Béziers, measured by arc length.

use kurbo::{
    Affine, CubicBez, ParamCurve as _, ParamCurveArclen as _, ParamCurveDeriv as _,
    ParamCurveNearest as _, Point, Vec2,
};

/// Arc lengths are right to this, mm.
const LENGTH_ERROR: f64 = 1e-6;

/// Flattened lines stay within this of the curve, mm.
pub const FLAT: f64 = 0.01;

/// Ends that are this near are one point, mm.
pub const SAME: f64 = 0.01;

/// A parallel stays within this of the true one, mm.
const BESIDE_ERROR: f64 = 0.002;

/// One line: its pieces end to end, none without length.
#[derive(Debug, Clone, PartialEq)]
pub struct Curve {
    segs: Vec<CubicBez>,
    /// Arc length up to the end of each, mm.
    reach: Vec<f64>,
}

fn line(a: Point, b: Point) -> CubicBez {
    CubicBez::new(a, a.lerp(b, 1.0 / 3.0), a.lerp(b, 2.0 / 3.0), b)
}

/// Whether a cubic is a straight line run at even speed, as [`line`] makes them.
fn steady(c: &CubicBez) -> bool {
    let third = (c.p3 - c.p0) / 3.0;
    let off = (c.p1 - c.p0 - third).hypot() + (c.p3 - c.p2 - third).hypot();
    off <= 1e-12 * third.hypot()
}

/// The unit direction of a cubic at `t`; where handles have no length, of what is left.
fn heading(c: &CubicBez, t: f64) -> Vec2 {
    let d = c.deriv().eval(t).to_vec2();
    let chord = c.p3 - c.p0;
    let far = if t < 0.5 { c.p2 - c.p0 } else { c.p3 - c.p1 };
    let tries = [d, far, chord];
    let scale = (c.p1 - c.p0).hypot() + (c.p2 - c.p1).hypot() + (c.p3 - c.p2).hypot();
    let found = tries
        .into_iter()
        .find(|v| v.hypot() > 1e-9 * scale.max(1e-9));
    found.map_or(Vec2::new(1.0, 0.0), Vec2::normalize)
}

/// A quarter turn counter-clockwise.
pub fn left(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

impl Curve {
    /// From cubics that follow one another; `None` if none has a length.
    pub fn new(segs: impl IntoIterator<Item = CubicBez>) -> Option<Self> {
        let (mut kept, mut reach, mut sum) = (Vec::new(), Vec::new(), 0.0);
        for c in segs {
            let n = if steady(&c) {
                (c.p3 - c.p0).hypot()
            } else {
                c.arclen(LENGTH_ERROR)
            };
            if n.is_finite() && n > 1e-7 {
                sum += n;
                kept.push(c);
                reach.push(sum);
            }
        }
        (!kept.is_empty()).then_some(Self { segs: kept, reach })
    }

    /// Straight from point to point.
    pub fn straight(points: &[Point]) -> Option<Self> {
        Self::new(points.windows(2).map(|w| line(w[0], w[1])))
    }

    /// An arc about `centre` that begins at `from` and turns by `sweep` radians,
    /// counter-clockwise if positive. Cubics of at most π/8 stay within 1e-8 of the
    /// radius (handles of 4/3·tan(sweep/4), the textbook value).
    pub fn arc(centre: Point, from: Point, sweep: f64) -> Option<Self> {
        let n = (sweep.abs() / (std::f64::consts::PI / 8.0))
            .ceil()
            .clamp(1.0, 64.0);
        let step = sweep / n;
        let handle = 4.0 / 3.0 * (step / 4.0).tan();
        let r = from - centre;
        let at = |k: f64| {
            let (sin, cos) = (step * k).sin_cos();
            Vec2::new(cos * r.x - sin * r.y, sin * r.x + cos * r.y)
        };
        Self::new((0..n as usize).map(|k| {
            let (a, b) = (at(k as f64), at(k as f64 + 1.0));
            CubicBez::new(
                centre + a,
                centre + a + left(a) * handle,
                centre + b - left(b) * handle,
                centre + b,
            )
        }))
    }

    /// mm.
    pub fn length(&self) -> f64 {
        self.reach.last().copied().unwrap_or(0.0)
    }

    pub fn start(&self) -> Point {
        self.segs.first().map_or(Point::ZERO, |c| c.p0)
    }

    pub fn end(&self) -> Point {
        self.segs.last().map_or(Point::ZERO, |c| c.p3)
    }

    /// How many cubics it is made of.
    pub fn stretches(&self) -> usize {
        self.segs.len()
    }

    /// Whether it ends where it began.
    pub fn closed(&self) -> bool {
        (self.end() - self.start()).hypot() <= SAME
    }

    /// Which cubic holds the length `s`, and its parameter there.
    fn find(&self, s: f64) -> (usize, f64) {
        let last = self.segs.len() - 1;
        let k = self.reach.partition_point(|&r| r < s).min(last);
        let before = if k == 0 { 0.0 } else { self.reach[k - 1] };
        let (along, whole) = (s - before, self.reach[k] - before);
        let t = if along <= 0.0 {
            0.0
        } else if along >= whole {
            1.0
        } else if steady(&self.segs[k]) {
            along / whole
        } else {
            self.segs[k].inv_arclen(along, LENGTH_ERROR)
        };
        (k, t)
    }

    /// The place at `s` mm from the start, and the unit direction of travel there.
    pub fn at(&self, s: f64) -> (Point, Vec2) {
        let (k, t) = self.find(s);
        (self.segs[k].eval(t), heading(&self.segs[k], t))
    }

    /// The nearest place: mm from the start, and how far off.
    pub fn nearest(&self, p: Point) -> (f64, f64) {
        let mut best = (0.0, f64::INFINITY);
        for (k, c) in self.segs.iter().enumerate() {
            let near = c.nearest(p, 1e-9);
            if near.distance_sq < best.1 {
                let before = if k == 0 { 0.0 } else { self.reach[k - 1] };
                best = (before, near.distance_sq);
                if near.t > 0.0 {
                    best.0 += c.subsegment(0.0..near.t).arclen(LENGTH_ERROR);
                }
            }
        }
        (best.0, best.1.sqrt())
    }

    /// Where the endless straight line through `p` along `v` meets it.
    pub fn met_by(&self, p: Point, v: Vec2) -> Vec<Point> {
        let far = v.normalize() * 2e6;
        let ray = kurbo::Line::new(p - far, p + far);
        let mut out: Vec<Point> = Vec::new();
        for c in &self.segs {
            for hit in kurbo::PathSeg::Cubic(*c).intersect_line(ray) {
                let at = c.eval(hit.segment_t);
                if out.iter().all(|o| (*o - at).hypot() > 1e-6) {
                    out.push(at);
                }
            }
        }
        out
    }

    /// Walked the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let turned = |c: &CubicBez| CubicBez::new(c.p3, c.p2, c.p1, c.p0);
        let whole = self.length();
        let mut reach: Vec<f64> = self.reach.iter().rev().skip(1).map(|r| whole - r).collect();
        reach.push(whole);
        Self {
            segs: self.segs.iter().rev().map(turned).collect(),
            reach,
        }
    }

    /// What lies between two lengths, `from` < `to`.
    pub fn part(&self, from: f64, to: f64) -> Option<Self> {
        let ((i, a), (j, b)) = (self.find(from), self.find(to));
        if i == j {
            return (a < b)
                .then(|| Self::new([self.segs[i].subsegment(a..b)]))
                .flatten();
        }
        (i < j)
            .then(|| {
                let head = (a < 1.0).then(|| self.segs[i].subsegment(a..1.0));
                let tail = (b > 0.0).then(|| self.segs[j].subsegment(0.0..b));
                let middle = self.segs[i + 1..j].iter().copied();
                Self::new(head.into_iter().chain(middle).chain(tail))
            })
            .flatten()
    }

    /// This one, then `next`, which begins where it ends.
    pub fn then(mut self, next: &Self) -> Self {
        let sum = self.length();
        self.segs.extend(&next.segs);
        self.reach.extend(next.reach.iter().map(|r| sum + r));
        self
    }

    /// Moved, turned, mirrored or scaled.
    pub fn moved(&self, by: Affine) -> Option<Self> {
        Self::new(self.segs.iter().map(|c| by * *c))
    }

    /// The parallel at `d` mm to the left (negative: right), fitted by cubics with the
    /// same ends and directions, halved until they are within 0.002 mm. Corners are left
    /// as they are cut: `None` where the line bends tighter than `d`, or has a corner.
    pub fn beside(&self, d: f64) -> Option<Self> {
        let mut out = Vec::new();
        for (k, c) in self.segs.iter().enumerate() {
            if k > 0 {
                let turn = heading(&self.segs[k - 1], 1.0).cross(heading(c, 0.0)).abs();
                if turn > 1e-3 {
                    return None;
                }
            }
            fit_beside(c, d, 0, &mut out)?;
        }
        Self::new(out)
    }

    /// How many points [`Curve::flat`] gives.
    pub fn flat_points(&self) -> usize {
        1 + self.segs.iter().map(|c| steps(c) as usize).sum::<usize>()
    }

    /// As straight steps within [`FLAT`], both ends included.
    pub fn flat(&self) -> Vec<Point> {
        let mut out = vec![self.start()];
        for c in &self.segs {
            let n = steps(c);
            out.extend((1..n as u32).map(|k| c.eval(f64::from(k) / n)));
            out.push(c.p3);
        }
        out
    }
}

/// In how many equal steps a cubic stays within [`FLAT`]: one whose second derivative is
/// nowhere more than M stays within M/8n² of n. 1 to 2000.
fn steps(c: &CubicBez) -> f64 {
    let bend =
        |a: Point, b: Point, d: Point| (a.to_vec2() - 2.0 * b.to_vec2() + d.to_vec2()).hypot();
    let most = 6.0 * bend(c.p0, c.p1, c.p2).max(bend(c.p1, c.p2, c.p3));
    let n = (most / 8.0 / FLAT).sqrt() - 1e-6;
    n.ceil().clamp(1.0, 2000.0)
}

fn fit_beside(c: &CubicBez, d: f64, depth: u8, out: &mut Vec<CubicBez>) -> Option<()> {
    let place = |t: f64| c.eval(t) + left(heading(c, t)) * d;
    // The parallel's speed: the curve's, times 1 − d·curvature (left turns shorten it).
    let speed = |t: f64| {
        let v = c.deriv().eval(t).to_vec2();
        let a = c.deriv().deriv().eval(t).to_vec2();
        let n = v.hypot();
        let bend = if n > 1e-9 {
            v.cross(a) / n.powi(3)
        } else {
            0.0
        };
        (heading(c, t) * n, 1.0 - d * bend)
    };
    let ((v0, f0), (v3, f3)) = (speed(0.0), speed(1.0));
    if f0 <= 0.0 || f3 <= 0.0 {
        return None;
    }
    let (p0, p3) = (place(0.0), place(1.0));
    let fit = CubicBez::new(p0, p0 + v0 * f0 / 3.0, p3 - v3 * f3 / 3.0, p3);
    let off = (1..8).map(|k| {
        let t = f64::from(k) / 8.0;
        (fit.eval(t) - place(t)).hypot()
    });
    if off.fold(0.0, f64::max) <= BESIDE_ERROR {
        out.push(fit);
        return Some(());
    }
    if depth > 8 {
        return None;
    }
    fit_beside(&c.subsegment(0.0..0.5), d, depth + 1, out)?;
    fit_beside(&c.subsegment(0.5..1.0), d, depth + 1, out)
}
