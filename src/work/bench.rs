//! The bench: the state, the history, and what the hand is about. Each [`Act`]
//! is answered; what it changed waits in the outbox for the journal.

use super::act::{Act, Reply, Touched};
use super::cutting::{Cutting, Phase, Plan};
use super::doing::Doing;
use super::history::{History, Record, apply_all};
use super::op::{FURTHEST, Id, Op, Spot};
use super::pieces::Run;
use super::state::State;
use super::watch::Watch;
use super::ways::Ways;
use crate::cloth::{Cloth, Panel};
use crate::lay::wish::Wished;
use crate::lay::{Count, Laid, Stock, trim_on};
use crate::order::{Article, Tape};
use crate::pattern::PatternPiece;
use crate::shape::Region;
use crate::space::{Point, Table, Vector};
use std::collections::BTreeMap;

/// While a piece is dragged its place is written this often, seconds.
pub const WRITTEN_EVERY: f64 = 0.25;

/// Pieces, cloths and articles: what the work does not change.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Goods {
    pub pieces: Vec<PatternPiece>,
    pub cloths: Vec<Cloth>,
    pub articles: Vec<Article>,
}

impl Goods {
    pub fn stock(&self) -> Stock<'_> {
        Stock {
            pieces: &self.pieces,
            cloths: &self.cloths,
            articles: &self.articles,
        }
    }
}

/// A piece held by the pointer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Grip {
    /// From the pointer to the piece's origin, when it was taken hold of.
    pub(super) offset: Vector<Table>,
    pub(super) gesture: u64,
}

/// Ops done but not yet in the outbox: a drag under way.
#[derive(Debug, Clone, PartialEq)]
struct Pending {
    ops: Vec<Op>,
    gesture: u64,
    since: f64,
}

/// The state machine of the table.
#[derive(Debug, Clone)]
pub struct Bench {
    pub goods: Goods,
    pub(super) state: State,
    history: History,
    pub(super) pointer: Option<Point<Table>>,
    pub(super) held: Option<Id>,
    pub(super) grip: Option<Grip>,
    pub(super) together: bool,
    pub(super) doing: Doing,
    pub(super) now: f64,
    pub(super) run: Option<Run>,
    /// What the light reaches, once that is known.
    pub(super) reach: Option<Region<Table>>,
    pending: Option<Pending>,
    gestures: u64,
    outbox: Vec<Record>,
    pub(super) table_top: Option<Region<Table>>,
    /// The table's marks, and whether the light is to be checked.
    pub(super) watch: Watch,
    /// Cutting goes on when what is being done is done.
    pub(super) cutting: bool,
    /// How the sheet in hand is cut up.
    pub(super) planned: Option<Plan>,
    /// Outlines of what is cut are shown.
    pub(super) outlines: bool,
    /// The band that is lit, mm, once that is known.
    pub(super) band: f64,
    /// Spoilt parts that are cut again later.
    pub(super) later: Vec<u32>,
    /// The spoilt part that is due, and what it was worked out from.
    pub(super) again: Option<((u64, usize), Option<Phase>)>,
    /// What is transferred to a piece of an article in a cloth, mirrored or not: the
    /// goods never change.
    pub(super) transfers: BTreeMap<(String, String, String, bool), Vec<String>>,
    /// How much had been done when cutting began: *back* takes back no more.
    pub(super) cutting_from: usize,
    /// Goes up with every change of the work.
    pub(super) revision: u64,
    /// Something was to go where no job can hold it.
    too_far: bool,
    /// What the ledger shall say of what is cut now.
    pub(super) stamp: Option<Stamp>,
    /// That the order cuts the same hand twice was said.
    pub(super) told_hands: bool,
    /// What is cut by length, by article.
    pub(super) tapes: Vec<(String, Tape)>,
}

/// When, by which table, and how true: noted with what is cut.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stamp {
    /// UTC, as RFC 3339 writes it.
    pub when: String,
    /// The table's profile, by its file.
    pub profile: Option<String>,
    /// Standard errors of the pieces' shape, mm.
    pub errors: BTreeMap<Id, f64>,
}

impl Bench {
    /// A bench with a lay on it, and the way that led there.
    pub fn new(goods: Goods, state: State, history: History) -> Self {
        Self {
            goods,
            state,
            gestures: history.last_gesture(),
            history,
            pointer: None,
            held: None,
            grip: None,
            together: false,
            doing: Doing::default(),
            now: 0.0,
            run: None,
            reach: None,
            table_top: None,
            watch: Watch::default(),
            cutting: false,
            planned: None,
            outlines: false,
            band: 0.0,
            pending: None,
            outbox: Vec::new(),
            stamp: None,
            tapes: Vec::new(),
            told_hands: false,
            later: Vec::new(),
            again: None,
            transfers: BTreeMap::new(),
            cutting_from: 0,
            revision: 0,
            too_far: false,
        }
    }

    /// Goes on from another way here, with nothing in hand.
    pub(super) fn begin_history(&mut self, history: History) {
        self.history = history;
        self.pending = None;
        self.grip = None;
        self.held = None;
        self.run = None;
        self.planned = None;
        self.transfers.clear();
        self.cutting_from = 0;
        self.outbox.clear();
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    pub fn history(&self) -> &History {
        &self.history
    }

    pub fn ways(&self) -> &Ways {
        &self.state.ways
    }

    /// The piece in hand; it exists.
    pub fn held(&self) -> Option<Id> {
        self.held
    }

    /// Whether the piece in hand is being dragged.
    pub fn is_gripped(&self) -> bool {
        self.grip.is_some()
    }

    pub fn moves_together(&self) -> bool {
        self.together
    }

    /// Whether the outlines of what is cut are shown.
    pub fn shows_outlines(&self) -> bool {
        self.outlines
    }

    pub fn pointer(&self) -> Option<Point<Table>> {
        self.pointer
    }

    pub fn doing(&self) -> &Doing {
        &self.doing
    }

    /// The panels as they are lit: those of the state or, while a sheet is asked for,
    /// as they will be with it.
    pub fn panels(&self) -> &[Panel] {
        let coming = self.doing.cutting().and_then(Cutting::coming);
        coming.unwrap_or(&self.state.panels)
    }

    /// The pieces on the table with their numbers, in order.
    pub fn laid(&self) -> (Vec<Id>, Vec<Laid<'_>>) {
        let stock = self.goods.stock();
        let all = self.all_shown().into_iter();
        all.filter_map(|(id, p)| {
            let mut laid = stock.laid(p, self.panels())?;
            laid.is_cut = self.state.cuts.has(id);
            laid.trim = trim_on(&self.state.trims, &stock, &p.panel, self.panels());
            Some((id, laid))
        })
        .unzip()
    }

    /// Says what is noted with what is cut from now on.
    pub fn set_stamp(&mut self, stamp: Stamp) {
        self.stamp = Some(stamp);
    }

    /// How far each part of the order is laid, on all panels.
    pub fn counts(&self) -> Vec<Count<'_>> {
        let stock = self.goods.stock();
        stock.counts(
            &self.state.panels,
            self.state.placed.values(),
            &self.state.cuts.parts,
        )
    }

    /// What was done since this was last asked, for the journal.
    pub fn take_records(&mut self) -> Vec<Record> {
        std::mem::take(&mut self.outbox)
    }

    /// When the drag under way wants to be written, if one is (seconds).
    pub fn written_by(&self) -> Option<f64> {
        self.pending.as_ref().map(|p| p.since + WRITTEN_EVERY)
    }

    /// Lets time pass: a drag under way is written if it is due.
    pub fn tick(&mut self, now: f64) {
        self.now = now;
        if self.written_by().is_some_and(|due| now >= due) {
            self.write_pending();
        }
    }

    /// Answers an act. `now` is the caller's clock, in seconds, never going back.
    pub fn act(&mut self, act: Act, now: f64) -> Reply {
        self.now = now;
        let before = self.held;
        if !matches!(act, Act::Point(_)) && self.grip.is_some() {
            // Whatever else is done, the drag ends where it is; turning goes on.
            if !matches!(act, Act::Turn(_)) {
                self.grip = None;
            }
            self.write_pending();
        }
        let replanned = matches!(
            act,
            Act::Undo | Act::Redo | Act::Lay { .. } | Act::Band(_) | Act::Waste(_)
        );
        let settles = !matches!(act, Act::Point(_) | Act::Away | Act::Release);
        let mut reply = self.answer(act);
        self.tick(now);
        if std::mem::take(&mut self.too_far) {
            reply = Reply::refused("that is further than 100 m away: nothing was changed");
        }
        // What was in hand or in work may have gone, or been put away.
        if self.held.is_some_and(|id| self.pose(id).is_none()) {
            self.held = None;
            self.grip = None;
        }
        let spread = |p: &str| self.state.panel(p).is_some_and(|q| q.spread);
        if self.doing.panel().is_some_and(|p| !spread(p)) {
            self.doing = Doing::Laying;
            reply.touched = Touched::All;
        }
        if !self.offers_still_fit() {
            self.doing = Doing::Laying;
            reply.touched = Touched::All;
        }
        // An errand from cutting, undo, or the order of things has changed: where
        // cutting stands follows from what is cut.
        let again = replanned && self.doing.cutting().is_some_and(Cutting::is_planned);
        if self.cutting && (self.doing.is_laying() || again) {
            self.go_to_next();
            reply.touched = Touched::All;
        }
        if settles {
            self.settle();
        }
        if self.held != before {
            let changed = before.into_iter().chain(self.held).collect();
            reply.touched = reply.touched.and(Touched::Pieces(changed));
        }
        reply
    }

    fn answer(&mut self, act: Act) -> Reply {
        match act {
            Act::Undo => self.step_back(),
            Act::Redo => self.step_forth(),
            Act::Way(way) => self.relight(|w| w.way = way),
            Act::WorkLight(p) => self.relight(|w| w.work_light = p),
            Act::Brightness(p) => self.relight(|w| w.brightness = p),
            Act::Band(mm) => self.relight(|w| w.band_mm = mm),
            Act::Waste(on) => self.relight(|w| w.waste = on),
            Act::Colour(tint) => self.relight(|w| w.colour = tint),
            Act::Watch(on) => self.relight(|w| w.watch = on),
            Act::Creep(on) => self.relight(|w| w.creep = on),
            Act::CutStrip(strip) => self.note_strip(&strip),
            Act::Trim { at, on } => self.trim(at, on),
            Act::DropTrim(at) => self.drop_trim(at),
            Act::Refocused => self.refocused(),
            Act::Stand(side) => self.relight(|w| w.stands = side),
            Act::Cut(hand) => self.relight(|w| w.cuts = hand),
            Act::Point(p) => {
                // Written so that NaN fails.
                if !(p.x.abs() < FURTHEST && p.y.abs() < FURTHEST) {
                    return Reply::default();
                }
                self.pointer = Some(p);
                let moved = self.drag();
                moved.unwrap_or_else(|| Reply::touching(Touched::Over))
            }
            Act::Away => {
                self.pointer = None;
                Reply::touching(Touched::Over)
            }
            Act::Press if self.doing.is_laying() => self.take_hold(),
            Act::Release => Reply::touching(Touched::Over),
            Act::Wish { at, to } => self.wish(at, to),
            Act::Noted(ops) => match (ops.is_empty(), self.does(ops)) {
                (true, _) => Reply::refused("there is nothing to take that is not there already"),
                (_, true) => Reply::touching(Touched::All).saying("taken over; undo takes it back"),
                (_, false) => Reply::refused("the cloth is not as it was: read the photo again"),
            },
            act => {
                let answered = self
                    .while_cutting(act)
                    .or_else(|act| self.while_offering(act))
                    .or_else(|act| self.while_laying_tapes(act))
                    .or_else(|act| self.about_cloth(act));
                answered.unwrap_or_else(|act| self.about_pieces(act))
            }
        }
    }

    /// Does something that is undone in one step.
    pub(super) fn does(&mut self, ops: Vec<Op>) -> bool {
        self.does_in(ops, None)
    }

    /// Does something; with a gesture's number it joins what that gesture has
    /// done so far, and is written now and then instead of at once.
    pub(super) fn does_in(&mut self, ops: Vec<Op>, gesture: Option<u64>) -> bool {
        if !ops.iter().all(Op::is_sound) {
            self.too_far = true;
            return false;
        }
        if ops.is_empty() || apply_all(&mut self.state, &ops).is_err() {
            return false;
        }
        let record = Record::Do {
            ops: ops.clone(),
            gesture,
        };
        self.history.take(&record);
        self.revision += 1;
        let Some(gesture) = gesture else {
            self.write_pending();
            self.outbox.push(record);
            return true;
        };
        let joined = self.pending.as_ref().and_then(|p| {
            let same = p.gesture == gesture && p.ops.len() == ops.len();
            let pairs = same.then(|| p.ops.iter().zip(&ops))?;
            pairs.map(|(a, b)| a.merged(b)).collect::<Option<Vec<_>>>()
        });
        match (joined, &mut self.pending) {
            (Some(joined), Some(p)) => p.ops = joined,
            _ => {
                self.write_pending();
                self.pending = Some(Pending {
                    ops,
                    gesture,
                    since: self.now,
                });
            }
        }
        true
    }

    /// A number for a new piece, that no piece has had: not even one that was
    /// taken away, which may come back by undo.
    pub(super) fn new_id(&self) -> Id {
        self.state.free_id(self.history.last_id())
    }

    /// A number for a new gesture.
    pub(super) fn next_gesture(&mut self) -> u64 {
        self.gestures += 1;
        self.gestures
    }

    fn write_pending(&mut self) {
        if let Some(p) = self.pending.take() {
            self.outbox.push(Record::Do {
                ops: p.ops,
                gesture: Some(p.gesture),
            });
        }
    }

    fn wish(&mut self, at: usize, to: Option<Box<Wished>>) -> Reply {
        let (from, to) = (self.state.wishes.get(at).cloned(), to.map(|w| *w));
        if from == to || !self.does(vec![Op::Wish { at, from, to }]) {
            return Reply::default();
        }
        Reply::touching(Touched::Over)
    }

    pub(super) fn answer_light(&mut self, percent: u8) -> Reply {
        self.relight(|w| w.brightness = percent)
    }

    fn relight(&mut self, change: impl FnOnce(&mut Ways)) -> Reply {
        let from = self.state.ways;
        let mut to = from;
        change(&mut to);
        let to = to.within_reach();
        if from == to {
            return Reply::default();
        }
        self.does(vec![Op::Light { from, to }]);
        Reply::touching(Touched::All)
    }

    pub(super) fn step_back(&mut self) -> Reply {
        let what = self.history.last();
        self.retrace(Record::Undo, what.map(|w| format!("undone: {w}")))
    }

    fn step_forth(&mut self) -> Reply {
        let what = self.history.next();
        self.retrace(Record::Redo, what.map(|w| format!("done again: {w}")))
    }

    fn retrace(&mut self, record: Record, said: Option<String>) -> Reply {
        self.write_pending();
        let Some(said) = said else {
            let what = if record == Record::Undo {
                "undo"
            } else {
                "do again"
            };
            return Reply::refused(format!("there is nothing to {what}"));
        };
        let ops = self.history.take(&record);
        // Each op was made from this very state, so its way back fits.
        if let Err(wrong) = apply_all(&mut self.state, &ops) {
            return Reply::refused(wrong.to_string());
        }
        self.outbox.push(record);
        self.revision += 1;
        let pieces = ops.iter().filter_map(|op| match op {
            Op::Move { id, .. } | Op::Lay { id, .. } => Some(*id),
            _ => None,
        });
        // Of several, the one in hand stays there.
        let (first, same) = pieces.fold((None, false), |(first, same), id| {
            (first.or(Some(id)), same || self.held == Some(id))
        });
        if let (Some(id), false) = (first, same) {
            self.held = Some(id);
        }
        for op in &ops {
            // Places pointed at must not be taken for other marks.
            if let (Op::Mark { panel, .. }, Doing::Carrying { panel: at, .. }) = (op, &self.doing)
                && panel == at
            {
                self.doing = Doing::Laying;
            }
        }
        Reply::touching(Touched::All).saying(said)
    }

    /// Where a piece lies.
    pub(super) fn spot(&self, id: Id) -> Option<Spot> {
        self.state.placed.get(&id).map(Spot::of)
    }
}
