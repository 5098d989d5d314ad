//! From a figure in table millimetres to edges in 1/65536 px.

use super::rect::Rect;
use crate::projection::{Mapping, Orientation};
use crate::scene::Figure;
use crate::scene::Level;
use crate::shape::pairs;
use crate::space::{Point, Projector, Table};
use rayon::prelude::*;

/// Straight table edges are split to this length, mm, so that a lens bends
/// them: at 1080p the chord of a lens with k1 = −0.06 is then less than
/// 0.002 px off.
const SPLIT: f64 = 8.0;

/// Fewer vertices than this are projected in less time than it takes to wake another core.
const FEW: usize = 4096;

/// How far outside the picture outlines are followed, px. Beyond it nothing
/// can reach a pixel except by being to the left of it.
const MARGIN: f64 = 2.0;

/// One edge of an outline: from x, from y, to x, to y, in 1/65536 px.
pub type Edge = [i32; 4];

/// An edge with its level, in 255ths of white, as the shader reads it.
pub(super) type LitEdge = [i32; 5];

/// A figure as the picture needs it: its edges, each with its level (negative
/// where the way it is projected turns outlines over), and the pixels they touch.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawn {
    pub(super) edges: Vec<LitEdge>,
    /// Where each closed run of edges ends, and the pixels it touches.
    pub(super) rings: Vec<(usize, Rect)>,
    pub(super) rect: Rect,
}

impl Drawn {
    /// The pixels that the figure touches.
    pub fn rect(&self) -> Rect {
        self.rect
    }

    /// The whole picture evenly lit, by its left side alone.
    pub fn sheet(width: u32, height: u32, level: Level) -> Self {
        Self {
            edges: vec![[0, 0, 0, (height as i32) << 16, i32::from(level.0)]],
            rings: vec![(1, Rect::of_size(width, height))],
            rect: Rect::of_size(width, height),
        }
    }

    /// Takes a figure that is lit evenly to another level, which is not nought.
    pub fn set_level(&mut self, level: Level) {
        let to = i32::from(level.0);
        for edge in &mut self.edges {
            edge[4] = to * edge[4].signum();
        }
    }

    /// The closed runs of edges, each with the pixels that it touches.
    pub(super) fn rings(&self) -> impl Iterator<Item = (&[LitEdge], Rect)> {
        let starts = [0].into_iter().chain(self.rings.iter().map(|r| r.0));
        let spans = starts.zip(&self.rings);
        spans.map(|(start, &(end, rect))| (&self.edges[start..end], rect))
    }

    /// The edges and their levels, for comparison with other rasterisers.
    pub fn edges(&self) -> impl Iterator<Item = (Edge, i32)> + '_ {
        let split = |&[x0, y0, x1, y1, level]: &LitEdge| ([x0, y0, x1, y1], level);
        self.edges.iter().map(split)
    }
}

/// Projects a figure for a picture of the given size. Parts behind the
/// projector's horizon are cut away; a figure that reaches beyond what the lens
/// can light stays dark as a whole, for an outline with a part left out would
/// light the wrong side.
pub fn draw(figure: &Figure, map: &Mapping, width: u32, height: u32) -> Drawn {
    let rings = figure.patches.iter().flat_map(|p| &p.region.rings);
    let (count, points, longest) = rings.fold((0, 0, 0), |(count, points, longest), ring| {
        (count + 1, points + ring.len(), longest.max(ring.len()))
    });
    let mut pen = Pen {
        out: Drawn {
            // Room for some that are split.
            edges: Vec::with_capacity(points + points / 4),
            rings: Vec::with_capacity(count),
            rect: Rect::default(),
        },
        level: 0,
        picture: Rect::of_size(width, height),
        right: f64::from(width) + MARGIN,
        bottom: f64::from(height) + MARGIN,
        low: UNSEEN.0,
        high: UNSEEN.1,
    };
    // An edge lights what lies to its right in the picture, and counts positive
    // running down. Seen the right way round, an outline runs counter-clockwise
    // to the eye, so down its left side.
    let sense = match map.homography.orientation() {
        Orientation::Reads => 1,
        Orientation::Mirrored => -1,
    };
    let mut pixels = Vec::with_capacity(2 * longest);
    for patch in &figure.patches {
        pen.level = sense * i32::from(patch.level.0);
        for ring in &patch.region.rings {
            if project(ring, map, figure.height, &mut pixels).is_none() {
                return Drawn::default();
            }
            pen.ring(&pixels);
        }
    }
    pen.out
}

/// Projects figures, each as [`draw`] does and in their order, on all cores if there is enough
/// to do.
pub fn draw_all(figures: &[Figure], map: &Mapping, width: u32, height: u32) -> Vec<Drawn> {
    let one = |figure| draw(figure, map, width, height);
    let patches = figures.iter().flat_map(|f| &f.patches);
    let vertices: usize = patches.flat_map(|p| &p.region.rings).map(Vec::len).sum();
    if vertices < FEW {
        figures.iter().map(one).collect()
    } else {
        figures.par_iter().map(one).collect()
    }
}

/// One ring's pixels, split to [`SPLIT`] and cut at the horizon. `None` if a
/// point in front of it has no pixel.
fn project(
    ring: &[Point<Table>],
    map: &Mapping,
    height: f64,
    out: &mut Vec<Point<Projector>>,
) -> Option<()> {
    out.clear();
    let Some(&first) = ring.first() else {
        return Some(());
    };
    // The horizon is far off on any real table: most rings lie wholly before it.
    let near = map.depth(first, height).abs() * 1e-3;
    let depth = |p| map.depth(p, height) - near;
    let mut db = depth(first);
    for (a, b) in pairs(ring) {
        let da = db;
        db = depth(b);
        let cut = |t: f64| a + (b - a) * t;
        let (from, to) = match (da > 0.0, db > 0.0) {
            (true, true) => (a, b),
            (true, false) => (a, cut(da / (da - db))),
            (false, true) => (cut(da / (da - db)), b),
            (false, false) => continue,
        };
        out.push(map.pixel(from, height)?);
        let step = to - from;
        if step.square_length() > SPLIT * SPLIT {
            let n = (step.length() / SPLIT).ceil().clamp(1.0, 1e5) as usize;
            for k in 1..n {
                out.push(map.pixel(from + step * (k as f64 / n as f64), height)?);
            }
        }
        if db <= 0.0 {
            out.push(map.pixel(to, height)?);
        }
    }
    Some(())
}

struct Pen {
    out: Drawn,
    /// What the next edges carry.
    level: i32,
    picture: Rect,
    right: f64,
    bottom: f64,
    /// The box round the vertices of the ring at hand.
    low: Point<Projector>,
    high: Point<Projector>,
}

/// The box round nothing.
const UNSEEN: (Point<Projector>, Point<Projector>) = (
    Point::new(f64::INFINITY, f64::INFINITY),
    Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
);

impl Pen {
    /// Adds a ring.
    fn ring(&mut self, ring: &[Point<Projector>]) {
        let before = self.out.edges.len();
        (self.low, self.high) = UNSEEN;
        if ring.iter().all(|p| self.holds(*p)) {
            self.whole(ring);
        } else {
            for (a, b) in pairs(ring) {
                self.edge(a, b);
            }
        }
        let end = self.out.edges.len();
        if end > before {
            // One pixel more on each side holds what rounding may touch.
            let rect = Rect {
                left: self.low.x.floor() as i32 - 1,
                top: self.low.y.floor() as i32 - 1,
                right: self.high.x.ceil() as i32 + 1,
                bottom: self.high.y.ceil() as i32 + 1,
            }
            .intersection(&self.picture);
            self.out.rings.push((end, rect));
            self.out.rect = self.out.rect.union(&rect);
        }
    }

    /// Adds a ring that lies wholly in the picture, as most do: each vertex is
    /// looked at once.
    fn whole(&mut self, ring: &[Point<Projector>]) {
        let Some((&first, rest)) = ring.split_first() else {
            return;
        };
        let start = self.note(first);
        let mut from = start;
        for p in rest {
            let to = self.note(*p);
            self.push(from, to);
            from = to;
        }
        self.push(from, start);
    }

    /// Whether a point lies in the picture, or in the margin round it.
    fn holds(&self, p: Point<Projector>) -> bool {
        p.x >= -MARGIN && p.x <= self.right && p.y >= -MARGIN && p.y <= self.bottom
    }

    /// Adds an edge, cut to the picture: what lies above, below or to the
    /// right covers no pixel; what lies to the left covers as if it stood at
    /// the margin.
    fn edge(&mut self, a: Point<Projector>, b: Point<Projector>) {
        // Cut in y, then split where x crosses either margin.
        let Some((a, b)) = cut_y(a, b, -MARGIN, self.bottom) else {
            return;
        };
        let mut stops = vec![0.0, 1.0];
        for x in [-MARGIN, self.right] {
            let t = (x - a.x) / (b.x - a.x);
            if t > 0.0 && t < 1.0 {
                stops.push(t);
            }
        }
        stops.sort_by(f64::total_cmp);
        let at = |t: f64| {
            if t == 1.0 { b } else { a + (b - a) * t }
        };
        for w in stops.windows(2) {
            let (mut p, mut q) = (at(w[0]), at(w[1]));
            let middle = f64::midpoint(p.x, q.x);
            if middle > self.right {
                continue;
            }
            if middle < -MARGIN {
                p.x = -MARGIN;
                q.x = -MARGIN;
            }
            let (p, q) = (self.note(p), self.note(q));
            self.push(p, q);
        }
    }

    /// A vertex in 1/65536 px; the box grows to hold it.
    fn note(&mut self, p: Point<Projector>) -> [i32; 2] {
        self.low = self.low.min(p);
        self.high = self.high.max(p);
        [p.x, p.y].map(|v| (v * 65536.0).round() as i32)
    }

    /// Adds an edge between two vertices; a level one covers nothing.
    fn push(&mut self, [x0, y0]: [i32; 2], [x1, y1]: [i32; 2]) {
        if y0 != y1 {
            self.out.edges.push([x0, y0, x1, y1, self.level]);
        }
    }
}

/// The part of an edge between two heights, or `None` if it has none.
fn cut_y(
    a: Point<Projector>,
    b: Point<Projector>,
    top: f64,
    bottom: f64,
) -> Option<(Point<Projector>, Point<Projector>)> {
    let (low, high) = (a.y.min(b.y), a.y.max(b.y));
    if high <= top || low >= bottom || low == high {
        return None;
    }
    let hold = |p: Point<Projector>| {
        let y = p.y.clamp(top, bottom);
        if y == p.y {
            p
        } else {
            Point::new(a.x + (b.x - a.x) * ((y - a.y) / (b.y - a.y)), y)
        }
    };
    Some((hold(a), hold(b)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::projection::{Homography, Lens};
    use crate::scene::{Level, Patch};
    use crate::shape::Region;

    fn map() -> Mapping {
        let rows = [[1.2, 0.0, 200.0], [0.0, -1.2, 1000.0], [0.0, 0.0, 1.0]];
        Mapping::plane(Homography::from_rows(rows).unwrap())
    }

    fn square(left: f64, bottom: f64, side: f64) -> Figure {
        let (right, top) = (left + side, bottom + side);
        let ring = [(left, bottom), (right, bottom), (right, top), (left, top)];
        Figure {
            patches: vec![Patch {
                region: Region::ring(ring.map(|(x, y)| Point::new(x, y)).to_vec()),
                level: Level::FULL,
            }],
            height: 0.0,
        }
    }

    /// Twice the signed area of all edges by the shoelace sum, px².
    fn area(drawn: &Drawn) -> f64 {
        let q = |v: i32| f64::from(v) / 65536.0;
        drawn
            .edges()
            .map(|([x0, y0, x1, y1], _)| (q(x0) + q(x1)) * (q(y0) - q(y1)) / 2.0)
            .sum::<f64>()
            .abs()
    }

    #[test]
    fn split_edges_follow_a_bending_lens() {
        let lens = Lens {
            focal: 1820.0,
            centre: Point::new(960.0, 1000.0),
            k1: -0.06,
            k2: 0.01,
            p1: 0.002,
            p2: -0.0015,
        };
        let bent = Mapping {
            lens: Some(lens),
            ..map()
        };
        let mut worst = 0.0f64;
        for k in 0..1400 {
            let p = Point::<Table>::new(f64::from(k % 40) * 30.0, f64::from(k / 40) * 22.0);
            for (dx, dy) in [(SPLIT, 0.0), (0.0, SPLIT), (SPLIT * 0.7, SPLIT * 0.7)] {
                let at = |t: f64| {
                    let q = Point::new(p.x + dx * t, p.y + dy * t);
                    bent.pixel(q, 0.0).unwrap()
                };
                worst = worst.max((at(0.5) - at(0.0).lerp(at(1.0), 0.5)).length());
            }
        }
        assert!(worst < 0.002, "{worst}");
    }

    #[test]
    fn what_hangs_over_the_picture_is_cut_without_changing_the_rest() {
        let whole = draw(&square(100.0, 100.0, 200.0), &map(), 1920, 1080);
        assert!((area(&whole) - 240.0 * 240.0).abs() < 0.01);
        // Over the left and lower border: what is left of them stands at the margin.
        let over = draw(&square(-1e5, -1e5, 1e5 + 100.0), &map(), 1920, 1080);
        let want = (200.0 + 120.0 + MARGIN) * (1080.0 + MARGIN - (1000.0 - 120.0));
        assert!((area(&over) - want).abs() < 0.01, "{} {want}", area(&over));
        assert_eq!(
            over.rect(),
            Rect {
                left: 0,
                top: 879,
                right: 321,
                bottom: 1080
            }
        );
        let beyond = draw(&square(2000.0, 100.0, 50.0), &map(), 1920, 1080);
        assert!(beyond.rect().is_empty());
    }

    #[test]
    fn what_lies_behind_the_horizon_is_cut_away() {
        // Depth falls to zero at y = 1000 mm.
        let rows = [[1.2, 0.0, 200.0], [0.0, -1.2, 1000.0], [0.0, -0.001, 1.0]];
        let map = Mapping::plane(Homography::from_rows(rows).unwrap());
        let drawn = draw(&square(100.0, 500.0, 3000.0), &map, 1920, 1080);
        for ([x0, y0, x1, y1], _) in drawn.edges() {
            let all = [x0, y0, x1, y1].map(|v| f64::from(v) / 65536.0);
            assert!(all.iter().all(|v| (-2.1..=1922.1).contains(v)), "{all:?}");
        }
        assert!(!drawn.rect().is_empty());
        let behind = draw(&square(100.0, 1500.0, 300.0), &map, 1920, 1080);
        assert!(behind.rect().is_empty());
    }
}
