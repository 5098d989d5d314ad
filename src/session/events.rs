//! What the windows tell, and what is done about it.

use super::Wake;
use super::app::{App, FLASHES, Mode, WHEEL};
use super::hands;
use super::photographed::PhotoWish;
use super::seeking::Seeking;
use super::switches::{repeats, switch};
use crate::cloth::{OnTable, Panel};
use crate::fault::Outcome;
use crate::work::{Act, Key, KeyAct, Outside, Pressed, Said, Touched, act_of, sheet};
use std::time::{Duration, Instant};
use winit::application::ApplicationHandler;
use winit::event::{ElementState, MouseButton, MouseScrollDelta, WindowEvent};
use winit::event_loop::{ActiveEventLoop, ControlFlow};
use winit::window::WindowId;

/// Said in the light while another window has the keyboard.
const NO_KEYBOARD: &str =
    "another window has the keyboard: click into this light, or into the laptop's window";

impl ApplicationHandler<Wake> for App {
    fn resumed(&mut self, event_loop: &ActiveEventLoop) {
        if self.live.is_none() {
            let opened = self.open(event_loop);
            self.or_end(event_loop, opened);
        } else {
            self.redraw_all();
        }
    }

    fn user_event(&mut self, event_loop: &ActiveEventLoop, event: Wake) {
        match event {
            Wake::Outputs(outputs) => {
                let done = self.outputs_are(event_loop, outputs);
                self.or_end(event_loop, done);
            }
            Wake::Found { number, found } => {
                let done = self.act(Act::Found { number, found });
                self.or_end(event_loop, done);
            }
            Wake::Photo { number, news } => {
                let done = self.photo_says(number, news);
                self.or_end(event_loop, done);
            }
            Wake::Journal => {
                while let Some(news) = self.table.journal_news() {
                    self.table.notes.push(news);
                }
                let trouble = self.table.journal_trouble().map(|f| f.to_string());
                let done = self.table.say(|n| n.trouble = trouble);
                self.tell(done);
                self.redraw_all();
            }
            Wake::DeviceLost { which, why } => {
                if self.devices.is_in_use(which) {
                    let done = self.reopen(event_loop, &why);
                    self.or_end(event_loop, done);
                }
            }
            Wake::Access(event) => {
                if let Some(live) = &mut self.live {
                    live.panel.asked(event.window_event);
                    live.panel.window.request_redraw();
                }
            }
        }
    }

    fn window_event(&mut self, event_loop: &ActiveEventLoop, id: WindowId, event: WindowEvent) {
        let Some(live) = &self.live else { return };
        if id == live.beamer.window.id() {
            let done = self.in_the_light(event_loop, event);
            self.or_end(event_loop, done);
        } else if id == live.panel.window.id() {
            let done = self.in_the_panel(event_loop, event);
            self.or_end(event_loop, done);
        }
    }

    fn about_to_wait(&mut self, event_loop: &ActiveEventLoop) {
        let now = self.now();
        self.table.tick(now);
        self.say_what_is_due();
        let heard = self.listen(now);
        self.tell(heard);
        let flashed = self.flash_on(now);
        if flashed != self.table.notice.flash {
            let done = self.table.say(|n| n.flash = flashed);
            self.tell(done);
            self.redraw_light();
        }
        let creeps = self.creep_on(now);
        if self.flash.is_some_and(|from| now > from + FLASHES.0) {
            self.flash = None;
        }
        let away = self.keyboard_is_elsewhere();
        if away {
            self.hearing.forget();
        }
        if away != self.table.notice.lines.iter().any(|l| l == NO_KEYBOARD) {
            let done = self.table.say(|n| {
                n.lines.retain(|l| l != NO_KEYBOARD);
                if away {
                    n.lines.push(NO_KEYBOARD.to_owned());
                }
            });
            self.tell(done);
            self.redraw_light();
        }
        if let Some(live) = &mut self.live {
            live.beamer.stay(event_loop);
        }
        if self.panel_due.is_some_and(|due| Instant::now() >= due) {
            self.panel_due = None;
            if let Some(live) = &self.live {
                live.panel.window.request_redraw();
            }
        }
        // Only what is waited for wakes the loop: a drag to be written, a flash or
        // dashes to go on, a panel to be painted, a warm projector.
        let since = |seconds: f64| self.begun + Duration::from_secs_f64(seconds.max(0.0));
        let written = self.table.bench.written_by().map(since);
        let flash = self.flash.map(|from| {
            let done = ((now - from) / FLASHES.1).floor() + 1.0;
            since(from + done * FLASHES.1)
        });
        let warm = self.table.bench.warm_at().map(since);
        let warm = warm.filter(|_| matches!(self.mode, Mode::Table));
        let stands = self.live.as_ref().and_then(|l| l.beamer.watch.due());
        let heard = self.hearing.due().map(since);
        let creeps = creeps.map(since);
        let next = [written, flash, creeps, warm, self.panel_due, stands, heard];
        let next = next.into_iter().flatten().min();
        event_loop.set_control_flow(next.map_or(ControlFlow::Wait, ControlFlow::WaitUntil));
    }
}

impl App {
    /// Events of the projector's window: the pointer first.
    fn in_the_light(&mut self, event_loop: &ActiveEventLoop, event: WindowEvent) -> Outcome<()> {
        if self.hears(&event)? {
            return Ok(());
        }
        match event {
            WindowEvent::CloseRequested => self.end(event_loop)?,
            WindowEvent::Resized(size) => {
                if let Some(live) = &mut self.live {
                    live.beamer.screen.resize([size.width, size.height]);
                    live.beamer.watch.moved();
                }
                self.light_up()?;
                self.redraw_all();
            }
            WindowEvent::Moved(_) => {
                if let Some(live) = &mut self.live {
                    live.beamer.watch.moved();
                }
            }
            WindowEvent::Occluded(false) => self.redraw_all(),
            WindowEvent::Focused(on) => {
                self.focus[0] = Some(on);
                self.redraw_light();
            }
            WindowEvent::ModifiersChanged(held) => {
                self.held = held.state();
                // Keys that come here may be for the panel's field: it must know what is held.
                if let (Mode::Setting(_), Some(live)) = (&self.mode, &mut self.live) {
                    live.panel.takes(&event);
                }
            }
            WindowEvent::CursorMoved { position, .. } => {
                // Answered when the window is next drawn: of many, the last.
                self.pointed = Some([position.x, position.y]);
                self.moved_at.get_or_insert_with(Instant::now);
                self.redraw_light();
            }
            WindowEvent::CursorLeft { .. } => {
                self.answer_pointer()?;
                if matches!(self.mode, Mode::Table) && !self.table.bench.is_gripped() {
                    self.act(Act::Away)?;
                }
            }
            WindowEvent::MouseInput { state, button, .. } => {
                self.answer_pointer()?;
                self.button(button, state)?;
            }
            WindowEvent::MouseWheel { delta, .. } => {
                let notches = match delta {
                    MouseScrollDelta::LineDelta(_, y) => f64::from(y),
                    MouseScrollDelta::PixelDelta(p) => p.y / 40.0,
                };
                let [usual, fine, finest] = WHEEL;
                let step = match (self.held.shift_key(), self.held.control_key()) {
                    (_, true) => finest,
                    (true, _) => fine,
                    _ => usual,
                };
                if matches!(self.mode, Mode::Table) && !self.cautions_lie() {
                    self.answer_pointer()?;
                    self.act(Act::Turn(notches * step))?;
                }
            }
            WindowEvent::KeyboardInput { event: ref key, .. } => {
                // What is typed goes into the panel's field, whichever of the
                // two windows has the keyboard.
                let pressed = hands::pressed(key, self.held);
                let typed = matches!(self.mode, Mode::Setting(_))
                    && pressed.is_none_or(|p| !self.is_for_table(p));
                if typed {
                    self.hand_to_panel(event_loop, &event)?;
                } else if let Some(pressed) = pressed {
                    self.key(event_loop, pressed, &event)?;
                }
            }
            WindowEvent::RedrawRequested => self.draw_light(event_loop)?,
            _ => {}
        }
        Ok(())
    }

    /// Events of the panel's window.
    fn in_the_panel(&mut self, event_loop: &ActiveEventLoop, event: WindowEvent) -> Outcome<()> {
        match &event {
            WindowEvent::CloseRequested => self.end(event_loop)?,
            WindowEvent::DroppedFile(path) => {
                let path = path.display().to_string();
                return self.with_photo(PhotoWish::Open(path));
            }
            WindowEvent::RedrawRequested => return self.paint_panel(event_loop),
            WindowEvent::Focused(on) => {
                self.focus[1] = Some(*on);
                self.redraw_light();
            }
            WindowEvent::ModifiersChanged(held) => self.held = held.state(),
            WindowEvent::KeyboardInput { event: key, .. } => {
                // A taught key is a signal in both windows; a button only in the
                // light, for the panel's controls want theirs.
                if self.hears(&event)? {
                    return Ok(());
                }
                let pressed = hands::pressed(key, self.held);
                if let Some(pressed) = pressed.filter(|p| self.is_for_table(*p)) {
                    return self.key(event_loop, pressed, &event);
                }
            }
            _ => {}
        }
        self.hand_to_panel(event_loop, &event)
    }

    /// Gives the panel an event. A key that leaves a field is answered at once:
    /// letters that follow it in the same moment belong to the next field.
    fn hand_to_panel(&mut self, event_loop: &ActiveEventLoop, event: &WindowEvent) -> Outcome<()> {
        let Some(live) = &mut self.live else {
            return Ok(());
        };
        let wants = live.panel.takes(event);
        if hands::leaves_field(event) {
            return self.paint_panel(event_loop);
        }
        if wants {
            live.panel.window.request_redraw();
        }
        Ok(())
    }

    /// The mouse's last place becomes the pointer's.
    pub(super) fn answer_pointer(&mut self) -> Outcome<()> {
        let Some([x, y]) = self.pointed.take() else {
            return Ok(());
        };
        let picture = self.picture();
        let Some(live) = &mut self.live else {
            return Ok(());
        };
        let pixel = live.beamer.pixel(x, y, picture);
        match &mut self.mode {
            Mode::Doubt(_) => Ok(()),
            Mode::Setting(setter) => setter.pointed(pixel, &live.device, &mut live.beamer),
            Mode::Table => {
                let glow = self.table.glow();
                let Some(place) = glow.and_then(|g| g.mapping().place(pixel)) else {
                    return Ok(());
                };
                self.act(Act::Point(place))
            }
        }
    }

    fn button(&mut self, button: MouseButton, state: ElementState) -> Outcome<()> {
        let down = state == ElementState::Pressed;
        if let (Mode::Setting(setter), MouseButton::Left) = (&mut self.mode, button) {
            setter.grip(down);
            return Ok(());
        }
        if !matches!(self.mode, Mode::Table) {
            return Ok(());
        }
        match (button, down) {
            (MouseButton::Left, true) => self.act(Act::Press),
            (MouseButton::Left, false) => self.act(Act::Release),
            (MouseButton::Right, true) if self.table.bench.doing().is_laying() => {
                self.act(Act::LetGo)
            }
            (MouseButton::Right, true) => self.act(Act::BackUp),
            _ => Ok(()),
        }
    }

    /// A key that means something, and the event that it came with.
    pub(super) fn key(
        &mut self,
        event_loop: &ActiveEventLoop,
        pressed: Pressed,
        event: &WindowEvent,
    ) -> Outcome<()> {
        self.answer_pointer()?;
        if self.cautions_lie() && self.panel_memory.cautions_take(pressed, repeats(event)) {
            self.redraw_all();
            return Ok(());
        }
        match &mut self.mode {
            Mode::Doubt(_) => match pressed.key {
                Key::Enter => self.light_all_the_same(),
                Key::Escape => self.begin_setting(),
                _ => Ok(()),
            },
            Mode::Setting(_) => self.key_in_setting(pressed),
            // Held down, they are pressed once: what closes a page must not begin what is under it.
            Mode::Table if repeats(event) && matches!(pressed.key, Key::Enter | Key::Escape) => {
                Ok(())
            }
            Mode::Table => match act_of(pressed, self.table.bench.doing()) {
                Some(KeyAct::Act(act)) => self.act(act),
                Some(KeyAct::Relative(relative)) => match relative.act(&self.table.bench) {
                    Ok(act) => self.act(act),
                    Err(words) => self.warn(words),
                },
                // Held down, it has not read what it was told, nor closed what it opens.
                Some(KeyAct::Outside(Outside::Quit | Outside::Cautions)) if repeats(event) => {
                    Ok(())
                }
                Some(KeyAct::Outside(outside)) => self.outside(event_loop, outside),
                Some(KeyAct::Signal(signal)) => match switch(event) {
                    Some((name, _)) if !repeats(event) => self.signal_down(name, signal),
                    _ => Ok(()),
                },
                None => Ok(()),
            },
        }
    }

    pub(super) fn outside(
        &mut self,
        event_loop: &ActiveEventLoop,
        outside: Outside,
    ) -> Outcome<()> {
        match outside {
            Outside::Flash => {
                if self.table.bench.held().is_none() {
                    return self.warn("no piece is in hand: press in one, or Tab".to_owned());
                }
                self.flash = Some(self.now());
            }
            Outside::KeySheet => {
                let lines = if self.table.notice.sheet.is_empty() {
                    let lines = sheet(self.table.bench.doing()).into_iter();
                    lines
                        .map(|(keys, what)| format!("{keys}   {what}"))
                        .collect()
                } else {
                    Vec::new()
                };
                let done = self.table.say(|n| n.sheet = lines);
                self.tell(done);
            }
            Outside::Setting => self.begin_setting()?,
            Outside::Cautions => {
                // What is down now would be a signal when it comes up.
                self.hearing.forget();
                self.panel_memory.show_cautions();
            }
            Outside::Panel => {
                self.keys_to_panel = !self.keys_to_panel;
                if let (true, Some(live)) = (self.keys_to_panel, &self.live) {
                    live.panel.window.focus_window();
                }
            }
            Outside::Quit => self.end(event_loop)?,
        }
        self.redraw_all();
        Ok(())
    }

    /// Something to be refused in the light and the panel.
    pub(super) fn warn(&mut self, words: String) -> Outcome<()> {
        let said = Some(Said {
            words,
            warning: true,
        });
        let done = self.table.say(|n| n.said = said);
        self.tell(done);
        self.redraw_all();
        Ok(())
    }

    /// Does an act and shows what came of it.
    pub(super) fn act(&mut self, act: Act) -> Outcome<()> {
        let now = self.now();
        let before = self.cloth_lies();
        let notch = self.table.bench.notch_in_round();
        match self.table.act(act, now) {
            Ok(Touched::Nothing) => return Ok(()),
            Ok(_) => {}
            Err(fault) => self.tell(Err(fault)),
        }
        self.mind_search();
        self.keep_checks();
        let next = self.table.bench.notch_in_round();
        if next.is_some() && next != notch {
            self.flash = Some(now);
        }
        if self.sofa.is_some() && self.cloth_lies() != before {
            self.behind()?;
        }
        self.redraw_all();
        Ok(())
    }

    /// Begins the search that the bench wants, and ends one that it wants no more.
    fn mind_search(&mut self) {
        let wanted = self.table.bench.sought();
        let under_way = self.seeking.as_ref().map(Seeking::number);
        match wanted {
            Some((number, enough)) if under_way == Some(number) => {
                if let (true, Some(seeking)) = (enough, &self.seeking) {
                    seeking.enough();
                }
            }
            Some(_) => {
                let shades = self.table.eyes.shades();
                let query = self.table.bench.query();
                self.seeking = query.map(|q| Seeking::begin(q, shades, self.proxy.clone()));
            }
            None => self.seeking = None,
        }
    }

    /// Where the panels lie, for the simulated table to follow.
    fn cloth_lies(&self) -> Vec<(OnTable, bool, bool)> {
        if self.sofa.is_none() {
            return Vec::new();
        }
        let panels = self.table.bench.state().panels.iter();
        let lies = |p: &Panel| (p.on_table, p.spread, p.under.is_some());
        panels.map(lies).collect()
    }

    /// A fault that is no reason to end goes where the person sees it.
    pub(super) fn tell(&mut self, done: Outcome<()>) {
        if let Err(fault) = done {
            self.table.notice.said = Some(Said {
                words: fault.to_string(),
                warning: true,
            });
        }
    }

    /// A fault that the windows can't go on with ends them.
    fn or_end(&mut self, event_loop: &ActiveEventLoop, done: Outcome<()>) {
        if let Err(fault) = done {
            self.failed = Some(fault);
            event_loop.exit();
        }
    }
}
