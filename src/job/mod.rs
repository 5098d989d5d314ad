//! The job folder: pattern files, cloths, what was ordered, the lay and the
//! profile, read as one and checked against each other.

mod added;
mod begin;
mod comments;
mod derived;
mod journal;
mod line;
mod lock;
mod matched;
mod memory;
mod patterns;
mod saved;
mod tail;
mod toml_file;
mod writer;

pub use added::{add_notches, notch_at};
pub use begin::first_job;
pub use derived::{DerivedPart, TurnOf};
pub use journal::{Opened, open_journal};
pub use line::{Line, crc32c};
pub use lock::JobLock;
pub use memory::{Course, Remembered, course, open_session};
pub use patterns::{Patterns, TilesOf, is_draft};
pub use saved::saved_text;
pub use toml_file::{read_text, read_versioned, toml_text, write_toml};
pub use writer::Writer;

use crate::calibration::{PROFILE_VERSION, Profile};
use crate::cloth::{Cloth, Panel};
use crate::fault::{Fault, Outcome, short};
use crate::lay::{Count, Laid, MOST_TRIM, Placement, Stock, Trim, trim_on};
use crate::order::Article;
use crate::pattern::{
    Finding, Miscount, PatternPiece, Severity, Sewing, Spot, Topic, check_counts,
};
use crate::work::{Cuts, State, Ways};
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
    #[serde(default, rename = "article")]
    pub articles: Vec<Article>,
    #[serde(default, rename = "panel")]
    pub panels: Vec<Panel>,
    #[serde(default)]
    pub placed: Vec<Placement>,
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
    /// For a drawing without units: `mm`, `cm` or `inch`.
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
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub measures: BTreeMap<String, String>,
    /// For a draft: along the grain, and across it, percent of what is drafted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub length_percent: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub width_percent: Option<f64>,
}

/// A job, read whole and found consistent.
#[derive(Debug, Clone)]
pub struct Job {
    pub folder: PathBuf,
    pub file: JobFile,
    pub pieces: Vec<PatternPiece>,
    /// What is sewn to what, as far as it is declared.
    pub sewing: Sewing,
    /// What a pattern file held that could not be told, one sentence each.
    pub left_out: Vec<String>,
    /// What the person should check in a pattern file, one sentence each.
    pub pattern_notes: Vec<String>,
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
        let mut patterns = Patterns::read(&folder, &file.patterns)?;
        patterns
            .derive(&file.derived)
            .map_err(|f| f.in_file(path))?;
        let Patterns {
            mut pieces,
            sewing,
            left_out,
            notes: pattern_notes,
        } = patterns;
        if let Some(cutting) = &file.cutting {
            add_notches(&mut pieces, &cutting.notches).map_err(|f| f.in_file(path))?;
        }
        let job = Self {
            folder,
            file,
            pieces,
            sewing,
            left_out,
            pattern_notes,
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
        let panels = &self.file.panels;
        let lay = |p: &'_ Placement| {
            let trim = trim_on(&self.file.trims, &stock, &p.panel, panels);
            stock.laid(p, panels).map(|laid| Laid { trim, ..laid })
        };
        self.file
            .placed
            .iter()
            .filter(spread)
            .filter_map(lay)
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
            articles: &self.file.articles,
        }
    }

    /// What is ordered and does not fit the pieces' hands and folds: two lefts, half of a
    /// piece on cloth that lies single.
    pub fn miscounts(&self, pieces: &[PatternPiece]) -> Vec<Finding> {
        let mut all = Vec::new();
        let cut = self.file.cutting.iter().flat_map(|c| &c.parts);
        let stock = self.stock();
        for count in stock.counts(&self.file.panels, &self.file.placed, cut) {
            // What is not laid yet is no fault; a hand too many is.
            if let (true, Some(note)) = (count.is_wrong_hand(), count.note()) {
                let spot = Spot {
                    piece: Some(count.part.piece.clone()),
                    ..Spot::default()
                };
                let remedy = "turn one of them over";
                all.push(Finding::new(
                    Severity::Spoils,
                    Topic::Count,
                    spot,
                    note,
                    remedy,
                ));
            }
        }
        for article in &self.file.articles {
            for part in &article.parts {
                let Some(piece) = pieces.iter().find(|p| p.name == part.piece) else {
                    continue;
                };
                for found in check_counts(piece, part.count, part.pair, true) {
                    let severity = match (found.what, found.spoils()) {
                        // Whether the cloth is folded where it lies, only the person knows.
                        (Miscount::Unfolded, _) => Severity::Check,
                        (_, true) => Severity::Spoils,
                        (_, false) => Severity::Advice,
                    };
                    let what = format!("article {}, {}: {}", article.name, part.cloth, found);
                    let (what, remedy) = what.trim_end_matches('.').rsplit_once("; ").map_or_else(
                        || (what.clone(), "check the order".to_owned()),
                        |(a, b)| (a.to_owned(), b.to_owned()),
                    );
                    all.push(Finding::new(
                        severity,
                        Topic::Count,
                        Spot::piece(piece),
                        what,
                        remedy,
                    ));
                }
            }
        }
        all
    }

    /// What the lay still lacks or has too much of, a sentence each.
    pub fn counts(&self) -> Vec<String> {
        let cut = self.file.cutting.iter().flat_map(|c| &c.parts);
        let counts = self
            .stock()
            .counts(&self.file.panels, &self.file.placed, cut);
        counts.iter().filter_map(Count::note).collect()
    }

    fn check(&self) -> Outcome<()> {
        let f = &self.file;
        unique("cloth", f.cloths.iter().map(|c| c.name.as_str()))?;
        unique("article", f.articles.iter().map(|a| a.name.as_str()))?;
        unique("panel", f.panels.iter().map(|p| p.name.as_str()))?;
        for c in &f.cloths {
            in_range("thickness_mm", c.thickness_mm, 0.0, 100.0)
                .map_err(|e| e.at(format!("cloth \"{}\"", c.name)))?;
        }
        for a in &f.articles {
            let parts: Vec<String> = a
                .parts
                .iter()
                .map(|p| format!("{} in {}", p.piece, p.cloth))
                .collect();
            unique("part", parts.iter().map(String::as_str))
                .map_err(|e| e.at(format!("article \"{}\"", a.name)))?;
            for p in &a.parts {
                let place = |e: Fault| e.at(format!("article \"{}\"", a.name));
                self.known_piece(&p.piece).map_err(place)?;
                known("cloth", &p.cloth, f.cloths.iter().map(|c| c.name.as_str()))
                    .map_err(place)?;
                if let Some(around) = &p.inside {
                    self.known_piece(around).map_err(place)?;
                }
                in_range("count", f64::from(p.count), 1.0, 10_000.0).map_err(place)?;
            }
        }
        for p in &f.panels {
            let place = |e: Fault| e.at(format!("panel \"{}\"", p.name));
            known("cloth", &p.cloth, f.cloths.iter().map(|c| c.name.as_str())).map_err(place)?;
            p.outline()?;
            for k in &p.keep_out {
                k.outline().map_err(place)?;
            }
            position(p.on_table.x_mm, p.on_table.y_mm, p.on_table.turn_deg).map_err(place)?;
            in_range("grain_deg", p.grain_deg, -360.0, 360.0).map_err(place)?;
            unique("mark", p.marks.iter().map(|m| m.name.as_str())).map_err(place)?;
            for m in &p.marks {
                let place = |e: Fault| place(e.at(format!("mark \"{}\"", m.name)));
                in_range("x_mm", m.x_mm, -1e5, 1e5).map_err(place)?;
                in_range("y_mm", m.y_mm, -1e5, 1e5).map_err(place)?;
            }
            self.check_plies(p).map_err(place)?;
        }
        let ids: Vec<String> = f
            .placed
            .iter()
            .filter_map(|p| p.id)
            .map(|id| id.to_string())
            .collect();
        unique("placed id", ids.iter().map(String::as_str))?;
        for (k, p) in f.placed.iter().enumerate() {
            self.check_placement(p)
                .map_err(|e| e.at(format!("placed {} (\"{}\")", k + 1, p.piece)))?;
        }
        for (k, t) in f.trims.iter().enumerate() {
            let place = |e: Fault| e.at(format!("trim {} ({})", k + 1, t.of()));
            known("cloth", &t.cloth, f.cloths.iter().map(|c| c.name.as_str())).map_err(place)?;
            in_range("plies", f64::from(t.plies), 1.0, 2.0).map_err(place)?;
            in_range("edge_mm", t.edge_mm, -MOST_TRIM, MOST_TRIM).map_err(place)?;
            in_range("error_mm", t.error_mm, 0.0, MOST_TRIM).map_err(place)?;
            let rival = f.trims[..k].iter().find(|u| u.on && t.on && u.rivals(t));
            if let Some(u) = rival {
                return Err(place(Fault::input(
                    format!("it is on, and so is {}", u.of()),
                    "set \"on = false\" for one of them",
                )));
            }
        }
        self.check_cutting()
    }

    /// Whether what was cut belongs to this job.
    fn check_cutting(&self) -> Outcome<()> {
        let f = &self.file;
        let Some(cutting) = &f.cutting else {
            return Ok(());
        };
        for (k, p) in cutting.parts.iter().enumerate() {
            let place = |e: Fault| e.at(format!("cutting part {}", k + 1));
            if p.id as usize != k + 1 {
                return Err(place(Fault::input(
                    format!("its number is {} and it is part {}", p.id, k + 1),
                    "parts are numbered in the order they are cut: do not change them by hand",
                )));
            }
            self.known_piece(&p.piece).map_err(place)?;
            known("panel", &p.panel, f.panels.iter().map(|q| q.name.as_str())).map_err(place)?;
            if self.stock().part(&p.article, &p.piece, &p.cloth).is_none() {
                return Err(place(Fault::input(
                    format!(
                        "article \"{}\" has no {} in {}",
                        p.article, p.piece, p.cloth
                    ),
                    "put the part back into the article's list",
                )));
            }
        }
        Ok(())
    }

    fn known_piece(&self, name: &str) -> Outcome<()> {
        known("piece", name, self.pieces.iter().map(|p| p.name.as_str()))
    }

    /// Whether the plies on top of a panel come to an end.
    fn check_plies(&self, panel: &Panel) -> Outcome<()> {
        let f = &self.file;
        let mut above = panel.under.as_deref();
        for _ in 0..=f.panels.len() {
            let Some(name) = above else { return Ok(()) };
            known("panel", name, f.panels.iter().map(|p| p.name.as_str()))?;
            let on_top = f.panels.iter().find(|p| p.name == name);
            above = on_top.and_then(|p| p.under.as_deref());
        }
        Err(Fault::input(
            "it lies under itself",
            "take one \"under\" out, so that one ply is on top",
        ))
    }

    fn check_placement(&self, p: &Placement) -> Outcome<()> {
        let f = &self.file;
        self.known_piece(&p.piece)?;
        known("panel", &p.panel, f.panels.iter().map(|p| p.name.as_str()))?;
        known(
            "article",
            &p.article,
            f.articles.iter().map(|a| a.name.as_str()),
        )?;
        position(p.x_mm, p.y_mm, p.turn_deg)?;
        let panel = f.panels.iter().find(|q| q.name == p.panel);
        let cloth = panel.map_or("", |q| q.cloth.as_str());
        let ordered = self.stock().part(&p.article, &p.piece, cloth);
        if ordered.is_none() {
            return Err(Fault::input(
                format!("article \"{}\" has no {} in {cloth}", p.article, p.piece),
                "add the part to the article, or lay the piece on the right cloth",
            ));
        }
        Ok(())
    }
}

/// Reads a profile file.
pub fn read_profile(path: &Path) -> Outcome<Profile> {
    read_versioned(
        path,
        "reading the profile",
        "ghostchalk_profile",
        PROFILE_VERSION,
    )
}

fn unique<'a>(what: &str, names: impl Iterator<Item = &'a str>) -> Outcome<()> {
    let mut seen = std::collections::HashSet::new();
    for name in names {
        if !seen.insert(name) {
            return Err(Fault::input(
                format!("there are two of {what} \"{name}\""),
                "give each a name of its own",
            ));
        }
    }
    Ok(())
}

fn known<'a>(what: &str, name: &str, names: impl Iterator<Item = &'a str>) -> Outcome<()> {
    let all: Vec<&str> = names.collect();
    if all.contains(&name) {
        return Ok(());
    }
    let there = if all.is_empty() {
        format!("the job has no {what}s")
    } else {
        let more = if all.len() > 12 { ", …" } else { "" };
        format!("there is {}{more}", all[..all.len().min(12)].join(", "))
    };
    Err(Fault::input(
        format!("the {what} \"{name}\" isn't there"),
        format!("check the spelling: {there}"),
    ))
}

fn in_range(key: &str, value: f64, least: f64, most: f64) -> Outcome<()> {
    if value >= least && value <= most {
        return Ok(());
    }
    Err(Fault::input(
        format!("{key} is {}", short(value)),
        format!("give a number from {} to {}", short(least), short(most)),
    ))
}

fn position(x: f64, y: f64, turn: f64) -> Outcome<()> {
    in_range("x_mm", x, -1e5, 1e5)?;
    in_range("y_mm", y, -1e5, 1e5)?;
    in_range("turn_deg", turn, -36_000.0, 36_000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The demo job with its text changed.
    fn with(old: &str, new: &str) -> Outcome<Job> {
        let path = Path::new("demo-data/job.toml");
        let text = std::fs::read_to_string(path).unwrap();
        assert!(text.contains(old));
        Job::from_text(path, &text.replacen(old, new, 1))
    }

    fn said(old: &str, new: &str) -> String {
        with(old, new).unwrap_err().to_string()
    }

    const FLANNEL: &str = "cloth = \"flannel\"\n#";

    fn flannel(more: &str) -> String {
        format!("cloth = \"flannel\"\n{more}\n#")
    }

    #[test]
    fn cloth_marks_plies_and_numbers_are_checked() {
        let mark = |x: &str| {
            flannel(&format!(
                "mark = [{{ name = \"a\", x_mm = {x}, y_mm = 0 }}]"
            ))
        };
        assert!(with(FLANNEL, &mark("-100000")).is_ok());
        for x in ["nan", "inf", "100001"] {
            let text = said(FLANNEL, &mark(x));
            assert!(
                text.contains("\"remnant\"") && text.contains("mark \"a\""),
                "{text}"
            );
        }
        let twice =
            "mark = [{ name = \"a\", x_mm = 1, y_mm = 0 }, { name = \"a\", x_mm = 2, y_mm = 0 }]";
        assert!(said(FLANNEL, &flannel(twice)).contains("two of mark \"a\""));
        assert!(said(FLANNEL, &flannel("under = \"table\"")).contains("isn't there"));
        assert!(said(FLANNEL, &flannel("under = \"remnant\"")).contains("under itself"));
        let under = with(FLANNEL, &flannel("under = \"felt\"")).unwrap();
        assert_eq!(under.file.panels[1].under.as_deref(), Some("felt"));
        let id = "face = \"up\"\nid = 3";
        let text = std::fs::read_to_string("demo-data/job.toml").unwrap();
        let path = Path::new("demo-data/job.toml");
        let twice = text.replace("face = \"up\"", id);
        let text = Job::from_text(path, &twice).unwrap_err().to_string();
        assert!(text.contains("two of placed id \"3\""), "{text}");
        assert!(with("face = \"up\"", id).is_ok());
        assert!(said("face = \"up\"", "id = -3").contains("line "));
    }

    #[test]
    fn a_panel_put_away_takes_its_pieces_off_the_table() {
        let all = with(FLANNEL, FLANNEL).unwrap();
        let away = with(FLANNEL, &flannel("spread = false")).unwrap();
        let on = |job: &Job| job.laid().iter().filter(|l| l.panel == "remnant").count();
        assert_eq!((on(&all), on(&away)), (4, 0));
        assert_eq!(away.laid().len(), all.laid().len() - 4);
        let spread: Vec<&str> = away.panels_spread().map(|p| p.name.as_str()).collect();
        assert_eq!(spread, ["sling", "felt"]);
        // They are laid all the same.
        assert_eq!(away.counts(), all.counts());
    }
}
