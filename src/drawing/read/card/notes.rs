//! What the person should know of a card that was read, one sentence each.

use super::agree::Look;
use super::edge::{Place, SMOOTHED, Seen};
use super::ground::Found;
use super::plane::Plane;
use super::sheet::Sheet;
use super::wall::{Outlines, card_side};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::PatternPiece;
use crate::photo::Camera;
use crate::shape::bounds;
use crate::space::{Piece, Point};

/// px a mm below which half a millimetre is not kept: a corner is drawn in by some 0.9 px, and
/// more where the card's side is beside it.
const COARSE: f64 = 2.2;
/// Blur, mm, that wants another look (what is asked of the outline), where it is also so
/// many times the sheet's.
const BLURRED: (f64, f64) = (0.5, 1.5);
/// Ground at the card's foot that is this much like the card is hardly told from it.
const SHADED: f64 = 0.4;
/// Share of the contrast that may be left unexplained across the edge.
const UNEXPLAINED: f64 = 0.12;
/// mm of the card's side that is worth a sentence, if its light is so near to the top's.
const SIDE: f64 = 0.5;
const SAME: f64 = 0.2;
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
    /// How far its inner end may lie behind the card's own side, mm, which is told from the
    /// card's top by nothing; 0 if that end is seen.
    pub hidden: f64,
}

/// All that is known of a card.
pub struct About<'a> {
    pub sheet: &'a Sheet,
    pub plane: &'a Plane,
    pub found: &'a Found,
    pub seen: &'a Seen,
    pub outlines: &'a Outlines,
    pub looks: &'a [Look],
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

/// All that is print, by its middle and how far it goes across, mm: one sentence.
pub fn printed(marks: &[(Point<Piece>, f64)]) -> Option<String> {
    let (at, across) = marks.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let at = format!("{}, {} mm", short(round(at.x)), short(round(at.y)));
    let across = short(round(*across));
    Some(match marks.len() {
        1 => format!("print on the card at {at}, {across} mm across: no hole was made of it"),
        n => format!(
            "print on the card, {n} marks, the largest {across} mm across at {at}: no holes were made of them"
        ),
    })
}

fn round(v: f64) -> f64 {
    (v * 10.0).round() / 10.0
}

pub fn notes(about: &About) -> Vec<String> {
    let [w, h] = about.sheet.size;
    let mut notes = Vec::new();
    if let Some(b) = bounds(about.piece.cut.iter().flatten().copied()) {
        notes.push(format!(
            "the card is {} mm wide and {} mm high as it lies in the photo, with a typical miss of {} mm along its edge: measure it",
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
    if about.plane.k1() != 0.0 {
        notes.push(format!(
            "the sheet's sides are bent in the photo: the lens was straightened (k1 = {}) at the picture's longer side",
            short((about.plane.k1() * 1e4).round() / 1e4),
        ));
    }
    for cut in about.cuts {
        let hidden = match cut.hidden {
            0.0 => String::new(),
            mm => format!(
                "; the card's thickness, seen from the side, hides its inner end, which may lie up to {} mm deeper: measure it, or hold the camera over the card's middle",
                short(round(mm)),
            ),
        };
        notes.push(format!(
            "there is a cut into the edge at {}, {} mm, {} mm deep and about {} wide: a notch, or a tear{hidden}",
            short(round(cut.at.x)),
            short(round(cut.at.y)),
            short(round(cut.depth)),
            short(round(cut.width)),
        ));
    }
    notes.extend(sharpness(about));
    notes.extend(doubts(about));
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
    let blur = |p: &Place| {
        let found = card_side(p, seen).unwrap_or(0.0);
        (found * found - SMOOTHED * SMOOTHED).max(0.0).sqrt() / p.stride.length()
    };
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
    let other: Vec<&Place> = places.iter().filter(|p| is_other(about, p)).collect();
    if worth(other.len()) {
        notes.push(format!(
            "along {} of the card's edge, as at {}, what lies inside it is not as the card is: a shadow may have been taken for card, so look at it and light it from several sides",
            share(other.len(), places.len()),
            place(other[other.len() / 2]),
        ));
    }
    notes
}

/// Light inside the edge that differs from the card's by more than this is not the card's,
/// as a share of the contrast between card and ground.
const OTHER: f64 = 0.25;

/// Whether the light from 3 to 6 blurs inside the edge is plainly not the card's.
fn is_other(about: &About, place: &Place) -> bool {
    let across = place.stride / place.stride.length();
    let strip = about.outlines.strip * place.stride.length();
    let looks = (0..5).map(|k| {
        let off = strip + about.seen.blur * (3.0 + 0.75 * f64::from(k));
        about.seen.field.at(place.photo - across * off)
    });
    let light = looks.sum::<f64>() / 5.0;
    (light - 1.0).abs() > OTHER.max(4.0 * about.found.uneven[0])
}

/// Where the edge can't be told well, and why.
fn doubts(about: &About) -> Vec<String> {
    let looks = about.looks;
    let mut notes = Vec::new();
    let mut tell = |is: &dyn Fn(&Look) -> bool, says: &dyn Fn(String, String) -> String| {
        let such: Vec<&Look> = looks.iter().filter(|l| is(l)).collect();
        if such.len() as f64 > WORTH * looks.len() as f64 {
            let at = such[such.len() / 2].photo;
            let at = format!("{}, {} px", at.x.round(), at.y.round());
            notes.push(says(share(such.len(), looks.len()), at));
        }
    };
    tell(&is_alike, &|part, at| {
        format!(
            "along {part} of the card's edge, as at {at}, the ground beside it is nearly as the card is, by a shadow or its own colour: the edge may be drawn out there, so look at it and light it from several sides"
        )
    });
    tell(&|l| !is_alike(l) && l.left > UNEXPLAINED, &|part, at| {
        format!(
            "along {part} of the card's edge, as at {at}, card or table are not as they are elsewhere: a shadow or something that lies there may draw the edge out, so look at it"
        )
    });
    tell(
        &|l| l.breadth > SIDE && (l.side - 1.0).abs() < SAME,
        &|part, at| {
            format!(
                "along {part} of the card's edge, as at {at}, its thickness is seen from the side and is as light as its top, which hides as much of the inner end of a narrow cut: hold the camera over the card's middle"
            )
        },
    );
    notes
}

/// Whether card and ground are hardly told apart at a place.
fn is_alike(look: &Look) -> bool {
    look.ground > SHADED
}

/// The share of the edge along which they are.
fn alike(looks: &[Look]) -> f64 {
    let alike = looks.iter().filter(|l| is_alike(l)).count();
    alike as f64 / looks.len().max(1) as f64
}

/// Along which share of the edge nothing says where it is, as card and ground are hardly
/// told apart there or what was taken for card may be a shadow; and one place there, px.
pub fn doubtful(about: &About) -> (f64, Option<[f64; 2]>) {
    let places = &about.seen.edges[0].places;
    let others: Vec<&Place> = places.iter().filter(|p| is_other(about, p)).collect();
    let other = others.len() as f64 / places.len().max(1) as f64;
    let alike_at: Vec<&Look> = about.looks.iter().filter(|l| is_alike(l)).collect();
    let alike = alike(about.looks);
    let at = match alike >= other {
        true => alike_at.get(alike_at.len() / 2).map(|l| l.photo),
        false => others.get(others.len() / 2).map(|p| p.photo),
    };
    ((alike + other).min(1.0), at.map(|p| [p.x, p.y]))
}

/// The share of the edge from which nothing is written unasked: of 28 photos that nothing
/// was tuned on, those with less were true to 0.4 mm everywhere, those with more were up to
/// 8 mm off at some place.
pub const DOUBTFUL: f64 = 0.02;

/// # Errors
/// If card and ground are alike along half of the edge.
pub fn told_apart(looks: &[Look]) -> Outcome<()> {
    if alike(looks) > 0.5 {
        return Err(Fault::input(
            "card and table are hardly told apart along most of the card's edge",
            "lay the card on a table of another colour or shade, and light it from several sides",
        ));
    }
    Ok(())
}

fn share(part: usize, of: usize) -> String {
    format!("{} %", (100.0 * part as f64 / of as f64).round())
}

fn place(p: &Place) -> String {
    format!("{}, {} px", p.photo.x.round(), p.photo.y.round())
}
