//! The table as a person standing there sees it, from straight above.

use std::sync::atomic::{AtomicUsize, Ordering};

use image::RgbImage;
use rayon::prelude::*;

pub use super::panel::ClothSeen;

use super::panel::Panel;
use super::picture::Picture;
use super::rig::Rig;
use super::surface;
use super::tone::{Planes, Taking, develop};
use crate::space::{Bounds, Point, Table, Vector};

/// How far below the table top the floor is, mm.
const FLOOR: f64 = 850.0;

/// The colour of the room's light: a warm lamp.
const LAMP: [f64; 3] = [1.0, 0.74, 0.47];

/// The colour of the projector's white: cooler than the lamp.
const COOL: [f64; 3] = [0.90, 0.97, 1.12];

/// The light of the projector's black, white = 1.
const BLACK: f64 = 1.0 / 1500.0;

/// The most pixels an image may have.
const MOST_PIXELS: f64 = 1e8;

/// What there is to see.
#[derive(Debug, Clone, Copy)]
pub struct Scene<'a> {
    /// The projector.
    pub rig: &'a Rig,
    /// The red, green and blue light of its picture.
    pub frame: &'a [Picture; 3],
    /// The table top.
    pub table: Bounds<Table>,
    /// Cloth on the table; what comes later lies on top.
    pub cloths: &'a [ClothSeen],
    /// The top of the cloth above the table, mm.
    pub height: f64,
}

/// How it is looked at. y is up in the image.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// What the image shows.
    pub area: Bounds<Table>,
    /// Image pixels per mm.
    pub px_per_mm: f64,
    /// Samples per image pixel along each axis; less than 1 counts as 1.
    pub samples: u32,
    /// Room light at its brightest, the projector's white = 1.
    pub room: f64,
    /// Factor from light to the image's exposure.
    pub exposure: f64,
    /// Standard deviation of the eye's blur, mm on the table.
    pub blur_mm: f64,
    /// The share of the light that the eye scatters about its place.
    pub glare: f64,
}

impl Look {
    /// The whole table with `margin` mm about it.
    pub fn table(table: Bounds<Table>, margin: f64, px_per_mm: f64) -> Self {
        Self {
            area: table.inflate(margin, margin),
            px_per_mm,
            samples: 2,
            room: 0.024,
            exposure: 9.5,
            blur_mm: 0.0,
            glare: 0.06,
        }
    }

    /// A small part of the table, large enough that the projector's pixels
    /// are seen as squares.
    pub fn close_up(area: Bounds<Table>, px_per_mm: f64) -> Self {
        Self {
            area,
            samples: 3,
            glare: 0.03,
            ..Self::table(area, 0.0, px_per_mm)
        }
    }

    /// The image's width and height in pixels; `None` if it has none or more
    /// than 10⁸.
    fn size(&self) -> Option<[usize; 2]> {
        let size = (self.area.size() * self.px_per_mm).round();
        let (width, height) = (size.width, size.height);
        // Written so that NaN fails.
        let fits = width >= 1.0 && height >= 1.0 && width * height <= MOST_PIXELS;
        fits.then_some([width as usize, height as usize])
    }
}

/// Renders `scene` as seen by `look`, on all processors. `progress` is told
/// the share of rows done, from any thread.
///
/// `None` if the image would have no pixels or more than 10⁸.
pub fn view(scene: &Scene, look: &Look, progress: &(dyn Fn(f64) + Sync)) -> Option<RgbImage> {
    let [width, height] = look.size()?;
    let light = gather(scene, look, [width, height], progress);
    let taking = Taking {
        exposure: look.exposure,
        blur: look.blur_mm * look.px_per_mm,
        glare: look.glare,
        glare_reach: 5.0 * look.px_per_mm,
    };
    let codes = develop(Planes { width, light }, &taking);
    RgbImage::from_raw(width as u32, height as u32, codes)
}

/// The linear light that comes from every image pixel, row by row from the
/// top left, a plane for each of red, green and blue.
pub(super) fn gather(
    scene: &Scene,
    look: &Look,
    [width, height]: [usize; 2],
    progress: &(dyn Fn(f64) + Sync),
) -> [Vec<f32>; 3] {
    let sight = Sight {
        scene,
        room: look.room,
        panels: scene.cloths.iter().filter_map(Panel::new).collect(),
    };
    let mut planes = [0, 1, 2].map(|_| vec![0.0_f32; width * height]);
    let [red, green, blue] = &mut planes;
    let rows = red
        .par_chunks_mut(width)
        .zip(green.par_chunks_mut(width))
        .zip(blue.par_chunks_mut(width))
        .enumerate();
    let done = AtomicUsize::new(0);
    rows.for_each(|(row, ((red, green), blue))| {
        for x in 0..width {
            let [r, g, b] = sight.pixel(look, x, row);
            (red[x], green[x], blue[x]) = (r as f32, g as f32, b as f32);
        }
        let rows_done = done.fetch_add(1, Ordering::Relaxed) + 1;
        progress(rows_done as f64 / height as f64);
    });
    planes
}

/// The scene made ready to be sampled.
struct Sight<'a> {
    scene: &'a Scene<'a>,
    room: f64,
    panels: Vec<Panel>,
}

impl Sight<'_> {
    /// The mean light over an image pixel.
    fn pixel(&self, look: &Look, x: usize, row: usize) -> [f64; 3] {
        let samples = look.samples.max(1);
        let mut sum = [0.0; 3];
        for (i, j) in (0..samples).flat_map(|j| (0..samples).map(move |i| (i, j))) {
            let within = |k: u32| (f64::from(k) + 0.5) / f64::from(samples);
            let p = Point::new(
                look.area.min.x + (x as f64 + within(i)) / look.px_per_mm,
                look.area.max.y - (row as f64 + within(j)) / look.px_per_mm,
            );
            let light = self.light(p);
            sum = std::array::from_fn(|c| sum[c] + light[c]);
        }
        sum.map(|light| light / f64::from(samples * samples))
    }

    /// The light that comes up from `p`: reflectance times what falls there.
    fn light(&self, p: Point<Table>) -> [f64; 3] {
        let mut cloth = [0.0; 3];
        let mut through = 1.0;
        for panel in self.panels.iter().rev() {
            let [r, g, b, cover] = panel.at(p);
            cloth = std::array::from_fn(|c| cloth[c] + through * [r, g, b][c]);
            through *= 1.0 - cover;
        }
        let mut seen = [0.0; 3];
        if through < 1.0 {
            let falls = self.falls(p, self.scene.height, self.room * lamp(p));
            seen = std::array::from_fn(|c| cloth[c] * falls[c]);
        }
        if through > 0.0 {
            let ground = self.ground(p);
            seen = std::array::from_fn(|c| seen[c] + through * ground[c]);
        }
        seen
    }

    /// The light that comes up from the bare table, or the floor beside it.
    fn ground(&self, p: Point<Table>) -> [f64; 3] {
        let table = &self.scene.table;
        let (reflects, falls) = if table.contains(p) {
            let room = self.room * lamp(p) * rim(table, p) * self.beside_cloth(p);
            (surface::wood(p), self.falls(p, 0.0, room))
        } else {
            // The table keeps the lamp off the floor at its foot.
            let away = (p - p.clamp(table.min, table.max)).length();
            let room = self.room * lamp(p) * (1.0 - 0.9 * (-away / 60.0).exp());
            let mut falls = self.falls(p, -FLOOR, room);
            if self.in_shadow(p) {
                falls = LAMP.map(|c| c * room);
            }
            (surface::floor(p), falls)
        };
        std::array::from_fn(|c| reflects[c] * falls[c])
    }

    /// The light that falls on `p` at `height` mm: the lamp's and the
    /// projector's.
    fn falls(&self, p: Point<Table>, height: f64, room: f64) -> [f64; 3] {
        let pixel = self.scene.rig.project(p.x, p.y, height);
        let [width, rows] = self.scene.frame[0].size().map(f64::from);
        let reached = pixel.x >= 0.0 && pixel.x < width && pixel.y >= 0.0 && pixel.y < rows;
        let black = if reached { BLACK } else { 0.0 };
        std::array::from_fn(|c| {
            LAMP[c] * room + COOL[c] * (self.scene.frame[c].emits(pixel) + black)
        })
    }

    /// The share of the lamp's light left on the table close beside the edge
    /// of a cloth, which stands a little above it.
    fn beside_cloth(&self, p: Point<Table>) -> f64 {
        let to_lamp = [Vector::new(-0.9, 1.1), Vector::new(-0.3, 0.4)];
        let covers = |at: Vector<Table>| {
            let cover = self.panels.iter().map(|panel| panel.at(p + at)[3]);
            cover.fold(0.0, f64::max)
        };
        1.0 - 0.3 * to_lamp.map(covers).iter().sum::<f64>() / 2.0
    }

    /// Whether the table stands between the projector and `p` on the floor.
    fn in_shadow(&self, p: Point<Table>) -> bool {
        let [x, y, z] = self.scene.rig.lens();
        let share = z / (z + FLOOR);
        let crossed = Point::new(x, y).lerp(p, share);
        self.scene.table.contains(crossed)
    }
}

/// The lamp's light at `p`, 1 at its brightest: it hangs to the upper left.
fn lamp(p: Point<Table>) -> f64 {
    let off = (p - Point::new(330.0, 620.0)) / 620.0;
    0.45 + 0.55 * (-0.5 * off.square_length()).exp()
}

/// The table's rounded rim turns away from the lamp.
fn rim(table: &Bounds<Table>, p: Point<Table>) -> f64 {
    let (low, high) = (p - table.min, table.max - p);
    let in_from_edge = low.x.min(low.y).min(high.x).min(high.y);
    1.0 - 0.6 * (-in_from_edge / 1.8).exp()
}
