//! What stands while outputs and devices come and go, and what of it is drawn when.

use super::app::{App, FLASHES, Live, Mode, PANEL_EVERY};
use super::beamer::place;
use super::outputs::Output;
use crate::colour::Tint;
use crate::fault::{Fault, Outcome};
use crate::render::Shown;
use crate::work::Said;
use std::time::Instant;
use winit::event_loop::ActiveEventLoop;

impl App {
    /// Draws the light, the first thing after any event.
    pub(super) fn draw_light(&mut self, event_loop: &ActiveEventLoop) -> Outcome<()> {
        self.answer_pointer()?;
        let Some(live) = &mut self.live else {
            return Ok(());
        };
        let canvas = match &self.mode {
            Mode::Doubt(page) => Some(page.canvas()),
            Mode::Setting(setter) => setter.canvas(),
            Mode::Table => self.table.canvas(),
        };
        let Some(canvas) = canvas else { return Ok(()) };
        // Pages that set the table are white: a lens may land colours a pixel apart.
        let tint = match &self.mode {
            Mode::Table => self.table.bench.ways().colour,
            Mode::Doubt(_) | Mode::Setting(_) => Tint::White,
        };
        live.beamer.screen.set_tint(tint);
        let shown = live.beamer.show(canvas)?;
        if let (Shown::Yes, Some(from)) = (shown, self.moved_at.take()) {
            self.frame_ms = Some(from.elapsed().as_secs_f64() * 1e3);
        }
        if shown == Shown::Lost {
            self.reopen(event_loop, "the projector's window can't be drawn in")?;
        }
        Ok(())
    }

    /// Opens another device for the windows that stand; the table and the
    /// journal know nothing of it.
    pub(super) fn reopen(&mut self, event_loop: &ActiveEventLoop, why: &str) -> Outcome<()> {
        let now = self.now();
        if self.devices.is_hopeless(now) {
            return Err(Fault::ours(
                format!("the graphics card fails again and again: {why}"),
                "update its driver, or start with `WGPU_BACKEND=gl ghostchalk light`; all that was done is kept",
            ));
        }
        self.table.unset();
        if let Mode::Setting(setter) = &mut self.mode {
            setter.forget_picture();
        }
        self.open(event_loop)?;
        let said = "the graphics card had failed and draws again: nothing is lost";
        self.warn(said.to_owned())
    }

    pub(super) fn redraw_light(&self) {
        if let Some(live) = &self.live {
            live.beamer.window.request_redraw();
        }
    }

    /// The light at once, the panel when there is time.
    pub(super) fn redraw_all(&mut self) {
        self.redraw_light();
        let soon = Instant::now() + PANEL_EVERY;
        self.panel_due.get_or_insert(soon);
    }

    /// Outputs have come, gone or changed.
    pub(super) fn outputs_are(
        &mut self,
        event_loop: &ActiveEventLoop,
        outputs: Vec<Output>,
    ) -> Outcome<()> {
        self.outputs = outputs;
        let wanted = self.projector_output().cloned();
        let Some(live) = &mut self.live else {
            return Ok(());
        };
        if live.beamer.output == wanted {
            return Ok(());
        }
        let gone = match (&live.beamer.output, &wanted) {
            (Some(gone), None) => {
                self.lost = true;
                live.beamer.window.set_fullscreen(None);
                live.beamer.window.set_visible(false);
                Some(Said {
                    words: format!(
                        "{} is gone: everything is kept; plug it in again",
                        gone.name
                    ),
                    warning: true,
                })
            }
            // That it has come, the light says by itself.
            _ => None,
        };
        self.lost &= wanted.is_none();
        live.beamer.output = wanted;
        if let Live { beamer, .. } = live
            && beamer.output.is_some()
        {
            place(event_loop, &beamer.window, beamer.output.as_ref());
        }
        self.table.notice.said = gone;
        self.light_up()?;
        self.redraw_all();
        Ok(())
    }

    pub(super) fn flash_on(&self, now: f64) -> bool {
        let Some(from) = self.flash else { return false };
        let since = now - from;
        since < FLASHES.0 && (since / FLASHES.1) as i64 % 2 == 0
    }
}
