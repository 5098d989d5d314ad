//! The outline moved until what it would show agrees with the photo. Half light alone tells
//! the edge where it is long, straight and lit evenly; here blur, the card's side, and what
//! it hides are drawn as the camera saw them, and the difference says where the outline is
//! still off: in corners, at the ends of slots, at a vee's point.

use super::contour::Field;
use super::corner::{self, Corner};
use super::edge::Seen;
use super::plane::Plane;
use super::redraw::{Drawn, Node, View, right_of};
use super::wall::Outlines;
use crate::photo::Camera;
use crate::space::{Photo, Point, Table, Vector};
use statrs::distribution::{ContinuousCDF, Normal};

/// How often outline and lights are set right.
const ROUNDS: usize = 12;
/// px between places of an outline.
const SPACING: f64 = 1.0;
/// px between looks across the edge.
const ACROSS: f64 = 0.75;
/// How much what is usual counts of the lights, in looks.
const PRIOR: f64 = 0.4;
/// How far corners are drawn on, of the way to where their sides cross.
const PARTS: [f64; 5] = [0.4, 0.7, 0.9, 1.0, 1.2];
/// Places in a loop that is cut out, at most.
const LOOP: usize = 40;
/// Most that a place goes in one round, px.
const STEP: f64 = 0.5;

/// What is known of a place on the outside, at the end.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    pub photo: Point<Photo>,
    /// Light of the ground at the foot, and of the card's side: 0 as the ground is, 1 as the
    /// card's top.
    pub ground: f64,
    pub side: f64,
    /// Breadth of the side that is seen, mm; 0 where it faces away.
    pub breadth: f64,
    /// Root mean square of what is not explained across the edge.
    pub left: f64,
}

/// An outline that agrees with the photo.
pub struct Agreed {
    /// The outside counter-clockwise, then the holes clockwise, mm. A hole may be empty: none
    /// of it was left.
    pub rings: Vec<Vec<Point<Table>>>,
    pub looks: Vec<Look>,
}

/// Rounds until agreement, and corners drawn on. `None` if the outline is lost on the way.
pub fn agreed(
    seen: &Seen,
    plane: &Plane,
    camera: Option<(Camera, f64)>,
    blur: f64,
    outlines: &Outlines,
) -> Option<Agreed> {
    let view = View { plane, camera };
    let field = &seen.field;
    let mut rings = Vec::new();
    for (ring, shades) in outlines.rings.iter().zip(&outlines.shades) {
        let nodes = ring
            .iter()
            .zip(shades)
            .map(|(&p, &s)| Node::new(p, s, view));
        rings.push(nodes.collect::<Option<Vec<Node>>>()?);
    }
    rings = spaced(rings, view)?;
    let fall = fall(&rings, view);
    let mut lights = Lights::of(&rings, field, blur);
    for round in 0..ROUNDS {
        if round % 4 == 3 {
            lights = Lights::of(&rings, field, blur);
        }
        let drawn = Drawn::of(&rings, field, fall);
        let off = difference(&drawn, &lights, field, blur);
        rings = rings
            .iter()
            .map(|ring| moved(ring, &drawn, &lights, &off, [blur, fall], view))
            .collect::<Option<_>>()?;
        rings = spaced(rings, view)?;
    }
    let corners = corner::corners(&rings, blur, view);
    let off =
        |rings: &[Vec<Node>]| difference(&Drawn::of(rings, field, fall), &lights, field, blur);
    // How far each is drawn on is what explains the photo best.
    let mut best: Vec<(f64, Option<f64>)> = {
        let bare = off(&rings);
        let left = |c: &Corner| (corner::unexplained(&bare, c.tip, 3.0 * blur), None);
        corners.iter().map(left).collect()
    };
    for part in PARTS {
        let tried: Vec<(&Corner, f64)> = corners.iter().map(|c| (c, part)).collect();
        let drawn = off(&corner::drawn_on(&rings, &tried, view)?);
        for (corner, best) in corners.iter().zip(&mut best) {
            let left = corner::unexplained(&drawn, corner.tip, 3.0 * blur);
            if left < best.0 {
                *best = (left, Some(part));
            }
        }
    }
    let kept = corners.iter().zip(&best);
    let kept: Vec<(&Corner, f64)> = kept.filter_map(|(c, b)| Some((c, b.1?))).collect();
    rings = corner::drawn_on(&rings, &kept, view)?;
    let left = off(&rings);
    let looks = looks(&rings[0], &lights, &left, blur);
    let places = rings.iter().map(|r| r.iter().map(|n| n.at).collect());
    Some(Agreed {
        rings: places.collect(),
        looks,
    })
}

fn looks(ring: &[Node], lights: &Lights, off: &Field, blur: f64) -> Vec<Look> {
    let n = ring.len();
    let look = |k: usize| {
        let node = &ring[k];
        let (before, after) = (&ring[(k + n - 1) % n], &ring[(k + 1) % n]);
        let out = right_of(after.rim - before.rim);
        let px = (after.foot - before.foot).length();
        let mm = (after.at - before.at).length();
        let wide = (node.foot - node.rim).dot(out);
        let outer = if wide > 0.0 { node.foot } else { node.rim };
        let (_, ground) = lights.near(off, outer + out * (2.0 * blur));
        let across = (-3..=3).map(|j| off.at(outer + out * (f64::from(j) * blur)).powi(2));
        Look {
            photo: outer,
            ground: ground + node.near,
            side: node.shade,
            breadth: wide.max(0.0) * mm / px.max(1e-9),
            left: (across.sum::<f64>() / 7.0).sqrt(),
        }
    };
    (0..n).map(look).collect()
}

/// The ring without the small loops that places make which overtook one another.
fn unlooped(ring: Vec<Node>) -> Vec<Node> {
    let n = ring.len();
    let mut out: Vec<Node> = Vec::with_capacity(n);
    let mut k = 0;
    while k < n {
        out.push(ring[k]);
        let next = |j: usize| ring[(j + 1) % n].at;
        let meets = |j: &usize| cross(ring[k].at, next(k), ring[*j].at, next(*j));
        k = (k + 2..(k + LOOP).min(n - 1))
            .rev()
            .find(meets)
            .unwrap_or(k)
            + 1;
    }
    out
}

fn cross(a: Point<Table>, b: Point<Table>, c: Point<Table>, d: Point<Table>) -> bool {
    let side = |p: Point<Table>, q: Point<Table>, r: Point<Table>| (q - p).cross(r - p);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// Places about [`SPACING`] apart.
fn spaced(rings: Vec<Vec<Node>>, view: View) -> Option<Vec<Vec<Node>>> {
    let mut out = Vec::new();
    for ring in rings {
        let mut even: Vec<Node> = Vec::with_capacity(ring.len());
        for &node in &ring {
            let Some(last) = even.last() else {
                even.push(node);
                continue;
            };
            let far = (node.foot - last.foot).length();
            if far < 0.4 * SPACING {
                continue;
            }
            let parts = (far / (1.6 * SPACING)).ceil();
            let last = *last;
            for k in 1..parts as usize {
                let share = k as f64 / parts;
                let between = |a: f64, b: f64| a + (b - a) * share;
                let mut put = last.put(last.at + (node.at - last.at) * share, view)?;
                put.shade = between(last.shade, node.shade);
                put.usual = between(last.usual, node.usual);
                put.near = between(last.near, node.near);
                even.push(put);
            }
            even.push(node);
        }
        let first = out.is_empty();
        let even = unlooped(even);
        if even.len() >= 8 {
            out.push(even);
        } else if first {
            return None;
        } else {
            out.push(Vec::new());
        }
    }
    Some(out)
}

/// Light of card and ground near the edge, in shares of card, a value for 2 by 2 pixels.
struct Lights {
    width: usize,
    card: Vec<f32>,
    ground: Vec<f32>,
}

impl Lights {
    /// From the pixels that are surely the one or the other, spread towards the edge: means
    /// with the weights of a bell (normalised convolution; H. Knutsson & C.-F. Westin, 1993).
    fn of(rings: &[Vec<Node>], field: &Field, blur: f64) -> Self {
        let drawn = Drawn::of(rings, field, 1.0);
        let (w, h) = (field.width.div_ceil(2), field.height.div_ceil(2));
        let near = (2.2 * blur / 2.0).ceil() as usize;
        let mut is_card = vec![true; w * h];
        let mut is_ground = vec![true; w * h];
        let mut mean = vec![0.0f32; w * h];
        let mut count = vec![0.0f32; w * h];
        for y in 0..field.height {
            for x in 0..field.width {
                let (k, c) = (y * field.width + x, y / 2 * w + x / 2);
                is_card[c] &= drawn.top[k] > 0.999;
                is_ground[c] &= drawn.top[k] + drawn.side[k] < 0.001;
                mean[c] += field.values[k];
                count[c] += 1.0;
            }
        }
        for (m, c) in mean.iter_mut().zip(&count) {
            *m /= c;
        }
        let spread = |is: &[bool], far: f32| {
            let sure = super::coarse::grown(w, h, is, near, true);
            let bell = |values: Vec<f32>, sigma: f64| {
                let f = Field {
                    from: [0, 0],
                    width: w,
                    height: h,
                    values,
                };
                f.blurred(sigma).values
            };
            let weight = |c: usize| if sure[c] { 1.0 } else { 0.0 };
            let weights: Vec<f32> = (0..w * h).map(weight).collect();
            let sums: Vec<f32> = (0..w * h).map(|c| weight(c) * mean[c]).collect();
            let (close, close_sum) = (bell(weights.clone(), 1.8), bell(sums.clone(), 1.8));
            let (wide, wide_sum) = (bell(weights, 6.0), bell(sums, 6.0));
            (0..w * h)
                .map(|c| {
                    // What is near counts most; far from all, what is usual.
                    let (a, b) = (close[c] + 0.02 * wide[c], close_sum[c] + 0.02 * wide_sum[c]);
                    (b + 1e-5 * far) / (a + 1e-5)
                })
                .collect::<Vec<f32>>()
        };
        Self {
            width: w,
            card: spread(&is_card, 1.0),
            ground: spread(&is_ground, 0.0),
        }
    }

    fn cell(&self, x: usize, y: usize) -> usize {
        y / 2 * self.width + x / 2
    }

    fn near(&self, field: &Field, p: Point<Photo>) -> (f64, f64) {
        let x = (p.x - field.from[0] as f64).clamp(0.0, field.width as f64 - 1.0) as usize;
        let y = (p.y - field.from[1] as f64).clamp(0.0, field.height as f64 - 1.0) as usize;
        let c = self.cell(x, y);
        (f64::from(self.card[c]), f64::from(self.ground[c]))
    }
}

/// What the photo shows less what the outline would.
fn difference(drawn: &Drawn, lights: &Lights, field: &Field, blur: f64) -> Field {
    let mut values = Vec::with_capacity(field.values.len());
    for y in 0..field.height {
        for x in 0..field.width {
            let k = y * field.width + x;
            let c = lights.cell(x, y);
            let (top, side) = (drawn.top[k], drawn.side[k]);
            values.push(
                top * lights.card[c]
                    + side * drawn.shade[k]
                    + (1.0 - top - side) * (lights.ground[c] + drawn.near[k]),
            );
        }
    }
    let drawn = Field {
        values,
        from: field.from,
        ..*field
    };
    let mut off = drawn.blurred(blur);
    for (v, seen) in off.values.iter_mut().zip(&field.values) {
        *v = seen - *v;
    }
    off
}

/// What a place's looks say of its own move and of two lights: of its side, and of the
/// ground near its foot.
#[derive(Clone, Copy, Default)]
struct Sums {
    move2: f64,
    off_move: f64,
    both: [f64; 2],
    lights: [[f64; 2]; 2],
    off_lights: [f64; 2],
}

/// px in which what the card's height does to the ground beside it falls off.
fn fall(rings: &[Vec<Node>], view: View) -> f64 {
    let Some((_, thickness)) = view.camera else {
        return 1.5;
    };
    let ring = &rings[0];
    let px = |k: usize| {
        let (a, b) = (&ring[k], &ring[(k + 1) % ring.len()]);
        ((b.foot - a.foot).length(), (b.at - a.at).length())
    };
    let (px, mm) = (0..ring.len())
        .map(px)
        .fold((0.0, 0.0), |s, v| (s.0 + v.0, s.1 + v.1));
    (0.8 * thickness * px / mm).clamp(1.5, 4.0)
}

fn moved(
    ring: &[Node],
    drawn: &Drawn,
    lights: &Lights,
    off: &Field,
    [blur, fall]: [f64; 2],
    view: View,
) -> Option<Vec<Node>> {
    let n = ring.len();
    if n == 0 {
        return Some(Vec::new());
    }
    let looks: Vec<(Sums, Vector<Photo>)> = (0..n)
        .map(|k| {
            let node = &ring[k];
            let (before, after) = (&ring[(k + n - 1) % n], &ring[(k + 1) % n]);
            let out = right_of(after.rim - before.rim);
            (sums(node, out, drawn, lights, off, [blur, fall]), out)
        })
        .collect();
    let weights = [0.15, 0.7, 1.0, 0.7, 0.15];
    let mut result = Vec::with_capacity(n);
    // Lights: of places near by that face the same way.
    let reach = 30.min((n - 1) / 2);
    for k in 0..n {
        let node = ring[k];
        // The moves' part taken out, what is left says which lights would do better.
        let mut lhs = [[PRIOR, 0.0], [0.0, PRIOR]];
        let mut rhs = [PRIOR * (node.usual - node.shade), PRIOR * (0.0 - node.near)];
        for j in k + n - reach..=k + n + reach {
            let (s, out) = &looks[j % n];
            let apart = (j as f64 - (k + n) as f64) / 15.0;
            let same = out.dot(looks[k].1).max(0.0).powi(4) * (-apart * apart).exp();
            let own = 1.0 / (s.move2 + 1e-3);
            for (r, row) in lhs.iter_mut().enumerate() {
                rhs[r] += same * (s.off_lights[r] - s.both[r] * s.off_move * own);
                for (c, v) in row.iter_mut().enumerate() {
                    *v += same * (s.lights[r][c] - s.both[r] * s.both[c] * own);
                }
            }
        }
        let det = lhs[0][0] * lhs[1][1] - lhs[0][1] * lhs[1][0];
        let shade = (rhs[0] * lhs[1][1] - rhs[1] * lhs[0][1]) / det;
        let near = (rhs[1] * lhs[0][0] - rhs[0] * lhs[1][0]) / det;
        let lit = [shade.clamp(-0.1, 0.1), near.clamp(-0.1, 0.1)];
        let (mut num, mut den) = (0.0, 0.0);
        for (j, w) in weights.iter().enumerate() {
            let (s, _) = &looks[(k + n + j - 2) % n];
            num += w * (s.off_move - s.both[0] * lit[0] - s.both[1] * lit[1]);
            den += w * s.move2;
        }
        let by = if den > 1e-3 {
            (0.8 * num / (den + 0.02)).clamp(-STEP, STEP)
        } else {
            0.0
        };
        let out = looks[k].1;
        let (before, after) = (&ring[(k + n - 1) % n], &ring[(k + 1) % n]);
        let along = after.at - before.at;
        let length = along.length().max(1e-9);
        let normal = Vector::<Table>::new(along.y, -along.x) / length;
        let px = (view.see(node.at + normal)?.0 - node.foot).dot(out);
        let mm = if px > 0.1 { by / px } else { 0.0 };
        let mut put = node.put(node.at + normal * mm, view)?;
        put.shade = (node.shade + lit[0]).clamp(-0.4, 1.6);
        put.near = (node.near + lit[1]).clamp(-0.6, 0.9);
        result.push(put);
    }
    Some(result)
}

fn sums(
    node: &Node,
    out: Vector<Photo>,
    drawn: &Drawn,
    lights: &Lights,
    off: &Field,
    [blur, fall]: [f64; 2],
) -> Sums {
    let wide = (node.foot - node.rim).dot(out);
    let faces = wide > 0.0;
    let (card, _) = lights.near(off, node.rim - out * (2.0 * blur));
    let outer = if faces { node.foot } else { node.rim };
    let (_, ground) = lights.near(off, outer + out * (2.0 * blur));
    let ground = ground + node.near * (wide.min(0.0) / fall).exp();
    let bell = |x: f64| (-0.5 * (x / blur).powi(2)).exp() / (blur * std::f64::consts::TAU.sqrt());
    let free = |p: Point<Photo>| {
        let (x, y) = (p.x - off.from[0] as f64, p.y - off.from[1] as f64);
        let inside = x >= 0.0 && y >= 0.0 && x < off.width as f64 && y < off.height as f64;
        if inside {
            1.0 - f64::from(drawn.top[y as usize * off.width + x as usize]).clamp(0.0, 1.0)
        } else {
            0.0
        }
    };
    let foot_free = free(outer + out * 0.7);
    let reach = 2.0 * blur;
    let far = wide.max(0.0) + reach;
    let count = ((far + reach) / ACROSS) as usize + 1;
    let normal = Normal::standard();
    let mut s = Sums::default();
    for j in 0..count {
        let x = -reach + j as f64 * ACROSS;
        // From the rim to its own foot, and straight out beyond either.
        let place = if !faces || x <= 0.0 {
            node.rim + out * x
        } else if x < wide {
            node.rim + (node.foot - node.rim) * (x / wide)
        } else {
            node.foot + out * (x - wide)
        };
        let r = off.at(place);
        let foot = if faces { x - wide } else { x };
        let by_near = normal.cdf(foot / blur) * (-(x - wide).max(0.0) / fall).exp() * foot_free;
        let (by_move, by_shade) = if faces {
            (
                (card - node.shade) * bell(x) + foot_free * (node.shade - ground) * bell(foot),
                normal.cdf(x / blur) - normal.cdf(foot / blur),
            )
        } else {
            ((card - ground) * bell(x), 0.0)
        };
        let by = [by_shade, by_near];
        s.move2 += by_move * by_move;
        s.off_move += by_move * r;
        for i in 0..2 {
            s.both[i] += by_move * by[i];
            s.off_lights[i] += by[i] * r;
            for k in 0..2 {
                s.lights[i][k] += by[i] * by[k];
            }
        }
    }
    s
}
