//! Setting the table, in its window: the machine of `work`, drawn as a page of
//! light whenever it changes.

use super::beamer::Beamer;
use super::page::PageCanvas;
use crate::fault::Outcome;
use crate::glow::setting_page;
use crate::render::{Canvas, Device};
use crate::space::{Point, Projector};
use crate::work::Said;
use crate::work::setting::{Ended, Setting, SettingAct};

/// The setting under way, and its picture.
pub struct Setter {
    pub setting: Setting,
    page: Option<PageCanvas>,
    /// The mouse's button is down: a mark is dragged.
    gripped: bool,
    pub said: Option<Said>,
    /// Minutes since first light.
    pub minutes: u32,
    /// How it ended, if it has.
    pub ended: Option<Ended>,
}

impl Setter {
    pub fn new(setting: Setting) -> Self {
        Self {
            setting,
            page: None,
            gripped: false,
            said: None,
            minutes: 0,
            ended: None,
        }
    }

    /// The picture goes with its graphics device: the next [`Setter::show`]
    /// makes another.
    pub fn forget_picture(&mut self) {
        self.page = None;
    }

    pub fn canvas(&self) -> Option<&Canvas> {
        self.page.as_ref().map(PageCanvas::canvas)
    }

    /// Answers what the person does, and shows what comes of it.
    ///
    /// # Errors
    /// If the page can't be drawn.
    pub fn answer(&mut self, act: SettingAct, device: &Device, beamer: &mut Beamer) -> Outcome<()> {
        let before = self.said.take();
        let reply = self.setting.answer(act.clone());
        self.ended = reply.ended.or(self.ended);
        self.said = reply.standing(&act, before);
        self.show(device, beamer)
    }

    /// Draws the page.
    ///
    /// # Errors
    /// As [`Setter::answer`].
    pub fn show(&mut self, device: &Device, beamer: &mut Beamer) -> Outcome<()> {
        let picture = self.setting.picture();
        let stands = self.page.as_ref().is_some_and(|p| {
            let (width, height) = p.canvas().size();
            [width, height] == picture
        });
        if !stands {
            self.page = Some(PageCanvas::new(device, picture)?);
        }
        let lit = setting_page(&mut self.setting, self.minutes)?;
        if let Some(page) = &mut self.page {
            page.put_drawn(lit.raster.as_ref(), &lit.drawn, beamer);
        }
        Ok(())
    }

    pub fn grip(&mut self, down: bool) {
        self.gripped = down;
    }

    /// The mouse is over this pixel; with its button down the mark in hand
    /// follows.
    ///
    /// # Errors
    /// As [`Setter::answer`].
    pub fn pointed(
        &mut self,
        pixel: Point<Projector>,
        device: &Device,
        beamer: &mut Beamer,
    ) -> Outcome<()> {
        if self.gripped {
            return self.answer(SettingAct::Drag(pixel), device, beamer);
        }
        Ok(())
    }
}
