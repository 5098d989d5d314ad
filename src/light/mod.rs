//! From the lay to what is lit.
//!
//! A piece's light is worked out once in its own space (band, notches, marks)
//! and then only moved: a rigid motion changes none of it. What does depend on
//! the table is done there: neighbours' bands stop at each other's cut lines,
//! and labels stand upright for the person, from whichever side they look.

mod band;
mod creep;
mod label;
mod marks;
mod notch;
mod room;
pub mod setting;
mod standing;
mod text;
mod trim;
mod words;

pub use creep::{RATE, STEPS};
pub use text::{FONT, Letters};
pub use words::{Lettering, lettering};

use standing::{Drawing, Sign, Standing, draw};

use crate::fault::Outcome;
use crate::lay::Laid;
use crate::pattern::PatternPiece;
use crate::scene::{Figure, Level, Patch, Scene};
use crate::shape::{ARC_ERROR, Region, difference, near_boxed, trimmed};
use crate::space::{Bounds, Piece, Rigid, Table, Vector};
use crate::stand::{Hand, Side};
use rayon::prelude::*;
use std::collections::HashMap;
use std::sync::Arc;

/// What the person can choose about the light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Width of the guide band, mm.
    pub band: f64,
    /// Height of a capital in labels, mm; at least 12 to be read standing.
    pub letters: f64,
    /// Where the person stands: text is upright for them.
    pub side: Side,
    /// The hand that cuts, if a label beside a piece is rather to stand on its
    /// side, away from the hand that holds. `None`: whichever place is nearer.
    pub hand: Option<Hand>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            band: 3.0,
            letters: 12.0,
            side: Side::Front,
            hand: None,
        }
    }
}

/// The least width of a band, in projector pixels at the coarsest place in
/// reach: with fewer, blur moves the edge that the eye sees (at 2 px and blur
/// σ 0.7 px by 0.17 px; at 3 px by 0.05).
pub const LEAST_BAND_PX: f64 = 3.0;

/// Nearer than this, mm, two areas may overlap.
const TOUCH: f64 = 1e-6;

/// How much further off a place for a label may be if it is on the side of the
/// cutting hand, mm: a letter's height. The wish is moved by half of it.
const HAND_COUNTS: f64 = 12.0;

/// Where a piece's label ended up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelAt {
    Inside,
    /// No room inside: beside the piece.
    Beside,
    /// No room anywhere: the panel has to say it.
    Nowhere,
}

/// A piece, its label's words, its turn (bits of the radians), and whether it is
/// mirrored.
type LabelKey = (String, String, u64, bool);

/// Labels kept at most.
const MOST_LABELS: usize = 4096;

/// Makes light of a lay, and keeps what it worked out.
#[derive(Debug)]
pub struct Lamp {
    settings: Settings,
    letters: Letters,
    /// By piece and trim (bits of the mm).
    drawings: HashMap<(String, u64), Arc<Drawing>>,
    labels: HashMap<LabelKey, Option<Arc<Region<Table>>>>,
    standing: Vec<Standing>,
    /// For each piece, those whose light can meet its own, in order.
    near: Vec<Vec<usize>>,
    scene: Scene,
    /// The step at which bands are cut into dashes; whole if there is none.
    creep: Option<usize>,
}

impl Lamp {
    /// # Errors
    /// If the bundled font can't be read.
    pub fn new(settings: Settings) -> Outcome<Self> {
        Ok(Self {
            letters: Letters::new(settings.letters)?,
            settings,
            drawings: HashMap::new(),
            labels: HashMap::new(),
            standing: Vec::new(),
            near: Vec::new(),
            scene: Scene::default(),
            creep: None,
        })
    }

    /// What is lit from here on has its bands cut into dashes that creep along them, as they
    /// are at a step of [`STEPS`]; `None`: whole bands.
    pub fn creep(&mut self, step: Option<usize>) {
        self.creep = step;
    }

    /// One figure a laid piece, in their order; its patches are the band, what is
    /// lit inside, the notches' signs, and a label beside it if it has one.
    pub fn scene(&self) -> &Scene {
        &self.scene
    }

    /// The area inside a laid piece's cut line, on the table: its rings are
    /// the cut outlines, cut-outs clockwise.
    pub fn inside(&self, index: usize) -> &Region<Table> {
        &self.standing[index].inside
    }

    /// The characters of a laid piece's label that the font can't draw.
    pub fn unprintable(&self, laid: &Laid) -> String {
        self.letters.lacks(&label::words(laid).concat())
    }

    /// Where a laid piece's label ended up.
    pub fn label(&self, index: usize) -> LabelAt {
        let s = &self.standing[index];
        match (&s.label, &s.beside) {
            (Some(_), _) => LabelAt::Inside,
            (None, Some(_)) => LabelAt::Beside,
            (None, None) => LabelAt::Nowhere,
        }
    }

    /// Lights a whole lay. Labels without room inside stand beside their
    /// pieces, within `reach`.
    pub fn light(&mut self, laid: &[Laid], reach: &Region<Table>) {
        self.draw_missing(laid);
        self.standing = laid.iter().map(|l| self.stand(l)).collect();
        let homeless = (0..laid.len()).filter(|&k| self.standing[k].label.is_none());
        let homeless: Vec<usize> = homeless.collect();
        if !homeless.is_empty() {
            self.put_beside(laid, &homeless, reach);
        }
        let all = || (0..laid.len()).into_par_iter();
        self.near = all().map(|k| self.neighbours(k)).collect();
        let figures = all().map(|k| self.figure(k, laid[k].height)).collect();
        self.scene = Scene { figures };
    }

    /// Draws all that has not been drawn yet, on all cores.
    fn draw_missing(&mut self, laid: &[Laid]) {
        let mut missing = HashMap::new();
        for l in laid {
            let key = (l.piece.name.clone(), l.trim.to_bits());
            if !self.drawings.contains_key(&key) {
                missing.insert(key, l);
            }
        }
        let band = self.settings.band;
        let made = missing
            .into_par_iter()
            .map(|(key, l)| (key, Arc::new(draw(&trim::trimmed(l.piece, l.trim), band))));
        self.drawings.par_extend(made);
    }

    /// Finds room for the labels that have none inside their pieces. Text is
    /// set in rows, so all is seen from the person's side meanwhile.
    fn put_beside(&mut self, laid: &[Laid], which: &[usize], reach: &Region<Table>) {
        let side = self.settings.side;
        let width = self.settings.band;
        let seen = |region: &Region<Table>| words::seen_from(side, region.clone());
        let taken = self
            .standing
            .iter()
            .map(|s| words::seen_from(side, s.keep_off(width)));
        let mut outside = label::Outside::new(&seen(reach), taken);
        // All light, as areas and what is about them.
        let mut lit = Vec::new();
        for s in &self.standing {
            lit.push((seen(&s.inside), width));
            lit.extend(s.signs.iter().map(|sign| (seen(&sign.lit), 0.0)));
        }
        let gap = width + 1.0;
        let lean = self.settings.hand.map_or(0.0, Hand::sign) * HAND_COUNTS / 2.0;
        for &k in which {
            let words = label::words(&laid[k]);
            let blocks = label::settings(&words, &mut self.letters);
            let s = &mut self.standing[k];
            let wish = side.to_person(s.pose.point(s.drawing.wish).to_vector());
            let wish = wish.cast_unit().to_point() + Vector::new(lean, 0.0);
            let inside = seen(&s.inside);
            let beside = outside.put(blocks, wish, &inside, gap, &lit);
            lit.extend(beside.clone().map(|label| (label, 0.0)));
            s.beside = beside.map(|b| words::back_from(side, b));
        }
    }

    /// Lights the lay again after one piece has moved; returns the figures
    /// that changed. A label that stands beside a piece on the move, or in its
    /// way, goes out until the next [`Lamp::light`].
    pub fn moved(&mut self, laid: &[Laid], index: usize) -> Vec<usize> {
        self.standing[index] = self.stand(&laid[index]);
        let mut changed = self.meet(index);
        for k in 0..self.standing.len() {
            let own = &self.standing[index];
            let hit = self.standing[k].beside.as_ref().is_some_and(|b| {
                let Some(at) = b.bounds() else { return false };
                near_boxed((b, &at), (&own.inside, &own.bounds), self.settings.band)
            });
            if hit {
                self.standing[k].beside = None;
                changed.push(k);
            }
        }
        changed.retain(|k| *k != index);
        changed.sort_unstable();
        changed.dedup();
        // Many a neighbour is lit as it was.
        changed.retain(|&k| {
            let figure = self.figure(k, laid[k].height);
            let before = std::mem::replace(&mut self.scene.figures[k], figure);
            before != self.scene.figures[k]
        });
        self.scene.figures[index] = self.figure(index, laid[index].height);
        changed.push(index);
        changed
    }

    /// Finds a moved piece's neighbours, and tells them; returns those that it
    /// had or has.
    fn meet(&mut self, index: usize) -> Vec<usize> {
        let now = self.neighbours(index);
        let mut all = std::mem::take(&mut self.near[index]);
        for &k in &all {
            self.near[k].retain(|&j| j != index);
        }
        for &k in &now {
            let theirs = &mut self.near[k];
            theirs.insert(theirs.partition_point(|&j| j < index), index);
        }
        all.extend(&now);
        self.near[index] = now;
        all
    }

    fn drawing(&mut self, piece: &PatternPiece, by: f64) -> Arc<Drawing> {
        let band = self.settings.band;
        let made = self
            .drawings
            .entry((piece.name.clone(), by.to_bits()))
            .or_insert_with(|| Arc::new(draw(&trim::trimmed(piece, by), band)));
        Arc::clone(made)
    }

    /// A piece's light moved to the table.
    fn stand(&mut self, laid: &Laid) -> Standing {
        let drawing = self.drawing(laid.piece, laid.trim);
        let pose = laid.pose;
        let label = self.label_within(laid, &drawing);
        let inside = drawing.inside.moved(&pose);
        let kept = drawing.kept.moved(&pose);
        let nowhere = Bounds::new(pose.shift.to_point(), pose.shift.to_point());
        Standing {
            bounds: inside.bounds().unwrap_or(nowhere),
            inside,
            signs: drawing
                .signs
                .iter()
                .filter_map(|s| {
                    let lit = s.moved(&pose);
                    lit.bounds().map(|bounds| Sign { lit, bounds })
                })
                .collect(),
            kept_bounds: kept.bounds().unwrap_or(nowhere),
            kept,
            drawing,
            pose,
            label,
            beside: None,
        }
    }

    /// The label inside a piece, about its origin: it depends on how the piece
    /// is turned, not on where it lies, and is kept for when it is asked again.
    fn label_within(&mut self, laid: &Laid, drawing: &Drawing) -> Option<Arc<Region<Table>>> {
        let words = label::words(laid);
        let pose = laid.pose;
        let key = (
            laid.piece.name.clone(),
            words.concat(),
            pose.turn.to_bits(),
            pose.mirrored,
        );
        if let Some(kept) = self.labels.get(&key) {
            return kept.clone();
        }
        // As the person sees it, for text is set in rows.
        let side = self.settings.side;
        let turn = pose.turn - side.turn();
        let turned: Rigid<Piece, Table> = Rigid::new(pose.mirrored, turn, Vector::zero());
        let label = label::within(
            label::settings(&words, &mut self.letters),
            &drawing.free.moved(&turned),
            &drawing.barred.moved(&turned),
            turned.point(drawing.wish),
        );
        if self.labels.len() > MOST_LABELS {
            // A piece turned step by step leaves one for every step.
            self.labels.clear();
        }
        let label = label.map(|l| Arc::new(words::back_from(side, l)));
        self.labels.insert(key, label.clone());
        label
    }

    /// The pieces whose light can meet this one's, so that a change of either
    /// changes the other.
    fn neighbours(&self, index: usize) -> Vec<usize> {
        let own = &self.standing[index];
        let far = 2.0 * self.settings.band + notch::SIGN_REACH;
        let grown = own.bounds.inflate(far, far);
        let others = self.standing.iter().enumerate();
        others
            .filter(|(k, other)| {
                *k != index
                    && grown.intersects(&other.bounds)
                    && (own.is_near(other, 2.0 * self.settings.band)
                        || own.signs_reach(other)
                        || other.signs_reach(own))
            })
            .map(|(k, _)| k)
            .collect()
    }

    /// All the light of one piece, clear of every other's. A neighbour's whole band is its
    /// own, dashed or not.
    pub fn figure(&self, index: usize, height: f64) -> Figure {
        let own = &self.standing[index];
        let mut band = match self.creep {
            Some(step) => own.dashes(step, self.settings.band),
            None => own.band(),
        };
        let mut signs: Vec<Region<Table>> = own.signs.iter().map(|s| s.lit.clone()).collect();
        let mut marks = own.marks_and_label();
        let (mut taken, mut under) = (Region::default(), Region::default());
        let width = self.settings.band;
        // Only what lies about this piece matters: less for the booleans to do.
        let about = own.bounds.inflate(width + 1.0, width + 1.0);
        for &k in &self.near[index] {
            let other = &self.standing[k];
            if own.is_near(other, 2.0 * width) {
                // A band never lies in a piece; where two meet, the first has it.
                if own.is_near(other, width + ARC_ERROR) {
                    taken.append(trimmed(&other.inside, &about));
                }
                if k < index {
                    taken.append(trimmed(&other.band(), &about));
                    if own.is_near(other, TOUCH) {
                        under.append(trimmed(&other.marks_and_label(), &about));
                    }
                }
            }
            for sign in &mut signs {
                let Some(at) = sign.bounds() else { continue };
                if !other.is_met_by(sign, &at) {
                    continue;
                }
                let mut theirs = trimmed(&other.kept, &at);
                for earlier in other.signs.iter().take_while(|_| k < index) {
                    theirs.append(earlier.lit.clone());
                }
                *sign = difference(sign, &theirs);
            }
        }
        // Rings of several regions together are what lies in any of them.
        if !taken.is_empty() {
            band = difference(&band, &taken);
        }
        if !under.is_empty() {
            marks = difference(&marks, &under);
        }
        let mut outside = Region::default();
        for sign in signs {
            outside.append(sign);
        }
        let mut patches = vec![lit(band), lit(marks), lit(outside)];
        patches.extend(own.beside.clone().map(lit));
        Figure { patches, height }
    }
}

fn lit(region: Region<Table>) -> Patch {
    Patch {
        region,
        level: Level::FULL,
    }
}
