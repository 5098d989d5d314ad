//! The live table without its windows: the bench, its light, the kept picture,
//! and the job's memory. What is done goes to the journal first and to the
//! light at once; neither waits for the other, but while cutting: there the light
//! waits until it is on disk.

use super::eyes::Eyes;
use super::patterns::proving;
use super::proving::Proving;
use crate::calibration::{MarkFile, Profile};
use crate::fault::{Fault, Outcome};
use crate::frame::reach;
use crate::glow::{Glow, Notice};
use crate::job::{Job, JobFile, Remembered};
use crate::look::HeldShade;
use crate::projection::Mapping;
use crate::render::{Canvas, Device, Rect};
use crate::space::{Point, Table};
use crate::work::{Act, Bench, Doing, Goods, Record, Reply, Said, Touched, replay};
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
    pub(super) proving: Proving,
    pub(super) eyes: Eyes,
    /// Of the piece in hand.
    shade: Vec<String>,
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
        let mut notes = memory.notes.clone();
        notes.extend(job.left_out.iter().map(|l| format!("left out: {l}")));
        notes.extend(job.pattern_notes.iter().cloned());
        let (history, wrong) = replay(&mut state, &memory.steps, memory.replay_from);
        if let Some((at, wrong)) = wrong {
            notes.push(format!(
                "the journal's step {} does not fit: {wrong}; the lay is as it was before it",
                at + 1
            ));
        }
        let goods = Goods {
            pieces: job.pieces.clone(),
            cloths: job.file.cloths.clone(),
            articles: job.file.articles.clone(),
        };
        let mut eyes = Eyes::default();
        notes.extend(eyes.keep_up(&job.folder, &state.panels));
        let mut bench = Bench::new(goods, state, history);
        bench.take_up();
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
            proving: proving(&memory.job),
            eyes,
            memory,
            lamp: None,
            shade: Vec::new(),
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
        self.lamp = Some(Lit { glow, canvas });
        self.refresh(&Touched::All)?;
        // The band is known once something is lit.
        let band = self.lamp.as_ref().map_or(0.0, |l| l.glow.band());
        self.bench.set_band(band);
        Ok(())
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
                    words: "this job is only looked at: nothing is changed".to_owned(),
                    warning: true,
                }),
            },
            _ => self.bench.act(act, now),
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
                words: "the disk is slow: the last signal is not safe yet".to_owned(),
                warning: true,
            });
        }
    }

    /// The job file as it would be written now.
    pub fn file_now(&self) -> JobFile {
        let state = self.bench.state();
        JobFile {
            panels: state.panels.clone(),
            placed: state.placed.values().cloned().collect(),
            light: Some(state.ways),
            trims: state.trims.clone(),
            wishes: state.wishes.clone(),
            cutting: (!state.cuts.is_empty()).then(|| state.cuts.clone()),
            ..self.memory.job.file.clone()
        }
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
    /// As [`LiveTable::save`]; the journal is closed even so.
    pub fn close(mut self) -> Outcome<()> {
        if self.memory.read_only().is_none() {
            self.put_by_what_is_not_kept()?;
        }
        let saved = self.save();
        let closed = self.memory.close();
        saved.and(closed)
    }
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
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::open_session;
    use crate::pattern::draft::{Part, RowAt};
    use crate::session::proving::DraftWish;
    use crate::work::signals::Told;
    use std::fs;

    /// What is cut is on disk when the signal is answered, and not soon after: the
    /// light that goes out is proof that nothing is lost.
    #[test]
    fn what_is_cut_is_on_disk_before_it_is_shown() {
        let folder = tempfile::tempdir().unwrap();
        for file in ["job.toml", "slippers.svg", "slippers.seams.toml"] {
            let from = std::path::Path::new("demo-data").join(file);
            fs::copy(from, folder.path().join(file)).unwrap();
        }
        let mut table = LiveTable::new(open_session(folder.path()).unwrap());
        table.act(Act::BeginCutting, 0.0).unwrap();
        for k in 1..30 {
            table.act(Act::Signal(Told::GoOn), f64::from(k)).unwrap();
            assert!(table.memory.writer().unwrap().is_on_disk(), "signal {k}");
        }
        assert_eq!(table.bench.state().cuts.parts.len(), 14);
        table.close().unwrap();
    }

    /// A job whose pattern is the draft.
    fn drafted() -> tempfile::TempDir {
        let folder = tempfile::tempdir().unwrap();
        let demo = std::path::Path::new("demo-data");
        let draft = "slippers.draft.toml";
        fs::copy(demo.join(draft), folder.path().join(draft)).unwrap();
        let job = fs::read_to_string(demo.join("job.toml")).unwrap();
        let drawing = "file = \"slippers.svg\"\nseams = \"slippers.seams.toml\"";
        assert!(job.contains(drawing));
        let job = job.replace(drawing, "file = \"slippers.draft.toml\"");
        fs::write(folder.path().join("job.toml"), job).unwrap();
        folder
    }

    /// The point at the sole's tip.
    const TIP: RowAt = RowAt {
        part: Part::Points,
        piece: 0,
        row: 8,
    };

    fn sole(table: &LiveTable) -> f64 {
        let piece = table.bench.goods.stock().piece("sole").unwrap();
        crate::shape::bounds(piece.cut[0].iter().copied())
            .unwrap()
            .height()
    }

    fn measure(table: &mut LiveTable, text: &str) {
        let name = "foot length".to_owned();
        let text = text.to_owned();
        table
            .draft(&DraftWish::Measure {
                draft: 0,
                name,
                text,
            })
            .unwrap();
    }

    #[test]
    fn a_draft_that_is_kept_is_written_and_lain_by() {
        let folder = drafted();
        let path = folder.path().join("slippers.draft.toml");
        let text = fs::read_to_string(&path).unwrap();
        let mut table = LiveTable::new(open_session(folder.path()).unwrap());
        let before = sole(&table);
        measure(&mut table, "260mm");
        assert_eq!(sole(&table), before, "nothing changes on its own");
        table.draft(&DraftWish::Keep).unwrap();
        let kept = sole(&table);
        assert!(
            (kept - before - 10.0 * 1.048).abs() < 0.1,
            "{before} {kept}"
        );
        assert_eq!(
            fs::read_to_string(&path).unwrap(),
            text,
            "only a measure has changed"
        );
        let cell = |text: &str| DraftWish::Cell {
            draft: 0,
            at: TIP,
            key: "up".to_owned(),
            text: text.to_owned(),
        };
        // What can't be drawn is not kept.
        table.draft(&cell("foot length * shoe")).unwrap();
        let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
        assert!(said.contains("shoe"), "{said}");
        table.draft(&cell("foot length * 1.08")).unwrap();
        table.draft(&DraftWish::Keep).unwrap();
        assert!(sole(&table) > kept + 4.0);
        let written = fs::read_to_string(&path).unwrap();
        assert_eq!(
            written,
            text.replacen("foot length * 1.048", "foot length * 1.08", 1)
        );
        let now = sole(&table);
        table.close().unwrap();
        let mut table = LiveTable::new(open_session(folder.path()).unwrap());
        assert_eq!(sole(&table), now);
        assert_eq!(
            fs::read_to_string(path.with_extension("toml.1")).unwrap(),
            text
        );
        // A draft that another program changed meanwhile is not written over.
        fs::write(&path, format!("# by hand\n{written}")).unwrap();
        table.draft(&cell("foot length * 1.05")).unwrap();
        let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
        assert!(said.contains("another program"), "{said}");
        assert!(fs::read_to_string(&path).unwrap().starts_with("# by hand"));
        fs::write(&path, &written).unwrap();
        // What is cut is cut by the pattern as it was.
        table.act(Act::BeginCutting, 0.0).unwrap();
        for k in 1..4 {
            table.act(Act::Signal(Told::GoOn), f64::from(k)).unwrap();
        }
        assert!(!table.bench.state().cuts.parts.is_empty());
        let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
        assert!(said.contains("cut already"), "{said}");
        assert_eq!(sole(&table), now);
        // What was typed and not kept is not lost.
        table.close().unwrap();
        let by = fs::read_to_string(folder.path().join("slippers.draft.toml.not-kept.1")).unwrap();
        assert!(by.contains("foot length * 1.05"));
    }

    #[test]
    fn a_job_that_changed_meanwhile_keeps_no_half_of_a_draft() {
        let folder = drafted();
        let path = folder.path().join("slippers.draft.toml");
        let text = fs::read_to_string(&path).unwrap();
        let mut table = LiveTable::new(open_session(folder.path()).unwrap());
        let before = sole(&table);
        let job = folder.path().join("job.toml");
        let by_hand = format!("# by hand\n{}", fs::read_to_string(&job).unwrap());
        fs::write(&job, &by_hand).unwrap();
        measure(&mut table, "270mm");
        table
            .draft(&DraftWish::Cell {
                draft: 0,
                at: TIP,
                key: "up".into(),
                text: "foot length * 1.08".into(),
            })
            .unwrap();
        let said = table.draft(&DraftWish::Keep).unwrap_err().to_string();
        assert!(said.contains("changed by another program"), "{said}");
        assert_eq!(fs::read_to_string(&path).unwrap(), text);
        assert_eq!(fs::read_to_string(&job).unwrap(), by_hand);
        assert_eq!(sole(&table), before);
    }
}
