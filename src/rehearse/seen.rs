//! The table as a person standing there would see it.

use super::ink::draw_line;
use super::loops::seen;
use crate::cloth::Panel;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::frame::Lit;
use crate::job::Job;
use crate::pattern::NotchKind;
use crate::render::Picture;
use crate::space::{Bounds, Point, Table};
use crate::twin::picture::Picture as Light;
use crate::twin::rig::Rig;
use crate::twin::view::{ClothSeen, Look, Scene, view};
use image::RgbImage;

/// The rehearsed table, mm.
fn table() -> Bounds<Table> {
    Bounds::new(Point::new(0.0, 0.0), Point::new(1200.0, 800.0))
}

/// Floor shown round the table, mm, and image pixels per mm.
const MARGIN: f64 = 45.0;
const TABLE_SCALE: f64 = 2.0;

/// The close-up: mm across and up, and image pixels per mm.
const CLOSE: (f64, f64) = (66.0, 44.0);
const CLOSE_SCALE: f64 = 16.0;

/// The room's light in the pictures, the projector's white = 1, and their
/// exposure: a workroom with the blind down.
const ROOM: f64 = 0.11;
const EXPOSURE: f64 = 3.4;

/// The largest photo of a cloth that is taken in, bytes.
const LARGEST_PHOTO: u64 = 256 << 20;

/// The job's cloths with their photos, where they lie. Panels without a photo
/// are plain grey.
pub fn cloths(job: &Job) -> Outcome<Vec<ClothSeen>> {
    cloths_where(job, &job.file.panels)
}

/// The job's cloths, where these panels lie; a ply beneath comes first.
pub fn cloths_where(job: &Job, panels: &[Panel]) -> Outcome<Vec<ClothSeen>> {
    let spread = || panels.iter().filter(|p| p.spread);
    let beneath = spread().filter(|p| p.under.is_some());
    beneath
        .chain(spread().filter(|p| p.under.is_none()))
        .map(|panel| {
            let (image, b) = match &panel.photo {
                Some(photo) => (open_photo(&job.folder.join(&photo.file))?, photo.box_mm),
                None => plain(panel)?,
            };
            let [left, bottom, right, top] = b;
            if !(right > left && top > bottom && b.iter().all(|v| v.is_finite())) {
                return Err(Fault::input(
                    "the photo's box_mm is not left, bottom, right, top",
                    "give the rectangle of cloth that the photo covers",
                )
                .at(format!("panel \"{}\"", panel.name)));
            }
            Ok(ClothSeen {
                image,
                box_mm: Bounds::new(Point::new(left, bottom), Point::new(right, top)),
                pose: panel.on_table.pose(),
            })
        })
        .collect()
}

fn open_photo(path: &std::path::Path) -> Outcome<image::RgbaImage> {
    let bytes = disk::read(path, "reading the photo", LARGEST_PHOTO)?;
    image::load_from_memory_with_format(&bytes, image::ImageFormat::Png)
        .map(|i| i.to_rgba8())
        .map_err(|e| {
            let what = format!("the photo can't be read: {e}");
            Fault::input(what, "save the photo as PNG").in_file(path)
        })
}

/// Cloth without a photo: its outline in grey, one pixel to 2 mm.
fn plain(panel: &Panel) -> Outcome<(image::RgbaImage, [f64; 4])> {
    let outline = panel.outline()?;
    let b = outline
        .bounds()
        .ok_or_else(|| Fault::input("the outline is empty", "draw it"))?;
    let count = |length: f64| ((length / 2.0).ceil() as u32).clamp(1, 4000);
    let (w, h) = (count(b.width()), count(b.height()));
    let image = image::RgbaImage::from_fn(w, h, |x, y| {
        let at = Point::new(
            b.min.x + (f64::from(x) + 0.5) / f64::from(w) * b.width(),
            b.max.y - (f64::from(y) + 0.5) / f64::from(h) * b.height(),
        );
        image::Rgba([150, 150, 150, if outline.contains(at) { 255 } else { 0 }])
    });
    Ok((image, [b.min.x, b.min.y, b.max.x, b.max.y]))
}

/// Size of a projector pixel on the table, mm: smallest and largest side over
/// the table, as the twin sees it.
pub fn pixel_sizes(rig: &Rig) -> [f64; 2] {
    let mut range = [f64::INFINITY, 0.0f64];
    for k in 0..=10 {
        for j in 0..=10 {
            let (x, y) = (120.0 * f64::from(k), 80.0 * f64::from(j));
            let q = rig.project(x, y, 0.0);
            for step in [euclid::vec2(1.0, 0.0), euclid::vec2(0.0, 1.0)] {
                if let Some(p) = rig.land(q + step, 0.0) {
                    let size = (p - Point::new(x, y)).length();
                    range = [range[0].min(size), range[1].max(size)];
                }
            }
        }
    }
    range
}

/// An eye over the table.
pub struct Eye<'a> {
    rig: &'a Rig,
    frame: Outcome<Light>,
    cloths: Vec<ClothSeen>,
}

impl<'a> Eye<'a> {
    pub fn new(rig: &'a Rig, frame: &Picture, cloths: Vec<ClothSeen>) -> Self {
        Self {
            rig,
            frame: seen(frame),
            cloths,
        }
    }

    fn look(&self, look: &Look, progress: &(dyn Fn(f64) + Sync)) -> Outcome<RgbImage> {
        // White light: the same in all three colours.
        let frame = self.frame.clone()?;
        let frame = [frame.clone(), frame.clone(), frame];
        let scene = Scene {
            rig: self.rig,
            frame: &frame,
            table: table(),
            cloths: &self.cloths,
            height: 0.0,
        };
        let look = Look {
            room: ROOM,
            exposure: EXPOSURE,
            ..*look
        };
        view(&scene, &look, progress)
            .ok_or_else(|| Fault::mistake("the view of the table has no size"))
    }

    /// The whole table. `progress` hears of every quarter.
    pub fn table(&self, progress: &(dyn Fn(&str) + Sync)) -> Outcome<RgbImage> {
        let told = std::sync::atomic::AtomicUsize::new(0);
        let quarter = |share: f64| {
            let now = (share * 4.0).floor() as usize;
            if now > told.fetch_max(now, std::sync::atomic::Ordering::Relaxed) && now < 4 {
                progress(&format!("looking at the table: {} %", 25 * now));
            }
        };
        self.look(&Look::table(table(), MARGIN, TABLE_SCALE), &quarter)
    }

    /// One edge and one notch, close, with the cut line drawn in as a thin
    /// line that no projector shows. `None` if no laid piece has a notch.
    pub fn close_up(&self, lit: &Lit) -> Outcome<Option<RgbImage>> {
        let notched = |kind: Option<NotchKind>| {
            lit.laid.iter().enumerate().find_map(|(k, l)| {
                let mut notches = l.piece.notches.iter();
                Some((
                    k,
                    l,
                    notches.find(|n| kind.is_none_or(|kind| n.kind == kind))?,
                ))
            })
        };
        let Some((index, laid, notch)) = notched(Some(NotchKind::Slit)).or(notched(None)) else {
            return Ok(None);
        };
        let at: Point<Table> = laid.pose.point(notch.at + notch.inward * 4.0);
        let half = euclid::vec2(CLOSE.0 / 2.0, CLOSE.1 / 2.0);
        let area = Bounds::new(at - half, at + half);
        let mut image = self.look(&Look::close_up(area, CLOSE_SCALE), &|_| {})?;
        for ring in &lit.lamp.inside(index).rings {
            draw_line(&mut image, ring, (area, CLOSE_SCALE), 0.75);
        }
        Ok(Some(image))
    }
}
