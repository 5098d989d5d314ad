//! From the bench to everything that is lit: the lay in its way of light, and
//! over it the pointer, marks, outlines and words. Figures that have not changed
//! are kept; what has says which pixels must be drawn anew.

mod base;
mod beside;
mod creep;
mod cutting;
mod edge;
mod ground;
mod key_sheet;
mod over;
mod pen;
mod rim;
mod ruler;
mod setting;
#[cfg(test)]
mod tests;
mod watch;

pub use over::Notice;
pub use setting::{Lit, setting_page};

use crate::calibration::Profile;
use crate::calibration::fit::Sure;
use crate::fault::Outcome;
use crate::frame::band;
use crate::frame::lit_table;
use crate::frame::reach;
use crate::lay::{Checked, Laid, Wrong, grounds};
use crate::light::{Lamp, Letters, STEPS, Settings};
use crate::projection::Mapping;
use crate::render::{Drawn, Rect, draw, draw_all};
use crate::scene::{Figure, Level};
use crate::shape::Region;
use crate::space::{Bounds, Point, Table};
use crate::work::cutting::Phase;
use crate::work::{Bench, Id, Touched, Way, Ways};
use std::sync::Arc;

/// How bright the others are while a piece is in hand, of their full.
const OTHERS: f64 = 0.4;

/// Height of a capital in the light's sentences, mm.
const WORDS: f64 = 16.0;

/// Something wrong with the lay, kept until the pieces it names move.
#[derive(Debug, Clone, PartialEq)]
pub struct Trouble {
    pub id: Id,
    /// The other piece, if it is between two.
    pub other: Option<Id>,
    pub sentence: String,
    /// Where it shows; empty for the grain.
    pub place: Region<Table>,
}

/// All that is lit, ready to be drawn.
#[derive(Debug)]
pub struct Glow {
    profile: Profile,
    /// How sure its light is, if it says.
    sure: Option<Arc<Sure>>,
    mapping: Mapping,
    size: [u32; 2],
    /// What the projector lights of the table.
    lit: Region<Table>,
    /// What it lights of the table between the table's marks: nothing if the profile does
    /// not keep them.
    top: Region<Table>,
    lamp: Lamp,
    settings: Settings,
    letters: Letters,
    /// The room of the list of keys while it lies on the table.
    keys: Option<Bounds<Table>>,
    ids: Vec<Id>,
    pieces: Vec<Drawn>,
    /// Those whose dashes creep, step by step, as they were drawn since they last moved.
    dashes: Vec<[Option<Drawn>; STEPS]>,
    step: usize,
    /// How bright each is; those at nought are not drawn.
    levels: Vec<Level>,
    base: Vec<Drawn>,
    ground: Vec<Drawn>,
    over: Vec<Drawn>,
    /// Rings round the table's marks, and round which.
    rings: Vec<Drawn>,
    watched: Vec<usize>,
    /// Places to keep out of are among the ground.
    shows_places: bool,
    trouble: Vec<Trouble>,
    finished: bool,
}

impl Glow {
    /// Nothing lit yet: [`Glow::show`] with [`Touched::All`] begins.
    ///
    /// # Errors
    /// If the profile is none, or the bundled font can't be read.
    pub fn new(profile: &Profile) -> Outcome<Self> {
        let settings = Settings::default();
        let (mapping, size) = (profile.mapping()?, profile.projector_px);
        Ok(Self {
            lit: lit_table(&mapping, size),
            top: reach(profile, &mapping, &[]),
            lamp: Lamp::new(settings)?,
            letters: Letters::new(WORDS)?,
            sure: Sure::of(profile).map(Arc::new),
            profile: profile.clone(),
            mapping,
            size,
            settings,
            keys: None,
            ids: Vec::new(),
            pieces: Vec::new(),
            dashes: Vec::new(),
            step: 0,
            levels: Vec::new(),
            base: Vec::new(),
            ground: Vec::new(),
            over: Vec::new(),
            rings: Vec::new(),
            watched: Vec::new(),
            shows_places: false,
            trouble: Vec::new(),
            finished: false,
        })
    }

    pub fn mapping(&self) -> &Mapping {
        &self.mapping
    }

    /// The pieces have other outlines now: nothing that was drawn of them is kept.
    ///
    /// # Errors
    /// If the bundled font can't be read.
    pub fn forget_pieces(&mut self) -> Outcome<()> {
        self.lamp = Lamp::new(self.settings)?;
        Ok(())
    }

    /// What the projector lights of the table.
    pub fn lit(&self) -> &Region<Table> {
        &self.lit
    }

    /// How sure the light is of its place; `None` if the profile does not keep its marks.
    pub fn sure(&self) -> Option<&Arc<Sure>> {
        self.sure.as_ref()
    }

    /// The band as it is lit, mm: never less than three projector pixels.
    pub fn band(&self) -> f64 {
        self.settings.band
    }

    /// What is wrong with the lay, in the order of the pieces.
    pub fn trouble(&self) -> impl Iterator<Item = &Trouble> {
        self.trouble.iter()
    }

    /// All figures that are lit, of the whole picture.
    pub fn drawn(&self) -> impl Iterator<Item = &Drawn> {
        let pieces = self.pieces.iter().zip(&self.levels);
        let pieces = pieces.filter(|(_, l)| **l != Level(0)).map(|(p, _)| p);
        let under = self.base.iter().chain(pieces);
        let under = under.chain(&self.ground).chain(&self.rings);
        under.chain(&self.over)
    }

    /// Takes in what an act has touched; returns the pixels to be drawn anew.
    ///
    /// # Errors
    /// If a projector pixel is too coarse to cut by, or an outline is no outline.
    pub fn show(&mut self, bench: &Bench, touched: &Touched, notice: &Notice) -> Outcome<Rect> {
        let whole = Rect::of_size(self.size[0], self.size[1]);
        let mut rect = match touched {
            Touched::Nothing => return Ok(Rect::default()),
            Touched::All => {
                self.light_all(bench)?;
                whole
            }
            Touched::Pieces(ids) => self.light_some(bench, ids)?,
            Touched::Over => Rect::default(),
        };
        if !matches!(touched, Touched::All) {
            rect = rect.union(&extent(&self.over));
        }
        let drawing = over::over(self, bench, notice);
        self.over = self.draw_all(&drawing);
        rect = rect.union(&extent(&self.over));
        Ok(rect.intersection(&whole))
    }

    fn light_all(&mut self, bench: &Bench) -> Outcome<()> {
        let ways = *bench.ways();
        let (ids, laid) = bench.laid();
        let settings = Settings {
            band: band(&laid, &self.mapping, &self.profile, ways.lit_width())?,
            side: ways.stands,
            hand: Some(ways.cuts),
            ..Settings::default()
        };
        if settings != self.settings {
            self.lamp = Lamp::new(settings)?;
            self.settings = settings;
        }
        self.lamp.creep(ways.creeps().then_some(self.step));
        let text = reach(&self.profile, &self.mapping, bench.panels());
        self.lamp.light(&laid, &text);
        self.finished = ways.way == Way::Finished;
        self.base = base::sheets(&ways, self.size);
        self.pieces = if self.finished {
            let look = laid.iter().map(|l| base::finished(l, guides(&ways)));
            let look: Vec<Figure> = look.collect();
            self.draw_all(&look)
        } else {
            self.draw_all(&self.lamp.scene().figures)
        };
        self.dashes = vec![[const { None }; STEPS]; ids.len()];
        self.ids = ids;
        self.levels = vec![Level::FULL; self.ids.len()];
        for k in 0..self.ids.len() {
            self.set_brightness(k, bench);
        }
        self.lay_ground(bench);
        self.watch(watch::watched(bench), bench);
        self.check_all(bench, &laid)
    }

    fn light_some(&mut self, bench: &Bench, moved: &[Id]) -> Outcome<Rect> {
        let (ids, laid) = bench.laid();
        if ids != self.ids {
            self.light_all(bench)?;
            return Ok(Rect::of_size(self.size[0], self.size[1]));
        }
        let mut changed: Vec<usize> = Vec::new();
        for id in moved {
            if let Ok(k) = self.ids.binary_search(id) {
                changed.extend(self.lamp.moved(&laid, k));
            }
        }
        // The piece in hand may be another: all that dims or brightens.
        changed.sort_unstable();
        changed.dedup();
        let ways = bench.ways();
        let mut rect = Rect::default();
        for &k in &changed {
            rect = rect.union(&self.pieces[k].rect());
            let figure = if self.finished {
                base::finished(&laid[k], guides(ways))
            } else {
                self.lamp.scene().figures[k].clone()
            };
            self.pieces[k] = self.draw_one(&figure);
            self.dashes[k] = [const { None }; STEPS];
            rect = rect.union(&self.pieces[k].rect());
        }
        for k in 0..self.ids.len() {
            if self.wants(k, bench) != self.levels[k] || changed.contains(&k) {
                rect = rect.union(&self.pieces[k].rect());
                self.set_brightness(k, bench);
            }
        }
        if self.shows_places != ground::shows_places(bench) {
            rect = rect.union(&extent(&self.ground));
            self.lay_ground(bench);
            rect = rect.union(&extent(&self.ground));
        }
        // A piece was moved over a mark, or away from it.
        let watched = watch::watched(bench);
        if !watched.iter().map(|(k, _)| k).eq(&self.watched) {
            rect = rect.union(&extent(&self.rings));
            self.watch(watched, bench);
            rect = rect.union(&extent(&self.rings));
        }
        self.check_some(bench, &laid, moved)?;
        Ok(rect)
    }

    fn lay_ground(&mut self, bench: &Bench) {
        self.shows_places = ground::shows_places(bench);
        self.ground = self.draw_all(&ground::ground(bench));
    }

    fn watch(&mut self, watched: Vec<(usize, Point<Table>)>, bench: &Bench) {
        self.rings = self.draw_all(watch::rings(&watched, guides(bench.ways())).as_slice());
        self.watched = watched.into_iter().map(|(k, _)| k).collect();
    }

    /// The brightness a piece's figure is to have.
    fn wants(&self, k: usize, bench: &Bench) -> Level {
        let ways = bench.ways();
        if self.finished {
            return Level::FULL;
        }
        if bench.state().cuts.has(self.ids[k]) {
            // Light must not stay where the part was.
            return Level(0);
        }
        let full = guides(ways);
        // A part that lies in its light is in hand, and no piece of a sheet.
        let cutting = bench.doing().cutting();
        let laid_back =
            cutting.is_some_and(|c| !c.lies.is_empty() || matches!(c.phase, Phase::Choose { .. }));
        let other = laid_back || bench.held().is_some_and(|id| id != self.ids[k]);
        match (ways.way, other) {
            (Way::Plain | Way::Dark, _) | (Way::Hand, true) => Level(0),
            // Guides would be taken for the ruler's marks.
            _ if bench.ruler().is_some() => Level(0),
            (_, true) => Level((f64::from(full.0) * OTHERS).round() as i16),
            _ => full,
        }
    }

    fn set_brightness(&mut self, k: usize, bench: &Bench) {
        let level = self.wants(k, bench);
        self.levels[k] = level;
        // The finished look is drawn with its own level.
        if level != Level(0) && !self.finished {
            self.pieces[k].set_level(level);
        }
    }

    fn check_all(&mut self, bench: &Bench, laid: &[Laid]) -> Outcome<()> {
        self.trouble.clear();
        let all: Vec<Id> = self.ids.clone();
        self.check_some(bench, laid, &all)
    }

    /// Looks again at what is wrong with these pieces.
    fn check_some(&mut self, bench: &Bench, laid: &[Laid], moved: &[Id]) -> Outcome<()> {
        self.trouble.retain(|t| {
            !moved.contains(&t.id) && t.other.is_none_or(|other| !moved.contains(&other))
        });
        let grounds = grounds(bench.panels())?;
        let checked = Checked::new(laid, &grounds, Some(&self.lit), self.settings.band);
        let moved = moved
            .iter()
            .filter_map(|id| self.ids.binary_search(id).ok());
        for wrong in checked.of_some(&moved.collect::<Vec<_>>()) {
            let found = told(&checked, &wrong, &self.ids);
            let again = |t: &Trouble| t.other == Some(found.id) && Some(t.id) == found.other;
            if !self.trouble.iter().any(again) {
                self.trouble.push(found);
            }
        }
        self.trouble.sort_by_key(|t| t.id);
        Ok(())
    }

    fn draw_one(&self, figure: &Figure) -> Drawn {
        draw(figure, &self.mapping, self.size[0], self.size[1])
    }

    fn draw_all(&self, figures: &[Figure]) -> Vec<Drawn> {
        draw_all(figures, &self.mapping, self.size[0], self.size[1])
    }
}

/// The level of guides: what the work light leaves, so that a guide over it is
/// white and its edge keeps its place.
fn guides(ways: &Ways) -> Level {
    let work = base::work_light(ways).0;
    let rest = f64::from(255 - work) * f64::from(ways.brightness) / 100.0;
    Level(rest.round() as i16)
}

fn told(checked: &Checked, wrong: &Wrong, ids: &[Id]) -> Trouble {
    use crate::lay::Trouble as What;
    let other = match wrong.what {
        What::On { other, .. } | What::Crowds { other } => Some(ids[other]),
        _ => None,
    };
    Trouble {
        id: ids[wrong.index],
        other,
        sentence: checked.sentence(wrong),
        place: wrong.place.clone(),
    }
}

fn rectangle(b: &Bounds<Table>) -> Region<Table> {
    Region::ring(vec![
        b.min,
        Point::new(b.max.x, b.min.y),
        b.max,
        Point::new(b.min.x, b.max.y),
    ])
}

fn extent(drawn: &[Drawn]) -> Rect {
    let rects = drawn.iter().map(Drawn::rect);
    rects.fold(Rect::default(), |all, r| all.union(&r))
}
