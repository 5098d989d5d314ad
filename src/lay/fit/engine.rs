//! The collision engine, jagua-rs, which only this file and [`super::probe`] talk to: shapes
//! as it takes them, the areas that they go into, who lies where.
//!
//! The engine counts in f32, in a frame's own coordinates, and does not mind what is put
//! into it; [`super::verify`] minds, in f64.

use super::free::Free;
use super::overlap::{Discs, Size};
use jagua_rs::collision_detection::hazards::{HazKey, Hazard, HazardEntity};
use jagua_rs::collision_detection::{CDEConfig, CDEngine};
use jagua_rs::geometry::Transformation;
use jagua_rs::geometry::fail_fast::SPSurrogateConfig;
use jagua_rs::geometry::geo_enums::GeoPosition;
use jagua_rs::geometry::geo_traits::TransformableFrom;
use jagua_rs::geometry::primitives::{Point, SPolygon};
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
    pub(super) outline: Arc<SPolygon>,
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
    pub(super) fn motion(&self) -> Transformation {
        Transformation::from_rotation(self.turn).translate((self.x, self.y))
    }
}

/// A connected free area: parts go into it whole.
#[derive(Debug, Clone)]
pub(super) struct Frame {
    pub(super) free: Free,
    /// x from, y from, x to, y to.
    pub bounds: [f32; 4],
    pub area: f32,
    pub(super) engine: CDEngine<Obstacle>,
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
pub(super) struct Lying {
    pub spot: Spot,
    pub key: HazKey,
    outline: Arc<SPolygon>,
    pub discs: Discs,
}

/// Frames, and the parts that lie in them; overlaps are allowed.
#[derive(Debug, Clone)]
pub(super) struct Board {
    pub shapes: Arc<[Shape]>,
    pub frames: Vec<Frame>,
    pub(super) lying: Vec<Option<Lying>>,
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
