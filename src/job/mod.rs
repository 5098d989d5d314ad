//! The job folder: pattern files, cloths, what was ordered, the lay and the
//! profile, read as one and checked against each other.

mod added;
mod begin;
mod beside;
mod check;
mod comments;
mod derived;
mod journal;
mod known;
mod lengths;
mod line;
mod lock;
mod matched;
mod memory;
mod miscounts;
mod net_lines;
mod noted;
mod now;
mod offcut;
mod ordered;
mod own;
mod patterns;
mod saved;
mod shade;
mod tail;
mod toml_file;
mod writer;

pub use added::{add_notches, notch_at};
pub use begin::first_job;
pub use derived::{DerivedPart, TurnOf};
pub use journal::{End, Found, Opened, open_journal, read as read_journal};
pub use lengths::tapes;
pub use line::{Line, encode as encode_line};
pub use lock::JobLock;
pub use memory::{Course, Remembered, course, open_session};
pub use noted::{Standing, note, open_state, open_state_told};
pub use offcut::{OFFCUT_VERSION, Offcut, offcut_name, offcuts, uncut};
pub use patterns::{AtHand, Patterns, TilesOf, is_draft};
pub use saved::saved_text;
pub use shade::{copy_shade, read_shade, write_shade};
pub use toml_file::{parse as parse_versioned, read_text, read_versioned, toml_text, write_toml};
pub use writer::Writer;

pub use crate::disk::crc32c;

use crate::calibration::{AsWritten, PROFILE_VERSION, Profile};
use crate::cloth::{Cloth, Panel};
use crate::fault::Outcome;
use crate::lay::wish::Wished;
use crate::lay::{Laid, Placement, Stock, Trim};
use crate::measure::typed;
use crate::order::{Article, Make, Order};
use crate::pattern::{Pattern, PatternPiece, Sewing};
use crate::work::{Cuts, State, Ways, lies};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The version of the job file that this program writes and reads.
pub const JOB_VERSION: u32 = 1;

/// The job file's name in its folder.
pub const JOB_FILE: &str = "job.toml";

const DOING: &str = "reading the job";

/// The job file of a job folder, if it is not that already.
fn file_of(path: &Path) -> PathBuf {
    if path.is_dir() {
        path.join(JOB_FILE)
    } else {
        path.to_owned()
    }
}

/// A job as it is written.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JobFile {
    pub ghostchalk_job: u32,
    pub name: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile: Option<String>,
    #[serde(default, rename = "pattern")]
    pub patterns: Vec<PatternFile>,
    /// Linings and stiffeners that come from the pieces.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub derived: Vec<DerivedPart>,
    #[serde(default, rename = "cloth")]
    pub cloths: Vec<Cloth>,
    /// What articles are made of, whatever their size.
    #[serde(default, rename = "make", skip_serializing_if = "Vec::is_empty")]
    pub makes: Vec<Make>,
    /// What is wanted: articles that follow from a make.
    #[serde(default, rename = "order", skip_serializing_if = "Vec::is_empty")]
    pub orders: Vec<Order>,
    /// Articles that are written out.
    #[serde(default, rename = "article")]
    pub articles: Vec<Article>,
    #[serde(default, rename = "panel")]
    pub panels: Vec<Panel>,
    #[serde(default)]
    pub placed: Vec<Placement>,
    /// What is wished of pieces' places on the cloth.
    #[serde(default, rename = "wish", skip_serializing_if = "Vec::is_empty")]
    pub wishes: Vec<Wished>,
    /// How the lay was lit when it was last left.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub light: Option<Ways>,
    /// What cut tests found, and which of it the light is corrected by.
    #[serde(default, rename = "trim", skip_serializing_if = "Vec::is_empty")]
    pub trims: Vec<Trim>,
    /// What has been cut so far.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutting: Option<Cuts>,
}

impl JobFile {
    /// A job as its text says, not yet checked against itself.
    ///
    /// # Errors
    /// If it is not TOML, of another kind or version, or has an unknown key.
    pub fn parse(text: &str) -> Outcome<Self> {
        toml_file::parse(text, "ghostchalk_job", JOB_VERSION)
    }
}

/// A pattern file, by its path from the job's folder.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PatternFile {
    pub file: String,
    /// What is sewn to what in it, in a file of its own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seams: Option<String>,
    /// The size that it is of, where the job has several: its pieces, seams and rings are
    /// named by it, `upper 255`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub size: Option<String>,
    /// For a drawing without units: `mm`, `cm` or `in` (also `inch`).
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// For a PDF: the layers that are read; none: those that are on.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub layers: Vec<String>,
    /// For a drawing at the wrong scale: what it is multiplied by.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
    /// For a PDF of many pages: how they are laid together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tiles: Option<TilesOf>,
    /// For a draft: its measures, as they are typed. What is not said is as usual.
    #[serde(
        default,
        deserialize_with = "typed::by_name",
        skip_serializing_if = "BTreeMap::is_empty"
    )]
    pub measures: BTreeMap<String, String>,
    /// For a draft: along the grain, and across it, percent of what is drafted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_percent: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_percent: Option<f64>,
    /// For a drawing: width and height of its largest piece, as the person found them to be
    /// true.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub true_size_mm: Option<[f64; 2]>,
}

/// A job, read whole and found consistent.
#[derive(Debug, Clone)]
pub struct Job {
    pub folder: PathBuf,
    pub file: JobFile,
    pub pieces: Vec<PatternPiece>,
    /// All that is ordered: written out, and what orders come to.
    pub articles: Vec<Article>,
    /// What is sewn to what, as far as it is declared.
    pub sewing: Sewing,
    /// What a pattern file held that could not be told, one sentence each.
    pub left_out: Vec<String>,
    /// What the person should check in a pattern file, one sentence each.
    pub pattern_notes: Vec<String>,
    /// The drawings among the pattern files as they were read, each by its place there.
    pub drawings: Vec<(usize, Pattern)>,
}

impl Job {
    /// Opens a job folder, or the job file in it.
    ///
    /// # Errors
    /// Names the file and the element that can't be used.
    pub fn open(path: &Path) -> Outcome<Self> {
        let path = file_of(path);
        Self::from_text(&path, &read_text(&path, DOING)?)
    }

    /// The job of a job file's text; `path` is where the text was read.
    ///
    /// # Errors
    /// As [`Job::open`].
    pub fn from_text(path: &Path, text: &str) -> Outcome<Self> {
        let folder = path.parent().map(Path::to_owned).unwrap_or_default();
        let file = JobFile::parse(text).map_err(|f| f.in_file(path))?;
        file.check_counts().map_err(|f| f.in_file(path))?;
        let files = file.all_patterns().map_err(|f| f.in_file(path))?;
        let mut patterns = Patterns::read(&folder, &files)?;
        patterns
            .derive_sizes(&file.derived, &files)
            .map_err(|f| f.in_file(path))?;
        let articles = file
            .all_articles(&patterns.pieces)
            .map_err(|f| f.in_file(path))?;
        let Patterns {
            mut pieces,
            sewing,
            left_out,
            notes: pattern_notes,
            drawings,
        } = patterns;
        if let Some(cutting) = &file.cutting {
            add_notches(&mut pieces, &cutting.notches).map_err(|f| f.in_file(path))?;
        }
        let job = Self {
            folder,
            file,
            pieces,
            articles,
            sewing,
            left_out,
            pattern_notes,
            drawings,
        };
        job.check().map_err(|f| f.in_file(path))?;
        Ok(job)
    }

    /// The work as the job file says it is.
    pub fn state(&self) -> State {
        let f = &self.file;
        let ways = f.light.unwrap_or_default();
        State::new(f.panels.clone(), f.placed.iter().cloned(), ways)
            .cut_so_far(f.cutting.clone().unwrap_or_default())
            .with_trims(f.trims.clone())
            .with_wishes(f.wishes.clone())
    }

    /// The profile that the job names, if it names one.
    pub fn profile(&self) -> Outcome<Option<Profile>> {
        self.file
            .profile
            .as_ref()
            .map(|p| read_profile(&self.folder.join(p)))
            .transpose()
    }

    /// The lay, on the table: what is laid on the panels that are spread.
    pub fn laid(&self) -> Vec<Laid<'_>> {
        let stock = self.stock();
        let spread = |p: &&Placement| self.panels_spread().any(|q| q.name == p.panel);
        let f = &self.file;
        let none = Cuts::default();
        let cuts = f.cutting.as_ref().unwrap_or(&none);
        let placed = f.placed.iter().filter(spread);
        placed
            .filter_map(|p| lies(p, &stock, &f.panels, &f.trims, cuts))
            .collect()
    }

    /// The panels that lie on the table now.
    pub fn panels_spread(&self) -> impl Iterator<Item = &Panel> {
        self.file.panels.iter().filter(|p| p.spread)
    }

    /// The pieces, cloths and articles.
    pub fn stock(&self) -> Stock<'_> {
        Stock {
            pieces: &self.pieces,
            cloths: &self.file.cloths,
            articles: &self.articles,
        }
    }
}

/// Reads a profile file.
///
/// # Errors
/// As [`parse_profile`], and if it can't be read.
pub fn read_profile(path: &Path) -> Outcome<Profile> {
    let text = read_text(path, "reading the profile")?;
    parse_profile(&text).map_err(|f| f.in_file(path))
}

/// The profile of a profile file's text.
///
/// # Errors
/// If it is empty, not TOML, of another kind or version, has an unknown key, or is not as it was
/// written.
pub fn parse_profile(text: &str) -> Outcome<Profile> {
    if toml_file::is_empty(text) {
        return Err(toml_file::nothing_in(
            "delete it and set the table anew (`ghostchalk light` or `calibrate`)",
        ));
    }
    let versions = 1..=PROFILE_VERSION;
    toml_file::parse_among::<AsWritten>(text, "ghostchalk_profile", versions)?.checked()
}
