//! The job's drafts between disk, desk and table: read when the job is opened, written
//! when the person keeps them, and then lain by.

use super::proving::{DraftWish, Proving};
use super::table::LiveTable;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::{Job, Patterns, add_notches, is_draft, read_text};
use crate::work::Said;
use std::collections::BTreeMap;

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
    /// If what is to be kept can't be, and why; nothing has changed then.
    pub fn draft(&mut self, wish: &DraftWish) -> Outcome<()> {
        if *wish == DraftWish::Keep {
            return self.keep_drafts();
        }
        self.proving.grant(wish, &self.memory.job);
        Ok(())
    }

    /// Writes the drafts and the job's measures, and lays by the new pieces.
    fn keep_drafts(&mut self) -> Outcome<()> {
        if let Some(why) = self.memory.read_only() {
            return Err(why.clone());
        }
        if let Some(open) = self
            .proving
            .drafts
            .iter()
            .find(|d| d.desk.fault().is_some())
        {
            let why = open.desk.fault().unwrap_or_default();
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
        let mut file = self.memory.job.file.clone();
        for open in &self.proving.drafts {
            let path = self.memory.job.folder.join(&open.file);
            if open.desk.is_changed() && read_text(&path, KEEPING)? != open.desk.saved() {
                return Err(Fault::input(
                    "the draft was changed by another program while it was open",
                    "close the job and open it again to go on from the changed file",
                )
                .in_file(&path));
            }
            let [length, width] = open.desk.scales().map(|s| (s != 1.0).then_some(s * 100.0));
            for p in file.patterns.iter_mut().filter(|p| p.file == open.file) {
                p.measures.clone_from(open.desk.typed());
                (p.length_percent, p.width_percent) = (length, width);
            }
        }
        let patterns = self.drawn_now()?;
        for open in &mut self.proving.drafts {
            if open.desk.is_changed() {
                let path = self.memory.job.folder.join(&open.file);
                disk::write_atomic(&path, open.desk.text().as_bytes())?;
                open.desk.is_written();
            }
        }
        self.memory.job.file = file;
        self.memory.job.pieces.clone_from(&patterns.pieces);
        self.memory.job.sewing = patterns.sewing;
        self.bench.goods.pieces = patterns.pieces;
        self.changed = true;
        self.proving.prove(&self.memory.job);
        self.draw_anew()?;
        self.save()?;
        self.notice.said = Some(Said {
            words: "the draft is written, and the lay is by it".to_owned(),
            warning: false,
        });
        Ok(())
    }

    /// All pieces as the desks have them, with those that are laid or ordered among them.
    fn drawn_now(&self) -> Outcome<Patterns> {
        let job = &self.memory.job;
        let others: Vec<_> = job
            .file
            .patterns
            .iter()
            .filter(|p| !is_draft(&p.file))
            .cloned()
            .collect();
        let mut all = Patterns::read(&job.folder, &others)?;
        for open in &self.proving.drafts {
            let Some(drawn) = open.desk.drawn() else {
                continue;
            };
            let (pattern, sewing) = drawn.clone().finished().map_err(|f| f.at(&open.file))?;
            all.add(&open.file, pattern, sewing)?;
        }
        all.derive(&job.file.derived)?;
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
}
