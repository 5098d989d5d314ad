//! A page of light in the projector's window, while the table is not set.

use super::beamer::Beamer;
use crate::fault::Outcome;
use crate::light::setting::{CodeRaster, Page};
use crate::projection::Mapping;
use crate::render::{Canvas, Device, Drawn, Pixels, Rect, draw};

/// The picture that pages are drawn on.
#[derive(Debug)]
pub struct PageCanvas {
    canvas: Canvas,
}

impl PageCanvas {
    /// A dark picture of the given size, px.
    ///
    /// # Errors
    /// As [`Canvas::new`].
    pub fn new(device: &Device, [width, height]: [u32; 2]) -> Outcome<Self> {
        Ok(Self {
            canvas: Canvas::new(device, width, height)?,
        })
    }

    pub fn canvas(&self) -> &Canvas {
        &self.canvas
    }

    /// Puts a page on.
    pub fn put(&mut self, page: &Page, beamer: &mut Beamer) {
        let [width, height] = page.picture;
        let drawn = draw(&page.figure(), &Mapping::pixels(), width, height);
        self.put_drawn(page.raster.as_ref(), &[drawn], beamer);
    }

    /// Puts on what is drawn already, over pixels if there are any.
    pub fn put_drawn(&mut self, raster: Option<&CodeRaster>, drawn: &[Drawn], beamer: &mut Beamer) {
        let (width, height) = self.canvas.size();
        self.canvas.redraw(Rect::of_size(width, height), drawn);
        beamer.screen.set_page(raster.map(|r| Pixels {
            width: r.width,
            height: r.height,
            rgb: &r.rgb,
        }));
    }
}
