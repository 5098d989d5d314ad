//! The bench: the state, how it came about, and what the hand is about. Each [`Act`]
//! is answered; what it changed waits for the journal.

use super::act::{Act, Reply, Touched};
use super::cutting::{Course, Cutting, Stamp, WorkedOut};
use super::doing::Doing;
use super::goods::Goods;
use super::history::{History, Record};
use super::in_hand::InHand;
use super::lies::lies;
use super::lit::Lit;
use super::log::Log;
use super::op::{FURTHEST, Id, Op, Spot};
use super::state::State;
use super::watch::Watch;
use super::ways::Ways;
use crate::cloth::Panel;
use crate::lay::wish::Wished;
use crate::lay::{Count, Laid};
use crate::order::Tape;
use crate::space::{Point, Table};

/// The state machine of the table.
#[derive(Debug, Clone)]
pub struct Bench {
    pub goods: Goods,
    /// What is cut by length, by article.
    pub(super) tapes: Vec<(String, Tape)>,
    pub(super) state: State,
    /// How the state came about.
    pub(super) log: Log,
    pub(super) hand: InHand,
    pub(super) doing: Doing,
    /// By the caller's clock, seconds.
    pub(super) now: f64,
    /// What is known of the light on the table.
    pub(super) lit: Lit,
    /// The table's marks, and whether the light is to be checked.
    pub(super) watch: Watch,
    /// Cutting, whatever else is done meanwhile.
    pub(super) course: Course,
    pub(super) worked_out: WorkedOut,
}

impl Bench {
    /// A bench with a lay on it, and the way that led there.
    pub fn new(goods: Goods, state: State, history: History) -> Self {
        Self {
            goods,
            tapes: Vec::new(),
            state,
            log: Log::new(history),
            hand: InHand::default(),
            doing: Doing::default(),
            now: 0.0,
            lit: Lit::default(),
            watch: Watch::default(),
            course: Course::default(),
            worked_out: WorkedOut::default(),
        }
    }

    /// Goes on from another way here, with nothing in hand.
    pub(super) fn begin_history(&mut self, history: History) {
        self.log.begin(history);
        self.hand.empty();
        self.course.forget_steps();
        self.worked_out.forget();
    }

    pub fn state(&self) -> &State {
        &self.state
    }

    pub fn history(&self) -> &History {
        self.log.history()
    }

    pub fn ways(&self) -> &Ways {
        &self.state.ways
    }

    /// The piece in hand; it exists.
    pub fn held(&self) -> Option<Id> {
        self.hand.held()
    }

    /// Whether the piece in hand is being dragged.
    pub fn is_gripped(&self) -> bool {
        self.hand.is_gripped()
    }

    pub fn moves_together(&self) -> bool {
        self.hand.moves_together()
    }

    /// Whether the outlines of what is cut are shown.
    pub fn shows_outlines(&self) -> bool {
        self.course.shows_outlines()
    }

    pub fn pointer(&self) -> Option<Point<Table>> {
        self.hand.pointer()
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
            let State { trims, cuts, .. } = &self.state;
            Some((id, lies(p, &stock, self.panels(), trims, cuts)?))
        })
        .unzip()
    }

    /// Says what is noted with what is cut from now on.
    pub fn set_stamp(&mut self, stamp: Stamp) {
        self.course.set_stamp(stamp);
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
        self.log.take_records()
    }

    /// When the drag under way wants to be written, if one is (seconds).
    pub fn written_by(&self) -> Option<f64> {
        self.log.written_by()
    }

    /// Lets time pass: a drag under way is written if it is due.
    pub fn tick(&mut self, now: f64) {
        self.now = now;
        self.log.tick(now);
    }

    /// Answers an act. `now` is the caller's clock, in seconds, never going back.
    pub fn act(&mut self, act: Act, now: f64) -> Reply {
        self.now = now;
        let before = self.held();
        if !matches!(act, Act::Point(_)) && self.is_gripped() {
            // Whatever else is done, the drag ends where it is; turning goes on.
            if !matches!(act, Act::Turn(_)) {
                self.hand.release();
            }
            self.log.write();
        }
        let replanned = matches!(
            act,
            Act::Undo | Act::Redo | Act::Lay { .. } | Act::Band(_) | Act::Waste(_)
        );
        let settles = !matches!(act, Act::Point(_) | Act::Away | Act::Release);
        let mut reply = self.answer(act);
        self.tick(now);
        if self.log.take_too_far() {
            reply = Reply::refused("that is further than 100 m away: nothing was changed");
        }
        // What was in hand or in work may have gone, or been put away.
        if self.held().is_some_and(|id| self.pose(id).is_none()) {
            self.hand.hold(None);
            self.hand.release();
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
        if self.is_cutting() && (self.doing.is_laying() || again) {
            self.go_to_next();
            reply.touched = Touched::All;
        }
        if settles {
            self.settle();
        }
        if self.held() != before {
            let changed = before.into_iter().chain(self.held()).collect();
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
                self.hand.point(Some(p));
                let moved = self.drag();
                moved.unwrap_or_else(|| Reply::touching(Touched::Over))
            }
            Act::Away => {
                self.hand.point(None);
                Reply::touching(Touched::Over)
            }
            Act::Press if self.doing.is_laying() => self.take_hold(),
            Act::Release => Reply::touching(Touched::Over),
            Act::Wish { at, to } => self.wish(at, to),
            Act::Noted(ops) => match (ops.is_empty(), self.does(ops)) {
                (true, _) => Reply::refused("all of it is in the job already: nothing was taken"),
                (_, true) => {
                    Reply::touching(Touched::All).saying("taken into the job; undo takes it back")
                }
                (_, false) => Reply::refused(
                    "the cloth was changed meanwhile, so nothing was taken: read the photo again",
                ),
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
        self.log.does(&mut self.state, ops, gesture, self.now)
    }

    /// A number for a new piece, that no piece has had: not even one that was
    /// taken away, which may come back by undo.
    pub(super) fn new_id(&self) -> Id {
        self.state.free_id(self.history().last_id())
    }

    /// A number for a new gesture.
    pub(super) fn next_gesture(&mut self) -> u64 {
        self.log.next_gesture()
    }

    /// Goes up with every change of the work or of the light.
    pub(super) fn revision(&self) -> u64 {
        self.log.revision() + self.lit.revision()
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

    /// Where a piece lies.
    pub(super) fn spot(&self, id: Id) -> Option<Spot> {
        self.state.placed.get(&id).map(Spot::of)
    }
}
