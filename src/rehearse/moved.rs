//! Cloth that lies elsewhere than the program takes it to lie: where the light
//! of the cut lines falls on it.

use super::loops::{interruptions, seen};
use crate::calibration::Profile;
use crate::fault::Outcome;
use crate::frame::{light, picture};
use crate::job::Job;
use crate::render::Device;
use crate::shape::Region;
use crate::space::{Cloth, Point, Rigid, Table};
use crate::twin::edge::{Interruption, find_edges};
use crate::twin::picture::Levels;
use crate::twin::rig::Rig;

/// Where the light of a cut line was seen on the cloth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnCloth {
    /// The place of the cut line.
    pub at: Point<Cloth>,
    /// The same place as the cloth truly lies.
    pub on_table: Point<Table>,
    /// How far the light intrudes there into the piece, across the cut line,
    /// mm; negative where it stays away.
    pub intrudes: f64,
}

/// What the twin saw of a whole lay.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Landed {
    pub found: Vec<OnCloth>,
    /// Places with no edge of light within 12 px: out of the light, or worse.
    pub missing: usize,
}

/// Lights a job's lay, and has the twin look for every cut line where it is
/// on cloth that `truly` lies so: by the panel's name, its pose, and how high
/// above the table its top is, mm. Nothing of that is asked of the program.
///
/// # Errors
/// As [`crate::frame::light`] and [`crate::frame::picture`].
pub fn landed(
    device: &Device,
    job: &Job,
    rig: &Rig,
    profile: &Profile,
    truly: impl Fn(&str) -> (Rigid<Cloth, Table>, f64),
) -> Outcome<Landed> {
    let mapping = profile.mapping()?;
    let lit = light(job, profile, &mapping)?;
    let frame = picture(device, lit.lamp.scene(), &mapping, profile.projector_px)?;
    let shown = seen(&frame)?;
    let levels = Levels {
        dark: 0.0,
        full: 1.0,
    };
    let mut all = Landed::default();
    for (k, laid) in lit.laid.iter().enumerate() {
        let Some(panel) = job.file.panels.iter().find(|p| p.name == laid.panel) else {
            continue;
        };
        // From where it is lit to where it belongs.
        let (lies, top) = truly(laid.panel);
        let back = panel.on_table.pose().inverse().then(&lies);
        let belongs: Region<Table> = lit.lamp.inside(k).moved(&back);
        let spoilt: Vec<Interruption> = interruptions(&lit, k)
            .into_iter()
            .map(|i| Interruption {
                at: back.point(i.at),
                ..i
            })
            .collect();
        let edges = find_edges(rig, &shown, levels, &belongs.rings, top, &spoilt);
        all.missing += edges.missing.len();
        all.found.extend(edges.found.iter().map(|e| OnCloth {
            at: lies.inverse().point(e.at),
            on_table: e.at,
            intrudes: e.offset_mm,
        }));
    }
    Ok(all)
}
