//! From a photo to what is proposed for a panel: its outline, holes, keep-outs, grain, stripes.

use super::photo::{Asked, COARSE, FINE, patches, placed, warned};
use crate::cloth::find::{By, Candidate, Found, Grain, Kind, Seeds, find};
use crate::cloth::{KeepOut, Looks, Panel, Stripes};
use crate::fault::Outcome;
use crate::lay::Stock;
use crate::photo::{Layout, Light, Picture, ortho};
use crate::raster::Raster;
use crate::shape::{Region, bounds, intersection, offset};
use crate::space::{Bounds, Cloth, Point, Rigid, Table, Vector};
use crate::work::Op;

/// Round the panel as the job has it so much of the table is looked at, mm; and all between the
/// marks.
const ROUND: f64 = 60.0;
/// What lies round a sheet, a mark or a tag is neither cloth nor table so far, mm.
const CLEAR: f64 = 3.0;
const ROUND_MARK: f64 = 14.0;
/// So far round other panels, as the job has them.
const ROUND_OTHER: f64 = 12.0;
/// Cells by which threads are looked for: this share of a pixel, mm at least and at most.
const SHARE: f64 = 0.8;
const CLOSE: [f64; 2] = [0.15, 0.5];
/// The same cloth lies elsewhere if it covers so much of where it was, but is off by so many mm.
const SAME: f64 = 0.75;
const OFF: f64 = 2.0;

/// What is proposed for a panel.
#[derive(Debug)]
pub struct Proposed {
    pub panel: String,
    /// On the table.
    pub found: Found,
    /// From the table to the panel's cloth space.
    pub to_cloth: Rigid<Table, Cloth>,
    /// Standard error of a place, mm on each axis: the largest along the outline.
    pub error: f64,
    /// The table from above, evened.
    pub light: Raster<[f32; 3], Table>,
    pub notes: Vec<String>,
}

/// Looks for a panel's cloth in a photo, `others` lying on the table beside it. `watch` is told
/// the share done and stops it by `false`: then there is nothing.
///
/// # Errors
/// If the photo can't be read, its marks don't place it, or no cloth is seen in it.
pub fn propose(
    bytes: &[u8],
    asked: &Asked,
    (panel, others): (&Panel, &[&Panel]),
    stock: &Stock,
    seeds: &Seeds,
    watch: &mut dyn FnMut(f64) -> bool,
) -> Outcome<Option<Proposed>> {
    let picture = Picture::read(bytes)?;
    if !watch(0.1) {
        return Ok(None);
    }
    let (marks, pose, mut notes) = placed(&picture, asked)?;
    let here = panel.on_table.pose();
    let was = panel.outline()?.moved(&here);
    let box_ = was.bounds().unwrap_or(Bounds::zero());
    let patches = patches(asked);
    let mut area = box_.inflate(ROUND, ROUND);
    for p in marks
        .iter()
        .map(|m| m.table)
        .chain(seeds.cloth.iter().copied())
    {
        area = area.union(&Bounds::new(p, p));
    }
    // Beyond the table's marks and the panel there may be floor, which is no table.
    let marked = bounds(marks.iter().map(|m| m.table)).unwrap_or(box_);
    let seeded = seeds.cloth.iter().chain(&seeds.table).copied();
    let known = seeded.fold(marked.union(&box_), |a, p| a.union(&Bounds::new(p, p)));
    area = area.intersection(&known).unwrap_or(area);
    let thick = stock.cloth(&panel.cloth).map_or(0.0, |c| c.thickness_mm);
    let height = if pose.camera.is_some() { thick } else { 0.0 };
    let layout = |bounds, cell, height| Layout {
        bounds,
        cell,
        height,
    };
    let whole = patches.iter().fold(area, |a, p| a.union(&p.bounds));
    let light = match patches.is_empty() {
        true => None,
        false => {
            let coarse = ortho(&picture, &pose, &layout(whole, COARSE, 0.0), &mut |s| {
                watch(0.1 + 0.1 * s)
            })?;
            let Some(coarse) = coarse else {
                return Ok(None);
            };
            Some(Light::fit(&coarse, &patches)?)
        }
    };
    let laid = ortho(&picture, &pose, &layout(area, FINE, height), &mut |s| {
        watch(0.2 + 0.3 * s)
    })?;
    let Some(mut above) = laid else {
        return Ok(None);
    };
    if let Some(light) = &light {
        light.even(&mut above);
    }
    let mut seen = above.clone();
    let sheets = asked.white.iter().map(|b| b.inflate(CLEAR, CLEAR));
    let round = Vector::new(ROUND_MARK, ROUND_MARK);
    let marked = marks
        .iter()
        .map(|m| Bounds::new(m.table - round, m.table + round));
    let tags = asked.board.ids().filter_map(|id| {
        let corners = asked.board.corners(id)?;
        let known = crate::shape::bounds(corners.into_iter().flatten())?;
        Some(known.inflate(ROUND_MARK, ROUND_MARK))
    });
    for b in sheets.chain(marked).chain(tags) {
        blank(&mut seen, b);
    }
    for other in others.iter().filter(|o| o.name != panel.name) {
        let lies = other.outline()?.moved(&other.on_table.pose());
        blank_in(&mut seen, &offset(&lies, ROUND_OTHER));
    }
    let mut told = seeds.clone();
    told.table.extend(asked.bare.iter().map(|b| b.center()));
    // Threads need the photo as fine as it is.
    let mut close = |bounds: Bounds<Table>| {
        let (_, coarse) = pose.px_per_mm(bounds.center())?;
        let cell = (SHARE / coarse).max(CLOSE[0]);
        if cell > CLOSE[1] {
            return None;
        }
        let near = ortho(&picture, &pose, &layout(bounds, cell, height), &mut |_| {
            true
        });
        near.ok().flatten()
    };
    let found = find(&seen, &mut close, &told)?;
    if !watch(0.95) {
        return Ok(None);
    }
    let own = Region::ring(found.outline.clone());
    let sure = |p: &Point<Table>| pose.sure(*p, height).map_or(f64::INFINITY, |s| s.total());
    let error = found.outline.iter().map(sure).fold(0.0, f64::max);
    notes.extend(warned(&picture, &pose, own.bounds().unwrap_or(box_)));
    notes.extend(found.notes.clone());
    notes.extend(moved(&was, &own));
    Ok(Some(Proposed {
        panel: panel.name.clone(),
        found,
        to_cloth: here.inverse(),
        error,
        light: above,
        notes,
    }))
}

/// What is within a region is neither cloth nor table.
fn blank_in(light: &mut Raster<[f32; 3], Table>, region: &Region<Table>) {
    let Some(b) = region.bounds() else { return };
    for r in 0..light.height() {
        for c in 0..light.width() {
            let p = light.centre(c, r);
            if b.contains(p)
                && region.contains(p)
                && let Some(v) = light.get_mut(c, r)
            {
                *v = [f32::NAN; 3];
            }
        }
    }
}

fn blank(light: &mut Raster<[f32; 3], Table>, bounds: Bounds<Table>) {
    let (low, cell) = (light.bounds().min, light.cell());
    let from = (bounds.min - low) / cell;
    let to = (bounds.max - low) / cell;
    let hold = |v: f64, n: usize| v.clamp(0.0, n as f64) as usize;
    let (w, h) = (light.width(), light.height());
    for r in hold(from.y, h)..hold(to.y.ceil(), h) {
        for c in hold(from.x, w)..hold(to.x.ceil(), w) {
            if let Some(v) = light.get_mut(c, r) {
                *v = [f32::NAN; 3];
            }
        }
    }
}

/// Whether the cloth is the job's, but lies a little elsewhere.
fn moved(was: &Region<Table>, is: &Region<Table>) -> Option<String> {
    let both = intersection(was, is).area();
    let share = both / (was.area() + is.area() - both);
    let alike = (0.97..1.03).contains(&(was.area() / is.area().max(1e-9)));
    if share < SAME || !alike {
        return None;
    }
    let by = is.middle() - was.middle();
    (by.length() > OFF).then(|| {
        format!(
            "The cloth lies {:.0} mm from where the job has it ({:+.0} mm across, {:+.0} mm away from you): lay it back, or carry what is laid by its marks before you take the outline.",
            by.length(),
            by.x,
            by.y
        )
    })
}

/// What a candidate is called.
pub fn name_of(kind: Kind) -> &'static str {
    match kind {
        Kind::Stain => "stain",
        Kind::Hardware => "hardware",
        Kind::Ridge => "ridge",
    }
}

impl Proposed {
    /// A ring in the panel's cloth space, hundredths of a mm.
    pub fn ring(&self, ring: &[Point<Table>]) -> Vec<[f64; 2]> {
        let round = |v: f64| (v * 100.0).round() / 100.0;
        let map = self.to_cloth.mapper();
        ring.iter().map(|p| map(*p).to_array().map(round)).collect()
    }

    /// The warp's direction in the panel's cloth space, degrees, 0 to 180.
    pub fn grain_deg(&self) -> Option<f64> {
        match self.found.grain {
            Grain::Told { deg, .. } => {
                let turned = deg + self.to_cloth.turn.to_degrees();
                Some((turned.rem_euclid(180.0) * 100.0).round() / 100.0)
            }
            Grain::CantTell { .. } => None,
        }
    }

    /// Stripes in the panel's cloth space.
    pub fn stripes(&self) -> Option<Stripes> {
        self.found.stripes?.on(&self.to_cloth)
    }

    /// What the grain is told by, in words.
    pub fn grain_by(&self) -> String {
        let Grain::Told { by, .. } = &self.found.grain else {
            return String::new();
        };
        let word = |by: &By| match by {
            By::Stripes => "stripes",
            By::Weave => "threads",
            By::Selvedge => "straight edges",
        };
        by.iter().map(word).collect::<Vec<_>>().join(", ")
    }

    /// The changes that take the outline over.
    pub fn outline_op(&self, panel: &Panel) -> Op {
        Op::Outline {
            panel: panel.name.clone(),
            from: panel.outline_mm.clone(),
            to: self.ring(&self.found.outline),
        }
    }

    /// Keep-outs of the panel's, after those that it has and `before` more.
    pub fn keep_out_op(
        &self,
        panel: &Panel,
        before: usize,
        name: String,
        ring: &[Point<Table>],
    ) -> Op {
        Op::KeepOut {
            panel: panel.name.clone(),
            at: panel.keep_out.len() + before,
            from: None,
            to: Some(KeepOut {
                name,
                outline_mm: self.ring(ring),
            }),
        }
    }

    /// The change that takes the grain over, if it is told.
    pub fn grain_op(&self, panel: &Panel) -> Option<Op> {
        Some(Op::Grain {
            panel: panel.name.clone(),
            from: panel.grain_deg,
            to: self.grain_deg()?,
        })
    }

    /// The change that takes the stripes over, if they repeat.
    pub fn stripes_op(&self, panel: &Panel) -> Option<Op> {
        let mut looks: Looks = panel.looks.clone().unwrap_or_default();
        looks.stripes = Some(self.stripes()?);
        Some(Op::Looks {
            panel: panel.name.clone(),
            from: panel.looks.clone(),
            to: Some(looks),
        })
    }

    /// A candidate by its number, from 1.
    pub fn candidate(&self, number: usize) -> Option<&Candidate> {
        self.found.candidates.get(number.checked_sub(1)?)
    }
}
