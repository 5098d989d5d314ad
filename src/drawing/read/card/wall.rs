//! The card's height allowed for. Where its edge faces away from the camera's foot one sees
//! the upper rim, which height moves outwards. Where it faces the foot one sees the card's
//! own thickness below the rim, a strip as wide as the rim is moved, of a shade of its own:
//! what looks like the edge may then be the rim or the foot of that strip, or lie between.

use super::CardPhoto;
use super::edge::{Edge, Place, SMOOTHED, Seen};
use super::ground::Found;
use crate::adjust::median;
use crate::fault::{Fault, Outcome, short};
use crate::photo::Camera;
use crate::space::{Point, Table, Vector};
use statrs::distribution::{ContinuousCDF, Normal};

/// The error that the camera's height may put into the outline, mm.
const ALLOWED: f64 = 0.15;
/// Light of the card's side that is tried, as a share of the light of its top: it is of the
/// same stuff, and stands in half of the room's light, or faces the lamp.
const SHARES: (f64, f64) = (0.05, 1.4);
/// How many are tried.
const SHADES: usize = 19;
/// px between looks across the edge.
const ACROSS: f64 = 0.5;
/// Neighbouring looks and places err alike: so many are one.
const ALIKE: f64 = 8.0;

/// What looking between pixels (1/6 px² on average) and the pixels' own breadth (1/12) add to
/// the variance of the fall.
const BETWEEN: f64 = 0.25;
/// The edge may be blurred so much more than the sheet's sides; more is a shadow.
const SHARPER: f64 = 1.05;
/// Ways that the side faces are told apart by so many.
const WAYS: usize = 36;
/// What the side's light usually is, with its standard deviation: from all round (half of
/// the room is seen from an upright side, and its foot is in the card's own shade), and
/// from a lamp. *Estimate.*
const USUAL: [(f64, f64); 2] = [(0.35, 0.25), (0.0, 0.5)];

/// A card's outlines on the table, and how sure they are.
pub struct Outlines {
    /// The outside counter-clockwise, then the holes clockwise; mm.
    pub rings: Vec<Vec<Point<Table>>>,
    /// Light of the card's side at each place: 0 as the ground, 1 as the card.
    pub shades: Vec<Vec<f64>>,
    /// Blur of the edge where no side is seen, px.
    pub blur: f64,
    /// Mean square of the error, mm², that the strips' shades and the camera's height leave.
    pub height_error2: f64,
    /// Widest strip, mm.
    pub strip: f64,
    /// Farthest that height moved the rim, mm.
    pub moved: f64,
}

/// # Errors
/// If the card is thick and the camera's height can't be told.
pub fn lowered(
    found: &Found,
    seen: &Seen,
    camera: Option<Camera>,
    how: &CardPhoto,
    sheet_blur: f64,
) -> Outcome<Outlines> {
    let thickness = how.thickness;
    if thickness == 0.0 {
        let ring = |e: &Edge| e.places.iter().map(|p| p.table).collect();
        return Ok(Outlines {
            rings: seen.edges.iter().map(ring).collect(),
            shades: seen
                .edges
                .iter()
                .map(|e| vec![1.0; e.places.len()])
                .collect(),
            blur: (seen.blur.powi(2) - BETWEEN).max(0.25).sqrt(),
            height_error2: 0.0,
            strip: 0.0,
            moved: 0.0,
        });
    }
    let unknown = || match how.camera_height {
        Some(height) => Fault::input(
            format!(
                "with the lens {} mm above the sheet, the card's thickness of {} mm can't be allowed for well enough in this photo",
                short(height),
                short(thickness)
            ),
            "check that height, from the lens straight down; if it is right, take the photo from higher up",
        ),
        None => Fault::input(
            format!(
                "how far the camera was from the card can't be told well enough for its thickness of {} mm",
                short(thickness)
            ),
            "give the height of the lens above the sheet in mm by --camera-height, within 1 in 50",
        ),
    };
    let camera = camera
        .filter(|c| c.height > 2.0 * thickness)
        .ok_or_else(unknown)?;
    let places = &seen.edges[0].places;
    let count = places.len() as f64;
    let middle = places
        .iter()
        .fold(Vector::zero(), |m, p| m + p.table.to_vector() / count);
    // ∂/∂h of d·t/h, of what is left once the piece is laid on itself.
    let by_height = |p: &Place| {
        (p.table.to_vector() - middle).length() * thickness / camera.height.powi(2)
            * camera.height_error
    };
    if places.iter().any(|p| by_height(p) > ALLOWED) {
        return Err(unknown());
    }
    let mut out = Outlines {
        rings: Vec::new(),
        shades: Vec::new(),
        blur: 0.0,
        height_error2: places.iter().map(|p| by_height(p).powi(2)).sum::<f64>() / count,
        strip: 0.0,
        moved: 0.0,
    };
    // The sheet's sides are seen without smoothing, and without a shadow beside them.
    let sharp = sharpness(seen, camera, thickness).min(SHARPER * sheet_blur.hypot(SMOOTHED));
    out.blur = (sharp * sharp - BETWEEN).max(0.25).sqrt();
    let fits: Vec<Vec<Option<Fits>>> = seen
        .edges
        .iter()
        .map(|edge| {
            let fit = |p: &Place| {
                let width = width(p, camera, thickness);
                (width > 0.0).then(|| Fits::of(p, found, seen, width, sharp))
            };
            edge.places.iter().map(fit).collect()
        })
        .collect();
    let lit = Lit::of(&seen.edges, &fits);
    for (k, (edge, fits)) in seen.edges.iter().zip(&fits).enumerate() {
        let mut ring = Vec::with_capacity(edge.places.len());
        let mut shades = Vec::with_capacity(edge.places.len());
        for (place, fits) in edge.places.iter().zip(fits) {
            let low = camera.lifted(place.table, thickness).unwrap_or(place.table);
            let by = low - place.table;
            out.moved = out.moved.max(by.length());
            let part = lit.part(way(place));
            let shade = found.shade(place.photo, part);
            shades.push(shade);
            let Some(fits) = fits else {
                ring.push(low);
                continue;
            };
            out.strip = out.strip.max(fits.width);
            if k == 0 {
                let error = lit.error(way(place), &fits.feet);
                out.height_error2 += error.powi(2) / count;
            }
            // Along the edge a place goes with the rim as far as the rim is what is seen.
            let along = by - place.out * place.out.dot(by);
            let foot = between(&fits.feet, part);
            ring.push(place.table + place.out * foot + along * (1.0 - shade.clamp(0.0, 1.0)));
        }
        out.rings.push(ring);
        out.shades.push(shades);
    }
    Ok(out)
}

/// How far a place's rim stands inside the foot of its strip, mm; negative where the rim is
/// what is seen.
fn width(place: &Place, camera: Camera, thickness: f64) -> f64 {
    let outward = (place.table - camera.foot).dot(place.out);
    -outward * thickness / camera.height
}

/// Blur of the edge, px, where no strip is seen, as looks between pixels find it: how far it
/// is from where the card begins to darken, or to lighten, to near the middle of the fall. On
/// that side nothing is told by what the card throws on the ground.
fn sharpness(seen: &Seen, camera: Camera, thickness: f64) -> f64 {
    let rims = seen.edges[0].places.iter();
    let rims = rims.filter(|p| width(p, camera, thickness) < 0.0);
    let mut blurs: Vec<f64> = rims.filter_map(|p| card_side(p, seen)).collect();
    if blurs.len() > 50 {
        median(&mut blurs)
    } else {
        seen.blur
    }
}

/// Levels and where a normal fall of standard deviation 1 has them, from its middle.
const FALLS: [(f64, f64); 2] = [(0.92, -1.4051), (0.6, -0.2533)];

/// Blur of a place of the edge, px, as the card's side of the fall tells it.
pub fn card_side(place: &Place, seen: &Seen) -> Option<f64> {
    let across = place.stride / place.stride.length();
    let level = |x: f64| seen.field.at(place.photo + across * x);
    let crossing = |wanted: f64| {
        let mut x = 0.5;
        while x > -6.0 {
            let (outer, inner) = (level(x), level(x - 0.25));
            if outer < wanted && inner >= wanted {
                return Some(x - 0.25 * (wanted - outer) / (inner - outer));
            }
            x -= 0.25;
        }
        None
    };
    let [(high, a), (low, b)] = FALLS;
    Some((crossing(low)? - crossing(high)?) / (b - a))
}

/// Which of [`WAYS`] a place's edge faces.
fn way(place: &Place) -> usize {
    let turn = place.out.y.atan2(place.out.x) / std::f64::consts::TAU;
    (turn.rem_euclid(1.0) * WAYS as f64) as usize % WAYS
}

/// Of values for the lights that are tried, the one for light `part`.
fn between(values: &[f64; SHADES], part: f64) -> f64 {
    let at = (part - SHARES.0) / (SHARES.1 - SHARES.0) * (SHADES - 1) as f64;
    let at = at.clamp(0.0, (SHADES - 1) as f64);
    let k = (at as usize).min(SHADES - 2);
    values[k] + (values[k + 1] - values[k]) * (at - k as f64)
}

/// Light of the card's side by the way it faces: as much from all round, and what a lamp
/// adds by the cosine of the angle (Lambert's law). Dark table may look like a dark side and
/// light card like a light one; one lamp for all of the edge tells them apart.
struct Lit {
    /// For each way, likeliest, least and most that is likely.
    parts: [[f64; 3]; WAYS],
}

impl Lit {
    fn of(edges: &[Edge], fits: &[Vec<Option<Fits>>]) -> Self {
        let mut squares = [[0.0; SHADES]; WAYS];
        let mut looks = 0.0;
        for (edge, fits) in edges.iter().zip(fits) {
            for (place, fits) in edge.places.iter().zip(fits) {
                let Some(fits) = fits else { continue };
                looks += fits.looks;
                for (sum, square) in squares[way(place)].iter_mut().zip(&fits.squares) {
                    *sum += square;
                }
            }
        }
        let least = |s: &[f64; SHADES]| s.iter().copied().fold(f64::INFINITY, f64::min);
        let one = squares.iter().map(least).sum::<f64>() / f64::max(looks, 1.0) * ALIKE * ALIKE;
        let mut tried = Vec::new();
        for round in 0..15 {
            for lamp in 0..9 {
                for from in 0..if lamp == 0 { 1 } else { 24 } {
                    let (round, lamp) = (0.05 + 0.075 * f64::from(round), 0.15 * f64::from(lamp));
                    let from = f64::from(from) / 24.0;
                    let parts: [f64; WAYS] = std::array::from_fn(|way| {
                        let turn = (way as f64 + 0.5) / WAYS as f64 - from;
                        round + lamp * (turn * std::f64::consts::TAU).cos().max(0.0)
                    });
                    let seen = squares.iter().zip(parts).map(|(s, part)| between(s, part));
                    let off = [(round, USUAL[0]), (lamp, USUAL[1])];
                    let usual = off.map(|(v, (mean, error))| ((v - mean) / error).powi(2));
                    let chi2 = seen.sum::<f64>() / one.max(1e-12) + usual[0] + usual[1];
                    tried.push((chi2, parts));
                }
            }
        }
        let best = tried.iter().min_by(|a, b| a.0.total_cmp(&b.0));
        let mut parts = [[USUAL[0].0; 3]; WAYS];
        let Some(best) = best else {
            return Self { parts };
        };
        for (way, part) in parts.iter_mut().enumerate() {
            *part = [best.1[way]; 3];
            // Lights that the looks do not tell apart: within one of the least χ².
            for (_, other) in tried.iter().filter(|t| t.0 <= best.0 + 1.0) {
                part[1] = part[1].min(other[way]);
                part[2] = part[2].max(other[way]);
            }
        }
        Self { parts }
    }

    fn part(&self, way: usize) -> f64 {
        self.parts[way][0]
    }

    /// What is not known of the light makes of the foot's place, mm.
    fn error(&self, way: usize, feet: &[f64; SHADES]) -> f64 {
        let [_, low, high] = self.parts[way];
        (between(feet, high) - between(feet, low)).abs() / 2.0
    }
}

/// What the `k`th light that is tried shows at a place.
fn shade(found: &Found, place: &Place, k: usize) -> f64 {
    let part = SHARES.0 + (SHARES.1 - SHARES.0) * k as f64 / (SHADES - 1) as f64;
    found.shade(place.photo, part)
}

/// For each shade: where the strip's foot must lie, mm outwards, for the light to be half
/// where it is, and how well all the light across the edge suits that.
struct Fits {
    width: f64,
    feet: [f64; SHADES],
    squares: [f64; SHADES],
    looks: f64,
}

impl Fits {
    fn of(place: &Place, found: &Found, seen: &Seen, width: f64, blur: f64) -> Self {
        let mm = place.stride.length();
        let across = place.stride / mm;
        let wide = width * mm;
        let reach = wide + 2.0 * blur;
        let count = (2.0 * reach / ACROSS) as usize + 1;
        let looks: Vec<(f64, f64)> = (0..count)
            .map(|k| {
                let x = k as f64 * ACROSS - reach;
                (x, seen.field.at(place.photo + across * x))
            })
            .collect();
        let mut fits = Self {
            width,
            feet: [0.0; SHADES],
            squares: [0.0; SHADES],
            looks: count as f64,
        };
        for k in 0..SHADES {
            let shade = shade(found, place, k);
            let light = |x: f64, foot: f64| {
                1.0 - shade * bell(x - foot, blur) - (1.0 - shade) * bell(x - foot + wide, blur)
            };
            // The light at 0 grows with the foot's place.
            let (mut low, mut high) = (-blur, wide + blur);
            for _ in 0..16 {
                let foot = (low + high) / 2.0;
                if light(0.0, foot) < 0.5 {
                    low = foot;
                } else {
                    high = foot;
                }
            }
            let foot = (low + high) / 2.0;
            fits.feet[k] = foot / mm;
            let off = looks
                .iter()
                .map(|&(x, seen)| (seen - light(x, foot)).powi(2));
            fits.squares[k] = off.sum();
        }
        fits
    }
}

/// The share of a normal bell of standard deviation `sigma` that lies below `x`.
fn bell(x: f64, sigma: f64) -> f64 {
    Normal::standard().cdf(x / sigma)
}
