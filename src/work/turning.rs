//! A piece is turned over, and with it what the order then wants turned over too: the other of
//! a pair, or all that are to lie alike.

use super::act::{Reply, Touched};
use super::bench::Bench;
use super::op::{Id, Op, Spot};
use super::pieces::words;
use crate::fault::counted;
use crate::lay::{Count, Hands, Placement};

impl Bench {
    pub(super) fn turn_over(&mut self) -> Reply {
        let Some((id, _)) = self.movable() else {
            return self.nothing_to_move();
        };
        let Some(p) = self.state.placed.get(&id).cloned() else {
            return Reply::default();
        };
        let face = p.face.other();
        let turned = Placement { face, ..p.clone() };
        let with = match self.takes(&turned, Some(id)) {
            Ok(()) => Vec::new(),
            Err(why) => match self.turns_with(id, &p, &why) {
                Ok(with) => with,
                Err(words) => return Reply::refused(words),
            },
        };
        let said = match with.len() {
            0 => words(face).to_owned(),
            n => format!(
                "{}; {} turned over with it, as the order asks",
                words(face),
                counted(n, "other is", "others are")
            ),
        };
        let all = || [id].into_iter().chain(with.iter().copied());
        let ops = all().filter_map(|id| {
            let from = self.spot(id)?;
            let face = from.face.other();
            let to = Spot {
                face,
                ..from.clone()
            };
            Some(Op::Move { id, from, to })
        });
        let ops: Vec<Op> = ops.collect();
        self.does(ops);
        Reply::touching(Touched::Pieces(all().collect())).saying(said)
    }

    /// What else is turned over with a piece, so that the hands stay as ordered: the nearest
    /// that does it alone, else all of that part. `why` says what forbids it alone.
    ///
    /// # Errors
    /// A sentence for the person: what stands in the way, and what helps.
    fn turns_with(&self, id: Id, p: &Placement, why: &str) -> Result<Vec<Id>, String> {
        let others = self.others_alike(id, p);
        let alone = others.iter().map(|k| vec![*k]);
        let all = (others.len() > 1).then(|| others.clone());
        let fit = alone.chain(all);
        let fit: Vec<Vec<Id>> = fit.filter(|with| self.fits_turned(id, with, p)).collect();
        let free = |k: &Id| self.is_kept(*k).is_none();
        if let Some(with) = fit.iter().find(|with| with.iter().all(free)) {
            return Ok(with.clone());
        }
        let name = format!("{} {}", p.piece, p.article);
        if let Some(kept) = fit.iter().flatten().find_map(|k| self.is_kept(*k)) {
            return Err(format!(
                "{name}: one more is to be turned over with it, and {kept}"
            ));
        }
        let count = self.count_of(p);
        if let Some((what, remedy)) = count.and_then(|c| c.too_much()) {
            return Err(format!("{what}; {remedy}"));
        }
        if count.is_some_and(|c| c.cut.sum() > 0) {
            return Err(format!(
                "{name}: with what is cut already, this is the hand that is wanted; leave it as it lies"
            ));
        }
        Err(why.split(';').next().unwrap_or(why).to_owned())
    }

    /// All else that is laid of a piece's part and not cut yet, the nearest first.
    fn others_alike(&self, id: Id, p: &Placement) -> Vec<Id> {
        let cloth = |q: &Placement| self.state.panel(&q.panel).map(|panel| &panel.cloth);
        let same = |q: &Placement| {
            (&q.piece, &q.article) == (&p.piece, &p.article) && cloth(q) == cloth(p)
        };
        let placed = self.state.placed.iter();
        let all = placed.filter(|(k, q)| **k != id && same(q) && self.state.is_to_cut(**k));
        let mut all: Vec<Id> = all.map(|(k, _)| *k).collect();
        // What is put away lies furthest.
        let far = |k: &Id| match (self.pose(id), self.pose(*k)) {
            (Some(a), Some(b)) => (a.shift - b.shift).length(),
            _ => f64::INFINITY,
        };
        all.sort_by(|a, b| far(a).total_cmp(&far(b)));
        all
    }

    /// Whether the order takes it that a piece and these others are turned over.
    fn fits_turned(&self, id: Id, with: &[Id], p: &Placement) -> bool {
        let mut placed = self.state.placed.clone();
        for k in with.iter().chain([&id]) {
            if let Some(q) = placed.get_mut(k) {
                q.face = q.face.other();
            }
        }
        let (stock, state) = (self.goods.stock(), &self.state);
        let counts = stock.counts(&state.panels, placed.values(), &state.cuts.parts);
        let own = counts.iter().find(|c| self.is_of(c, p));
        own.is_some_and(|c| c.takes_all(Hands::default()))
    }

    fn count_of(&self, p: &Placement) -> Option<Count<'_>> {
        self.counts().into_iter().find(|c| self.is_of(c, p))
    }

    fn is_of(&self, c: &Count, p: &Placement) -> bool {
        let cloth = self.state.panel(&p.panel).map(|q| &q.cloth);
        c.article == p.article && c.part.piece == p.piece && Some(&c.part.cloth) == cloth
    }

    /// Why a piece that is laid can't be turned over, if so, and what to do; to be read after
    /// "and".
    fn is_kept(&self, id: Id) -> Option<String> {
        let q = self.state.placed.get(&id)?;
        let spread = self.state.panel(&q.panel).is_some_and(|panel| panel.spread);
        match (q.locked, spread) {
            (true, _) => Some("that one is locked; free it first".to_owned()),
            (_, false) => Some(format!(
                "that one lies on {}, which is put away; spread it first",
                q.panel
            )),
            _ => None,
        }
    }
}
