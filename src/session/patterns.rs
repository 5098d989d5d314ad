//! The job's drafts between disk, desk and table: read when the job is opened, written
//! when the person keeps them, and then lain by.

use super::proving::{DraftOpen, DraftWish, Proving};
use super::table::LiveTable;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{Job, Patterns, add_notches, is_draft, read_text};
use crate::work::Said;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

const KEEPING: &str = "keeping the draft";

/// What the panel shows of a job's pattern. A draft that can't be read was told when the
/// job was opened.
pub(super) fn proving(job: &Job) -> Proving {
    let drafts = job.file.patterns.iter().filter(|p| is_draft(&p.file));
    let text = |file: &String| read_text(&job.folder.join(file), KEEPING).ok();
    let texts: BTreeMap<String, String> = drafts
        .filter_map(|p| Some((p.file.clone(), text(&p.file)?)))
        .collect();
    Proving::of(job, &texts)
}

impl LiveTable {
    /// Does what is asked for at the panel's leaf of the pattern.
    ///
    /// # Errors
    /// If what is to be kept can't be, and why; files and lay are then as they were.
    pub fn draft(&mut self, wish: &DraftWish) -> Outcome<()> {
        match wish {
            DraftWish::Keep => self.keep_drafts(),
            DraftWish::Prove => {
                self.proving.prove(&self.memory.job);
                Ok(())
            }
            _ => {
                self.proving.grant(wish);
                Ok(())
            }
        }
    }

    /// Writes the drafts and the job's measures, and lays by the new pieces.
    fn keep_drafts(&mut self) -> Outcome<()> {
        self.may_keep()?;
        let patterns = self.pieces_as_drawn()?;
        let mut now = self.file_now();
        for open in &self.proving.drafts {
            let [length, width] = open.desk.scales().map(|s| (s != 1.0).then_some(s * 100.0));
            for p in now.patterns.iter_mut().filter(|p| p.file == open.file) {
                p.measures.clone_from(open.desk.typed());
                (p.length_percent, p.width_percent) = (length, width);
            }
        }
        // Drafts first; if the job can't be written after them they are put back.
        let mut written = Vec::new();
        let mut aside = Vec::new();
        let mut done = Ok(());
        for open in self.proving.drafts.iter().filter(|d| d.desk.is_changed()) {
            let path = self.memory.job.folder.join(&open.file);
            done = keep_copy(&path, open.desk.saved()).and_then(|copy| {
                aside.push(copy.display().to_string());
                disk::write_atomic(&path, open.desk.text().as_bytes())
            });
            if done.is_err() {
                break;
            }
            written.push((path, open.desk.saved().to_owned()));
        }
        done = done.and_then(|()| self.memory.save(&now));
        if let Err(why) = done {
            for (path, text) in written {
                disk::write_atomic(&path, text.as_bytes())?;
            }
            return Err(why);
        }
        for open in &mut self.proving.drafts {
            open.desk.is_written();
        }
        self.changed = false;
        let job = &mut self.memory.job;
        job.file = now;
        job.pieces.clone_from(&patterns.pieces);
        job.sewing = patterns.sewing;
        job.left_out = patterns.left_out;
        job.pattern_notes = patterns.notes;
        self.bench.goods.pieces = patterns.pieces;
        self.proving.prove(&self.memory.job);
        self.draw_anew()?;
        let before = match aside.as_slice() {
            [] => String::new(),
            all => format!("; as it was before it is kept in {}", all.join(", ")),
        };
        self.notice.said = Some(Said {
            words: format!("the draft is written, and the lay is by it{before}"),
            warning: false,
        });
        Ok(())
    }

    /// Whether what is on the desks can be kept at all.
    fn may_keep(&self) -> Outcome<()> {
        if let Some(why) = self.memory.read_only() {
            return Err(why.clone());
        }
        let faulty = self
            .proving
            .drafts
            .iter()
            .find_map(|d| Some((d, d.desk.fault()?)));
        if let Some((open, why)) = faulty {
            return Err(Fault::input(
                format!("{} can't be drawn as it is: {why}", open.file),
                "put that right first",
            ));
        }
        if !self.bench.state().cuts.parts.is_empty() {
            return Err(Fault::input(
                "parts are cut already by the pattern as it was",
                "finish this job, or begin another for the new pattern",
            ));
        }
        for open in &self.proving.drafts {
            let path = self.memory.job.folder.join(&open.file);
            if read_text(&path, KEEPING)? != open.desk.saved() {
                return Err(Fault::input(
                    "the draft was changed by another program while it was open",
                    "close the job and open it again to go on from the changed file",
                )
                .in_file(&path));
            }
        }
        Ok(())
    }

    /// All pieces as the desks have them; what is ordered is among them.
    fn pieces_as_drawn(&self) -> Outcome<Patterns> {
        let job = &self.memory.job;
        let mut all = self.proving.drawn(job)?;
        add_notches(&mut all.pieces, &self.bench.state().cuts.notches)?;
        let there = |name: &str| all.pieces.iter().any(|p| p.name == name);
        let ordered = job.file.articles.iter().flat_map(|a| &a.parts);
        let mut wanted = ordered.flat_map(|p| std::iter::once(&p.piece).chain(&p.inside));
        if let Some(gone) = wanted.find(|name| !there(name)) {
            return Err(Fault::input(
                format!("the piece \"{gone}\" is ordered, and the pattern has it no more"),
                "leave its name, or take it out of the job's articles first",
            ));
        }
        Ok(all)
    }

    /// What was typed on a desk and not kept is put beside its draft, and where.
    ///
    /// # Errors
    /// If the disk won't take it.
    pub(super) fn put_by_what_is_not_kept(&self) -> Outcome<Vec<PathBuf>> {
        let changed = self.proving.drafts.iter().filter(|d| d.desk.is_changed());
        let put = |open: &DraftOpen| {
            let path = self
                .memory
                .job
                .folder
                .join(format!("{}.not-kept", open.file));
            keep_copy(&path, &open.desk.text())
        };
        changed.map(put).collect()
    }
}

/// Writes a text beside `path`, under a name that nothing has.
fn keep_copy(path: &Path, text: &str) -> Outcome<PathBuf> {
    let copy = disk::free_name(path)?;
    disk::write_atomic(&copy, text.as_bytes())?;
    Ok(copy)
}
