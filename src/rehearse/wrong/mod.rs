//! What goes wrong at a table, one thing at a time, on the twin: the light as it was set beside
//! the light as it falls now, and what the program's own checks say of it. It shows a person
//! what to look for, and proves that each is noticed.

mod said;
mod sight;
mod stage;
#[cfg(test)]
mod tests;

use super::{open_folder, rgb_png};
use crate::calibration::{MarkRow, Profile};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::frame::{light, picture};
use crate::job::Job;
use crate::render::{Device, Wanted};
use crate::space::{Point, Table};
use crate::twin::rig::Rig;
use serde_json::{Value, json};
use stage::Stage;
use std::path::{Path, PathBuf};

/// The table's marks, mm.
const MARKS: [[f64; 2]; 4] = [[20.0, 20.0], [1180.0, 20.0], [1180.0, 780.0], [20.0, 780.0]];

/// One thing that goes wrong after the table was set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wrong {
    /// The projector's automatic keystone.
    Keystone,
    /// The projector enlarges the picture and leaves its rim out.
    Overscan,
    /// The projector dims its lamp where the picture is mostly dark.
    Dimming,
    /// Lens and mount have become warm.
    WarmUp,
    /// The table was pushed.
    Table,
    /// The cloth has slid.
    Cloth,
    /// A mark of paper has curled up.
    Mark,
    /// A head hangs in the light.
    Shadow,
}

impl Wrong {
    pub const ALL: [Wrong; 8] = [
        Wrong::Keystone,
        Wrong::Overscan,
        Wrong::Dimming,
        Wrong::WarmUp,
        Wrong::Table,
        Wrong::Cloth,
        Wrong::Mark,
        Wrong::Shadow,
    ];

    /// In a word, as it is asked for.
    pub fn name(self) -> &'static str {
        match self {
            Wrong::Keystone => "keystone",
            Wrong::Overscan => "overscan",
            Wrong::Dimming => "dimming",
            Wrong::WarmUp => "warm-up",
            Wrong::Table => "table",
            Wrong::Cloth => "cloth",
            Wrong::Mark => "mark",
            Wrong::Shadow => "shadow",
        }
    }

    /// The one of that name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.name() == name)
    }

    /// What has happened, as a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Wrong::Keystone => {
                "The projector's automatic keystone was left on: after the table was set it drew \
                 the picture's far edge in by 8 px at each end."
            }
            Wrong::Overscan => {
                "Overscan was switched on after the table was set: the picture is 3 % larger, and \
                 its rim is lost."
            }
            Wrong::Dimming => {
                "The projector dims its lamp by itself: where the picture is mostly dark, its \
                 white is 15 % of what it was."
            }
            Wrong::WarmUp => {
                "The table was set with the projector cold: warm, its picture is larger by 2.5 mm \
                 a metre and has shifted by a pixel."
            }
            Wrong::Table => {
                "The table was pushed with a hip: 4 mm to the right, 2.5 mm towards the person, \
                 and turned by 0.35 degrees."
            }
            Wrong::Cloth => {
                "The cloth has crept while it was cut: 3 mm to the right, 2 mm towards the \
                 person, and turned by 0.4 degrees."
            }
            Wrong::Mark => "Mark 3, of paper, has curled: its cross stands 7 mm above the table.",
            Wrong::Shadow => "A person of 1.70 m bends over the work, under the lens.",
        }
    }
}

/// What was shown, and what is said of it.
#[derive(Debug)]
pub struct Shown {
    pub wrong: Wrong,
    /// How far the light of the lay's cut lines lies beside where it belongs, at most, mm.
    pub off_mm: f64,
    /// What the program says, a sentence each.
    pub said: Vec<String>,
    /// Whether a check of the program's finds it.
    pub noticed: bool,
    pub written: PathBuf,
}

impl Shown {
    /// What has happened, what it does to the lay, and what the program says.
    pub fn text(&self) -> String {
        let mut lines = vec![self.wrong.words().to_owned()];
        lines.push(match self.off_mm {
            off if off < 0.05 => "The cut lines' light lies where it did.".to_owned(),
            off => format!("The cut lines' light now lies up to {off:.1} mm beside its place."),
        });
        lines.extend(self.said.iter().cloned());
        lines.join("\n")
    }

    pub fn json(&self) -> Value {
        json!({
            "fault": self.wrong.name(),
            "what": self.wrong.words(),
            "off_mm": self.off_mm,
            "said": self.said,
            "noticed": self.noticed,
            "written": self.written.to_string_lossy(),
        })
    }
}

/// Plays what goes wrong over a job's lay, and writes `seen.png` into `out`: the light as it was
/// set, and beside it as it falls now, both to scale.
///
/// # Errors
/// If the job can't be lit, `out` can't be written, or there is no driver.
pub fn show(wrong: Wrong, mut job: Job, out: &Path, wanted: Wanted) -> Outcome<Shown> {
    if let Some(ways) = &mut job.file.light {
        // Whole bands, so that the edge can be seen.
        ways.creep = false;
    }
    let profile = set(&Rig::workshop())?;
    let mapping = profile.mapping()?;
    let lit = light(&job, &profile, &mapping)?;
    if lit.laid.is_empty() {
        return Err(Fault::input(
            "nothing is laid, so there is nothing to light",
            "lay its pieces with `ghostchalk light` or `ghostchalk lay --take`",
        )
        .in_file(&job.folder));
    }
    open_folder(out)?;
    let now = Stage::of(wrong, &job)?;
    let lay = now.lay(&lit, &mapping);
    let said = said::said(wrong, &now, &job, &mapping)?;
    let sight = sight::Sight::of(wrong, &now, &lay, &said, &lit);
    let device = Device::open(wanted)?;
    let frame = picture(&device, &sight.scene(&lit), &mapping, profile.projector_px)?;
    let image = sight.pair(&now, &job, &lit, &frame)?;
    let written = out.join("seen.png");
    disk::write_atomic(&written, &rgb_png(&image)?)?;
    Ok(Shown {
        wrong,
        off_mm: lay.iter().map(|b| b.off.length()).fold(0.0, f64::max),
        said: said.sentences,
        noticed: said.noticed,
        written,
    })
}

/// The profile of a table that was set without error.
fn set(rig: &Rig) -> Outcome<Profile> {
    let rows = MARKS.map(|[x, y]| MarkRow {
        table: Point::<Table>::new(x, y),
        projector: rig.project(x, y, 0.0),
    });
    Profile::of_four(&rows, rig.optics().size, false)
}
