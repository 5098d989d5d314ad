//! The picture: the light as it was set, and beside it the same place as its light falls now.
//! Where the scissors should go is drawn in, as a thin line that no projector shows.

use super::said::{LAMP_ON, Said};
use super::stage::{Beside, Stage};
use super::{MARKS, Wrong};
use crate::fault::{Fault, Outcome};
use crate::frame::Lit;
use crate::job::Job;
use crate::light::Letters;
use crate::rehearse::ink::{draw_line, ink};
use crate::rehearse::seen::cloths_where;
use crate::render::Picture;
use crate::scene::{Figure, Level, Patch, Scene};
use crate::shape::{Region, union};
use crate::space::{Bounds, Point, Rigid, Table, Vector};
use crate::twin::view::{ClothSeen, Look, Scene as Sighted, view};
use image::{Rgb, RgbImage, Rgba, RgbaImage, imageops};

/// Each half of the picture, px, and the gap between them.
const HALF: [u32; 2] = [480, 360];
const GAP: u32 = 8;

/// Height of a capital, px, and its distance from the picture's edge.
const CAPITAL: f64 = 14.0;
const EDGE: f64 = 12.0;

const WHITE: [u8; 3] = [255, 255, 255];

/// The room's light, the projector's white = 1: a workroom with the blind down. And the
/// picture's exposure there.
const ROOM: f64 = 0.11;
const EXPOSURE: f64 = 3.4;

/// A mark's sheet of paper, mm across; half the arms of its printed cross, and half their width.
const PAPER: f64 = 40.0;
const PRINTED: (f64, f64) = (9.0, 0.45);

/// The same of the cross of light that is laid on it.
const CROSS: (f64, f64) = (26.0, 0.8);

/// Paper px a mm.
const PAPER_SCALE: f64 = 8.0;

/// Which place is looked at, and how.
#[derive(Debug)]
pub(super) struct Sight {
    /// The middle of each half, mm: as it was set, and now.
    middles: [Point<Table>; 2],
    /// How much of the table each half shows from left to right, mm.
    wide: f64,
    /// The length that is drawn as a bar, mm.
    bar: f64,
    /// A mark's crosses are looked at, not cut lines; `raised` mm above the table.
    at_mark: Option<f64>,
    room: f64,
    words: [String; 2],
}

impl Sight {
    /// The place where it is seen best.
    pub fn of(wrong: Wrong, now: &Stage, lay: &[Beside], said: &Said, lit: &Lit) -> Self {
        let worst = lay
            .iter()
            .max_by(|a, b| a.across.total_cmp(&b.across))
            .map_or((Point::new(600.0, 400.0), 0.0), |b| (b.belongs, b.across));
        let brief = |mm: f64| ["in its place".to_owned(), format!("{mm:.1} mm beside")];
        let at_edge = |wide: f64, bar: f64| Self {
            middles: [worst.0; 2],
            wide,
            bar,
            at_mark: None,
            room: ROOM,
            words: brief(worst.1),
        };
        match wrong {
            Wrong::Keystone | Wrong::WarmUp | Wrong::Cloth => at_edge(48.0, 10.0),
            Wrong::Overscan => at_edge(180.0, 50.0),
            Wrong::Table | Wrong::Mark => {
                let k = 2;
                let meant: Point<Table> = Point::from(MARKS[k]);
                let lies = now.mark(MARKS[k]);
                let off = now.off(meant, lies, now.raised[k]);
                Self {
                    middles: [meant, lies],
                    wide: 72.0,
                    at_mark: Some(now.raised[k]),
                    words: brief(off),
                    ..at_edge(0.0, 10.0)
                }
            }
            Wrong::Dimming => {
                let middle = lit.lamp.inside(0).bounds().map_or(worst.0, |b| b.center());
                Self {
                    middles: [middle; 2],
                    room: LAMP_ON,
                    words: said.brief.clone().unwrap_or_default(),
                    ..at_edge(300.0, 100.0)
                }
            }
            Wrong::Shadow => {
                let oval = now.head.as_ref().and_then(|h| h.head.oval(&h.lens));
                let middle = oval.map_or(worst.0, |o| o.middle);
                Self {
                    middles: [Point::new(middle.x, middle.y.max(230.0)); 2],
                    words: said.brief.clone().unwrap_or_default(),
                    ..at_edge(680.0, 100.0)
                }
            }
        }
    }

    /// What is lit: the lay, and on the marks their crosses if those are looked at.
    pub fn scene(&self, lit: &Lit) -> Scene {
        let mut scene = lit.lamp.scene().clone();
        if self.at_mark.is_some() {
            let (arm, half) = CROSS;
            let patches = MARKS.map(|[x, y]| {
                let bar = |rx: f64, ry: f64| block([x - rx, y - ry, x + rx, y + ry]);
                Patch {
                    region: union([&bar(arm, half), &bar(half, arm)]),
                    level: Level::FULL,
                }
            });
            scene.figures.push(Figure {
                patches: patches.to_vec(),
                height: 0.0,
            });
        }
        scene
    }

    /// Both halves, side by side.
    ///
    /// # Errors
    /// If a cloth's photo or the bundled font can't be read.
    pub fn pair(&self, now: &Stage, job: &Job, lit: &Lit, frame: &Picture) -> Outcome<RgbImage> {
        let [w, h] = HALF;
        let mut pair = RgbImage::from_pixel(2 * w + GAP, h, Rgb(WHITE));
        let before = Stage::before()?;
        for (k, stage) in [&before, now].into_iter().enumerate() {
            let half = self.half(k, stage, job, lit, frame)?;
            let left = i64::from(k as u32 * (w + GAP));
            imageops::replace(&mut pair, &half, left, 0);
        }
        Ok(pair)
    }

    fn half(
        &self,
        k: usize,
        stage: &Stage,
        job: &Job,
        lit: &Lit,
        frame: &Picture,
    ) -> Outcome<RgbImage> {
        let [w, h] = HALF.map(f64::from);
        let scale = w / self.wide;
        let reach = Vector::new(self.wide / 2.0, h / scale / 2.0);
        let area = Bounds::new(self.middles[k] - reach, self.middles[k] + reach);
        let light = stage
            .light(frame)
            .ok_or_else(|| Fault::mistake("the rehearsed light has no size"))?;
        let mut cloths = cloths_where(job, &stage.panels(job))?;
        cloths.extend(MARKS.map(|place| paper(stage.mark(place))));
        let scene = Sighted {
            rig: &stage.rig,
            frame: &[light.clone(), light.clone(), light],
            table: Bounds::new(Point::new(0.0, 0.0), Point::new(1200.0, 800.0)),
            cloths: &cloths,
            // Only what stands up is looked at then.
            height: match (self.at_mark, k) {
                (Some(raised), 1) => raised,
                _ => 0.0,
            },
        };
        let look = Look {
            room: self.room,
            // As bright where a lamp is on.
            exposure: EXPOSURE * (ROOM + 1.0) / (self.room + 1.0),
            ..Look::close_up(area, scale)
        };
        let mut image = view(&scene, &look, &|_| {})
            .ok_or_else(|| Fault::mistake("the view of the table has no size"))?;
        if self.at_mark.is_none() {
            for (index, laid) in lit.laid.iter().enumerate() {
                let lies = lit.lamp.inside(index).moved(&stage.moved(laid.panel));
                for ring in &lies.rings {
                    draw_line(&mut image, ring, (area, scale), 1.0);
                }
            }
        }
        let mut letters = Letters::new(CAPITAL)?;
        let heading = ["as it was set", "now"][k];
        write(&mut image, &mut letters, heading, [EDGE, EDGE]);
        let foot = h - EDGE - CAPITAL;
        write(&mut image, &mut letters, &self.words[k], [EDGE, foot]);
        self.draw_bar(&mut image, &mut letters, scale);
        Ok(image)
    }

    /// A bar of known length in the lower right corner.
    fn draw_bar(&self, image: &mut RgbImage, letters: &mut Letters, scale: f64) {
        let [w, h] = HALF.map(f64::from);
        let long = self.bar * scale;
        let (right, foot) = (w - EDGE, h - EDGE);
        for (grown, colour) in [(2.0, [0; 3]), (0.0, WHITE)] {
            let columns = (right - long - grown) as u32..(right + grown) as u32;
            for x in columns {
                for y in (foot - 4.0 - grown) as u32..(foot + grown) as u32 {
                    image.put_pixel(x, y, Rgb(colour));
                }
            }
        }
        let words = format!("{:.0} mm", self.bar);
        let wide = 5.2 * CAPITAL;
        let left = (right - wide).max(EDGE);
        write(image, letters, &words, [left, foot - 14.0 - CAPITAL]);
    }
}

impl Stage {
    /// How far the light meant for a place falls beside what lies there now, mm; what lies there
    /// stands `raised` mm above the table.
    fn off(&self, meant: Point<Table>, lies: Point<Table>, raised: f64) -> f64 {
        let own = Stage::before().ok().and_then(|set| set.sent(meant, 0.0));
        let falls = own.and_then(|q| self.falls_at(q, raised));
        falls.map_or(0.0, |p| (p - lies).length())
    }
}

fn block([left, near, right, far]: [f64; 4]) -> Region<Table> {
    Region::ring(vec![
        Point::new(left, near),
        Point::new(right, near),
        Point::new(right, far),
        Point::new(left, far),
    ])
}

/// A mark's sheet of paper with its printed cross.
fn paper(at: Point<Table>) -> ClothSeen {
    let side = (PAPER * PAPER_SCALE) as u32;
    let (arm, half) = PRINTED;
    let mm = |v: u32| (f64::from(v) + 0.5) / PAPER_SCALE - PAPER / 2.0;
    let image = RgbaImage::from_fn(side, side, |x, y| {
        let (x, y) = (mm(x).abs(), mm(y).abs());
        let printed = (x < half && y < arm) || (y < half && x < arm);
        let code = if printed { 25 } else { 215 };
        Rgba([code, code, code, 255])
    });
    let reach = PAPER / 2.0;
    ClothSeen {
        image,
        box_mm: Bounds::new(Point::new(-reach, -reach), Point::new(reach, reach)),
        pose: Rigid::new(false, 0.0, at.to_vector()),
    }
}

/// Writes words on a darkened ground, their top left corner there, px.
fn write(image: &mut RgbImage, letters: &mut Letters, words: &str, [left, top]: [f64; 2]) {
    let lit = letters.block(&[words.to_owned()]).lit;
    let Some(room) = lit.bounds() else {
        return;
    };
    let pad = 6.0;
    let (wide, high) = (room.width() + 2.0 * pad, room.height() + 2.0 * pad);
    let (x0, y0) = ((left - pad).max(0.0), (top - pad).max(0.0));
    let last = |from: f64, long: f64, most: u32| ((from + long).ceil() as u32).min(most);
    for y in y0 as u32..last(y0, high, image.height()) {
        for x in x0 as u32..last(x0, wide, image.width()) {
            ink(image, x, y, [0; 3], 0.62);
            let hits = (0..9u32).filter(|k| {
                let (dx, dy) = (f64::from(k % 3), f64::from(k / 3));
                let p = Point::new(
                    room.min.x + f64::from(x) + (dx + 0.5) / 3.0 - x0 - pad,
                    room.max.y - (f64::from(y) + (dy + 0.5) / 3.0 - y0 - pad),
                );
                lit.contains(p)
            });
            ink(image, x, y, WHITE, hits.count() as f64 / 9.0);
        }
    }
}
