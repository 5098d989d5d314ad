//! The panel's window and what is wished for in it; the steps of setting.

use super::app::{App, Mode, job_profile};
use super::panel;
use super::panel::{Bad, Facts, OutputFact, OutputState, PanelView, ProfileFact, Wish};
use super::photographed::{News, PhotoWish, Photographed};
use super::profiles::{add_checks, keep, today};
use super::setter::Setter;
use super::sofa::Sofa;
use crate::calibration::still::CheckFile;
use crate::calibration::{NO_OUTPUT, light_on};
use crate::fault::Outcome;
use crate::measure::Unit;
use crate::work::setting::{Ended, Setting, SettingAct, Start, act_of};
use crate::work::{Act, KeyAct, Outside, Pressed, Said};
use std::time::Instant;
use winit::event_loop::ActiveEventLoop;

impl App {
    /// Paints the panel, and does what is wished for in it.
    pub(super) fn paint_panel(&mut self, event_loop: &ActiveEventLoop) -> Outcome<()> {
        let minutes = self.minutes();
        let facts = self.facts();
        let Some(live) = &mut self.live else {
            return Ok(());
        };
        if let Mode::Setting(setter) = &mut self.mode {
            let mut acts = Vec::new();
            let memory = &mut self.ask_memory;
            setter.minutes = minutes;
            let (setting, said) = (&setter.setting, setter.said.as_ref());
            let again = live.panel.paint(|ui| {
                acts = panel::ask(ui, setting, said, memory);
            });
            self.panel_due = again.map(|d| Instant::now() + d);
            self.panel_again_if_lost(event_loop)?;
            for act in acts {
                self.answer_setting(act)?;
            }
            return Ok(());
        }
        // What the light shows, the panel says; without light it looks for itself.
        let wrong = match self.table.glow() {
            Some(glow) => glow.trouble().map(Bad::of).collect(),
            None => panel::wrongs(&self.table.bench, None),
        };
        let view = PanelView {
            bench: &self.table.bench,
            wrong: &wrong,
            said: self.table.notice.said.as_ref(),
            facts: &facts,
            proving: self.table.proving(),
            shade: self.table.shade(),
            photo: self.photo.as_ref(),
        };
        let mut wishes = Vec::new();
        let memory = &mut self.panel_memory;
        let again = live.panel.paint(|ui| {
            wishes = panel::show(ui, &view, memory);
        });
        self.panel_due = again.map(|d| Instant::now() + d);
        self.panel_again_if_lost(event_loop)?;
        for wish in wishes {
            self.grant(event_loop, wish)?;
        }
        Ok(())
    }

    fn panel_again_if_lost(&mut self, event_loop: &ActiveEventLoop) -> Outcome<()> {
        match &self.live {
            Some(live) if live.panel.is_lost() => {
                self.reopen(event_loop, "the laptop's window can't be drawn in")
            }
            _ => Ok(()),
        }
    }

    fn grant(&mut self, event_loop: &ActiveEventLoop, wish: Wish) -> Outcome<()> {
        match wish {
            Wish::Act(act) => self.act(act),
            Wish::Draft(wish) => {
                let done = self.table.draft(&wish);
                self.tell(done);
                self.redraw_all();
                Ok(())
            }
            Wish::Photo(wish) => self.with_photo(wish),
            Wish::Paper(wish) => {
                let unit = if self.inches { Unit::Inch } else { Unit::Mm };
                let done = self.table.write_paper(wish, unit).map(|path| {
                    self.table.notice.said = Some(Said {
                        words: format!("written: {}", path.display()),
                        warning: false,
                    });
                });
                self.tell(done);
                self.redraw_all();
                Ok(())
            }
            Wish::BeginSetting => self.begin_setting(),
            Wish::KeySheet => self.outside(event_loop, Outside::KeySheet),
            Wish::Cautions => self.outside(event_loop, Outside::Cautions),
            Wish::Flash => self.outside(event_loop, Outside::Flash),
            Wish::Quit => self.outside(event_loop, Outside::Quit),
            Wish::Unit(unit) => {
                self.inches = unit == Unit::Inch;
                let inches = self.inches;
                let done = self.table.say(|n| n.inches = inches);
                self.tell(done);
                self.redraw_all();
                Ok(())
            }
            Wish::ChooseOutput(name) => {
                self.options.output = Some(name);
                let outputs = std::mem::take(&mut self.outputs);
                self.outputs_are(event_loop, outputs)
            }
            Wish::Rehearse(on) => {
                // A profile of the simulated table is of no use on a real one.
                self.profile = if on {
                    None
                } else {
                    self.table.job().profile().unwrap_or(None)
                };
                self.profile_at = if on { None } else { job_profile(&self.table) };
                self.sofa = on.then(Sofa::new);
                self.table.unset();
                self.mode = Mode::Table;
                if let (false, Some(live)) = (on, &mut self.live) {
                    live.beamer.screen.set_table(None, 0.0);
                }
                let outputs = std::mem::take(&mut self.outputs);
                self.outputs_are(event_loop, outputs)?;
                self.light_up()
            }
        }
    }

    /// Does with the photo on the panel what is wished.
    pub(super) fn with_photo(&mut self, wish: PhotoWish) -> Outcome<()> {
        let bench = &self.table.bench;
        match wish {
            PhotoWish::Open(path) => {
                self.photos += 1;
                let photo = Photographed::open(&path, self.photos, self.proxy.clone());
                self.photo = Some(photo);
            }
            PhotoWish::Read(ask) => {
                if let Some(photo) = &mut self.photo {
                    let work = (&bench.goods, bench.state());
                    let before = self.table.eyes.maps();
                    let proxy = self.proxy.clone();
                    photo.read(ask, self.profile.as_ref(), work, before, proxy);
                }
            }
            PhotoWish::KeepShade => {
                let folder = &self.table.job().folder;
                let kept = self.photo.as_ref().map(|p| match self.table.read_only() {
                    Some(why) => Err(why.clone()),
                    None => p.keep_shade(folder, bench.state()),
                });
                match kept {
                    Some(Ok(ops)) => self.act(Act::Noted(ops))?,
                    Some(Err(fault)) => self.tell(Err(fault)),
                    None => {}
                }
            }
            PhotoWish::Take(items) => {
                let photo = self.photo.as_mut();
                let ops = photo.map(|p| p.take(&items, bench.state()));
                self.act(Act::Noted(ops.unwrap_or_default()))?;
            }
            PhotoWish::Leave => self.photo = None,
        }
        self.show_proposed()
    }

    /// A thread tells of the photo.
    pub(super) fn photo_says(&mut self, number: u64, news: News) -> Outcome<()> {
        if let Some(photo) = &mut self.photo {
            photo.hear(number, news);
        }
        self.show_proposed()
    }

    /// What is proposed lies dashed in the light.
    fn show_proposed(&mut self) -> Outcome<()> {
        let told = self.photo.as_ref().and_then(|p| p.told.as_ref());
        let proposed = told.and_then(|t| t.proposed.as_ref());
        let lines = proposed.map(|p| {
            let items = p.items().into_iter();
            let ringed = items.filter_map(|(item, words)| {
                let ring = p.ring_of(item)?.to_vec();
                let name = words.split(':').next().unwrap_or_default();
                Some((ring, name.split('?').next().unwrap_or_default().to_owned()))
            });
            ringed.collect::<Vec<_>>()
        });
        let lines = lines.unwrap_or_default();
        if lines != self.table.notice.proposed {
            let done = self.table.say(|n| n.proposed = lines);
            self.tell(done);
        }
        self.redraw_all();
        Ok(())
    }

    fn minutes(&self) -> u32 {
        (self.begun.elapsed().as_secs() / 60) as u32
    }

    fn facts(&mut self) -> Facts {
        let unit = if self.inches { Unit::Inch } else { Unit::Mm };
        let journal_fault = self.table.journal_trouble().map(|f| f.to_string());
        let beamer = self.live.as_ref().map(|l| &l.beamer);
        let output = beamer.and_then(|b| b.output.as_ref());
        let wanted = self.options.output.clone().filter(|_| self.sofa.is_none());
        let state = match (output, &self.mode) {
            (_, Mode::Doubt(_)) if self.profile.is_some() => OutputState::Differs,
            (Some(_), _) => OutputState::Lit,
            (None, _) if self.lost || wanted.is_some() => OutputState::Lost,
            (None, _) => OutputState::Window,
        };
        let named = |p: &crate::calibration::Profile| ProfileFact {
            name: match &self.sofa {
                Some(_) => "simulated table".to_owned(),
                None => p
                    .output
                    .as_deref()
                    .map_or("any output".to_owned(), light_on),
            },
            made: p.made.clone().unwrap_or_else(|| "no date".to_owned()),
        };
        Facts {
            project: self.table.job().file.name.clone(),
            profile: self.profile.as_ref().map(named),
            output: OutputFact {
                name: match (output, wanted) {
                    (Some(o), _) => o.name.clone(),
                    (None, Some(name)) => name,
                    (None, None) if self.lost => "the projector's output".to_owned(),
                    (None, None) => "a window".to_owned(),
                },
                size: self.picture(),
                state,
            },
            outputs: self.outputs.iter().map(|o| o.name.clone()).collect(),
            read_only: self.table.read_only().map(|f| f.to_string()),
            journal_fault,
            notes: self.table.notes.clone(),
            lit_minutes: Some(self.minutes()),
            frame_ms: self.frame_ms,
            keyboard_elsewhere: self.keyboard_is_elsewhere(),
            rehearsing: self.sofa.is_some(),
            unit,
            lit_band_mm: self.table.glow().map(|g| g.band()),
            reach: self.table.glow().map(|g| g.lit().clone()),
            marks: self.profile.as_ref().map_or(0, |p| p.marks.len()),
            sure: self.table.glow().and_then(|g| g.sure().cloned()),
        }
    }

    /// The table is set, from its first page.
    pub(super) fn begin_setting(&mut self) -> Outcome<()> {
        let ways = *self.table.bench.ways();
        let output = self.live.as_ref().and_then(|l| l.beamer.output.as_ref());
        let start = Start {
            picture: self.picture(),
            output: output.map_or(NO_OUTPUT.to_owned(), |o| o.name.clone()),
            inches: self.inches,
            stands: ways.stands,
            cuts: ways.cuts,
            mirror_rig: self.profile.as_ref().is_some_and(|p| p.mirror_rig),
            first_time: self.profile.is_none(),
        };
        let setting = Setting::new(start, self.profile.as_ref());
        self.table.unset();
        let mut setter = Setter::new(setting);
        if let Some(live) = &mut self.live {
            setter.show(&live.device, &mut live.beamer)?;
            // Readings and lengths are typed there.
            live.panel.window.focus_window();
        }
        self.mode = Mode::Setting(Box::new(setter));
        self.behind()?;
        self.redraw_all();
        Ok(())
    }

    /// A profile of another output is used, if it is of this size.
    pub(super) fn light_all_the_same(&mut self) -> Outcome<()> {
        match self.profile.clone() {
            Some(profile) if profile.projector_px == self.picture() => {
                self.mode = Mode::Table;
                self.set_table(&profile)
            }
            _ => self.begin_setting(),
        }
    }

    pub(super) fn key_in_setting(&mut self, pressed: Pressed) -> Outcome<()> {
        let Mode::Setting(setter) = &self.mode else {
            return Ok(());
        };
        match act_of(pressed, &setter.setting) {
            Some(act) => self.answer_setting(act),
            None => Ok(()),
        }
    }

    /// Answers a step of setting, and lights the table when it is set.
    pub(super) fn answer_setting(&mut self, act: SettingAct) -> Outcome<()> {
        let minutes = self.minutes();
        let (Mode::Setting(setter), Some(live)) = (&mut self.mode, &mut self.live) else {
            return Ok(());
        };
        setter.minutes = minutes;
        setter.answer(act, &live.device, &mut live.beamer)?;
        let (ended, inches) = (setter.ended, setter.setting.inches());
        let (stands, cuts) = (setter.setting.stands(), setter.setting.cuts());
        self.inches = inches;
        match ended {
            None => {}
            Some(Ended::Left) => {
                self.mode = Mode::Table;
                if self.profile.is_some() {
                    self.light_up()?;
                } else {
                    self.begin_setting()?;
                }
            }
            Some(Ended::Set) => {
                self.profile = setter.setting.profile(&today());
                self.table.notice.inches = inches;
                self.mode = Mode::Table;
                let now = self.now();
                self.table.bench.table_is_set(now);
                self.keep_profile();
                if let Some(profile) = self.profile.clone() {
                    self.set_table(&profile)?;
                }
                self.act(Act::Stand(stands))?;
                self.act(Act::Cut(cuts))?;
            }
        }
        self.redraw_all();
        Ok(())
    }

    /// Writes the profile beside the job and names it there. It is on disk
    /// before it is lit by.
    fn keep_profile(&mut self) {
        let (Some(profile), None) = (&self.profile, &self.sofa) else {
            return;
        };
        let said = match keep(&self.table.job().folder, profile) {
            Ok(name) => {
                let said = format!("the table is set; its profile is {name}");
                self.profile_at = Some(self.table.job().folder.join(&name));
                self.table.name_profile(name);
                Said {
                    words: said,
                    warning: false,
                }
            }
            Err(fault) => {
                self.profile_at = None;
                Said {
                    words: format!("the table is set, and the profile could not be kept: {fault}"),
                    warning: true,
                }
            }
        };
        self.table.notice.said = Some(said);
        let saved = self.table.save();
        self.tell(saved);
    }

    /// Checks of the light go into the profile's history. A simulated table has none,
    /// and who only looks on writes nothing.
    pub(super) fn keep_checks(&mut self) {
        let noted = self.table.bench.take_checks();
        let (Some(path), None, false) = (&self.profile_at, &self.sofa, noted.is_empty()) else {
            return;
        };
        if self.table.read_only().is_some() {
            return;
        }
        let on_day = noted.iter().map(|n| n.clone().on(today()));
        let kept = add_checks(path, &on_day.collect::<Vec<CheckFile>>());
        if kept.is_err() {
            self.table.bench.put_checks_back(noted);
        }
        self.tell(kept);
    }

    /// What time has brought is said once, beside what stands there already.
    pub(super) fn say_what_is_due(&mut self) {
        if !matches!(self.mode, Mode::Table) {
            return;
        }
        let Some(due) = self.table.bench.due() else {
            return;
        };
        let said = match self.table.notice.said.take() {
            None => due,
            Some(said) => Said {
                words: format!("{}; {}", said.words, due.words),
                ..said
            },
        };
        let done = self.table.say(|n| n.said = Some(said));
        self.tell(done);
        self.redraw_all();
    }

    /// Whether the cautions lie over the panel: while the table is set they wait.
    pub(super) fn cautions_lie(&self) -> bool {
        self.panel_memory.shows_cautions() && !matches!(self.mode, Mode::Setting(_))
    }

    /// Whether a key that the panel's window got is for the table.
    pub(super) fn is_for_table(&self, pressed: Pressed) -> bool {
        let Some(live) = &self.live else { return false };
        let swaps = match &self.mode {
            Mode::Table => {
                let act = crate::work::act_of(pressed, self.table.bench.doing());
                act == Some(KeyAct::Outside(Outside::Panel))
            }
            _ => false,
        };
        let closes = self.cautions_lie() && self.panel_memory.closes_cautions(pressed);
        swaps || closes || !(self.keys_to_panel || panel::keeps(live.panel.context(), pressed))
    }
}
