//! The card's height allowed for. Where its edge faces away from the camera's foot one sees
//! the upper rim, which height moves outwards. Where it faces the foot one sees the card's
//! own thickness below the rim, a strip as wide as the rim is moved, of a shade of its own:
//! what looks like the edge may then be the rim or the foot of that strip, or lie between.

use super::camera::Camera;
use super::edge::{Edge, Place, Seen};
use super::ground::Found;
use super::uprights::stood;
use crate::fault::{Fault, Outcome, short};
use crate::space::{Point, Table, Vector};
use statrs::distribution::{ContinuousCDF, Normal};

/// The error that the camera's height may put into the outline, mm.
const ALLOWED: f64 = 0.15;
/// Places on either side that are taken to have a strip of the same shade.
const NEIGHBOURS: usize = 40;
/// Light of the strip that is tried, as a share of the light of the card's top: it is of the
/// same stuff, and stands in half of the room's light, or faces the lamp. *Estimate.*
const SHARES: (f64, f64) = (0.3, 1.1);
/// How many are tried.
const SHADES: usize = 17;
/// px between looks across the edge.
const ACROSS: f64 = 0.5;
/// Neighbouring looks and places err alike: so many are one.
const ALIKE: f64 = 8.0;

/// A card's outlines on the table, and how sure they are.
pub struct Outlines {
    /// The outside counter-clockwise, then the holes clockwise; mm.
    pub rings: Vec<Vec<Point<Table>>>,
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
    thickness: f64,
) -> Outcome<Outlines> {
    if thickness == 0.0 {
        let ring = |e: &Edge| e.places.iter().map(|p| p.table).collect();
        return Ok(Outlines {
            rings: seen.edges.iter().map(ring).collect(),
            height_error2: 0.0,
            strip: 0.0,
            moved: 0.0,
        });
    }
    let unknown = || {
        Fault::input(
            format!(
                "how far the camera was from the card can't be told well enough for its thickness of {} mm",
                short(thickness)
            ),
            "give the height of the lens above the sheet in mm, within 1 in 50",
        )
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
        height_error2: places.iter().map(|p| by_height(p).powi(2)).sum::<f64>() / count,
        strip: 0.0,
        moved: 0.0,
    };
    let sharp = sharpness(seen, camera, thickness);
    for (k, edge) in seen.edges.iter().enumerate() {
        let strips = strips(edge, found, seen, camera, thickness, sharp);
        let mut ring = Vec::with_capacity(edge.places.len());
        for (place, strip) in edge.places.iter().zip(&strips) {
            let low = camera
                .lowered(place.table, thickness)
                .unwrap_or(place.table);
            let by = low - place.table;
            out.moved = out.moved.max(by.length());
            let Some(strip) = strip else {
                ring.push(low);
                continue;
            };
            out.strip = out.strip.max(strip.width);
            if k == 0 {
                out.height_error2 += strip.error.powi(2) / count;
            }
            // Along the edge a place goes with the rim as far as the rim is what is seen.
            let along = by - place.out * place.out.dot(by);
            ring.push(place.table + place.out * strip.foot + along * (1.0 - strip.shade));
        }
        let is_foot: Vec<bool> = strips.iter().map(Option::is_some).collect();
        stood(&edge.places, &is_foot, &mut ring, camera, thickness);
        out.rings.push(ring);
    }
    Ok(out)
}

/// How far a place's rim stands inside the foot of its strip, mm; negative where the rim is
/// what is seen.
fn width(place: &Place, camera: Camera, thickness: f64) -> f64 {
    let outward = (place.table - camera.foot).dot(place.out);
    -outward * thickness / camera.height
}

/// Blur of the edge, px, where no strip is seen; else the sheet's sides could tell, but they
/// lie elsewhere in the picture.
fn sharpness(seen: &Seen, camera: Camera, thickness: f64) -> f64 {
    let rims = seen.edges[0].places.iter();
    let rims = rims
        .filter(|p| width(p, camera, thickness) < 0.0)
        .map(|p| p.blur);
    let rims: Vec<f64> = rims.collect();
    if rims.len() > 50 {
        super::sides::median(rims)
    } else {
        seen.blur
    }
}

/// A strip of the card's thickness, seen.
#[derive(Clone, Copy)]
struct Strip {
    /// mm.
    width: f64,
    /// 0: of the ground's light, 1: of the card's.
    shade: f64,
    /// Where its foot lies, outwards from where the edge was seen, mm.
    foot: f64,
    error: f64,
}

/// The strip at each place where one is seen.
fn strips(
    edge: &Edge,
    found: &Found,
    seen: &Seen,
    camera: Camera,
    thickness: f64,
    blur: f64,
) -> Vec<Option<Strip>> {
    let places = &edge.places;
    let n = places.len();
    let fits: Vec<Option<Fits>> = places
        .iter()
        .map(|p| {
            let width = width(p, camera, thickness);
            (width > 0.0).then(|| Fits::of(p, found, seen, width, blur))
        })
        .collect();
    let strip = |k: usize| {
        let own = fits[k].as_ref()?;
        let mut sums = [0.0; SHADES];
        let mut looks = 0.0;
        let about = NEIGHBOURS.min((n - 1) / 2);
        for j in k + n - about..=k + n + about {
            let Some(fit) = &fits[j % n] else { continue };
            for (sum, square) in sums.iter_mut().zip(&fit.squares) {
                *sum += square;
            }
            looks += fit.looks;
        }
        let best = (0..SHADES).min_by(|&a, &b| sums[a].total_cmp(&sums[b]))?;
        // Shades that the looks do not tell apart: within one of the least χ².
        let one = sums[best] / looks * ALIKE * ALIKE;
        let likely = |s: &usize| sums[*s] <= sums[best] + one;
        let feet: Vec<f64> = (0..SHADES).filter(likely).map(|s| own.feet[s]).collect();
        let most = feet.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = feet.iter().copied().fold(f64::INFINITY, f64::min);
        Some(Strip {
            width: own.width,
            shade: shade(found, &places[k], best).clamp(0.0, 1.0),
            foot: own.feet[best],
            error: (most - least) / 2.0,
        })
    };
    (0..n).map(strip).collect()
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
