//! What the person should know of a card that was read, one sentence each.

use super::camera::Camera;
use super::edge::{Place, SMOOTHED, Seen};
use super::ground::Found;
use super::plane::Plane;
use super::sheet::Sheet;
use super::wall::Outlines;
use crate::fault::short;
use crate::pattern::piece::PatternPiece;
use crate::shape::bounds;
use crate::space::{Piece, Point};

/// px a mm below which half a millimetre is not kept: a corner is drawn in by some 0.9 px.
const COARSE: f64 = 2.0;
/// Blur, mm, that wants another look (what is asked of the outline), where it is also so
/// many times the sheet's.
const BLURRED: (f64, f64) = (0.5, 1.5);
/// How much of the contrast the light just outside the edge may be off the ground's.
const SHADED: f64 = 0.3;
/// Least share of the edge that is worth a sentence.
const WORTH: f64 = 0.05;

/// A narrow cut into the edge.
#[derive(Debug, Clone, Copy)]
pub struct Cut {
    /// Its deepest place.
    pub at: Point<Piece>,
    /// mm.
    pub depth: f64,
    /// Its area over its depth, mm.
    pub width: f64,
}

/// All that is known of a card.
pub struct About<'a> {
    pub sheet: &'a Sheet,
    pub plane: &'a Plane,
    pub found: &'a Found,
    pub seen: &'a Seen,
    pub outlines: &'a Outlines,
    pub camera: Option<Camera>,
    pub piece: &'a PatternPiece,
    pub cuts: &'a [Cut],
    pub standard_error: f64,
    pub thickness: f64,
}

/// A hole that is neither cut out nor drilled.
pub fn mark(at: Point<Piece>, across: f64) -> String {
    format!(
        "what looks like ground within the card at {}, {} mm, {} mm across: a mark or a tear",
        short(round(at.x)),
        short(round(at.y)),
        short(round(across)),
    )
}

fn round(v: f64) -> f64 {
    (v * 10.0).round() / 10.0
}

pub fn notes(about: &About) -> Vec<String> {
    let [w, h] = about.sheet.size;
    let mut notes = Vec::new();
    if let Some(b) = bounds(about.piece.cut.iter().flatten().copied()) {
        notes.push(format!(
            "the card is {} mm wide and {} mm high as it lies in the photo, with a standard error of {} mm along its edge: measure it",
            short(round(b.width())),
            short(round(b.height())),
            short((about.standard_error * 100.0).round() / 100.0),
        ));
    }
    notes.push(format!(
        "the sheet was taken to be {} by {} mm: cut paper may be 1 to 2 mm off (ISO 216), and the card with it, in proportion",
        short(w),
        short(h),
    ));
    if let (Some(camera), true) = (about.camera, about.thickness > 0.0) {
        notes.push(format!(
            "the card's height was allowed for, up to {} mm: the lens was {} mm above the sheet, give or take {}",
            short((about.outlines.moved * 100.0).round() / 100.0),
            short(camera.height.round()),
            short(camera.height_error.ceil()),
        ));
    }
    if about.thickness > 0.0 && about.outlines.strip > 0.5 {
        notes.push(format!(
            "the card's thickness is seen from the side, up to {} mm of it, which hides as much of the inner end of a narrow cut: hold the camera over the card's middle",
            short(round(about.outlines.strip)),
        ));
    }
    if about.plane.k1() != 0.0 {
        notes.push(format!(
            "the sheet's sides are bent in the photo: the lens was straightened by k1 = {} at the picture's longer side",
            short((about.plane.k1() * 1e4).round() / 1e4),
        ));
    }
    for cut in about.cuts {
        notes.push(format!(
            "there is a cut into the edge at {}, {} mm, {} mm deep and about {} wide: a notch, or a tear",
            short(round(cut.at.x)),
            short(round(cut.at.y)),
            short(round(cut.depth)),
            short(round(cut.width)),
        ));
    }
    notes.extend(sharpness(about));
    for [x, y] in &about.found.others {
        notes.push(format!(
            "there is something else on the table at {}, {} px",
            x.round(),
            y.round()
        ));
    }
    notes
}

fn sharpness(about: &About) -> Vec<String> {
    let seen = about.seen;
    let mut notes = Vec::new();
    if seen.fineness < COARSE {
        notes.push(format!(
            "the photo has only {} px to a mm at the card: take it from nearer or larger",
            short(round(seen.fineness)),
        ));
    }
    let places = &seen.edges[0].places;
    let blur =
        |p: &Place| (p.blur * p.blur - SMOOTHED * SMOOTHED).max(0.0).sqrt() / p.stride.length();
    let worth = |count: usize| count as f64 > WORTH * places.len() as f64;
    // Where the card's thickness is seen, light does not fall in one step.
    let rim = |p: &&Place| match about.camera {
        Some(camera) if about.thickness > 0.0 => (p.table - camera.foot).dot(p.out) >= 0.0,
        _ => true,
    };
    let soft = |p: &&Place| {
        let sheets = about.sheet.sides.blur / p.stride.length();
        blur(p) > BLURRED.0.max(BLURRED.1 * sheets)
    };
    let soft = places.iter().filter(rim).filter(soft);
    let soft: Vec<&Place> = soft.collect();
    if worth(soft.len()) {
        notes.push(format!(
            "the card's edge is blurred over {} of its length, as at {}: it may not lie flat, or the camera moved",
            share(soft.len(), places.len()),
            place(soft[soft.len() / 2]),
        ));
    }
    let shaded: Vec<&Place> = places.iter().filter(|p| is_shaded(about, p)).collect();
    if worth(shaded.len()) {
        notes.push(format!(
            "along {} of the card's edge, as at {}, card or table are not as they are elsewhere: a shadow or something that lies there may draw the edge out, so look at it and light it from several sides",
            share(shaded.len(), places.len()),
            place(shaded[shaded.len() / 2]),
        ));
    }
    notes
}

/// Whether the light from 3 to 6 blurs off is not the ground's outside, or not the card's
/// inside: there the edge may be a shadow's.
fn is_shaded(about: &About, place: &Place) -> bool {
    let across = place.stride / place.stride.length();
    let strip = about.outlines.strip * place.stride.length();
    let light = |side: f64| {
        let looks = (0..5).map(|k| {
            let off = strip + about.seen.blur * (3.0 + 0.75 * f64::from(k));
            about.seen.field.at(place.photo + across * (side * off))
        });
        looks.sum::<f64>() / 5.0
    };
    let [card, ground] = about.found.uneven.map(|u| SHADED.max(2.5 * u));
    light(1.0).abs() > ground || (light(-1.0) - 1.0).abs() > card
}

fn share(part: usize, of: usize) -> String {
    format!("{} %", (100.0 * part as f64 / of as f64).round())
}

fn place(p: &Place) -> String {
    format!("{}, {} px", p.photo.x.round(), p.photo.y.round())
}
