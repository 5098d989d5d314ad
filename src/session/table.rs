//! The live table without its windows: the bench, its light, the kept picture,
//! and the job's memory. What is done goes to the journal first and to the
//! light at once; neither waits for the other, but while cutting: there the light
//! waits until it is on disk.

use super::ending::Ending;
use super::eyes::Eyes;
use super::patterns::proving;
use super::proving::Proving;
use super::stated::{Stated, stamp};
use crate::calibration::{MarkFile, Profile};
use crate::fault::{Fault, Outcome};
use crate::frame::reach;
use crate::glow::{Glow, Notice};
use crate::job::{Job, JobFile, Remembered};
use crate::look::HeldShade;
use crate::order::Tape;
use crate::projection::Mapping;
use crate::render::{Canvas, Device, Rect};
use crate::space::{Point, Table};
use crate::work::{Act, Bench, Doing, Goods, Record, Reply, Said, Touched, replay};
use std::collections::BTreeMap;
use std::path::Path;
use std::time::Duration;

/// A signal waits for the disk so long at most.
const DISK: Duration = Duration::from_millis(500);

/// The table while it is worked at.
#[derive(Debug)]
pub struct LiveTable {
    pub bench: Bench,
    pub notice: Notice,
    /// What the person must know, from the job and the journal.
    pub notes: Vec<String>,
    pub(super) memory: Remembered<Record>,
    lamp: Option<Lit>,
    pub(super) changed: bool,
    pub(super) ending: Ending,
    pub(super) proving: Proving,
    pub(super) eyes: Eyes,
    /// Of the piece in hand.
    shade: Vec<String>,
    /// What is stated of the table, once it is set.
    stated: Option<Stated>,
    /// By which profile, if it is in a file.
    profile: Option<String>,
}

/// The light, once the table is set.
#[derive(Debug)]
struct Lit {
    glow: Glow,
    canvas: Canvas,
}

impl LiveTable {
    /// Takes up a job where it was left.
    pub fn new(memory: Remembered<Record>) -> Self {
        let job = &memory.job;
        let mut state = job.state();
        let mut notes = memory.told();
        notes.extend(job.left_out.iter().map(|l| format!("left out: {l}")));
        notes.extend(job.pattern_notes.iter().cloned());
        let (history, wrong) = replay(&mut state, &memory.steps, memory.replay_from);
        if let Some((at, wrong)) = wrong {
            notes.push(format!(
                "step {} of the journal does not fit the job: {wrong}; the lay is as it was before that step: \
                 look at it, and do the rest again",
                at + 1
            ));
        }
        let goods = Goods {
            pieces: job.pieces.clone(),
            cloths: job.file.cloths.clone(),
            articles: job.articles.clone(),
        };
        let mut eyes = Eyes::default();
        notes.extend(eyes.keep_up(&job.folder, &state.panels));
        let mut bench = Bench::new(goods, state, history);
        bench.take_up();
        match job.tapes() {
            Ok(tapes) => bench.set_tapes(listed(tapes)),
            Err(fault) => notes.push(fault.to_string()),
        }
        Self {
            bench,
            notice: Notice {
                said: memory.read_only().map(|why| Said {
                    words: why.to_string(),
                    warning: true,
                }),
                ..Notice::default()
            },
            notes,
            changed: memory.steps.len() > memory.replay_from,
            ending: Ending::default(),
            proving: proving(&memory.job),
            eyes,
            memory,
            lamp: None,
            shade: Vec::new(),
            stated: None,
            profile: None,
        }
    }

    /// What the panel shows of the pattern.
    pub fn proving(&self) -> &Proving {
        &self.proving
    }

    /// Pieces are drawn anew, with whatever light there is.
    pub(super) fn draw_anew(&mut self) -> Outcome<()> {
        if let Some(lit) = &mut self.lamp {
            lit.glow.forget_pieces()?;
        }
        self.refresh(&Touched::All)
    }

    pub fn job(&self) -> &Job {
        &self.memory.job
    }

    /// Why the job is only looked at, if so.
    pub fn read_only(&self) -> Option<&Fault> {
        self.memory.read_only()
    }

    /// What keeps the journal from being written now, if something does.
    pub fn journal_trouble(&mut self) -> Option<Fault> {
        self.memory.writer().ok().and_then(|w| w.trouble())
    }

    /// The next thing that the journal has to say.
    pub fn journal_news(&mut self) -> Option<String> {
        self.memory.writer().ok().and_then(|w| w.news())
    }

    /// Calls `wake` whenever the journal has something to say.
    pub fn wake_with(&mut self, wake: impl Fn() + Send + 'static) {
        if let Ok(writer) = self.memory.writer() {
            writer.wake_with(wake);
        }
    }

    /// The table is set: from here on there is light.
    ///
    /// # Errors
    /// If the profile is none, or the picture can't be had on this device.
    pub fn set(&mut self, device: &Device, profile: &Profile) -> Outcome<()> {
        let size = profile.projector_px;
        let glow = Glow::new(profile)?;
        let canvas = Canvas::new(device, size[0], size[1])?;
        // What lies beyond the light is cut in stretches: the bench says how well
        // they join.
        self.bench.set_reach(glow.lit().clone());
        let panels = &self.bench.state().panels;
        let top = reach(profile, glow.mapping(), panels);
        self.bench.set_table_top(top);
        self.bench.set_table_marks(meant(profile, glow.mapping()));
        self.stated = Stated::of(profile);
        self.lamp = Some(Lit { glow, canvas });
        self.refresh(&Touched::All)?;
        // The band is known once something is lit.
        let band = self.lamp.as_ref().map_or(0.0, |l| l.glow.band());
        self.bench.set_band(band);
        Ok(())
    }

    /// The file of the profile that the table is set by, for the ledger.
    pub fn set_by(&mut self, file: Option<&Path>) {
        let name = file.and_then(Path::file_name);
        self.profile = name.map(|n| n.to_string_lossy().into_owned());
    }

    /// The light goes out: the table is being set anew.
    pub fn unset(&mut self) {
        self.lamp = None;
    }

    /// The light, if the table is set.
    pub fn glow(&self) -> Option<&Glow> {
        self.lamp.as_ref().map(|l| &l.glow)
    }

    /// The picture, if the table is set.
    pub fn canvas(&self) -> Option<&Canvas> {
        self.lamp.as_ref().map(|l| &l.canvas)
    }

    /// Does what the person asks, lights what has changed, and hands it to the
    /// journal. A job that is only looked at takes no changes.
    ///
    /// # Errors
    /// If the light can't be worked out.
    pub fn act(&mut self, act: Act, now: f64) -> Outcome<Touched> {
        let silent = matches!(act, Act::Point(_) | Act::Away | Act::Release);
        let reply = match (&self.memory.read_only(), changes(&act)) {
            (Some(_), true) => Reply {
                touched: Touched::Over,
                said: Some(Said {
                    words: "this job can be looked at, not changed; the laptop's window says why"
                        .to_owned(),
                    warning: true,
                }),
            },
            _ => {
                // Only a signal cuts.
                if matches!(act, Act::Signal(_)) && self.bench.is_cutting() {
                    let stamp = stamp(self.stated.as_ref(), &self.bench, self.profile.as_ref());
                    self.bench.set_stamp(stamp);
                }
                self.bench.act(act, now)
            }
        };
        let mut touched = reply.touched;
        if reply.said.is_some() || (!silent && self.notice.said.is_some()) {
            self.notice.said = reply.said;
            touched = touched.and(Touched::Over);
        }
        self.look(&touched);
        self.remember();
        self.refresh(&touched)?;
        Ok(touched)
    }

    /// The shade under the piece in hand.
    fn look(&mut self, touched: &Touched) {
        if *touched == Touched::All {
            let panels = &self.bench.state().panels;
            let folder = &self.memory.job.folder;
            self.notes.extend(self.eyes.keep_up(folder, panels));
        }
        let doing = self.bench.doing();
        let asks = doing.is_laying() || matches!(doing, Doing::Offering(_));
        let held = asks.then(|| self.eyes.under_hand(&self.bench)).flatten();
        self.notice.shade = held.as_ref().map(HeldShade::short);
        self.shade = held.map(|s| s.sentences()).unwrap_or_default();
    }

    /// What is told of the shade under the piece in hand: sentences for the panel.
    pub fn shade(&self) -> &[String] {
        &self.shade
    }

    /// Lets time pass.
    pub fn tick(&mut self, now: f64) {
        self.bench.tick(now);
        self.remember();
    }

    /// Draws what was touched.
    ///
    /// # Errors
    /// As [`Glow::show`].
    pub fn refresh(&mut self, touched: &Touched) -> Outcome<()> {
        let Some(lit) = &mut self.lamp else {
            return Ok(());
        };
        let rect: Rect = lit.glow.show(&self.bench, touched, &self.notice)?;
        if !rect.is_empty() {
            lit.canvas.redraw(rect, lit.glow.drawn());
        }
        Ok(())
    }

    /// Dashes creep on to a step of [`crate::light::STEPS`]; whether any did.
    pub fn creep(&mut self, step: usize) -> bool {
        let Some(lit) = &mut self.lamp else {
            return false;
        };
        let rects = lit.glow.creep(&self.bench, step);
        for rect in &rects {
            lit.canvas.redraw(*rect, lit.glow.drawn());
        }
        !rects.is_empty()
    }

    /// The words in the light have changed.
    ///
    /// # Errors
    /// As [`LiveTable::refresh`].
    pub fn say(&mut self, change: impl FnOnce(&mut Notice)) -> Outcome<()> {
        change(&mut self.notice);
        self.refresh(&Touched::Over)
    }

    fn remember(&mut self) {
        let records = self.bench.take_records();
        if records.is_empty() {
            return;
        }
        self.changed = true;
        self.ending.anew();
        let Ok(writer) = self.memory.writer() else {
            return;
        };
        for record in &records {
            if let Err(fault) = writer.append(record) {
                self.notes.push(fault.to_string());
            }
        }
        // What is cut and clipped can't be done again: on disk before it is shown. If
        // the disk fails, the writer's own news say so.
        if self.bench.is_cutting() && writer.sync_within(DISK).is_ok_and(|done| !done) {
            self.notice.said = Some(Said {
                words: "the disk is slow, and the last signal is not written yet: wait before you \
                        cut on"
                    .to_owned(),
                warning: true,
            });
        }
    }

    /// The job file as it would be written now.
    pub fn file_now(&self) -> JobFile {
        self.memory.job.file.with_work(self.bench.state())
    }

    /// Names the profile in the job file from here on.
    pub fn name_profile(&mut self, file: String) {
        self.memory.job.file.profile = Some(file);
        self.changed = true;
    }

    /// Writes the lay into the job file, if anything has changed.
    ///
    /// # Errors
    /// As [`Remembered::save`]; what was done is in the journal all the same.
    pub fn save(&mut self) -> Outcome<()> {
        if !self.changed || self.memory.read_only().is_some() {
            return Ok(());
        }
        let now = self.file_now();
        self.memory.save(&now)?;
        self.changed = false;
        Ok(())
    }

    /// Writes what waits, and lets the job go.
    ///
    /// # Errors
    /// As [`LiveTable::save`]; the journal is closed even so. If another program has changed the
    /// job file, how to go on from either.
    pub fn close(mut self) -> Outcome<()> {
        if self.memory.read_only().is_none() {
            self.put_by_what_is_not_kept()?;
        }
        let saved = self.save().map_err(|why| {
            let changed = self.memory.changed_outside();
            let beside = changed.and_then(|c| self.memory.keep_beside(c).ok());
            beside.unwrap_or(why)
        });
        match (saved, self.memory.close()) {
            // Neither is left unsaid: each says where some of the work is.
            (Err(saved), Err(closed)) => Err(Fault {
                what: format!(
                    "{}; and {}: {}",
                    saved.what,
                    closed.place.join(": "),
                    closed.what
                ),
                remedy: format!("{}; then {}", closed.remedy, saved.remedy),
                ..saved
            }),
            (saved, closed) => saved.and(closed),
        }
    }
}

/// Tapes one by one, each with its article.
pub(super) fn listed(tapes: BTreeMap<String, Vec<Tape>>) -> Vec<(String, Tape)> {
    let each = tapes.into_iter();
    each.flat_map(|(article, all)| all.into_iter().map(move |t| (article.clone(), t)))
        .collect()
}

/// Where the light of each mark is meant: where the profile puts the pixel that lay
/// on it. By more than four marks that is not quite where the mark was measured to be.
fn meant(profile: &Profile, mapping: &Mapping) -> Vec<Point<Table>> {
    let place = |m: &MarkFile| {
        let lit = mapping.place(Point::from(m.projector_px));
        lit.unwrap_or(Point::from(m.table_mm))
    };
    let marks = profile.marks.iter().map(place);
    let near = |p: &Point<Table>| p.x.abs() < 1e6 && p.y.abs() < 1e6;
    marks.filter(near).collect()
}

/// Whether an act changes the work, and not only what is looked at.
fn changes(act: &Act) -> bool {
    !matches!(
        act,
        Act::Point(_)
            | Act::Away
            | Act::Release
            | Act::Next
            | Act::Previous
            | Act::Hold(_)
            | Act::LetGo
            | Act::Leave
            | Act::BackUp
            | Act::PassOver
            | Act::Together(_)
            | Act::Seek(_)
            | Act::Found { .. }
            | Act::Lengths
    )
}

#[cfg(test)]
mod tests;
