//! A person who moves a cross of light until it lies upon a mark.

use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use super::normal;
use super::picture::Picture;
use super::rig::Rig;
use crate::space::{Point, Projector, Table, Vector};

/// Half the side, in pixels, of the square about the crossing that the eye
/// looks at. Small, because perspective draws the centroid of a larger one
/// off the crossing: 3 px keep that below 0.0015 px on the workshop's rigs.
const GLANCE: f64 = 3.0;

/// Half the side, in pixels, of the square in which the cross is looked for.
const SEARCH: f64 = 12.0;

/// The hand is content this close to the mark, in pixels.
const CONTENT: f64 = 1e-3;

/// The steps of light in an 8 bit frame may keep the hand from being content;
/// it then takes the best it has had, if that is this close, in pixels.
const TOLERABLE: f64 = 0.05;

/// How often the hand moves the cross.
const MOVES: usize = 16;

/// How unsteady a person is, and how the unsteadiness falls.
#[derive(Debug, Clone)]
pub struct Hand {
    error_px: f64,
    rng: ChaCha8Rng,
}

impl Hand {
    /// A hand that leaves every cross off its mark by normal errors of
    /// standard deviation `error_px` pixels per axis, drawn from `seed`.
    pub fn new(error_px: f64, seed: u64) -> Self {
        Self {
            error_px,
            rng: ChaCha8Rng::seed_from_u64(seed),
        }
    }

    /// Sets the cross that `show` draws onto `mark` on the table top, and
    /// returns where in the picture it was asked to be when the hand let go.
    ///
    /// `show` is given a picture point and returns the frame with a cross
    /// there; the hand begins at `start`. The eye sees light on the table, by
    /// `rig`; whatever `show` does wrong is therefore in the answer.
    ///
    /// `None` if no cross is seen, or none can be brought onto the mark.
    pub fn set_cross(
        &mut self,
        rig: &Rig,
        mark: Point<Table>,
        start: Point<Projector>,
        show: &mut dyn FnMut(Point<Projector>) -> Picture,
    ) -> Option<Point<Projector>> {
        let goal = rig.project(mark.x, mark.y, 0.0);
        let mut at = start;
        let mut best = (TOLERABLE, None);
        for _ in 0..MOVES {
            let seen = seen_cross(rig, &show(at), at)?;
            let off = goal - rig.project(seen.x, seen.y, 0.0);
            if off.length() < best.0 {
                best = (off.length(), Some(at));
            }
            if off.length() < CONTENT {
                break;
            }
            // The cross moves as it is told, so this is a Newton step.
            at += off;
        }
        let [x, y] = normal::pair(&mut self.rng);
        Some(best.1? + Vector::new(x, y) * self.error_px)
    }
}

/// Where on the table the eye sees the crossing of the cross drawn near `near`.
///
/// It is the centroid of the light about the crossing as it lies on the
/// table. Bars a whole number of pixels wide and drawn by coverage have it on
/// their middle line exactly. Bars of another width do not: their light itself
/// is up to 0.08 px off, to and fro, as they move over the pixel grid.
///
/// `None` if there is no light near `near`.
pub fn seen_cross(rig: &Rig, picture: &Picture, near: Point<Projector>) -> Option<Point<Table>> {
    let coarse = settle(picture, near, SEARCH)?;
    let crossing = settle(picture, coarse, GLANCE)?;
    let mut sum = Vector::zero();
    let mut light = 0.0;
    for part in parts(picture, crossing, GLANCE) {
        let [lo, hi] = part.corners;
        let corners = [lo, Point::new(hi.x, lo.y), hi, Point::new(lo.x, hi.y)];
        let mut footprint = [Point::origin(); 4];
        for (landed, corner) in footprint.iter_mut().zip(corners) {
            *landed = rig.land(corner, 0.0)?;
        }
        let (area, moment) = area_and_moment(footprint);
        sum += moment * part.light;
        light += part.light * area;
    }
    // A settled glance has light in it.
    Some((sum / light).to_point())
}

/// Moves a square of half side `half` until it is centred on the light in it.
///
/// With the square centred, each bar of a cross runs off it evenly on both
/// sides, so that its ends do not pull. The bar along an axis halves each
/// step along that axis; forty steps are enough from anywhere.
fn settle(picture: &Picture, near: Point<Projector>, half: f64) -> Option<Point<Projector>> {
    let mut centre = near;
    for _ in 0..40 {
        let (mut pull, mut light) = (Vector::zero(), 0.0);
        for part in parts(picture, centre, half) {
            let [lo, hi] = part.corners;
            let weight = part.light * (hi.x - lo.x) * (hi.y - lo.y);
            pull += (lo.lerp(hi, 0.5) - centre) * weight;
            light += weight;
        }
        if light <= 0.0 {
            return None;
        }
        centre += pull / light;
    }
    Some(centre)
}

/// The part of a pixel within the square that is looked at.
struct Part {
    /// Its top left and bottom right corner.
    corners: [Point<Projector>; 2],
    /// Its light, above that of the darkest pixel in the square: an eye sees
    /// contrast.
    light: f64,
}

/// The pixels under the square about `centre`, cut to it.
fn parts(picture: &Picture, centre: Point<Projector>, half: f64) -> Vec<Part> {
    let reach = Vector::new(half, half);
    let (lo, hi) = (centre - reach, centre + reach);
    // A centre far outside any picture has no pixels worth counting.
    let [width, height] = picture.size().map(f64::from);
    if !(lo.x < width && lo.y < height && hi.x > 0.0 && hi.y > 0.0) {
        return Vec::new();
    }
    let span = |from: f64, to: f64| {
        let count = (to.ceil() - from.floor()) as usize;
        (0..count).map(move |i| from.floor() + i as f64)
    };
    let mut parts = Vec::new();
    for y in span(lo.y, hi.y) {
        for x in span(lo.x, hi.x) {
            let pixel = Point::new(x, y);
            parts.push(Part {
                corners: [pixel.max(lo), (pixel + Vector::new(1.0, 1.0)).min(hi)],
                light: picture.pixel(x, y),
            });
        }
    }
    let dark = parts.iter().map(|p| p.light).fold(f64::INFINITY, f64::min);
    for part in &mut parts {
        part.light -= dark;
    }
    parts
}

/// The area of a quadrilateral and the integral of position over it, both
/// negative if its corners run clockwise. Nothing is divided by, because a cut
/// pixel may be a sliver of no area.
fn area_and_moment(corners: [Point<Table>; 4]) -> (f64, Vector<Table>) {
    let [a, b, c, d] = corners;
    let triangle = |p: Point<Table>, q: Point<Table>| {
        let area = (p - a).cross(q - a) / 2.0;
        (area, ((p - a) + (q - a)) * (area / 3.0))
    };
    let ((first, from_a), (second, also)) = (triangle(b, c), triangle(c, d));
    let area = first + second;
    (area, a.to_vector() * area + from_a + also)
}
