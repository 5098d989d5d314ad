//! A job with its memory: the job file, the journal of what was done since and
//! before, and the lock. The order of writing is such that, wherever the
//! program or the power stops, what was done is found again.

use super::beside;
use super::journal::open_journal;
use super::known::Known;
use super::line::Line;
use super::lock::JobLock;
use super::saved::saved_text;
use super::toml_file::read_text;
use super::writer::Writer;
use super::{DOING, Job, JobFile, file_of};
use crate::disk::{self, crc32c};
use crate::fault::{Fault, Outcome};
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::path::{Display, Path, PathBuf};

/// The journal's name in the job's folder.
pub(super) const JOURNAL: &str = "journal";

/// What to do with a journal, given the job file as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Course {
    /// The job file stands in the journal: what was done since begins at this
    /// record.
    Replay(usize),
    /// The journal holds nothing that was done: it begins with this job file.
    Begin,
    /// The job file was changed by something else: the journal does not
    /// belong to it.
    PutAside,
}

/// Decides what to do with a journal. `job_crc` is the CRC-32C of the job file
/// as it is; `stamps` has for each record the job file that it names, `None`
/// for a step. The last record that names the job file counts: up to there all
/// is in the file. A record that announces a file which never came is passed
/// over, for its CRC-32C is another.
pub fn course(job_crc: u32, stamps: &[Option<u32>]) -> Course {
    match stamps.iter().rposition(|s| *s == Some(job_crc)) {
        Some(at) => Course::Replay(at + 1),
        None if stamps.iter().all(Option::is_some) => Course::Begin,
        None => Course::PutAside,
    }
}

/// A job as the last session left it.
#[derive(Debug)]
pub struct Remembered<T> {
    /// The job as its file says; `steps[replay_from..]` were done since.
    pub job: Job,
    /// All steps of the journal, oldest first: what can be undone.
    pub steps: Vec<T>,
    pub replay_from: usize,
    /// What the person should be told, one sentence each.
    pub notes: Vec<String>,
    /// All steps of a journal that does not belong to the job file, and how many of them a job
    /// file held: the one that was saved last before it was changed.
    pub(super) aside: (Vec<T>, usize),
    pub(super) path: PathBuf,
    /// The job file as it is on disk.
    text: String,
    /// The same, for who looks whether it still is.
    known: Known,
    /// It is in its place, but the disk has not confirmed that it will stay there.
    unsure: bool,
    // Before the lock: a dropped writer first writes what waits.
    writer: Outcome<Writer<T>>,
    _lock: Option<JobLock>,
}

/// Opens a job folder, or the job file in it, to work on.
///
/// If another session has it, its folder can't be written to, or its journal
/// is damaged, it opens to be looked at only, and a note says why.
///
/// # Errors
/// As [`Job::open`], and if there is a journal that can't be read, for it may
/// hold what the job file does not.
pub fn open_session<T>(path: &Path) -> Outcome<Remembered<T>>
where
    T: Serialize + DeserializeOwned,
{
    let mut memory = open_with(path, JobLock::take)?;
    if let Err(why) = &memory.writer {
        let why = why.to_string();
        if !memory.notes.contains(&why) {
            memory.notes.push(why);
        }
    }
    Ok(memory)
}

/// Opens a job to be read: nothing on disk is touched, and it does not matter whether another
/// session has it.
///
/// # Errors
/// As [`open_session`].
pub(super) fn look_at<T>(path: &Path) -> Outcome<Remembered<T>>
where
    T: Serialize + DeserializeOwned,
{
    open_with(path, |_| {
        Err(Fault::input(
            "the job is only read",
            "open it at the table to change it",
        ))
    })
}

fn open_with<T>(path: &Path, take: impl FnOnce(&Path) -> Outcome<JobLock>) -> Outcome<Remembered<T>>
where
    T: Serialize + DeserializeOwned,
{
    let path = file_of(path);
    // No lock file is left where there is no job, nor beside a file that is none.
    JobFile::parse(&read_text(&path, DOING)?).map_err(|f| f.in_file(&path))?;
    let folder = disk::folder_of(&path).to_owned();
    // First the lock, then the job file, then the journal: if another session
    // saves in between, the journal still names the older file.
    let lock = take(&folder);
    let text = read_text(&path, DOING)?;
    let job = Job::from_text(&path, &text)?;
    let journal = folder.join(JOURNAL);
    let opened = match &lock {
        Ok(_) => {
            disk::take_away_leftovers(&folder);
            open_journal::<T>(&journal, Ok(()))?
        }
        Err(why) => beside::look(
            || open_journal::<T>(&journal, Err(why.clone())),
            || JobLock::is_held(&folder),
            beside::wait,
        )?,
    };
    let mut notes: Vec<String> = opened.note.into_iter().collect();
    let mut records = opened.records;
    let mut writer = opened.writer;
    let job_crc = crc32c(text.as_bytes());
    let stamps: Vec<Option<u32>> = records.iter().map(Line::stamp).collect();
    let saved = stamps.iter().rposition(Option::is_some);
    let saved = saved.map_or(0, |at| at + 1);
    let mut aside = (Vec::new(), 0);
    let from = match (course(job_crc, &stamps), &mut writer) {
        (Course::Replay(from), _) => from,
        (Course::Begin, Ok(w)) => {
            w.base(job_crc)?;
            0
        }
        (Course::Begin, Err(_)) => 0,
        (Course::PutAside, Ok(_)) => {
            let note;
            (writer, note) = begin_anew(&path, &journal, writer, job_crc);
            notes.extend(note);
            aside = steps_of(std::mem::take(&mut records), saved);
            0
        }
        (Course::PutAside, Err(_)) => {
            notes.push(format!(
                "{}: the journal does not go with {}, so only what that file holds is shown.",
                journal.display(),
                called(&path)
            ));
            aside = steps_of(std::mem::take(&mut records), saved);
            0
        }
    };
    let (steps, replay_from) = steps_of(records, from);
    let known = Known::new(&path, &text);
    if let Ok(writer) = &writer {
        look_after(writer, &known)?;
    }
    Ok(Remembered {
        job,
        steps,
        replay_from,
        notes,
        aside,
        path,
        text,
        known,
        unsure: false,
        writer,
        _lock: lock.ok(),
    })
}

/// The job file is looked at whenever something is confirmed.
fn look_after<T>(writer: &Writer<T>, known: &Known) -> Outcome<()>
where
    T: Serialize + DeserializeOwned,
{
    let known = known.clone();
    writer.look_with(move || known.look())
}

/// The steps among a journal's records, and how many of them come before the record `from`.
fn steps_of<T>(records: Vec<Line<T>>, from: usize) -> (Vec<T>, usize) {
    let is_step = |l: &&Line<T>| l.stamp().is_none();
    let before = records.iter().take(from).filter(is_step).count();
    let steps = records.into_iter().filter_map(|line| match line {
        Line::Op(step) => Some(step),
        Line::Base { .. } | Line::Saving { .. } => None,
    });
    (steps.collect(), before)
}

/// The job file's name: a job may be opened from a file of another name than [`super::JOB_FILE`].
pub(super) fn called(job_file: &Path) -> Display<'_> {
    Path::new(job_file.file_name().unwrap_or_default()).display()
}

/// Puts the old journal aside and begins a new one, and what to say of it.
fn begin_anew<T>(
    job_file: &Path,
    journal: &Path,
    old: Outcome<Writer<T>>,
    job_crc: u32,
) -> (Outcome<Writer<T>>, Option<String>)
where
    T: Serialize + DeserializeOwned,
{
    // Closed first, for some systems rename no open file.
    let aside = old.and_then(Writer::close);
    let aside = match aside.and_then(|()| disk::put_aside(journal)) {
        Ok(aside) => aside,
        Err(fault) => return (Err(fault), None),
    };
    let begin = || {
        let mut writer = open_journal::<T>(journal, Ok(()))?.writer?;
        writer.base(job_crc)?;
        Ok(writer)
    };
    let note = format!(
        "{}: it was changed by another program, so the lay is as it says; what was done before is \
         kept in {} and can't be undone any more.",
        called(job_file),
        aside.display()
    );
    (begin(), Some(note))
}

impl<T: Serialize + DeserializeOwned> Remembered<T> {
    /// What adds to the journal.
    ///
    /// # Errors
    /// Why the job can be looked at, not changed.
    pub fn writer(&mut self) -> Outcome<&mut Writer<T>> {
        self.writer.as_mut().map_err(|why| why.clone())
    }

    /// Why the job can be looked at, not changed, if so.
    pub fn read_only(&self) -> Option<&Fault> {
        self.writer.as_ref().err()
    }

    /// Writes `now` to the job file, comments and layout kept. All steps
    /// appended before must be in it. The journal is told first, so that after
    /// a stop in between either file is known.
    ///
    /// # Errors
    /// If the job is only to be looked at; if the job file was changed by
    /// another program since it was read; if the disk fails. The old job file
    /// is then as it was, or the new one stands there whole: it can be saved again, and is
    /// written again until the disk has confirmed it.
    pub fn save(&mut self, now: &JobFile) -> Outcome<()> {
        // What could not be opened again is not saved.
        now.check_counts().map_err(|f| f.in_file(&self.path))?;
        let text = saved_text(&self.text, now).map_err(|f| f.in_file(&self.path))?;
        let writer = self.writer.as_mut().map_err(|why| why.clone())?;
        if read_text(&self.path, "saving the job")? != self.text {
            return Err(Fault::input(
                "it was changed by another program while the job was open",
                "close the job and open it again to go on from the changed file, or put the old \
                 file back",
            )
            .in_file(&self.path));
        }
        if text == self.text && !self.unsure {
            return Ok(());
        }
        disk::refuse_marked(&self.path)?;
        writer.saving(crc32c(text.as_bytes()))?;
        writer.sync()?;
        let mut known = self.known.hold();
        let written = disk::write_atomic(&self.path, text.as_bytes());
        // It may have failed when the new file was in its place already: that is then what we
        // wrote, and no other program's.
        if written.is_ok() || read_text(&self.path, "saving the job").is_ok_and(|t| t == text) {
            known.now_says(&text);
            self.text = text;
            self.unsure = written.is_err();
        }
        written
    }

    /// Whether the job file on disk is ours and says `now`: so it may be after a save that failed,
    /// too, for only the folder's flush may have.
    pub fn holds(&self, now: &JobFile) -> bool {
        let there = read_text(&self.path, "reading the job");
        there.as_ref() == Ok(&self.text) && JobFile::parse(&self.text).as_ref() == Ok(now)
    }

    /// What keeps the journal from being written, or from being found by the next start, if
    /// something does now.
    pub fn journal_trouble(&self) -> Option<Fault> {
        let journal = disk::folder_of(&self.path).join(JOURNAL);
        let trouble = self.writer.as_ref().ok()?.trouble()?;
        (trouble.place == [journal.display().to_string()]).then_some(trouble)
    }

    /// What another program has made of the job file while the job was open, if anything. What is
    /// done here can't be saved then. As long as the job is worked on, the writer's news tell of
    /// it, too.
    pub fn changed_outside(&self) -> Option<Fault> {
        self.known.read()
    }

    /// Keeps the job file as it was beside what another program has made of it, so that the
    /// person can go on from either; and what is to be said of that. `why` as
    /// [`Remembered::changed_outside`] has it. The journal knows the old file, and has what was
    /// done since.
    ///
    /// # Errors
    /// If the disk won't take it.
    pub fn keep_beside(&self, why: Fault) -> Outcome<Fault> {
        let copy = disk::free_name(&self.path)?;
        disk::write_atomic(&copy, self.text.as_bytes())?;
        let (copy, name) = (called(&copy), called(&self.path));
        let there = std::fs::symlink_metadata(&self.path).is_ok();
        let remedy = if there {
            format!(
                "to go on from the table, give {name} another name and {copy} the name {name} \
                 before the job is opened again; to go on from the changed file, open the job as \
                 it is: what was done at the table is then put aside with the journal, and must \
                 be done again"
            )
        } else {
            format!("give {copy} the name {name}, then open the job again: nothing is lost")
        };
        let what = format!(
            "{}, so what was done at the table is in the journal only; the file as it was is kept \
             in {copy}",
            why.what
        );
        Ok(Fault {
            what,
            remedy,
            ..why
        })
    }

    /// Whether the disk has confirmed the job file; until it has, saving writes it again.
    pub fn is_confirmed(&self) -> bool {
        !self.unsure
    }

    /// Nothing of what was done before can be undone any more: the journal is put aside,
    /// and another begins with the job file as it is on disk. All that was done must be in
    /// that. Where the old journal is now.
    ///
    /// # Errors
    /// If the job is only to be looked at, or the folder can't be changed; the journal may
    /// then be closed for good.
    pub fn forget(&mut self) -> Outcome<PathBuf> {
        // Told before anything is closed; the second answer comes once the files were looked at.
        for _ in 0..2 {
            self.writer()?.sync()?;
        }
        if let Some(why) = self.journal_trouble() {
            return Err(why);
        }
        let journal = disk::folder_of(&self.path).join(JOURNAL);
        let closed = Err(Fault::ours(
            "the journal is closed",
            "close the job and open it again",
        ));
        let old = std::mem::replace(&mut self.writer, closed)?;
        let wake = old.take_wake();
        // Closed first, for some systems rename no open file.
        old.close()?;
        let aside = disk::put_aside(&journal)?;
        let mut writer = open_journal::<T>(&journal, Ok(()))?.writer?;
        writer.base(crc32c(self.text.as_bytes()))?;
        if let Some(wake) = wake {
            writer.wake_with(wake);
        }
        look_after(&writer, &self.known)?;
        self.writer = Ok(writer);
        self.steps.clear();
        self.replay_from = 0;
        Ok(aside)
    }

    /// Writes what waits, and lets the job go.
    ///
    /// # Errors
    /// If the disk would not take the last steps: they are lost.
    pub fn close(self) -> Outcome<()> {
        let Self { writer, _lock, .. } = self;
        match writer {
            Ok(writer) => writer.close(),
            Err(_) => Ok(()),
        }
    }
}
