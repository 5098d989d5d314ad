//! The card's edge as the photo shows it: where a pixel's light is half card, half ground.

use super::coarse::Coarse;
use super::contour::Field;
use super::ground::Found;
use super::plane::Plane;
use crate::adjust::median;
use crate::fault::{Fault, Outcome};
use crate::photo::Picture;
use crate::shape::{signed_area, surrounds};
use crate::space::{Photo, Point, Table, Vector};

/// Blur, px, by which noise is taken off before the edge is followed. It rounds a curve of
/// radius r by σ²/2r: 0.03 px at r = 10 px, and draws a square corner in by 0.8 px with the
/// camera's own blur.
pub const SMOOTHED: f64 = 0.8;
/// Most places followed: of a card that fills a photo of 60 million pixels ten times over.
const MOST: usize = 400_000;

/// px²: a smaller one is noise.
const ISLAND: f64 = 3.0;

/// A closed edge, the card on its left (outside counter-clockwise, holes clockwise).
pub struct Edge {
    pub places: Vec<Place>,
}

/// A place on the edge.
#[derive(Debug, Clone, Copy)]
pub struct Place {
    pub photo: Point<Photo>,
    /// As if it lay on the sheet's plane, mm.
    pub table: Point<Table>,
    /// Unit normal out of the card, on the table, and what 1 mm along it is in the photo, px.
    pub out: Vector<Table>,
    pub stride: Vector<Photo>,
    /// Standard deviation of the light's fall, px, the smoothing included.
    pub blur: f64,
}

pub struct Seen {
    /// The outside first, then the holes.
    pub edges: Vec<Edge>,
    /// A place on each thing within a hole that looks like the card.
    pub islands: Vec<Point<Table>>,
    /// Share of card, smoothed.
    pub field: Field,
    /// Median blur of the edge, px, the smoothing included.
    pub blur: f64,
    /// px a mm, least along the edge.
    pub fineness: f64,
}

impl Seen {
    /// # Errors
    /// If the edge can't be followed all round.
    pub fn of(picture: &Picture, coarse: &Coarse, found: &Found, plane: &Plane) -> Outcome<Self> {
        let field = field(picture, coarse, found).ok_or_else(lost)?;
        let mut rings = field.rings(0.5);
        // y runs down: what is counter-clockwise to the eye has a negative area.
        rings.sort_by(|a, b| signed_area(a).total_cmp(&signed_area(b)));
        let outside = rings.first().filter(|r| signed_area(r) < -100.0);
        let outside = outside.ok_or_else(lost)?.clone();
        let within = |r: &&Vec<Point<Photo>>| surrounds(&outside, r[0]);
        let islands = rings[1..].iter().filter(|r| signed_area(r) < -ISLAND);
        let islands = islands.filter(within).filter_map(|r| plane.table(r[0]));
        let islands = islands.collect();
        let holes = rings
            .into_iter()
            .filter(|r| signed_area(r) > 4.0 && r.first().is_some_and(|&p| surrounds(&outside, p)));
        let holes: Vec<_> = holes.collect();
        let rings: Vec<_> = std::iter::once(outside).chain(holes).collect();
        if rings.iter().map(Vec::len).sum::<usize>() > MOST {
            return Err(lost());
        }
        let edges = rings.iter().map(|ring| edge(ring, &field, plane));
        let edges: Vec<Edge> = edges.collect::<Option<_>>().ok_or_else(lost)?;
        let places = &edges[0].places;
        let mut blurs: Vec<f64> = places.iter().map(|p| p.blur).collect();
        let strides = places.iter().map(|p| p.stride.length());
        let fineness = strides.fold(f64::INFINITY, f64::min);
        Ok(Self {
            blur: median(&mut blurs),
            fineness,
            edges,
            islands,
            field,
        })
    }
}

pub fn lost() -> Fault {
    Fault::input(
        "the card's edge can't be followed all round",
        "lay the card on a plain table that differs more from it, in even light",
    )
}

/// The share of card about the card.
fn field(picture: &Picture, coarse: &Coarse, found: &Found) -> Option<Field> {
    let cells = (0..found.about.len()).filter(|&c| found.about[c]);
    let (mut from, mut to) = ([usize::MAX; 2], [0; 2]);
    for cell in cells {
        for (k, v) in [cell % coarse.width, cell / coarse.width]
            .into_iter()
            .enumerate()
        {
            from[k] = from[k].min(v);
            to[k] = to[k].max(v + 1);
        }
    }
    (from[0] < to[0]).then_some(())?;
    let from = from.map(|v| v * coarse.step);
    let to = to.map(|v| v * coarse.step);
    let (width, height) = (to[0] - from[0], to[1] - from[1]);
    let mut values = Vec::with_capacity(width * height);
    for y in from[1]..to[1] {
        for x in from[0]..to[0] {
            let cell = y / coarse.step * coarse.width + x / coarse.step;
            values.push(if found.about[cell] {
                found.share(picture, x, y)
            } else {
                0.0
            });
        }
    }
    let field = Field {
        from,
        width,
        height,
        values,
    };
    Some(field.blurred(SMOOTHED))
}

fn edge(ring: &[Point<Photo>], field: &Field, plane: &Plane) -> Option<Edge> {
    let n = ring.len();
    let table: Vec<Point<Table>> = ring
        .iter()
        .map(|&p| plane.table(p))
        .collect::<Option<_>>()?;
    // Directions from two places on either side: marching squares' own are rough.
    let reach = 2.min((n - 1) / 2);
    let place = |k: usize| {
        let along = table[(k + reach) % n] - table[(k + n - reach) % n];
        let length = along.length();
        let out = if length > 0.0 {
            Vector::new(along.y, -along.x) / length
        } else {
            Vector::new(1.0, 0.0)
        };
        let stride = plane.photo(table[k] + out)? - ring[k];
        let across = stride / stride.length();
        let slope = field.at(ring[k] - across * 0.5) - field.at(ring[k] + across * 0.5);
        Some(Place {
            photo: ring[k],
            table: table[k],
            out,
            stride,
            // A normal fall from 1 to 0 has slope 1/(σ √(2π)) in its middle.
            blur: 1.0 / (slope.max(1e-3) * std::f64::consts::TAU.sqrt()),
        })
    };
    let places = (0..n).map(place).collect::<Option<_>>()?;
    Some(Edge { places })
}
