//! Where the inner edge of the light lies along the cut lines.
//!
//! A pixel that the edge crosses is lit in part, and its light says how much:
//! the edge's place follows by inverting the area that a half-plane cuts from
//! a square. Interpolating between pixel centres instead would be off by up to
//! 0.08 px.

use crate::space::{Point, Projector, Table, Vector};

use super::area::Slant;
use super::outline::{Crossing, Outline, cross};
use super::picture::{Levels, Picture};
use super::rig::Rig;

/// Between samples along a cut line, mm.
const SPACING: f64 = 2.0;

/// Samples this close to a corner, in pixels, are skipped.
const CORNER_CLEARANCE: f64 = 2.0;

/// How far from a sample, in pixels, the middle of its pixel may be.
const NEAR: f64 = 1.3;

/// How far from the cut line, in pixels, the light's edge is looked for.
const SEARCH: f64 = 12.0;

/// The stride of that search, in pixels.
const STRIDE: f64 = 0.25;

/// The light a pixel must have, and lack, to place a slanted edge: near
/// nothing and near everything, a small error of light is a large one of place.
const PARTIAL: std::ops::RangeInclusive<f64> = 0.08..=0.92;

/// An edge this much along the pixel grid places itself in any pixel that is
/// neither dark nor full: the least length of its chord.
const FULL_CHORD: f64 = 0.9;

/// A line exactly on the border between two pixels would be in one or the
/// other by rounding, from point to point; so it is moved by this, in pixels.
const OFF_GRID: f64 = 1e-7;

/// An edge slanted less than this may run between dark and full pixels.
const ALONG_GRID: f64 = 0.02;

/// A place where the light is not that of a plain cut line: a notch, a
/// neighbouring piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interruption {
    /// Its middle.
    pub at: Point<Table>,
    /// Samples within this distance are skipped, mm.
    pub radius: f64,
}

/// Where the light's edge was found for one sample.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeSample {
    /// The sample, on the cut line.
    pub at: Point<Table>,
    /// Which of the outlines it lies on.
    pub outline: usize,
    /// How far the light intrudes across the cut line, in pixels; negative
    /// where it stays away.
    pub offset_px: f64,
    /// The same in mm on the table, across the cut line.
    pub offset_mm: f64,
}

/// The result of a search along all outlines.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Edges {
    /// The samples at which the edge was found.
    pub found: Vec<EdgeSample>,
    /// The samples at which there is no edge of light within 12 px.
    pub missing: Vec<Point<Table>>,
    /// The number of samples passed over: at a corner, at an interruption, or
    /// where the outline comes back too soon for a pixel to see one edge only.
    pub skipped: usize,
}

/// Finds the light's edge about every 2 mm along `outlines`.
///
/// The outlines are closed polygons in mm on the table, in the plane `height`
/// mm above it, with the lit side on the right of the direction of travel: a
/// piece's border runs counter-clockwise, a hole in it clockwise. `picture`
/// must be sharp, for blur makes light of its own in pixels the edge does not
/// cross; `levels` are its unlit and fully lit pixels. The lit band must be
/// at least 2 px wide, and no other light may come within 2 px of the line on
/// its dark side but where `interruptions` say so.
pub fn find_edges(
    rig: &Rig,
    picture: &Picture,
    levels: Levels,
    outlines: &[Vec<Point<Table>>],
    height: f64,
    interruptions: &[Interruption],
) -> Edges {
    let lines: Vec<Outline> = outlines
        .iter()
        .map(|polygon| Outline::new(rig, polygon, height))
        .collect();
    let corners: Vec<Point<Projector>> = lines.iter().flat_map(|l| l.corners.clone()).collect();
    let mut edges = Edges::default();
    for (outline, line) in lines.iter().enumerate() {
        let mut due = SPACING / 2.0;
        for (index, station) in line.stations.iter().enumerate() {
            // Rounding must not put a sample off to the next station.
            if station.run + 1e-9 < due {
                continue;
            }
            due += SPACING;
            let at_corner = |c: &Point<_>| (*c - station.pixel).length() < CORNER_CLEARANCE;
            let cut_off = |i: &Interruption| (i.at - station.table).length() < i.radius;
            if corners.iter().any(at_corner) || interruptions.iter().any(cut_off) {
                edges.skipped += 1;
                continue;
            }
            let heading = line.heading(index);
            let probe = Probe {
                light: Light { picture, levels },
                at: station.pixel,
                // Right of the heading where y is down.
                lit: Vector::new(-heading.y, heading.x),
                line: line.around(index),
            };
            match probe.find() {
                Finding::Edge(offset_px) => edges.found.push(EdgeSample {
                    at: station.table,
                    outline,
                    offset_px,
                    offset_mm: on_table(rig, &probe, offset_px, height).unwrap_or(f64::NAN),
                }),
                Finding::Missing => edges.missing.push(station.table),
                Finding::Unclear => edges.skipped += 1,
            }
        }
    }
    edges
}

/// A displacement of the edge by `offset` pixels, in mm across it on the table.
fn on_table(rig: &Rig, probe: &Probe, offset: f64, height: f64) -> Option<f64> {
    let land = |p: Point<Projector>| rig.land(p, height);
    let along = Vector::new(probe.lit.y, -probe.lit.x) * 0.5;
    let heading = land(probe.at + along)? - land(probe.at - along)?;
    let moved = land(probe.at - probe.lit * offset)? - land(probe.at)?;
    // To the left of the heading is into the piece.
    Some(heading.normalize().cross(moved))
}

/// A picture whose light is read as a share of full light.
#[derive(Clone, Copy)]
struct Light<'a> {
    picture: &'a Picture,
    levels: Levels,
}

impl Light<'_> {
    fn share(&self, value: f64) -> f64 {
        (value - self.levels.dark) / (self.levels.full - self.levels.dark)
    }

    /// The light of the pixel that `p` lies in.
    fn at(&self, p: Point<Projector>) -> f64 {
        self.share(self.picture.emits(p))
    }

    /// The light at `p`, interpolated between pixel centres.
    fn smooth(&self, p: Point<Projector>) -> f64 {
        let (x, y) = ((p.x - 0.5).floor(), (p.y - 0.5).floor());
        let (s, t) = (p.x - 0.5 - x, p.y - 0.5 - y);
        let row = |y: f64| {
            let pixel = |x: f64| self.picture.pixel(x, y);
            pixel(x) * (1.0 - s) + pixel(x + 1.0) * s
        };
        self.share(row(y) * (1.0 - t) + row(y + 1.0) * t)
    }
}

/// One sample, and what is needed to find the light's edge near it.
struct Probe<'a> {
    light: Light<'a>,
    at: Point<Projector>,
    /// Unit normal of the cut line, towards the lit side.
    lit: Vector<Projector>,
    /// The cut line near the sample.
    line: Vec<Point<Projector>>,
}

enum Finding {
    Edge(f64),
    Missing,
    Unclear,
}

impl Probe<'_> {
    /// The edge nearest to the cut line: a rise of light, roughly placed by
    /// walking along the normal, then exactly by a pixel's share.
    fn find(&self) -> Finding {
        // Wherever the edge is, it has the cut line's shape; a shape that no
        // pixel sees apart from the rest of the outline cannot be measured.
        if self.crossings(OFF_GRID).is_empty() {
            return Finding::Unclear;
        }
        self.rises()
            .into_iter()
            .find_map(|rise| self.refine(rise + OFF_GRID))
            .map_or(Finding::Missing, Finding::Edge)
    }

    /// The offsets at which the light rises through one half towards the lit
    /// side, nearest first.
    fn rises(&self) -> Vec<f64> {
        let steps = (SEARCH / STRIDE) as i32;
        let offsets = (-steps..=steps).map(|i| f64::from(i) * STRIDE);
        let walk: Vec<(f64, f64)> = offsets
            .map(|offset| (offset, self.light.smooth(self.at - self.lit * offset)))
            .collect();
        let mut rises: Vec<f64> = walk
            .windows(2)
            .filter(|pair| pair[0].1 >= 0.5 && pair[1].1 < 0.5)
            .map(|pair| {
                let ((lit_at, lit), (dark_at, dark)) = (pair[0], pair[1]);
                lit_at + (dark_at - lit_at) * (lit - 0.5) / (lit - dark)
            })
            .collect();
        rises.sort_by(|a, b| a.abs().total_cmp(&b.abs()));
        rises
    }

    /// The exact offset of an edge roughly at `rough`, from the pixel near the
    /// sample that tells it best.
    fn refine(&self, rough: f64) -> Option<f64> {
        let crossings = self.crossings(rough);
        let readings = crossings.iter().filter_map(|(corner, crossing)| {
            let reading = self.read(*corner, crossing)?;
            Some((*corner, reading))
        });
        let best = readings.max_by(|a, b| a.1.worth.total_cmp(&b.1.worth));
        let Some((corner, reading)) = best else {
            // Along the pixel grid an edge may run between dark and full
            // pixels, in none; halfway between their centres is then exact.
            let between: f64 = crossings.iter().map(|(_, c)| along_grid(c)).sum();
            return (between >= FULL_CHORD).then_some(rough);
        };
        // Once more with the line where the edge now is, so that the stretch
        // of a curve within the pixel is the right one.
        let nearer = rough + reading.offset;
        let again = cross(&self.shifted(nearer), corner)
            .and_then(|crossing| self.read(corner, &crossing))
            .map_or(0.0, |reading| reading.offset);
        Some(nearer + again)
    }

    /// The cut line moved by `offset` to its dark side.
    fn shifted(&self, offset: f64) -> Vec<Point<Projector>> {
        let shift = self.lit * -offset;
        self.line.iter().map(|&p| p + shift).collect()
    }

    /// The pixels near the sample that the line, moved by `offset`, crosses.
    fn crossings(&self, offset: f64) -> Vec<(Point<Projector>, Crossing)> {
        let line = self.shifted(offset);
        let at = self.at - self.lit * offset;
        let mut crossings = Vec::new();
        for (dx, dy) in (-2..=2).flat_map(|dx| (-2..=2).map(move |dy| (dx, dy))) {
            let corner = at.floor() + Vector::new(f64::from(dx), f64::from(dy));
            if (middle(corner) - at).length() > NEAR {
                continue;
            }
            if let Some(crossing) = cross(&line, corner) {
                crossings.push((corner, crossing));
            }
        }
        crossings
    }

    /// How far the light's edge in a pixel is to the dark side of the line.
    ///
    /// `None` if the pixel's light does not tell.
    fn read(&self, corner: Point<Projector>, crossing: &Crossing) -> Option<Reading> {
        let chord = crossing.exit - crossing.entry;
        if chord.length() < 0.2 {
            return None;
        }
        let heading = chord.normalize();
        let lit = Vector::new(-heading.y, heading.x);
        let slant = Slant::new(lit.x, lit.y);
        let from_middle = crossing.entry.lerp(crossing.exit, 0.5) - middle(corner);
        // The lit side is −lit·x ≤ c, with this c for the cut line itself.
        let cut = -lit.dot(from_middle) + crossing.bow / chord.length();
        let share = self.light.at(middle(corner));
        let edge = slant.offset(share);
        let through = slant.chord(edge);
        let along_grid = through >= FULL_CHORD && share > 0.0 && share < 1.0;
        let tells = PARTIAL.contains(&share) || along_grid;
        if !(tells && self.rises_across(corner, lit)) {
            return None;
        }
        // A code step of sRGB is a step of light that grows about as
        // light^(1.4/2.4); a long chord makes little of it.
        let step = 0.05 + share.max(0.0).powf(1.4 / 2.4);
        Some(Reading {
            offset: edge - cut,
            worth: through / step,
        })
    }

    /// Whether the light about a pixel goes from dark to lit, as it does where
    /// a lit band goes on to both sides; at its end the pixel would mislead.
    fn rises_across(&self, corner: Point<Projector>, lit: Vector<Projector>) -> bool {
        let dark_side = self.light.at(middle(corner) - lit * 1.5);
        let lit_side = self.light.at(middle(corner) + lit);
        lit_side - dark_side > 0.5
    }
}

/// What one pixel says.
struct Reading {
    offset: f64,
    /// How much the reading is worth beside others.
    worth: f64,
}

/// How much of the line's way through a pixel is along the grid. A line between
/// two rows may pass from one to the other within a pixel.
fn along_grid(crossing: &Crossing) -> f64 {
    let chord = crossing.exit - crossing.entry;
    let length = chord.length();
    if length > 0.0 && Slant::new(chord.x / length, chord.y / length).minor() < ALONG_GRID {
        length
    } else {
        0.0
    }
}

/// The centre of the pixel whose top left corner is `corner`.
fn middle(corner: Point<Projector>) -> Point<Projector> {
    corner + Vector::new(0.5, 0.5)
}
