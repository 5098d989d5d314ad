//! From a photo to the shade of the panels that lie on the table.

use super::lying::{Lying, OwnMarks};
use crate::cloth::Panel;
use crate::cloth::shade::{CELL, Doubt, Ground as Seen, ShadeMap};
use crate::fault::{Fault, Outcome};
use crate::lay::Stock;
use crate::photo::pose::MARKS_MM;
use crate::photo::tags::{Board, find};
use crate::photo::{
    Beforehand, Ground, Layout, Light, Mark, Patch, Picture, Pose, ortho, snap, warn,
};
use crate::raster::Raster;
use crate::shape::Region;
use crate::space::{Bounds, Cloth, Photo, Point, Rigid, Table};

/// A click's mark is looked for so far round it, px.
const REACH: f64 = 30.0;

/// Side of the cells that light and shade are read from, mm.
pub(super) const FINE: f64 = 0.5;

/// Side of the cells in which the light over the whole table is made even, mm.
pub(super) const COARSE: f64 = 2.0;

/// Standard error of the evened light from which it is told, relative: 3 % is a lightness of 1 in
/// the middle of the scale.
const FAR: f64 = 0.03;

/// Linear light above which the camera may have cut it off.
const BLOWN: f32 = 0.97;

/// A mark that was clicked on: its name, its place on the table, and about where it is in the
/// photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Click {
    pub name: String,
    pub table: Point<Table>,
    pub px: Point<Photo>,
}

/// What is known beside the photo.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    pub clicks: Vec<Click>,
    /// Tags that lie on the table.
    pub board: Board,
    /// Rectangles in which white sheets lie, and bare table.
    pub white: Vec<Bounds<Table>>,
    pub bare: Vec<Bounds<Table>>,
    /// Of the lens above the table, mm, by tape.
    pub camera_height: Option<f64>,
    /// A panel that does not lie as the job has it: the lower ply turned over.
    pub own: Option<OwnMarks>,
}

/// What a photo gave.
#[derive(Debug)]
pub struct Looked {
    pub pose: Pose,
    /// Standard error of a place on the panels, mm on each axis: the largest.
    pub error: f64,
    /// What is left of uneven light, relative, by channel; `None` if nothing told.
    pub uneven: Option<[f64; 3]>,
    /// Maps by the panels' names.
    pub maps: Vec<(String, ShadeMap<Cloth>)>,
    /// How the panel lies that was placed by its own marks.
    pub lying: Option<Lying>,
    /// The table straight from above, in linear light, evened.
    pub above: Raster<[f32; 3], Table>,
    pub notes: Vec<String>,
}

/// Reads a photo for the panels. `watch` is told the share done and stops it by `false`: then
/// there is nothing.
///
/// # Errors
/// If the photo can't be read, its marks don't place it, or it shows none of the panels.
pub fn look(
    bytes: &[u8],
    asked: &Asked,
    panels: &[&Panel],
    stock: &Stock,
    watch: &mut dyn FnMut(f64) -> bool,
) -> Outcome<Option<Looked>> {
    let picture = Picture::read(bytes)?;
    if !watch(0.2) {
        return Ok(None);
    }
    let (_, pose, mut notes) = placed(&picture, asked)?;
    let height = |panel: &Panel| {
        let thick = stock.cloth(&panel.cloth).map_or(0.0, |c| c.thickness_mm);
        if pose.camera.is_some() { thick } else { 0.0 }
    };
    let mut lying = None;
    if let Some(own) = &asked.own {
        let panel = panels.iter().find(|p| p.name == own.panel);
        let panel = panel.ok_or_else(|| {
            let what = format!(
                "marks of {name} are given, but {name} is not among the panels to look at",
                name = own.panel
            );
            Fault::input(what, format!("name {} alone", own.panel))
        })?;
        let lies = Lying::of(panel, own, (&picture, &pose), height(panel))?;
        notes.push(format!("{}: {}.", panel.name, lies.says));
        lying = Some((own.panel.as_str(), lies));
    }
    let by_marks = |panel: &Panel| lying.as_ref().filter(|(name, _)| *name == panel.name);
    let on_table = |panel: &Panel| by_marks(panel).map_or(panel.on_table.pose(), |(_, l)| l.pose);
    let mut area = Bounds::zero();
    for (k, panel) in panels.iter().enumerate() {
        let lies = panel.outline()?.moved(&on_table(panel));
        let box_ = lies.bounds().unwrap_or(Bounds::zero());
        area = if k == 0 { box_ } else { area.union(&box_) };
    }
    if area.is_empty() {
        return Err(Fault::input(
            "no panel is spread on the table",
            "spread one in the job, or name it",
        ));
    }
    let patches = patches(asked);
    let whole = patches.iter().fold(area, |a, p| a.union(&p.bounds));
    let layout = |bounds, cell, height| Layout {
        bounds,
        cell,
        height,
    };
    let coarse = ortho(&picture, &pose, &layout(whole, COARSE, 0.0), &mut |s| {
        watch(0.2 + 0.1 * s)
    })?;
    let Some(mut above) = coarse else {
        return Ok(None);
    };
    let light = match patches.is_empty() {
        true => None,
        false => Some(Light::fit(&above, &patches)?),
    };
    notes.extend(warned(&picture, &pose, area));
    if let Some(light) = &light {
        notes.extend(light.notes());
        let more = [warn::tone(&above, &patches, light), warn::cast(light, area)];
        notes.extend(more.into_iter().flatten().map(|w| w.text));
    } else {
        notes.push(
            "No white sheet was named, so white is taken for what the photo calls white: lay one \
             beside the cloth and name where it lies, and colours can be told from one photo to \
             another."
                .to_owned(),
        );
    }
    let mut maps = Vec::new();
    let mut error: f64 = 0.0;
    for (k, panel) in panels.iter().enumerate() {
        let (height, on_table) = (height(panel), on_table(panel));
        let cloth = panel.outline()?;
        let lies = cloth.moved(&on_table);
        let Some(bounds) = lies.bounds() else {
            continue;
        };
        let fine = ortho(&picture, &pose, &layout(bounds, FINE, height), &mut |s| {
            watch(0.3 + 0.7 * (k as f64 + s) / panels.len() as f64)
        })?;
        let Some(fine) = fine else { return Ok(None) };
        for corner in cloth.rings.iter().flatten() {
            let seen = pose.sure(on_table.point(*corner), height);
            let seen = seen.map_or(f64::INFINITY, |s| s.total());
            let marks = by_marks(panel).map_or(0.0, |(_, l)| l.error_at(*corner));
            error = error.max(seen.hypot(marks));
        }
        notes.extend(
            light
                .as_ref()
                .and_then(|l| far_from_sheets(l, &lies, &panel.name)),
        );
        maps.push((
            panel.name.clone(),
            shade(panel, &on_table, fine, light.as_ref())?,
        ));
    }
    if let Some(light) = &light {
        light.even(&mut above);
    }
    Ok(Some(Looked {
        pose,
        error,
        uneven: light.as_ref().map(|l| l.residual),
        maps,
        lying: lying.map(|(_, l)| l),
        above,
        notes,
    }))
}

/// The light over a panel is known too little where it lies far from all sheets.
fn far_from_sheets(light: &Light, lies: &Region<Table>, name: &str) -> Option<String> {
    let corners = lies.rings.iter().flatten();
    let errors = corners.flat_map(|&p| light.error(p));
    let most = errors.fold(0.0, f64::max);
    (most > FAR).then(|| {
        format!(
            "The light over {name} is known to {:.0} % only, far from what is white: lay a white sheet or strip on \
             that side of it too.",
            100.0 * most
        )
    })
}

/// The marks of a photo, where the camera was by them, and what is to be said of both.
pub(super) fn placed(picture: &Picture, asked: &Asked) -> Outcome<(Vec<Mark>, Pose, Vec<String>)> {
    let (marks, mut notes) = marks(picture, asked)?;
    let known = Beforehand {
        focal: picture.focal,
        height: asked.camera_height,
    };
    let pose = Pose::fit(&marks, picture.size(), &known)?;
    notes.extend(pose.notes());
    Ok((marks, pose, notes))
}

/// Sheets and bare table, by which light is evened.
pub(super) fn patches(asked: &Asked) -> Vec<Patch> {
    let white = asked.white.iter().map(|&bounds| (bounds, Ground::White));
    let bare = asked.bare.iter().map(|&bounds| (bounds, Ground::Other(1)));
    let all = white.chain(bare);
    all.map(|(bounds, ground)| Patch { bounds, ground })
        .collect()
}

/// What is wrong with a photo itself, where it shows a part of the table.
pub(super) fn warned(picture: &Picture, pose: &Pose, area: Bounds<Table>) -> Vec<String> {
    let all = [
        warn::banding(picture),
        warn::blown_within(picture, pose, area),
    ];
    all.into_iter().flatten().map(|w| w.text).collect()
}

/// The marks of a photo, found in it, and what is to be said of them.
pub(super) fn marks(picture: &Picture, asked: &Asked) -> Outcome<(Vec<Mark>, Vec<String>)> {
    let mut notes = Vec::new();
    let mut marks = Vec::new();
    for c in &asked.clicks {
        let found =
            snap(picture, c.px, REACH, None).map_err(|f| f.at(format!("mark {}", c.name)))?;
        marks.push(Mark {
            name: format!("mark {}", c.name),
            table: c.table,
            px: found.px,
            px_error: found.error,
            table_error: MARKS_MM,
        });
    }
    if asked.board.ids().next().is_some() {
        let sighting = asked.board.seen(&find(picture))?;
        notes.extend(sighting.notes);
        for (k, s) in sighting.seen.iter().enumerate() {
            marks.push(Mark {
                name: format!("tag corner {}", k + 1),
                table: s.is,
                px: s.at,
                px_error: s.sigma_px,
                // It is in the error of its place in the photo.
                table_error: 0.0,
            });
        }
    }
    Ok((marks, notes))
}

/// A panel's map, from its light as it lies on the table.
fn shade(
    panel: &Panel,
    on_table: &Rigid<Cloth, Table>,
    fine: Raster<[f32; 3], Table>,
    light: Option<&Light>,
) -> Outcome<ShadeMap<Cloth>> {
    let cloth = panel.outline()?;
    let outs: Vec<Region<Cloth>> = panel
        .keep_out
        .iter()
        .map(crate::cloth::KeepOut::outline)
        .collect::<Outcome<_>>()?;
    let blown = fine.map(|l| l.iter().any(|v| *v > BLOWN));
    let mut even = fine;
    // Made even, a perfect white is 1 by definition; without that it is taken for it.
    let white = [1.0; 3];
    if let Some(light) = light {
        light.even(&mut even);
    }
    let bounds = cloth.bounds().ok_or_else(|| {
        Fault::input(
            format!("the panel {} has no outline", panel.name),
            "draw it",
        )
    })?;
    let mut grounds = Vec::new();
    // Each cell has the light of one place: averaging here would hide the photo's noise.
    let lit = Raster::over(bounds, FINE, |_, _, p| {
        let at = on_table.point(p);
        let there = cloth.contains(p) && !outs.iter().any(|o| o.contains(p));
        let seen = even.at(at).filter(|l| l.iter().all(|v| v.is_finite()));
        grounds.push(match (there, seen, blown.at(at)) {
            (true, Some(_), Some(false)) => Seen::Cloth,
            (true, Some(_), _) => Seen::Blown,
            _ => Seen::Other,
        });
        seen.copied().unwrap_or([0.0; 3])
    });
    let width = lit.width();
    ShadeMap::measure(&lit, white, CELL, Doubt::default(), |c, r| {
        grounds.get(r * width + c).copied().unwrap_or(Seen::Other)
    })
    .map_err(|f| f.at(format!("panel {}", panel.name)))
}
