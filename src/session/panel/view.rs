//! What the panel is told, and what it asks for. The panel itself knows no
//! window, clock or disk.

use crate::calibration::fit::Sure;
use crate::glow::Trouble;
use crate::lay::Checked;
use crate::lay::grounds;
use crate::measure::Unit;
use crate::session::papers::PaperWish;
use crate::session::photographed::{PhotoWish, Photographed};
use crate::session::proving::{DraftWish, Proving};
use crate::shape::Region;
use crate::space::Table;
use crate::work::Act;
use crate::work::Bench;
use crate::work::Id;
use crate::work::Said;
use std::sync::Arc;

/// All that is shown at one moment.
#[derive(Debug, Clone, Copy)]
pub struct PanelView<'a> {
    pub bench: &'a Bench,
    /// What is wrong now: see [`wrongs`].
    pub wrong: &'a [Bad],
    /// The sentence said last.
    pub said: Option<&'a Said>,
    pub facts: &'a Facts,
    pub proving: &'a Proving,
    /// Of the shade under the piece in hand, in sentences; none where it is not known.
    pub shade: &'a [String],
    /// A photo of the table, while one is looked at.
    pub photo: Option<&'a Photographed>,
}

/// Something that is wrong with the lay, in a form that outlives the check.
#[derive(Debug, Clone)]
pub struct Bad {
    /// The piece in trouble.
    pub id: Id,
    pub sentence: String,
    /// Where it shows, table mm; empty for the grain.
    pub place: Region<Table>,
}

impl Bad {
    /// What the light has found already.
    pub fn of(trouble: &Trouble) -> Self {
        Self {
            id: trouble.id,
            sentence: trouble.sentence.clone(),
            place: trouble.place.clone(),
        }
    }
}

/// Checks the whole lay. `reach` is what the projector lights, if that is known.
pub fn wrongs(bench: &Bench, reach: Option<&Region<Table>>) -> Vec<Bad> {
    let (ids, laid) = bench.laid();
    // Outlines without sense were refused when they came in.
    let grounds = grounds(&bench.state().panels).unwrap_or_default();
    let checked = Checked::new(&laid, &grounds, reach, bench.ways().lit_width());
    let bad = |w: &crate::lay::Wrong| Bad {
        id: ids[w.index],
        sentence: checked.sentence(w),
        place: w.place.clone(),
    };
    checked.all().iter().map(bad).collect()
}

/// What is so outside the bench.
#[derive(Debug, Clone)]
pub struct Facts {
    /// The job's name.
    pub project: String,
    /// How the table was set: `None` if it never was.
    pub profile: Option<ProfileFact>,
    pub output: OutputFact,
    /// Outputs there are to choose from, by name.
    pub outputs: Vec<String>,
    /// Why nothing can be written, if the job was opened to be read only.
    pub read_only: Option<String>,
    /// Why the journal can't be written, if it can't.
    pub journal_fault: Option<String>,
    /// What was found when the job was opened, and what has gone wrong since; each is said once.
    pub notes: Vec<String>,
    /// Minutes since the projector's first light.
    pub lit_minutes: Option<u32>,
    /// From the hand to the finished frame, ms, of the last change.
    pub frame_ms: Option<f64>,
    /// Another program's window has the keyboard.
    pub keyboard_elsewhere: bool,
    /// The table is simulated behind the light.
    pub rehearsing: bool,
    /// What lengths are shown in.
    pub unit: Unit,
    /// How wide the band is lit, mm: as it is wished, and not narrower than three projector
    /// pixels at the coarsest place.
    pub lit_band_mm: Option<f64>,
    /// What the projector lights of the table.
    pub reach: Option<Region<Table>>,
    /// Marks that the table was set by.
    pub marks: usize,
    /// How sure the light is of its place.
    pub sure: Option<Arc<Sure>>,
}

/// The profile in use.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProfileFact {
    pub name: String,
    /// The day it was made, as a person writes it.
    pub made: String,
}

/// Where the light goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutputFact {
    pub name: String,
    /// px.
    pub size: [u32; 2],
    pub state: OutputState,
}

/// How the output is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OutputState {
    /// Full and pixel for pixel.
    Lit,
    /// An ordinary window, for want of a second output.
    Window,
    /// Unplugged, or gone otherwise.
    Lost,
    /// Another size or output than the profile was made for.
    Differs,
}

impl OutputState {
    /// In a word or two.
    pub fn words(self) -> &'static str {
        match self {
            OutputState::Lit => "lit",
            OutputState::Window => "with no second output",
            OutputState::Lost => "not there: plug it in, or name another",
            OutputState::Differs => "not the one that the table was set with",
        }
    }

    pub fn is_well(self) -> bool {
        matches!(self, OutputState::Lit | OutputState::Window)
    }
}

/// What a person asks for at the panel.
#[derive(Debug, Clone, PartialEq)]
pub enum Wish {
    Act(Act),
    /// Of the pattern and its drafts.
    Draft(DraftWish),
    /// Of a photo of the table.
    Photo(PhotoWish),
    /// A paper is written into the job's folder.
    Paper(PaperWish),
    /// Set the table: projector, marks, check.
    BeginSetting,
    /// Send the light to the output of this name.
    ChooseOutput(String),
    /// Throw the keys onto the table as light, or take them away.
    KeySheet,
    Cautions,
    /// Flash the piece in hand, to find it.
    Flash,
    /// Show lengths in this unit.
    Unit(Unit),
    /// The simulated table behind the light, or not.
    Rehearse(bool),
    Quit,
}
