//! The job's drafts and drawings between disk, desk and table: read when the job is opened,
//! written when the person keeps them, and then lain by.

use super::proving::{DraftOpen, DraftWish, Proving};
use super::reading::{ReadOpen, ReadWish};
use super::table::LiveTable;
use super::table::listed;
use crate::disk;
use crate::drawing::read;
use crate::fault::{Fault, Outcome};
use crate::job::{
    AtHand, Job, JobFile, PatternFile, Patterns, add_notches, is_draft, read_text, tapes,
};
use crate::measure::Unit;
use crate::pattern::{EdgeName, Pattern};
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
    /// If what is to be kept can't be, and why; files and lay are then as they were. If a
    /// drawing can't be read at another scale.
    pub fn draft(&mut self, wish: &DraftWish) -> Outcome<()> {
        self.ending.anew();
        match wish {
            DraftWish::Keep => self.keep(),
            DraftWish::Prove => {
                self.proving.prove(&self.memory.job, self.bench.state());
                Ok(())
            }
            DraftWish::Read { reading, wish } => self.reading(*reading, wish),
            _ => {
                self.proving.grant(wish);
                Ok(())
            }
        }
    }

    fn reading(&mut self, reading: usize, wish: &ReadWish) -> Outcome<()> {
        let may_write = self.memory.read_only().is_none();
        let unit = if self.notice.inches {
            Unit::Inch
        } else {
            Unit::Mm
        };
        let job = &mut self.memory.job;
        let Some(open) = self.proving.readings.get_mut(reading) else {
            return Ok(());
        };
        let scale = match wish {
            ReadWish::Size(text) => open.scale_for(text, unit)?,
            ReadWish::Scale(scale) => *scale,
            wish => {
                open.grant(wish);
                // What is true of the file as it is need not wait for corrections.
                let as_it_is = !open.is_changed() && may_write;
                if let (ReadWish::Confirm, true, Some(file)) =
                    (wish, as_it_is, job.file.patterns.get_mut(open.at))
                {
                    file.true_size_mm = open.confirmed();
                    self.changed = true;
                }
                return Ok(());
            }
        };
        let options = open.options(job, scale)?;
        let read = read::any(&job.folder.join(&open.file), &options)?;
        open.take_up(read, scale);
        Ok(())
    }

    /// Writes drafts and corrected drawings and the job that names them, and lays by the new
    /// pieces.
    fn keep(&mut self) -> Outcome<()> {
        self.may_keep()?;
        let written = self.written()?;
        let mut now = self.file_now();
        for open in &self.proving.drafts {
            let [length, width] = open.desk.scales().map(|s| (s != 1.0).then_some(s * 100.0));
            let own = |p: &&mut PatternFile| p.file == open.file && p.size.is_none();
            for p in now.patterns.iter_mut().filter(own) {
                p.measures.clone_from(open.desk.typed());
                (p.length_percent, p.width_percent) = (length, width);
            }
        }
        for open in &self.proving.readings {
            now.patterns[open.at].true_size_mm = open.confirmed();
        }
        for one in &written {
            let file = &mut now.patterns[one.at];
            // What was said of the original holds of the original.
            *file = PatternFile {
                seams: file.seams.take(),
                true_size_mm: file.true_size_mm,
                ..PatternFile::named(&one.file)
            };
        }
        let names = self.renamed();
        let renamed = |name: &str| {
            let found = names.iter().find(|(old, _)| old == name);
            found.map_or_else(|| name.to_owned(), |(_, new)| new.clone())
        };
        rename(&mut now, &renamed);
        let patterns = self.pieces_as_kept(&now, &written)?;
        if !names.is_empty() {
            // What was done before speaks of the old names. First all of it is in the job.
            self.save()?;
            self.memory.forget()?;
            self.bench.forget();
        }
        let aside = self.write_all(&written, &now)?;
        for open in &mut self.proving.drafts {
            open.desk.is_written();
        }
        self.changed = !self.memory.is_confirmed();
        if !names.is_empty() {
            self.bench.rename_pieces(renamed);
        }
        let articles = now.all_articles(&patterns.pieces)?;
        self.bench.goods.articles.clone_from(&articles);
        self.bench.goods.pieces.clone_from(&patterns.pieces);
        let job = &mut self.memory.job;
        job.file = now;
        job.pieces = patterns.pieces;
        job.articles = articles;
        job.sewing = patterns.sewing;
        job.left_out = patterns.left_out;
        job.pattern_notes = patterns.notes;
        job.drawings = patterns.drawings;
        let tapes = job.tapes()?;
        self.bench.set_tapes(listed(tapes));
        self.proving.readings = ReadOpen::of(job);
        self.proving.prove(&self.memory.job, self.bench.state());
        self.draw_anew()?;
        self.notice.said = Some(Said {
            words: kept(&written, &aside, !names.is_empty()),
            warning: false,
        });
        Ok(())
    }

    /// Drawings that are corrected, as they are to be written, under names that nothing has.
    fn written(&self) -> Outcome<Vec<Redrawn>> {
        let changed = self.proving.readings.iter().filter(|r| r.is_changed());
        let mut all: Vec<Redrawn> = Vec::new();
        for open in changed {
            let (text, pattern) = open.written().map_err(|f| f.at(&open.file))?;
            let folder = &self.memory.job.folder;
            let taken = |file: &str| all.iter().any(|r: &Redrawn| r.file == file);
            let file = free_beside(folder, &open.file, taken)?;
            all.push(Redrawn {
                at: open.at,
                path: folder.join(&file),
                file,
                text,
                pattern,
            });
        }
        Ok(all)
    }

    /// Writes drawings, drafts and job: all of them, or none. Where the drafts are kept as
    /// they were.
    fn write_all(&mut self, redrawn: &[Redrawn], now: &JobFile) -> Outcome<Vec<String>> {
        let mut new = Vec::new();
        let mut over = Vec::new();
        let mut aside = Vec::new();
        let mut write = || -> Outcome<()> {
            for one in redrawn {
                disk::write_atomic(&one.path, one.text.as_bytes())?;
                new.push(&one.path);
            }
            for open in self.proving.drafts.iter().filter(|d| d.desk.is_changed()) {
                let path = self.memory.job.folder.join(&open.file);
                let copy = keep_copy(&path, open.desk.saved())?;
                aside.push(copy.display().to_string());
                disk::write_atomic(&path, open.desk.text().as_bytes())?;
                over.push((path, open.desk.saved().to_owned()));
            }
            Ok(())
        };
        let mut done = write();
        if done.is_ok() {
            done = self.memory.save(now);
            // The job file that names them is there, and only its folder was not flushed: what it
            // names must stay.
            if let Err(why) = &done
                && self.memory.holds(now)
            {
                self.notes.push(why.to_string());
                return Ok(aside);
            }
        }
        let Err(why) = done else {
            return Ok(aside);
        };
        for (path, text) in over {
            // One that fails keeps none of the others from it.
            if let Err(fault) = disk::write_atomic(&path, text.as_bytes()) {
                self.notes.push(fault.to_string());
            }
        }
        for path in new {
            // One that stays is of no harm: nothing names it.
            drop(std::fs::remove_file(path));
        }
        Err(why)
    }

    /// Pieces that the job speaks of, and what they are called from now on.
    fn renamed(&self) -> Vec<(String, String)> {
        let readings = self.proving.readings.iter().filter(|r| r.is_changed());
        let each = readings.flat_map(|open| {
            let read = open.desk.read().pieces.iter().enumerate();
            read.filter_map(|(k, p)| Some((p.name.clone(), open.desk.named(k)?.0)))
        });
        each.filter(|(old, new)| old != new).collect()
    }

    /// Whether what is on the desks can be kept at all.
    fn may_keep(&self) -> Outcome<()> {
        if let Some(why) = self.memory.read_only() {
            return Err(why.clone());
        }
        let drafts = self.proving.drafts.iter();
        let drafts = drafts.map(|d| (&d.file, d.desk.fault()));
        let readings = self.proving.readings.iter();
        let readings = readings.map(|r| (&r.file, r.desk.fault()));
        let faulty = drafts.chain(readings).find_map(|(f, why)| Some((f, why?)));
        if let Some((file, why)) = faulty {
            let why = why.trim_end_matches('.');
            return Err(Fault::input(
                format!("{file} can't be drawn as it is: {why}"),
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

    /// All pieces as they will be read once all is written; what is ordered is among them.
    fn pieces_as_kept(&self, now: &JobFile, redrawn: &[Redrawn]) -> Outcome<Patterns> {
        let at_hand = |k: usize, f: &PatternFile| {
            let one = redrawn.iter().find(|r| r.at == k);
            let read = one.map(|r| AtHand::Read(r.pattern.clone()));
            // What is not corrected is as it was read when the job was opened.
            let as_it_was = || {
                let mut open = self.proving.readings.iter();
                let open = open.find(|r| r.at == k)?;
                Some(AtHand::Read(open.desk.read().clone()))
            };
            read.or_else(as_it_was).or_else(|| self.proving.drafted(f))
        };
        let mut all = Patterns::of_job(&self.memory.job.folder, now, at_hand)?;
        let notches = now.cutting.iter().flat_map(|c| &c.notches).cloned();
        add_notches(&mut all.pieces, &notches.collect::<Vec<_>>())?;
        let there = |name: &str| all.pieces.iter().any(|p| p.name == name);
        let articles = now.all_articles(&all.pieces)?;
        // What is cut by length must come out by the new pieces too.
        tapes(&articles, &all.pieces, &all.sewing)?;
        let ordered = articles.iter().flat_map(|a| &a.parts);
        let mut wanted = ordered.flat_map(|p| std::iter::once(&p.piece).chain(&p.inside));
        if let Some(gone) = wanted.find(|name| !there(name)) {
            return Err(Fault::input(
                format!("the piece \"{gone}\" is ordered, and the pattern no longer has it"),
                "give a piece that name again, or take it out of the job's articles first",
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

/// A corrected drawing, to be written.
struct Redrawn {
    /// Its place among the job's pattern files.
    at: usize,
    /// As the job will name it.
    file: String,
    path: PathBuf,
    text: String,
    /// As it will be read.
    pattern: Pattern,
}

/// What was written, in a sentence.
fn kept(written: &[Redrawn], aside: &[String], renamed: bool) -> String {
    let files: Vec<&str> = written.iter().map(|w| w.file.as_str()).collect();
    let mut words = match (files.as_slice(), aside) {
        ([], _) => "the draft is written, and the lay follows it".to_owned(),
        (files, _) => format!(
            "the corrected drawing is {}, and the lay follows it; the original is as it was",
            files.join(", ")
        ),
    };
    if !aside.is_empty() {
        words += &format!(
            "; the draft as it was before is kept in {}",
            aside.join(", ")
        );
    }
    if renamed {
        words += "; pieces have other names, so what was done before can't be undone";
    }
    words
}

/// Pieces are called otherwise wherever a job names them.
fn rename(job: &mut JobFile, name: &impl Fn(&str) -> String) {
    for part in job.articles.iter_mut().flat_map(|a| &mut a.parts) {
        part.piece = name(&part.piece);
        part.inside = part.inside.as_deref().map(name);
    }
    for part in job.makes.iter_mut().flat_map(|m| &mut m.parts) {
        part.piece = name(&part.piece);
        part.inside = part.inside.as_deref().map(name);
    }
    let lengths = job.makes.iter_mut().flat_map(|m| &mut m.lengths);
    let lengths = lengths.chain(job.articles.iter_mut().flat_map(|a| &mut a.lengths));
    for edge in lengths.flat_map(|l| &mut l.along) {
        if let Some(e) = EdgeName::parse(edge) {
            let piece = name(&e.piece);
            *edge = EdgeName { piece, ..e }.to_string();
        }
    }
    for part in &mut job.derived {
        part.of = name(&part.of);
    }
    for placed in &mut job.placed {
        placed.piece = name(&placed.piece);
    }
    for wished in &mut job.wishes {
        wished.rename(name);
    }
    for notch in job.cutting.iter_mut().flat_map(|c| &mut c.notches) {
        notch.piece = name(&notch.piece);
    }
}

/// A name beside `file` that nothing in `folder` has, nor `taken`: `sole.pdf` becomes
/// `sole.corrected.svg`, that `sole.corrected-2.svg`.
fn free_beside(folder: &Path, file: &str, taken: impl Fn(&str) -> bool) -> Outcome<String> {
    let path = Path::new(file);
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let stem = match stem.rsplit_once(".corrected") {
        Some((stem, n)) if n.trim_start_matches('-').parse::<u32>().is_ok() || n.is_empty() => stem,
        _ => &stem,
    };
    for n in 1..1000 {
        let number = if n == 1 {
            String::new()
        } else {
            format!("-{n}")
        };
        let name = path.with_file_name(format!("{stem}.corrected{number}.svg"));
        let name = name.to_string_lossy().into_owned();
        let free = std::fs::symlink_metadata(folder.join(&name)).is_err();
        if free && !taken(&name) {
            return Ok(name);
        }
    }
    Err(Fault::input(
        "there are a thousand corrected drawings of it already",
        "move the old ones to another folder",
    )
    .in_file(path))
}

/// Writes a text beside `path`, under a name that nothing has.
fn keep_copy(path: &Path, text: &str) -> Outcome<PathBuf> {
    let copy = disk::free_name(path)?;
    disk::write_atomic(&copy, text.as_bytes())?;
    Ok(copy)
}

#[cfg(test)]
mod tests;
