//! The one file that talks to the collision engine, jagua-rs: shapes as it takes them, the
//! areas that they go into, who lies where, and how much a shape overlaps at a place.
//!
//! The engine counts in f32, in a frame's own coordinates, and does not mind what is put
//! into it; [`super::verify`] minds, in f64.

use super::free::Free;
use super::guide::Table;
use super::overlap::{Discs, Size, beyond, beyond_box, overlap};
use jagua_rs::collision_detection::hazards::collector::HazardCollector;
use jagua_rs::collision_detection::hazards::filter::HazardFilter;
use jagua_rs::collision_detection::hazards::{HazKey, Hazard, HazardEntity};
use jagua_rs::collision_detection::{CDEConfig, CDEngine};
use jagua_rs::geometry::Transformation;
use jagua_rs::geometry::fail_fast::SPSurrogateConfig;
use jagua_rs::geometry::geo_enums::GeoPosition;
use jagua_rs::geometry::geo_traits::TransformableFrom;
use jagua_rs::geometry::primitives::{Point, Rect, SPolygon};
use std::sync::Arc;

/// Discs that stand for a shape: 8 if they cover 90 % of it, 16 if 80 %, 64 at most
/// (the paper's values, from memory).
const SURROGATE: SPSurrogateConfig = SPSurrogateConfig {
    n_pole_limits: [(64, 0.0), (16, 0.8), (8, 0.9)],
    ff_pole_area_ratio: 0.5,
    n_ff_piers: 0,
};

const CONFIG: CDEConfig = CDEConfig {
    quadtree_depth: 4,
    cd_threshold: 16,
    item_surrogate_config: SURROGATE,
};

/// What can be in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Obstacle {
    Outside,
    Hole(usize),
    Part(usize),
}

impl HazardEntity for Obstacle {
    fn scope(&self) -> GeoPosition {
        match self {
            Obstacle::Outside => GeoPosition::Exterior,
            Obstacle::Hole(_) | Obstacle::Part(_) => GeoPosition::Interior,
        }
    }

    fn is_dynamic(&self) -> bool {
        matches!(self, Obstacle::Part(_))
    }
}

/// A part's outline as the engine takes it, about the part's origin, turned over already if
/// it lies face down.
#[derive(Debug, Clone)]
pub(super) struct Shape {
    outline: Arc<SPolygon>,
    hull: Vec<Point>,
    pub size: Size,
    /// Lesser side of its box as it is drawn.
    pub breadth: f32,
    pub area: f32,
}

impl Shape {
    /// From a simple outline; `None` if the engine does not take it.
    pub fn new(ring: &[[f32; 2]]) -> Option<Self> {
        let mut outline = polygon(ring)?;
        outline.generate_surrogate(SURROGATE).ok()?;
        let surrogate = outline.surrogate();
        let at = |&k: &usize| outline.vertex(k);
        Some(Self {
            hull: surrogate.convex_hull_indices.iter().map(at).collect(),
            size: Size {
                diameter: outline.diameter(),
                hull: surrogate.convex_hull_area,
            },
            breadth: outline.bbox().width().min(outline.bbox().height()),
            area: outline.area(),
            outline: Arc::new(outline),
        })
    }

    /// The box of the shape turned about its origin.
    pub fn turned_box(&self, turn: f32) -> [f32; 4] {
        let (sin, cos) = turn.sin_cos();
        let mut b = [f32::MAX, f32::MAX, f32::MIN, f32::MIN];
        for p in &self.hull {
            let (x, y) = (cos * p.0 - sin * p.1, sin * p.0 + cos * p.1);
            b = [b[0].min(x), b[1].min(y), b[2].max(x), b[3].max(y)];
        }
        b
    }
}

fn polygon(ring: &[[f32; 2]]) -> Option<SPolygon> {
    SPolygon::new(ring.iter().map(|&[x, y]| Point(x, y)).collect()).ok()
}

/// A place for a part: a frame, and a pose in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub frame: usize,
    /// Radians, counter-clockwise.
    pub turn: f32,
    pub x: f32,
    pub y: f32,
}

impl Spot {
    fn motion(&self) -> Transformation {
        Transformation::from_rotation(self.turn).translate((self.x, self.y))
    }
}

/// A connected free area: parts go into it whole.
#[derive(Debug, Clone)]
pub(super) struct Frame {
    free: Free,
    /// x from, y from, x to, y to.
    pub bounds: [f32; 4],
    pub area: f32,
    engine: CDEngine<Obstacle>,
}

impl Frame {
    /// From the outer ring and the holes; `None` if the engine does not take them.
    pub fn new(outer: &[[f32; 2]], holes: &[Vec<[f32; 2]>], free: Free) -> Option<Self> {
        let outer = polygon(outer)?;
        let b = outer.bbox();
        let mut area = outer.area();
        let square = b.inflate_to_square();
        let mut obstacles = vec![Hazard::new(Obstacle::Outside, Arc::new(outer))];
        for (k, ring) in holes.iter().enumerate() {
            let hole = polygon(ring)?;
            area -= hole.area();
            obstacles.push(Hazard::new(Obstacle::Hole(k), Arc::new(hole)));
        }
        Some(Self {
            free,
            bounds: [b.x_min, b.y_min, b.x_max, b.y_max],
            area,
            engine: CDEngine::new(square, obstacles, CONFIG),
        })
    }

    /// A rectangle from the origin.
    pub fn rectangle(length: f32, width: f32) -> Option<Self> {
        let ring = [[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]];
        Self::new(&ring, &[], Free::Box { length, width })
    }
}

/// A part where it lies.
#[derive(Debug, Clone)]
struct Lying {
    spot: Spot,
    key: HazKey,
    outline: Arc<SPolygon>,
    discs: Discs,
}

/// Frames, and the parts that lie in them; overlaps are allowed.
#[derive(Debug, Clone)]
pub(super) struct Board {
    pub shapes: Arc<[Shape]>,
    pub frames: Vec<Frame>,
    lying: Vec<Option<Lying>>,
}

impl Board {
    pub fn new(shapes: Arc<[Shape]>, frames: Vec<Frame>) -> Self {
        let lying = vec![None; shapes.len()];
        Self {
            shapes,
            frames,
            lying,
        }
    }

    pub fn spot(&self, part: usize) -> Option<Spot> {
        self.lying[part].as_ref().map(|l| l.spot)
    }

    pub fn spots(&self) -> Vec<Option<Spot>> {
        (0..self.lying.len()).map(|part| self.spot(part)).collect()
    }

    /// The box of a part where it lies: x from, y from, x to, y to.
    pub fn bounds(&self, part: usize) -> Option<[f32; 4]> {
        let b = self.lying[part].as_ref()?.outline.bbox();
        Some([b.x_min, b.y_min, b.x_max, b.y_max])
    }

    /// Lays a part, wherever it lay before.
    pub fn lay(&mut self, part: usize, spot: Spot) {
        self.lift(part);
        let mut outline = SPolygon::clone(&self.shapes[part].outline);
        outline.transform_from(&self.shapes[part].outline, &spot.motion());
        self.put(part, spot, Arc::new(outline));
    }

    fn put(&mut self, part: usize, spot: Spot, outline: Arc<SPolygon>) {
        let mut discs = Discs::default();
        discs.set(&outline.surrogate().poles);
        let engine = &mut self.frames[spot.frame].engine;
        engine.register_hazard(Hazard::new(Obstacle::Part(part), Arc::clone(&outline)));
        let key = engine.haz_key(&Obstacle::Part(part));
        self.lying[part] = key.map(|key| Lying {
            spot,
            key,
            outline,
            discs,
        });
    }

    pub fn lift(&mut self, part: usize) {
        if let Some(l) = self.lying[part].take() {
            let engine = &mut self.frames[l.spot.frame].engine;
            engine.deregister_hazard_by_key(l.key);
        }
    }

    /// Lays and lifts until all lie as in `spots`.
    pub fn restore(&mut self, spots: &[Option<Spot>]) {
        for (part, spot) in spots.iter().enumerate() {
            match spot {
                Some(spot) if self.spot(part) != Some(*spot) => self.lay(part, *spot),
                Some(_) => {}
                None => self.lift(part),
            }
        }
    }

    /// The same parts in other frames; none lies any more.
    pub fn reframed(&self, frames: Vec<Frame>) -> Self {
        Self::new(Arc::clone(&self.shapes), frames)
    }
}

/// What a query has met already, so that the engine does not ask of it again.
#[derive(Debug, Clone, Default)]
struct Met(Vec<(HazKey, Obstacle)>);

impl HazardCollector for Met {
    type Entity = Obstacle;

    fn contains_key(&self, key: HazKey) -> bool {
        self.0.iter().any(|(k, _)| *k == key)
    }

    fn insert(&mut self, key: HazKey, obstacle: Obstacle) {
        self.0.push((key, obstacle));
    }

    fn remove_by_key(&mut self, key: HazKey) {
        self.0.retain(|(k, _)| *k != key);
    }

    fn len(&self) -> usize {
        self.0.len()
    }

    fn iter(&self) -> impl Iterator<Item = (HazKey, &Obstacle)> {
        self.0.iter().map(|(k, o)| (*k, o))
    }
}

/// A part is not in its own way.
#[derive(Debug, Clone, Copy)]
struct Own(Option<HazKey>);

impl HazardFilter<Obstacle> for Own {
    fn is_irrelevant(&self, key: HazKey, _: &Obstacle) -> bool {
        self.0 == Some(key)
    }
}

/// Tries places for parts; keeps what it needs for that, to be used again.
#[derive(Debug, Clone)]
pub(super) struct Probe {
    outlines: Vec<SPolygon>,
    discs: Discs,
    met: Met,
    /// How many places were tried.
    pub tried: u64,
}

impl Probe {
    pub fn new(shapes: &[Shape]) -> Self {
        Self {
            outlines: shapes.iter().map(|s| SPolygon::clone(&s.outline)).collect(),
            discs: Discs::default(),
            met: Met::default(),
            tried: 0,
        }
    }

    /// The box of a part at a place.
    pub fn set(&mut self, board: &Board, part: usize, spot: &Spot) -> [f32; 4] {
        let outline = &mut self.outlines[part];
        outline.transform_from(&board.shapes[part].outline, &spot.motion());
        self.discs.set(&outline.surrogate().poles);
        let b = outline.bbox();
        [b.x_min, b.y_min, b.x_max, b.y_max]
    }

    /// Whether a part would lie free of all others there.
    pub fn is_clear(&mut self, board: &Board, part: usize, spot: &Spot) -> bool {
        self.set(board, part, spot);
        self.walk(board, part, spot, |_, _| true);
        self.met.0.is_empty()
    }

    /// What overlap a part would have there, as it weighs; no more is counted once it
    /// reaches `bound`. 0 where it lies free.
    pub fn loss(
        &mut self,
        board: &Board,
        weights: &Table,
        part: usize,
        spot: &Spot,
        bound: f32,
    ) -> f32 {
        let mut sum = 0.0;
        self.set(board, part, spot);
        self.walk(board, part, spot, |other, loss| {
            sum += loss
                * match other {
                    Some(q) => weights.pair(part, q),
                    None => weights.edge(part),
                };
            sum >= bound
        });
        sum
    }

    /// Writes all losses that a part has where it lies into `losses`.
    pub fn note(&mut self, board: &Board, part: usize, losses: &mut Table) {
        losses.clear(part);
        let Some(spot) = board.spot(part) else { return };
        self.set(board, part, &spot);
        self.walk(board, part, &spot, |other, loss| {
            match other {
                Some(q) => losses.set_pair(part, q, loss),
                None => losses.set_edge(part, loss),
            }
            false
        });
    }

    /// Tells each obstacle that the part set before meets, with the loss: another part, or
    /// nothing for the edge. Ends when it is told to.
    fn walk(
        &mut self,
        board: &Board,
        part: usize,
        spot: &Spot,
        mut tell: impl FnMut(Option<usize>, f32) -> bool,
    ) {
        self.tried += 1;
        self.met.0.clear();
        let frame = &board.frames[spot.frame];
        let lies_here = board.lying[part]
            .as_ref()
            .filter(|l| l.spot.frame == spot.frame);
        let own = Own(lies_here.map(|l| l.key));
        let (outline, discs) = (&self.outlines[part], &self.discs);
        let size = board.shapes[part].size;
        let mut edge_is_told = false;
        let mut tally = |obstacle: Obstacle| match obstacle {
            Obstacle::Part(q) => match &board.lying[q] {
                Some(other) => tell(
                    Some(q),
                    overlap((discs, size), (&other.discs, board.shapes[q].size)),
                ),
                None => false,
            },
            Obstacle::Outside | Obstacle::Hole(_) if edge_is_told => false,
            Obstacle::Outside | Obstacle::Hole(_) => {
                edge_is_told = true;
                tell(None, out_of(frame, outline, (discs, size)))
            }
        };
        let engine = &frame.engine;
        // Large overlaps are met by the discs alone.
        if !engine.collect_surrogate_collisions_until(outline, &own, &mut self.met, &mut tally) {
            let _ = engine.collect_poly_collisions_until(outline, &own, &mut self.met, &mut tally);
        }
    }
}

/// How much a shape lies out of a frame.
fn out_of(frame: &Frame, outline: &SPolygon, (discs, size): (&Discs, Size)) -> f32 {
    let b = outline.bbox();
    let free = |x: f32, y: f32| frame.free.at(x, y);
    if let Free::Box { length, width } = frame.free {
        let within = Rect {
            x_min: 0.0,
            y_min: 0.0,
            x_max: length,
            y_max: width,
        };
        let inside = Rect::intersection(b, within).map(|r| r.area());
        let apart = (-free(b.centroid().0, b.centroid().1)).max(0.0);
        return beyond_box(size, b.area(), inside, apart);
    }
    let corners = outline.vertices().iter().map(|p| free(p.0, p.1));
    beyond((discs, size), free, corners.fold(f32::INFINITY, f32::min))
}
