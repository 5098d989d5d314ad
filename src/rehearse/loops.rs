//! One turn of the loop: calibrate, light, draw, and let the twin measure.

use crate::calibration::{MarkRow, Profile};
use crate::colour::decode_srgb;
use crate::fault::{Fault, Outcome};
use crate::frame::{Lit, light, picture};
use crate::job::Job;
use crate::projection::{Homography, Mapping};
use crate::render::{Canvas, Device, Picture, Rect, draw};
use crate::scene::{Figure, Level, Patch, Scene};
use crate::shape::{Region, difference, intersection, offset, union};
use crate::space::{Point, Projector, Table};
use crate::twin::edge::{Interruption, find_edges};
use crate::twin::exact::{CoverageError, ExactLight};
use crate::twin::hand::Hand;
use crate::twin::notch::{Notch, notch_tip};
use crate::twin::picture::{Levels, Picture as Seen, Response};
use crate::twin::rig::Rig;
use crate::twin::stats::Spread;

/// The rehearsed table's marks, mm: 20 mm inside its corners.
const MARKS: [[f64; 2]; 4] = [[20.0, 20.0], [1180.0, 20.0], [1180.0, 780.0], [20.0, 780.0]];

/// The seed of the rehearsed hand, so that a rehearsal can be repeated.
const HAND_SEED: u64 = 20;

/// Inside a cut line, other light nearer than this spoils the sight of the
/// band's edge, mm.
const SIGHT: f64 = 3.0;

/// Arms and half width of a calibration cross, px. Whole pixels, so that its
/// light has its middle on its middle line.
const CROSS: (f64, f64) = (40.0, 1.0);

/// What one turn of the loop found.
#[derive(Debug, Clone)]
pub struct Loop {
    pub name: &'static str,
    pub figures: Figures,
}

/// Where the light lay. Signed errors are positive where light intrudes into
/// the piece.
#[derive(Debug, Clone)]
pub struct Figures {
    pub edge_px: Spread,
    pub edge_mm: Spread,
    /// Samples without any edge of light within 12 px.
    pub missing: usize,
    /// Samples too near a corner, a notch or another light to be judged.
    pub skipped: usize,
    /// Slit notches: place along the edge, and depth, mm.
    pub notch_along_mm: Option<Spread>,
    pub notch_depth_mm: Option<Spread>,
    /// Against exact area coverage, where the loop has error-free marks.
    pub coverage: Option<CoverageError>,
}

/// A calibration that knows everything, lens and height too: measures the
/// drawing on top of each cloth.
pub fn known(device: &Device, job: &Job, rig: &Rig, profile: &Profile) -> Outcome<Figures> {
    let mapping = profile.mapping()?;
    let lit = light(job, profile, &mapping)?;
    let frame = picture(device, lit.lamp.scene(), &mapping, profile.projector_px)?;
    measure(rig, &lit, &frame, true)
}

/// Marks without error: measures the drawing alone, in the table's plane.
pub fn exact(device: &Device, job: &Job, rig: &Rig) -> Outcome<(Profile, Loop)> {
    let rows = MARKS.map(|[x, y]| MarkRow {
        table: Point::new(x, y),
        projector: rig.project(x, y, 0.0),
    });
    let profile = Profile::of_four(&rows, rig.optics().size, false)?;
    let mapping = profile.mapping()?;
    let lit = light(job, &profile, &mapping)?;
    let frame = picture(device, lit.lamp.scene(), &mapping, profile.projector_px)?;
    let mut figures = measure(rig, &lit, &frame, false)?;
    figures.coverage = Some(coverage(lit.lamp.scene(), &mapping, &frame));
    let name = "marks without error, seen on the table plane";
    Ok((profile, Loop { name, figures }))
}

/// Marks set by a hand that watches the light of rendered frames.
/// `on_cloth`: the light is met at the top of each cloth, not on the table.
pub fn by_hand(
    device: &Device,
    job: &Job,
    rig: &Rig,
    hand_px: f64,
    on_cloth: bool,
) -> Outcome<Loop> {
    let [width, height] = rig.optics().size;
    let mut canvas = Canvas::new(device, width, height)?;
    let mut hand = Hand::new(hand_px, HAND_SEED);
    let (w, h) = (f64::from(width), f64::from(height));
    // Where a cross first lights: a fifth in from the picture's corners.
    let starts = [[0.2, 0.8], [0.8, 0.8], [0.8, 0.2], [0.2, 0.2]];
    let pixels = width as usize * height as usize;
    let dark = Seen::from_light(width, height, vec![0.0; pixels])
        .ok_or_else(|| Fault::mistake("the rehearsed projector has no pixels"))?;
    let mut rows = Vec::new();
    for ([x, y], [u, v]) in MARKS.into_iter().zip(starts) {
        let mark = Point::new(x, y);
        let mut broken = None;
        let mut show = |at: Point<Projector>| match cross(&mut canvas, at) {
            Ok(seen) => seen,
            Err(fault) => {
                broken = Some(fault);
                dark.clone()
            }
        };
        let set = hand.set_cross(rig, mark, Point::new(u * w, v * h), &mut show);
        if let Some(fault) = broken {
            return Err(fault);
        }
        let projector = set.ok_or_else(|| {
            Fault::mistake("the rehearsed hand could not set a cross on its mark")
        })?;
        rows.push(MarkRow {
            table: mark,
            projector,
        });
    }
    let rows: [MarkRow; 4] = rows
        .try_into()
        .map_err(|_| Fault::mistake("a mark was lost"))?;
    let profile = Profile::of_four(&rows, rig.optics().size, false)?;
    let mapping = profile.mapping()?;
    let lit = light(job, &profile, &mapping)?;
    let frame = picture(device, lit.lamp.scene(), &mapping, profile.projector_px)?;
    let bent = *rig != Rig::workshop();
    Ok(Loop {
        name: match (on_cloth, bent) {
            (false, _) => "marks set by hand, seen on the table plane",
            (true, false) => "marks set by hand, seen on top of each cloth",
            (true, true) => "the same, through a lens that bends (unknown to four marks)",
        },
        figures: measure(rig, &lit, &frame, on_cloth)?,
    })
}

/// A frame that shows one cross.
fn cross(canvas: &mut Canvas, at: Point<Projector>) -> Outcome<Seen> {
    let (width, height) = canvas.size();
    // The scene is laid out in px: a map that changes nothing.
    let rows = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let same = Homography::from_rows(rows)
        .ok_or_else(|| Fault::mistake("the rehearsed picture could not be laid out"))?;
    let map = Mapping::plane(same);
    let (arm, half) = CROSS;
    let bar = |rx: f64, ry: f64| -> Region<Table> {
        Region::ring(vec![
            Point::new(at.x - rx, at.y - ry),
            Point::new(at.x + rx, at.y - ry),
            Point::new(at.x + rx, at.y + ry),
            Point::new(at.x - rx, at.y + ry),
        ])
    };
    let figure = Figure {
        patches: vec![Patch {
            region: union([&bar(arm, half), &bar(half, arm)]),
            level: Level::FULL,
        }],
        height: 0.0,
    };
    canvas.redraw(
        Rect::of_size(width, height),
        &[draw(&figure, &map, width, height)],
    );
    let frame = canvas.read()?;
    seen(&frame)
}

/// A frame as the twin's light.
pub(super) fn seen(frame: &Picture) -> Outcome<Seen> {
    Seen::from_grey(
        frame.width,
        frame.height,
        &frame.codes,
        &Response::default(),
    )
    .ok_or_else(|| Fault::mistake("the frame has the wrong size"))
}

/// The frame against exact area coverage in f64. Right for mappings that keep
/// straight lines straight.
fn coverage(scene: &Scene, mapping: &Mapping, frame: &Picture) -> CoverageError {
    let mut exact = ExactLight::new(frame.width as usize, frame.height as usize);
    for figure in &scene.figures {
        for patch in &figure.patches {
            for ring in &patch.region.rings {
                let pixels: Vec<Point<Projector>> = ring
                    .iter()
                    .filter_map(|&p| mapping.pixel(p, figure.height))
                    .collect();
                exact.add(&pixels, f64::from(patch.level.0) / 255.0);
            }
        }
    }
    let drawn: Vec<f64> = frame
        .codes
        .iter()
        .map(|c| decode_srgb(f64::from(*c) / 255.0))
        .collect();
    exact.compare(&drawn)
}

/// The twin's word on where the light of every cut line and notch lies.
fn measure(rig: &Rig, lit: &Lit, frame: &Picture, on_cloth: bool) -> Outcome<Figures> {
    let picture = seen(frame)?;
    let levels = Levels {
        dark: 0.0,
        full: 1.0,
    };
    let mut edges = Vec::new();
    let (mut missing, mut skipped) = (0, 0);
    let (mut along, mut depth) = (Vec::new(), Vec::new());
    for (k, laid) in lit.laid.iter().enumerate() {
        let height = if on_cloth { laid.height } else { 0.0 };
        let inside = lit.lamp.inside(k);
        let spoilt = interruptions(lit, k);
        let found = find_edges(rig, &picture, levels, &inside.rings, height, &spoilt);
        edges.extend(found.found);
        missing += found.missing.len();
        skipped += found.skipped;
        for notch in &laid.piece.notches {
            if notch.kind != crate::pattern::NotchKind::Slit {
                continue;
            }
            let ideal = Notch {
                root: laid.pose.point(notch.at),
                inward: laid.pose.vector(notch.inward),
                depth: notch.depth,
                width: 1.5,
            };
            if let Some(s) = notch_tip(rig, &picture, levels, &ideal, height) {
                along.push(s.along_mm);
                depth.push(s.depth_mm);
            } else {
                missing += 1;
            }
        }
    }
    let nothing = || {
        Fault::input(
            "no cut line lies in the rehearsed light",
            "lay the pieces within the table of 1200 x 800 mm",
        )
    };
    Ok(Figures {
        edge_px: Spread::of(edges.iter().map(|e| e.offset_px)).ok_or_else(nothing)?,
        edge_mm: Spread::of(edges.iter().map(|e| e.offset_mm)).ok_or_else(nothing)?,
        missing,
        skipped,
        notch_along_mm: Spread::of(along),
        notch_depth_mm: Spread::of(depth),
        coverage: None,
    })
}

/// Places along a piece's cut line where something else than its band is lit
/// close by, or the band is open: the piece's own marks just inside, its
/// notches' gaps and its fold edges.
pub(super) fn interruptions(lit: &Lit, index: usize) -> Vec<Interruption> {
    let inside = lit.lamp.inside(index);
    let laid = &lit.laid[index];
    let strip = difference(inside, &offset(inside, -SIGHT));
    let mut out = Vec::new();
    for patch in &lit.lamp.scene().figures[index].patches {
        for ring in intersection(&patch.region, &strip).rings {
            let Some(b) = crate::shape::bounds(ring.iter().copied()) else {
                continue;
            };
            // The band touches the strip along the cut line: slivers, not light.
            if crate::shape::signed_area(&ring).abs() > 1e-2 {
                out.push(Interruption {
                    at: b.center(),
                    radius: (b.max - b.min).length() / 2.0 + SIGHT,
                });
            }
        }
    }
    for notch in &laid.piece.notches {
        out.push(Interruption {
            at: laid.pose.point(notch.at),
            radius: 4.25 + SIGHT,
        });
    }
    for fold in &laid.piece.folds {
        let total = crate::shape::length(fold);
        let n = (total / SIGHT).ceil().max(1.0);
        for step in 0..=n as u32 {
            if let Some(s) = crate::shape::along(fold, total * f64::from(step) / n) {
                out.push(Interruption {
                    at: laid.pose.point(s.at),
                    radius: 2.0 * SIGHT,
                });
            }
        }
    }
    out
}
