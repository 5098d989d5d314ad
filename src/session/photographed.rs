//! A photo of the table at the live table: opened, its marks clicked on, read on a thread of its
//! own, and what it tells kept as far as the person takes it.

use super::Wake;
use super::beside::beside;
use crate::calibration::Profile;
use crate::cloth::find::Seeds;
use crate::cloth::shade::ShadeMap;
use crate::cloth::{Looks, Panel};
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::job::write_shade;
use crate::look::{Asked, Click, Item, OwnMarks, Proposed, elsewhere, look, propose};
use crate::measure::numbers;
use crate::photo::Picture;
use crate::photo::tags::Board;
use crate::space::{Bounds, Cloth, Point, Rigid, Table, Vector};
use crate::work::{Goods, Op, State};
use egui::{Color32, ColorImage};
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use winit::event_loop::EventLoopProxy;

/// The largest photo that is read, bytes.
const LARGEST: u64 = 256 << 20;

/// Longer side of the picture on the panel, px.
const SMALL: usize = 1024;

/// What is asked for at the panel.
#[derive(Debug, Clone, PartialEq)]
pub enum PhotoWish {
    /// A photo by its path; one that is dropped on the panel, too.
    Open(String),
    Read(PhotoAsk),
    /// The shade of all panels that the photo tells of.
    KeepShade,
    /// What is proposed and chosen.
    Take(Vec<Item>),
    /// The photo is put away, or its reading is broken off.
    Leave,
}

/// How a photo is to be read.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PhotoAsk {
    /// Marks of the table by their numbers, from 1, and where they were clicked on, photo px.
    pub clicks: Vec<(usize, [f64; 2])>,
    /// As typed: where the sheet of tags lies (x, y and its turn); where white sheets lie
    /// (left, bottom, right, top), with semicolons between them.
    pub sheet: String,
    pub white: String,
    /// The panel whose cloth is looked for.
    pub panel: Option<String>,
    /// The one panel that the photo shows otherwise than it lies: its own marks, by their names.
    pub own: Option<String>,
    pub own_clicks: Vec<(String, [f64; 2])>,
    /// Where cloth and table look alike: places that are cloth, and that are table.
    pub cloth_at: Vec<[f64; 2]>,
    pub table_at: Vec<[f64; 2]>,
}

/// A photo, small enough for the panel.
pub struct Small {
    /// Of the photo, px.
    pub size: [usize; 2],
    pub image: Arc<ColorImage>,
}

impl std::fmt::Debug for Small {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Small({:?})", self.size)
    }
}

/// What a photo tells.
#[derive(Debug)]
pub struct Told {
    /// Standard error of a place on the cloth, mm on each axis.
    pub error: f64,
    pub maps: Vec<(String, ShadeMap<Cloth>)>,
    pub proposed: Option<Proposed>,
    pub notes: Vec<String>,
}

/// What comes back from the threads.
#[derive(Debug)]
pub enum News {
    Opened(Outcome<(Arc<Vec<u8>>, Small)>),
    Share(f64),
    Told(Outcome<Box<Told>>),
}

/// A photo on the panel.
#[derive(Debug)]
pub struct Photographed {
    number: u64,
    pub path: String,
    pub small: Option<Small>,
    bytes: Option<Arc<Vec<u8>>>,
    /// While it is read: how far that is.
    pub share: Option<f64>,
    pub told: Option<Told>,
    /// Why it can't be opened or read.
    pub fault: Option<String>,
    stop: Arc<AtomicBool>,
}

impl Drop for Photographed {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
    }
}

impl Photographed {
    /// Opens a photo, by a number that no other has.
    pub fn open(path: &str, number: u64, proxy: EventLoopProxy<Wake>) -> Self {
        let new = Self::new(path, number);
        let from = new.path.strip_prefix("file://").unwrap_or(&new.path);
        let from = from.to_owned();
        on_thread(number, proxy, move |_| News::Opened(opened(&from)));
        new
    }

    /// A photo of which nothing has been heard yet.
    pub fn new(path: &str, number: u64) -> Self {
        Self {
            number,
            path: path.trim().trim_matches(['"', '\'']).to_owned(),
            small: None,
            bytes: None,
            share: None,
            told: None,
            fault: None,
            stop: Arc::default(),
        }
    }

    /// What a thread says, if it was asked by this photo.
    pub fn hear(&mut self, number: u64, news: News) {
        if number != self.number {
            return;
        }
        match news {
            News::Opened(Ok((bytes, small))) => {
                (self.bytes, self.small) = (Some(bytes), Some(small));
            }
            News::Share(share) => self.share = self.share.and(Some(share)),
            News::Told(Ok(told)) => (self.share, self.told) = (None, Some(*told)),
            News::Opened(Err(fault)) | News::Told(Err(fault)) => {
                self.share = None;
                self.fault = Some(fault.to_string());
            }
        }
    }

    /// Reads it, for the panels that are spread; `before` is what was known of their shade.
    pub fn read(
        &mut self,
        ask: PhotoAsk,
        profile: Option<&Profile>,
        (goods, state): (&Goods, &State),
        before: BTreeMap<String, ShadeMap<Cloth>>,
        proxy: EventLoopProxy<Wake>,
    ) {
        let Some(bytes) = self.bytes.clone() else {
            return;
        };
        (self.told, self.fault) = (None, None);
        let asked = match asked(&ask, profile) {
            Ok(asked) => asked,
            Err(fault) => {
                self.fault = Some(fault.to_string());
                return;
            }
        };
        self.stop.store(true, Ordering::Relaxed);
        self.stop = Arc::default();
        self.share = Some(0.0);
        let (goods, state, stop) = (goods.clone(), state.clone(), Arc::clone(&self.stop));
        let looking = ask.panel.map(|panel| Looking {
            panel,
            cloth: ask.cloth_at,
            table: ask.table_at,
        });
        on_thread(self.number, proxy, move |tell| {
            let mut last = 0.0;
            let mut watch = |share: f64| {
                if share - last > 0.02 {
                    last = share;
                    tell(News::Share(share));
                }
                !stop.load(Ordering::Relaxed)
            };
            let told = told(
                &bytes,
                &asked,
                looking.as_ref(),
                (&goods, &state),
                &mut watch,
            );
            News::Told(told.map(|mut told| {
                let moved = told.maps.iter().filter_map(|(name, now)| {
                    elsewhere(state.panel(name)?, before.get(name)?, (now, told.error))
                });
                let moved: Vec<String> = moved.collect();
                told.notes.splice(0..0, moved);
                told
            }))
        });
    }

    /// The changes that keep the shade, its maps written into the job's folder.
    ///
    /// # Errors
    /// If a map can't be written.
    pub fn keep_shade(&self, folder: &Path, state: &State) -> Outcome<Vec<Op>> {
        let mut ops = Vec::new();
        for (name, map) in self.told.iter().flat_map(|t| &t.maps) {
            let Some(panel) = state.panel(name) else {
                continue;
            };
            let mut looks: Looks = panel.looks.clone().unwrap_or_default();
            looks.shade = Some(write_shade(folder, name, map)?);
            ops.push(Op::Looks {
                panel: name.clone(),
                from: panel.looks.clone(),
                to: Some(looks),
            });
        }
        Ok(ops)
    }

    /// The changes that take what was chosen of what is proposed.
    pub fn take(&mut self, items: &[Item], state: &State) -> Vec<Op> {
        let Some(told) = &mut self.told else {
            return Vec::new();
        };
        let Some(proposed) = &told.proposed else {
            return Vec::new();
        };
        let Some(panel) = state.panel(&proposed.panel) else {
            return Vec::new();
        };
        let ops = proposed.taking(panel, items);
        if items.contains(&Item::Outline) {
            // The maps were made inside the outline as it was.
            told.maps.clear();
            let read = "The outline has changed: read the photo again for the shade inside it.";
            told.notes.push(read.to_owned());
        }
        ops
    }
}

/// The panel whose cloth is looked for, and places that were clicked on, photo px.
struct Looking {
    panel: String,
    cloth: Vec<[f64; 2]>,
    table: Vec<[f64; 2]>,
}

/// Runs something on a thread; what comes of it is told, whatever happens.
fn on_thread(
    number: u64,
    proxy: EventLoopProxy<Wake>,
    work: impl FnOnce(&dyn Fn(News)) -> News + Send + 'static,
) {
    let back = proxy.clone();
    let run = move || {
        // An event loop that has ended wants no word.
        let tell = |news| {
            let _ = proxy.send_event(Wake::Photo { number, news });
        };
        let done = catch_unwind(AssertUnwindSafe(|| beside(|| work(&tell))));
        tell(done.unwrap_or_else(|_| {
            let fault = Fault::mistake("reading the photo broke off");
            News::Told(Err(fault))
        }));
    };
    let begun = std::thread::Builder::new()
        .name("photo".to_owned())
        .spawn(run);
    if let Err(e) = begun {
        let fault = Fault::ours(format!("the photo can't be read: {e}"), "try again");
        let news = News::Told(Err(fault));
        let _ = back.send_event(Wake::Photo { number, news });
    }
}

/// A photo's bytes, and how it looks on the panel.
///
/// # Errors
/// If it can't be read, or is none.
pub fn opened(path: &str) -> Outcome<(Arc<Vec<u8>>, Small)> {
    let file = Path::new(path);
    let bytes = disk::read(file, "reading the photo", LARGEST)?;
    let picture = Picture::read(&bytes).map_err(|f| f.in_file(file))?;
    Ok((Arc::new(bytes), small(&picture)))
}

fn small(picture: &Picture) -> Small {
    let [width, height] = picture.size();
    let step = width.max(height).div_ceil(SMALL).max(1);
    let (w, h) = (width.div_ceil(step), height.div_ceil(step));
    let pixels = (0..w * h).map(|k| {
        let (x, y) = ((k % w) * step, (k / w) * step);
        let code = picture.code(x.min(width - 1), y.min(height - 1));
        let [r, g, b] = code.map(|v| (255.0 * v.clamp(0.0, 1.0)).round() as u8);
        Color32::from_rgb(r, g, b)
    });
    Small {
        size: [width, height],
        image: Arc::new(ColorImage::new([w, h], pixels.collect())),
    }
}

fn told(
    bytes: &[u8],
    asked: &Asked,
    looking: Option<&Looking>,
    (goods, state): (&Goods, &State),
    watch: &mut dyn FnMut(f64) -> bool,
) -> Outcome<Box<Told>> {
    let left = || Fault::input("the photo was left", "read it again");
    let shown = |p: &&Panel| match &asked.own {
        Some(own) => p.name == own.panel,
        None => p.spread,
    };
    let spread: Vec<&Panel> = state.panels.iter().filter(shown).collect();
    let looking = looking.filter(|_| asked.own.is_none());
    let stock = goods.stock();
    let half = if looking.is_some() { 0.5 } else { 1.0 };
    let looked = look(bytes, asked, &spread, &stock, &mut |s| watch(half * s))?;
    let looked = looked.ok_or_else(left)?;
    let mut notes = looked.notes;
    let mut proposed = None;
    let found = looking.and_then(|l| Some((l, state.panel(&l.panel)?)));
    if let Some((of, panel)) = found {
        let places = |all: &[[f64; 2]]| -> Vec<Point<Table>> {
            let at = |px: &[f64; 2]| looked.pose.place(Point::from(*px), 0.0);
            all.iter().filter_map(at).collect()
        };
        let seeds = Seeds {
            cloth: places(&of.cloth),
            table: places(&of.table),
        };
        let both = (panel, &spread[..]);
        let found = propose(bytes, asked, both, &stock, &seeds, &mut |s| {
            watch(0.5 + 0.5 * s)
        });
        match found {
            Ok(found) => {
                let found = found.ok_or_else(left)?;
                let new = found.notes.iter().filter(|n| !notes.contains(n));
                let new: Vec<String> = new.cloned().collect();
                notes.extend(new);
                proposed = Some(found);
            }
            // The shade is told all the same.
            Err(fault) => notes.push(fault.to_string()),
        }
    }
    Ok(Box::new(Told {
        error: looked.error,
        maps: looked.maps,
        proposed,
        notes,
    }))
}

fn asked(ask: &PhotoAsk, profile: Option<&Profile>) -> Outcome<Asked> {
    let mut clicks = Vec::new();
    for (number, px) in &ask.clicks {
        let marks = profile.map_or(&[][..], |p| &p.marks);
        let mark = marks.get(number.wrapping_sub(1)).ok_or_else(|| {
            Fault::input(
                format!("the table has no mark {number}"),
                "set the table first",
            )
        })?;
        clicks.push(Click {
            name: number.to_string(),
            table: Point::from(mark.table_mm),
            px: Point::from(*px),
        });
    }
    let mut board = Board::default();
    if let Some(v) = typed("where the sheet of tags lies", &ask.sheet, &[2, 3])? {
        let turn = v.get(2).copied().unwrap_or(0.0).to_radians();
        let by: Rigid<Table, Table> = Rigid::new(false, turn, Vector::new(v[0], v[1]));
        board = Board::sheet().moved(&by);
    }
    let mut white = Vec::new();
    for sheet in ask.white.split(';') {
        let Some(v) = typed("where a white sheet lies", sheet, &[4])? else {
            continue;
        };
        let bounds = Bounds::new(Point::new(v[0], v[1]), Point::new(v[2], v[3]));
        if bounds.is_empty() {
            return Err(Fault::input(
                "a white sheet encloses nothing",
                "type its left, bottom, right and top, in mm on the table; the next after a semicolon",
            ));
        }
        white.push(bounds);
    }
    let own = ask.own.as_ref().map(|panel| OwnMarks {
        panel: panel.clone(),
        clicks: ask
            .own_clicks
            .iter()
            .map(|(name, px)| (name.clone(), Point::from(*px)))
            .collect(),
    });
    Ok(Asked {
        own,
        clicks,
        board,
        white,
        ..Asked::default()
    })
}

/// Numbers as typed; `None` if nothing is typed.
fn typed(what: &str, text: &str, counts: &[usize]) -> Outcome<Option<Vec<f64>>> {
    let some = !text.trim().is_empty();
    some.then(|| numbers(what, text, counts)).transpose()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_typed_is_numbers_or_told() {
        assert_eq!(typed("it", "  ", &[2]).unwrap(), None);
        assert_eq!(
            typed("it", "950, 40", &[2]).unwrap(),
            Some(vec![950.0, 40.0])
        );
        assert!(typed("it", "950", &[2]).is_err());
        let ask = PhotoAsk {
            clicks: vec![(5, [1.0, 2.0])],
            ..PhotoAsk::default()
        };
        let said = asked(&ask, None).unwrap_err().to_string();
        assert!(said.contains("no mark 5"), "{said}");
        let ask = PhotoAsk {
            white: "10,10,5,20".into(),
            ..PhotoAsk::default()
        };
        assert!(asked(&ask, None).is_err());
        let ask = PhotoAsk {
            white: "10,10,50,20; 0 300 9 400;".into(),
            ..PhotoAsk::default()
        };
        let white = asked(&ask, None).unwrap().white;
        assert_eq!((white.len(), white[1].max.y), (2, 400.0));
    }

    #[test]
    fn a_file_that_is_no_photo_is_told() {
        let said = opened("Cargo.toml").unwrap_err().to_string();
        assert!(said.contains("Cargo.toml"), "{said}");
        assert!(opened("nowhere.jpg").is_err());
        let (_, small) = opened("demo-data/canvas.png").unwrap();
        assert!(small.image.size.iter().all(|n| *n <= SMALL));
        let [w, h] = small.size;
        let [sw, sh] = small.image.size;
        assert!((w as f64 / h as f64 - sw as f64 / sh as f64).abs() < 0.02);
    }
}
