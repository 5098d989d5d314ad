//! Corners. Blur rounds what is sharp, and an outline that follows the light is short of a
//! vee's point by several pixels. Where two straight stretches meet, they are drawn on to
//! where they cross, if the photo is then explained no worse.

use super::contour::Field;
use super::redraw::{Node, View};
use crate::space::{Photo, Point, Vector};

/// Stretches begin so many blurs from the corner and are this long, px, if there is room.
const FROM: f64 = 1.8;
const LONG: f64 = 7.0;
/// px; a shorter stretch has no direction.
const SHORT: f64 = 2.0;
/// Turns that make a corner, radians.
const TURNS: (f64, f64) = (0.35, 2.9);
/// px that a stretch's places may lie off its line.
const OFF: f64 = 0.25;
/// Blurs that a corner may be drawn on.
const FAR: f64 = 6.0;

/// A corner that could be drawn on: its places and what would be in their stead.
pub struct Corner {
    pub ring: usize,
    /// The first place and how many there are, round the ring.
    pub from: usize,
    pub count: usize,
    /// The place that is nearest to the tip.
    pub apex: usize,
    /// In the photo, at the foot.
    pub tip: Point<Photo>,
    pub node: Node,
}

/// A ring with the way along it, px, at the foot.
struct Run<'a> {
    nodes: &'a [Node],
    at: Vec<f64>,
}

impl<'a> Run<'a> {
    fn of(nodes: &'a [Node]) -> Self {
        let mut at = vec![0.0];
        for k in 0..nodes.len() {
            let step = nodes[(k + 1) % nodes.len()].foot - nodes[k].foot;
            at.push(at[k] + step.length());
        }
        Self { nodes, at }
    }

    /// From place `k` on (or back), those from `from` to `to` px away: places, and how far
    /// they are along the ring in numbers.
    fn stretch(&self, k: usize, from: f64, to: f64, back: bool) -> Vec<(usize, Point<Photo>)> {
        let n = self.nodes.len();
        let whole = self.at[n];
        let mut out = Vec::new();
        for j in 1..n / 2 {
            let other = if back { (k + n - j) % n } else { (k + j) % n };
            let far = self.at[other] - self.at[k];
            let far = if back { -far } else { far };
            let far = far.rem_euclid(whole);
            if far > to {
                break;
            }
            if far >= from {
                out.push((j, self.nodes[other].foot));
            }
        }
        out
    }
}

/// A straight line through places: a place on it, its direction, and how far they lie off.
fn line(places: &[(usize, Point<Photo>)]) -> Option<(Point<Photo>, Vector<Photo>, f64)> {
    if places.len() < 3 {
        return None;
    }
    let n = places.len() as f64;
    let middle = places.iter().fold(Vector::zero(), |m: Vector<Photo>, p| {
        m + p.1.to_vector() / n
    });
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (_, p) in places {
        let d = p.to_vector() - middle;
        xx += d.x * d.x;
        xy += d.x * d.y;
        yy += d.y * d.y;
    }
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let mut dir = Vector::new(turn.cos(), turn.sin());
    let (first, last) = (places.first()?.1, places.last()?.1);
    if (last - first).length() < SHORT {
        return None;
    }
    if dir.dot(last - first) < 0.0 {
        dir = -dir;
    }
    let off = places
        .iter()
        .map(|(_, p)| dir.cross(p.to_vector() - middle).abs());
    Some((middle.to_point(), dir, off.fold(0.0, f64::max)))
}

/// All corners of the rings.
pub fn corners(rings: &[Vec<Node>], blur: f64, view: View) -> Vec<Corner> {
    let mut found = Vec::new();
    for (ring, nodes) in rings.iter().enumerate() {
        if nodes.is_empty() {
            continue;
        }
        let run = Run::of(nodes);
        let n = nodes.len();
        let near = FROM * blur;
        // The turn at every place, between what comes before and what follows.
        let turn = |k: usize| {
            let a = run.stretch(k, 0.5 * near, near + SHORT, true);
            let b = run.stretch(k, 0.5 * near, near + SHORT, false);
            let (Some(a0), Some(a1), Some(b0), Some(b1)) =
                (a.last(), a.first(), b.first(), b.last())
            else {
                return 0.0;
            };
            let (d, e) = (a1.1 - a0.1, b1.1 - b0.1);
            d.cross(e).atan2(d.dot(e)).abs()
        };
        let turns: Vec<f64> = (0..n).map(turn).collect();
        let apex = |k: usize| {
            let reach = run.stretch(k, 0.0, near, false).len().max(1);
            turns[k] > 0.5 * TURNS.0
                && (1..=reach)
                    .all(|j| turns[k] >= turns[(k + j) % n] && turns[k] > turns[(k + n - j) % n])
        };
        let apexes: Vec<usize> = (0..n).filter(|&k| apex(k)).collect();
        for (c, &k) in apexes.iter().enumerate() {
            // Room up to the corners on either side.
            let whole = run.at[n];
            let gap = |a: usize, b: usize| (run.at[b] - run.at[a]).rem_euclid(whole);
            let before = apexes[(c + apexes.len() - 1) % apexes.len()];
            let after = apexes[(c + 1) % apexes.len()];
            let room = |gap: f64| {
                let gap = if gap == 0.0 { whole } else { gap };
                (gap - 0.8 * near).min(near + LONG)
            };
            let a = run.stretch(k, near, room(gap(before, k)), true);
            let b = run.stretch(k, near, room(gap(k, after)), false);
            let (Some(la), Some(lb)) = (line(&a), line(&b)) else {
                continue;
            };
            if la.2 > OFF || lb.2 > OFF {
                continue;
            }
            // Both point away from the corner.
            let (pa, da) = (la.0, -la.1);
            let (pb, db) = (lb.0, lb.1);
            let turned = da.cross(db).atan2(da.dot(db)).abs();
            if !(TURNS.0..TURNS.1).contains(&turned) {
                continue;
            }
            let share = (pb - pa).cross(db) / da.cross(db);
            let tip = pa + da * share;
            let on = |p: Point<Photo>, d: Vector<Photo>| (tip - p).dot(d);
            // Beyond both stretches, and not far.
            let beyond = on(pa, da) > 0.0 && on(pb, db) < 0.0;
            if !beyond || (tip - nodes[k].foot).length() > FAR * blur {
                continue;
            }
            let (Some(first), Some(last)) = (a.first(), b.first()) else {
                continue;
            };
            let at = view.plane.table(tip);
            let Some(node) = at.and_then(|at| nodes[k].put(at, view)) else {
                continue;
            };
            found.push(Corner {
                ring,
                from: (k + n - first.0 + 1) % n,
                count: first.0 + last.0 - 1,
                apex: k,
                tip,
                node,
            });
        }
    }
    found
}

/// The rings with these corners drawn on, each by a part of the way.
pub fn drawn_on(
    rings: &[Vec<Node>],
    corners: &[(&Corner, f64)],
    view: View,
) -> Option<Vec<Vec<Node>>> {
    let mut out = Vec::new();
    for (ring, nodes) in rings.iter().enumerate() {
        let n = nodes.len();
        let mut gone = vec![false; n];
        let mut put: Vec<Option<Node>> = vec![None; n];
        for (corner, part) in corners.iter().filter(|c| c.0.ring == ring) {
            for j in 0..corner.count {
                gone[(corner.from + j) % n] = true;
            }
            let apex = nodes[corner.apex];
            let tip = apex.at + (corner.node.at - apex.at) * *part;
            put[corner.apex] = Some(corner.node.put(tip, view)?);
        }
        let kept = (0..n).filter_map(|k| put[k].or((!gone[k]).then_some(nodes[k])));
        out.push(kept.collect());
    }
    Some(out)
}

/// Sum of squares of what is not explained, within some blurs of a place.
pub fn unexplained(off: &Field, at: Point<Photo>, reach: f64) -> f64 {
    let mut sum = 0.0;
    let ends = |v: f64, from: usize, n: usize| {
        let low = (v - reach - from as f64).max(0.0) as usize;
        let high = (v + reach - from as f64).max(0.0) as usize;
        low..(high + 1).min(n)
    };
    for y in ends(at.y, off.from[1], off.height) {
        for x in ends(at.x, off.from[0], off.width) {
            sum += f64::from(off.values[y * off.width + x]).powi(2);
        }
    }
    sum
}
