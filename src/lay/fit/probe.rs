//! How much a part overlaps at a place, by the collision engine.

use super::engine::{Board, Frame, Obstacle, Shape, Spot};
use super::free::Free;
use super::guide::Table;
use super::overlap::{Discs, Size, beyond, beyond_box, overlap};
use jagua_rs::collision_detection::hazards::HazKey;
use jagua_rs::collision_detection::hazards::collector::HazardCollector;
use jagua_rs::collision_detection::hazards::filter::HazardFilter;
use jagua_rs::geometry::geo_traits::TransformableFrom;
use jagua_rs::geometry::primitives::{Rect, SPolygon};

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
