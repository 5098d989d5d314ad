//! From a job and a mapping to the light, and to the frame that the projector
//! is sent: what `frame` writes and `rehearse` measures.

use crate::calibration::Profile;
use crate::cloth::Panel;
use crate::colour::Tint;
use crate::disk;
use crate::fault::{Fault, Outcome, short};
use crate::job::Job;
use crate::lay::{Checked, Laid, grounds};
use crate::light::{LEAST_BAND_PX, LabelAt, Lamp, Settings};
use crate::projection::Mapping;
use crate::render::{Canvas, Device, Picture, Rect, draw_all};
use crate::scene::Scene;
use crate::shape::{Region, bounds, intersection};
use crate::space::{Point, Projector, Table};
use image::ExtendedColorType;

/// Between points along the picture's border when its light is laid on the
/// table, px: a bent lens makes the border a curve.
const BORDER_STEP: u32 = 32;

/// The longest pixel that is cut by, mm: with a larger one, three pixels of band
/// would hide the piece's neighbours.
const COARSEST: f64 = 5.0;

/// A lay in its light.
#[derive(Debug)]
pub struct Lit<'a> {
    pub laid: Vec<Laid<'a>>,
    pub lamp: Lamp,
    /// Band width, mm.
    pub band: f64,
    /// The pieces that lie beyond the projector's light, or partly, a sentence each.
    pub beyond: Vec<String>,
}

impl Lit<'_> {
    /// What the projector shows: nothing of what is cut, for light must not stay where it was.
    pub fn scene(&self) -> Scene {
        let all = self.lamp.scene().figures.iter().zip(&self.laid);
        let there = all.filter(|(_, l)| !l.is_cut);
        Scene {
            figures: there.map(|(figure, _)| figure.clone()).collect(),
        }
    }

    /// How many pieces are lit.
    pub fn count(&self) -> usize {
        self.laid.iter().filter(|l| !l.is_cut).count()
    }
}

/// Lights a job's lay.
///
/// # Errors
/// If a cloth reaches the lens, or the bundled font can't be read.
pub fn light<'a>(job: &'a Job, profile: &Profile, mapping: &Mapping) -> Outcome<Lit<'a>> {
    let laid = job.laid();
    if let (Some(lens), Some(l)) = (
        mapping.lens_place,
        laid.iter().max_by(|a, b| a.height.total_cmp(&b.height)),
    ) && l.height >= lens.height
    {
        return Err(Fault::input(
            format!(
                "the cloth \"{}\" is {} mm thick, as high as the lens",
                l.cloth,
                short(l.height)
            ),
            "check thickness_mm in the job and height_mm in the profile",
        ));
    }
    let [width, height] = profile.projector_px;
    let reach = reach(profile, mapping, &job.file.panels);
    let seen = |p: Point<Table>, h: f64| seen(mapping, [width, height], p, h).then_some(());
    let ways = job.file.light.unwrap_or_default();
    let settings = Settings {
        band: band(&laid, mapping, profile, ways.lit_width())?,
        side: ways.stands,
        hand: Some(ways.cuts),
        ..Settings::default()
    };
    let beyond = laid.iter().filter(|l| !l.is_cut).filter_map(|l| {
        let points: Vec<_> = l.piece.cut.iter().flatten().collect();
        let dark = points
            .iter()
            .filter(|p| seen(l.pose.point(***p), l.height).is_none())
            .count();
        match dark {
            0 => None,
            n if n == points.len() => Some(format!("{l} lies beyond the projector's light")),
            _ => Some(format!("{l} lies partly beyond the projector's light")),
        }
    });
    let beyond = beyond.collect();
    let mut lamp = Lamp::new(settings)?;
    // A picture stands still: dashes as they are when they begin.
    lamp.creep(ways.creep.then_some(0));
    lamp.light(&laid, &reach);
    Ok(Lit {
        laid,
        lamp,
        band: settings.band,
        beyond,
    })
}

/// Draws a scene as the projector would show it.
pub fn picture(
    device: &Device,
    scene: &Scene,
    mapping: &Mapping,
    [width, height]: [u32; 2],
) -> Outcome<Picture> {
    let mut canvas = Canvas::new(device, width, height)?;
    let drawn = draw_all(&scene.figures, mapping, width, height);
    canvas.redraw(Rect::of_size(width, height), &drawn);
    canvas.read()
}

/// A frame as a PNG, in the light's colour: of white light grey, a byte a pixel.
///
/// # Errors
/// If it can't be encoded: a fault of ours.
pub fn png(frame: &Picture, tint: Tint) -> Outcome<Vec<u8>> {
    let (pixels, kind) = match tint {
        Tint::White => (&frame.codes, ExtendedColorType::L8),
        _ => (&frame.tinted(tint), ExtendedColorType::Rgb8),
    };
    disk::png(pixels, frame.width, frame.height, kind)
}

/// What the person should know, a sentence each.
///
/// # Errors
/// As [`grounds`].
pub fn notes(job: &Job, lit: &Lit) -> Outcome<Vec<String>> {
    let mut notes = job.counts();
    if lit.laid.is_empty() {
        notes.push("nothing is laid, so nothing is lit".to_owned());
    }
    let grounds = grounds(&job.file.panels)?;
    let checked = Checked::new(&lit.laid, &grounds, None, lit.band);
    notes.extend(checked.all().iter().map(|w| checked.sentence(w)));
    notes.extend(lit.beyond.iter().cloned());
    let lit_ones = lit.laid.iter().enumerate().filter(|(_, l)| !l.is_cut);
    for (k, l) in lit_ones {
        if lit.lamp.label(k) == LabelAt::Nowhere {
            notes.push(format!("{l}: no room for its label in the light"));
        }
        let odd = lit.lamp.unprintable(l);
        if !odd.is_empty() {
            notes.push(format!(
                "{l}: light has no letters for {odd}; give it a name that its label can show"
            ));
        }
    }
    notes.extend(job.file.trims.iter().filter(|t| t.on).map(|t| {
        let way = if t.edge_mm < 0.0 { "out" } else { "in" };
        format!(
            "trim on for {}: its light lies {} mm further {way}",
            t.of(),
            short(t.edge_mm.abs())
        )
    }));
    notes.extend(job.pattern_notes.iter().cloned());
    notes.extend(job.left_out.iter().map(|l| format!("left out: {l}")));
    Ok(notes)
}

fn seen(mapping: &Mapping, [width, height]: [u32; 2], p: Point<Table>, h: f64) -> bool {
    mapping.pixel(p, h).is_some_and(|q| {
        q.x >= 0.0 && q.y >= 0.0 && q.x <= f64::from(width) && q.y <= f64::from(height)
    })
}

/// The band's width, mm: what is wished for, or three pixels at the coarsest
/// place where a piece lies.
///
/// # Errors
/// If a pixel there is too long to cut by.
pub fn band(laid: &[Laid], mapping: &Mapping, profile: &Profile, wished: f64) -> Outcome<f64> {
    let size = profile.projector_px;
    let pieces = laid.iter().flat_map(|l| {
        let points = l.piece.cut.iter().flatten();
        points.map(|&p| (l.pose.point(p), l.height))
    });
    let coarsest = pieces
        .filter(|&(p, h)| seen(mapping, size, p, h))
        .filter_map(|(p, h)| mapping.pixel_size(p, h))
        .fold(0.0, f64::max);
    if coarsest > COARSEST {
        return Err(Fault::input(
            format!(
                "a projector pixel is {} mm long where a piece lies, and {COARSEST} mm is the most to \
                 cut by",
                short(coarsest)
            ),
            "hang the projector lower, or lay the piece nearer to it; then set the table anew",
        ));
    }
    // A projector that rescales has longer pixels than it is sent.
    Ok(wished.max(LEAST_BAND_PX * coarsest * profile.finest()))
}

/// What the projector lights of the table top.
pub fn lit_table(mapping: &Mapping, [width, height]: [u32; 2]) -> Region<Table> {
    let mut lit: Vec<Point<Table>> = border(width, height)
        .filter_map(|q| mapping.place(q))
        .collect();
    if crate::shape::signed_area(&lit) < 0.0 {
        lit.reverse();
    }
    Region::ring(lit)
}

/// Where text may stand: lit, and surely on the table, which reaches at least
/// as far as its cloth and the marks it was calibrated by.
pub fn reach(profile: &Profile, mapping: &Mapping, panels: &[Panel]) -> Region<Table> {
    let corners = panels.iter().filter(|p| p.spread).flat_map(|p| {
        let pose = p.on_table.pose();
        p.outline_mm
            .iter()
            .map(move |&c| pose.point(Point::from(c)))
    });
    let marks = profile.marks.iter().map(|m| Point::from(m.table_mm));
    let Some(b) = bounds(corners.chain(marks)) else {
        return Region::default();
    };
    let table = Region::ring(vec![
        b.min,
        Point::new(b.max.x, b.min.y),
        b.max,
        Point::new(b.min.x, b.max.y),
    ]);
    intersection(&table, &lit_table(mapping, profile.projector_px))
}

/// Points along a picture's border, in order.
fn border(width: u32, height: u32) -> impl Iterator<Item = Point<Projector>> {
    let (w, h) = (f64::from(width), f64::from(height));
    let steps = |length: u32| length.div_ceil(BORDER_STEP).max(1);
    let side = move |n: u32, from: (f64, f64), to: (f64, f64)| {
        (0..n).map(move |k| {
            let t = f64::from(k) / f64::from(n);
            Point::new(from.0 + (to.0 - from.0) * t, from.1 + (to.1 - from.1) * t)
        })
    };
    let (nx, ny) = (steps(width), steps(height));
    side(nx, (0.0, h), (w, h))
        .chain(side(ny, (w, h), (w, 0.0)))
        .chain(side(nx, (w, 0.0), (0.0, 0.0)))
        .chain(side(ny, (0.0, 0.0), (0.0, h)))
}
