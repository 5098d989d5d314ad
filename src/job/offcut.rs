//! A sheet of cloth in a file of its own: an offcut, kept for another job.

use super::toml_file::{read_versioned, toml_text};
use crate::cloth::{Cloth, KeepOut, MOST_LAYERS, Panel, rest};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::lay::{Placement, Stock};
use crate::shape::{Region, Ring, counter_clockwise, signed_area};
use crate::space::{Bounds, Cloth as ClothSpace};
use crate::work::State;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// The version of the file that this program writes and reads.
pub const OFFCUT_VERSION: u32 = 1;

/// Between a panel's name and its offcut's number.
const OFFCUT: &str = " offcut ";

/// What the offcuts of a panel are called; `n` from 1.
pub fn offcut_name(panel: &str, n: usize) -> String {
    format!("{panel}{OFFCUT}{n}")
}

/// An offcut as it is written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Offcut {
    pub ghostchalk_offcut: u32,
    /// The job that it is left from.
    pub from: String,
    /// For the person; holes taken off.
    pub area_cm2: f64,
    /// The kind of cloth.
    pub cloth: Cloth,
    /// The sheet. Its map of shade lies beside this file.
    pub panel: Panel,
}

impl Offcut {
    /// # Errors
    /// If the file can't be read, is of another kind or version, or its outline is none.
    pub fn read(path: &Path) -> Outcome<Self> {
        let doing = "reading the offcut";
        let offcut: Self = read_versioned(path, doing, "ghostchalk_offcut", OFFCUT_VERSION)?;
        offcut.panel.outline().map_err(|f| f.in_file(path))?;
        let layers = offcut.panel.stack.layers;
        if !(1..=MOST_LAYERS).contains(&layers) {
            let what = format!("the offcut lies in {layers} plies");
            let remedy = format!("give a number from 1 to {MOST_LAYERS}");
            return Err(Fault::input(what, remedy).in_file(path));
        }
        for k in &offcut.panel.keep_out {
            k.outline().map_err(|f| f.in_file(path))?;
        }
        Ok(offcut)
    }

    /// The panel that it was left from, as its own name tells.
    pub fn left_of(&self) -> Option<&str> {
        let (panel, _) = self.panel.name.rsplit_once(OFFCUT)?;
        Some(panel)
    }

    /// # Errors
    /// As [`disk::write_atomic`].
    pub fn write(&self, path: &Path) -> Outcome<()> {
        disk::write_atomic(path, toml_text(self)?.as_bytes())
    }
}

/// What is left of a panel when all that is cut from it is gone, the largest sheet first;
/// `border` mm fell away round each piece. Under what is [`uncut`] the cloth is still there, and
/// counts. Cloth space is that of the panel, so its map of shade
/// serves as it is.
///
/// # Errors
/// If there is no such panel, or nothing was cut from it.
pub fn offcuts(
    job: &str,
    stock: &Stock,
    state: &State,
    panel: &str,
    border: f64,
) -> Outcome<Vec<Offcut>> {
    let names = || {
        let all: Vec<&str> = state.panels.iter().map(|p| p.name.as_str()).collect();
        all.join(", ")
    };
    let whole = state.panel(panel).ok_or_else(|| {
        Fault::input(
            format!("there is no panel \"{panel}\""),
            format!("name one of {}", names()),
        )
    })?;
    let cut: Vec<Region<ClothSpace>> = state
        .placed
        .iter()
        .filter(|(id, p)| p.panel == panel && state.cuts.has(**id))
        .filter_map(|(_, p)| hole(stock, p))
        .collect();
    if cut.is_empty() {
        return Err(Fault::input(
            format!("nothing has been cut from {panel}"),
            "cut first: what is left is an offcut",
        ));
    }
    let cloth = stock.cloth(&whole.cloth).ok_or_else(|| {
        Fault::input(
            format!("there is no cloth \"{}\"", whole.cloth),
            "name it in the job",
        )
    })?;
    let outline = whole.outline()?;
    let sheets = rest(&outline, &cut, border);
    let mut offcuts = Vec::new();
    for (k, sheet) in sheets.iter().enumerate() {
        let mut keep_out = within(&whole.keep_out, sheet);
        let (outer, holes): (Vec<&Ring<ClothSpace>>, Vec<_>) =
            sheet.rings.iter().partition(|r| signed_area(r) > 0.0);
        let Some(outer) = outer.first() else { continue };
        for hole in holes {
            keep_out.push(KeepOut {
                name: "cut out".to_owned(),
                outline_mm: hole.iter().rev().map(written).collect(),
            });
        }
        offcuts.push(Offcut {
            ghostchalk_offcut: OFFCUT_VERSION,
            from: job.to_owned(),
            area_cm2: (sheet.area() / 10.0).round() / 10.0,
            cloth: cloth.clone(),
            panel: Panel {
                name: offcut_name(panel, k + 1),
                outline_mm: outer.iter().map(written).collect(),
                spread: true,
                under: None,
                stack: Default::default(),
                carried_by: Vec::new(),
                marks: Vec::new(),
                photo: None,
                keep_out,
                ..whole.clone()
            },
        });
    }
    Ok(offcuts)
}

/// What lies on a panel and is not cut: `2 x heel band 1`.
pub fn uncut(state: &State, panel: &str) -> Vec<String> {
    let mut all: Vec<(String, u32)> = Vec::new();
    for (id, p) in &state.placed {
        if p.panel != panel || state.cuts.has(*id) {
            continue;
        }
        let name = format!("{} {}", p.piece, p.article);
        match all.iter_mut().find(|(known, _)| *known == name) {
            Some((_, n)) => *n += 1,
            None => all.push((name, 1)),
        }
    }
    let told = all.into_iter().map(|(name, n)| match n {
        1 => name,
        n => format!("{n} x {name}"),
    });
    told.collect()
}

/// Hundredths of a millimetre are finer than any blade.
fn written(p: &crate::space::Point<ClothSpace>) -> [f64; 2] {
    [p.x, p.y].map(|v| (v * 100.0).round() / 100.0)
}

fn hole(stock: &Stock, placed: &Placement) -> Option<Region<ClothSpace>> {
    let piece = stock.piece(&placed.piece)?;
    let pose = placed.pose();
    let moved = |ring: &Ring<_>| counter_clockwise(ring.iter().map(|&p| pose.point(p)).collect());
    Some(Region::new(piece.cut.iter().map(moved).collect()))
}

/// The places to keep out of that reach into a sheet.
fn within(all: &[KeepOut], sheet: &Region<ClothSpace>) -> Vec<KeepOut> {
    let inside = |k: &&KeepOut| {
        let Ok(place) = k.outline() else { return false };
        let boxes = sheet.bounds().zip(place.bounds());
        let near = |(a, b): (Bounds<ClothSpace>, Bounds<ClothSpace>)| a.intersects(&b);
        boxes.is_some_and(near) && crate::shape::intersection(sheet, &place).area() > 0.0
    };
    all.iter().filter(inside).cloned().collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Job;
    use crate::lay::CutPart;
    use crate::work::Op;

    fn demo_cut() -> (Job, State) {
        let job = Job::open(Path::new("demo-data")).unwrap();
        let mut state = job.state();
        let ids: Vec<u32> = state.placed.keys().copied().collect();
        for (k, id) in ids.into_iter().enumerate() {
            let p = &state.placed[&id];
            let part = CutPart {
                id: k as u32 + 1,
                placed: id,
                piece: p.piece.clone(),
                article: p.article.clone(),
                cloth: state.panel(&p.panel).unwrap().cloth.clone(),
                panel: p.panel.clone(),
                face: p.face,
                plies: 1,
                clipped_late: Vec::new(),
                marking: crate::lay::Marking::Nothing,
                spoilt: false,
                by: None,
            };
            state.apply(&Op::Cut { parts: vec![part] }).unwrap();
        }
        (job, state)
    }

    #[test]
    fn what_is_left_of_the_demo_s_sling_holds_no_place_that_was_cut() {
        let (job, state) = demo_cut();
        let left = offcuts("slippers", &job.stock(), &state, "sling", 3.0).unwrap();
        assert!(!left.is_empty());
        let outline = state.panel("sling").unwrap().outline().unwrap();
        let mut area = 0.0;
        for o in &left {
            let sheet = o.panel.outline().unwrap();
            area += o.area_cm2 * 100.0;
            for p in state.placed.values().filter(|p| p.panel == "sling") {
                let cut = hole(&job.stock(), p).unwrap();
                let shared = crate::shape::intersection(&sheet, &cut).area();
                let told: f64 = o
                    .panel
                    .keep_out
                    .iter()
                    .map(|k| {
                        let place = k.outline().unwrap();
                        crate::shape::intersection(&cut, &place).area()
                    })
                    .sum();
                // What lies inside the sheet is told as a hole of it.
                assert!(shared - told < 1.0, "{} {shared} {told}", p.piece);
            }
        }
        let pieces: f64 = state
            .placed
            .values()
            .filter(|p| p.panel == "sling")
            .map(|p| hole(&job.stock(), p).unwrap().area())
            .sum();
        assert!(area < outline.area() - pieces && area > 0.5 * (outline.area() - pieces));
        // The largest is first, and the stains that it has are still known.
        assert!(left.windows(2).all(|w| w[0].area_cm2 >= w[1].area_cm2));
        assert!(
            left.iter()
                .any(|o| o.panel.keep_out.iter().any(|k| k.name == "rust stain"))
        );
    }

    #[test]
    fn an_offcut_comes_back_from_its_file() {
        let (job, state) = demo_cut();
        let left = offcuts("slippers", &job.stock(), &state, "remnant", 3.0).unwrap();
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.toml");
        for o in &left {
            o.write(&path).unwrap();
            assert_eq!(Offcut::read(&path).unwrap(), *o);
        }
        std::fs::write(&path, "ghostchalk_offcut = 7\n").unwrap();
        assert!(Offcut::read(&path).is_err());
    }

    #[test]
    fn nothing_is_left_of_what_was_not_cut() {
        let job = Job::open(Path::new("demo-data")).unwrap();
        let said = |panel: &str| {
            let left = offcuts("slippers", &job.stock(), &job.state(), panel, 3.0);
            left.unwrap_err().to_string()
        };
        assert!(said("sling").contains("nothing has been cut"));
        assert!(said("blanket").contains("name one of sling"));
    }
}
