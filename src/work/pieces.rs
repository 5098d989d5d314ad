//! What a person does with pieces that lie there: hold, move, turn, turn over,
//! square, lock.

use super::act::{Act, Reply, Touched};
use super::bench::Bench;
use super::op::{Id, Op, Spot};
use crate::cloth::Panel;
use crate::lay::{Along, Face, squared};
use crate::shape::Region;
use crate::space::{Piece, Point, Rigid, Table, Vector};

/// Coordinates are kept to 0.1 µm and 0.000 01°: far below any light, and short
/// to read in the job file.
const FINEST: f64 = 1e4;

impl Bench {
    pub(super) fn about_pieces(&mut self, act: Act) -> Reply {
        match act {
            Act::Turn(degrees) => self.turn(degrees),
            Act::Nudge { right, away } => self.nudge(right, away),
            Act::Next => self.step(1),
            Act::Previous => self.step(-1),
            Act::Hold(id) => self.hold(id),
            Act::LetGo => {
                self.hand.hold(None);
                Reply::touching(Touched::Over)
            }
            Act::Square => self.square(Along::Warp),
            Act::Bias => self.square(Along::Bias),
            Act::TurnOver => self.turn_over(),
            Act::Another => self.another(),
            Act::Partner => self.partner(),
            Act::PartnerAcross => self.partner_across(),
            Act::TakeAway => self.take_away(),
            Act::Lock => self.lock(),
            Act::Together(on) => {
                self.hand.move_together(on);
                Reply::touching(Touched::Over)
            }
            Act::Lay {
                article,
                piece,
                panel,
            } => self.lay_new(&article, &piece, &panel),
            _ => Reply::default(),
        }
    }

    /// The piece whose inside lies at a point; of several, the smallest.
    pub fn piece_at(&self, p: Point<Table>) -> Option<Id> {
        let (ids, laid) = self.laid();
        let there = ids.into_iter().zip(&laid);
        let there = there.filter(|(id, _)| self.state.is_to_cut(*id));
        let hit = there.filter_map(|(id, l)| {
            let at = l.pose.inverse().point(p);
            let cut = Region::new(l.piece.cut.clone());
            cut.contains(at).then(|| (id, cut.area()))
        });
        hit.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(id, _)| id)
    }

    pub(super) fn take_hold(&mut self) -> Reply {
        let Some(at) = self.pointer() else {
            return Reply::default();
        };
        let Some(id) = self.piece_at(at) else {
            self.hand.hold(None);
            return Reply::touching(Touched::Over);
        };
        self.hand.hold(Some(id));
        let Some(p) = self.state.placed.get(&id) else {
            return Reply::default();
        };
        if p.locked {
            let name = format!("{} {}", p.piece, p.article);
            return Reply::touching(Touched::Over).saying(format!("{name} is locked: X frees it"));
        }
        if let Some(pose) = self.pose(id) {
            let gesture = self.next_gesture();
            self.hand.grip(at, pose.shift, gesture);
        }
        Reply::touching(Touched::Over)
    }

    /// The piece follows the pointer, if one is held by it.
    pub(super) fn drag(&mut self) -> Option<Reply> {
        let (id, origin, gesture) = self.hand.pulls()?;
        let by = origin - self.pose(id)?.shift;
        Some(self.moved(Rigid::new(false, 0.0, by), Some(gesture)))
    }

    fn turn(&mut self, degrees: f64) -> Reply {
        let Some((id, pose)) = self.movable() else {
            return self.nothing_to_move();
        };
        // In the hand it turns about the hand, else about its middle.
        let about = self.hand.pivot().map_or(pose.shift, |p| p.to_vector());
        let turn: Rigid<Table, Table> = Rigid::new(false, degrees.to_radians(), Vector::zero());
        let by = Rigid::new(false, turn.turn, about - turn.vector(about));
        let gesture = match self.hand.gesture() {
            Some(gesture) => gesture,
            None => self.running(true, id),
        };
        let reply = self.moved(by, Some(gesture));
        if let Some(pose) = self.pose(id) {
            self.hand.regrip(pose.shift);
        }
        reply
    }

    fn nudge(&mut self, right: f64, away: f64) -> Reply {
        let Some((id, _)) = self.movable() else {
            return self.nothing_to_move();
        };
        let by = self.state.ways.stands.to_table(Vector::new(right, away));
        let gesture = self.running(false, id);
        self.moved(Rigid::new(false, 0.0, by), Some(gesture))
    }

    /// The gesture that presses in quick succession belong to.
    fn running(&mut self, turning: bool, id: Id) -> u64 {
        let log = &mut self.log;
        self.hand
            .running(turning, id, self.now, || log.next_gesture())
    }

    /// The piece in hand, if it may move.
    pub(super) fn movable(&self) -> Option<(Id, Rigid<Piece, Table>)> {
        let id = self.held()?;
        let locked = self.state.placed.get(&id)?.locked;
        (!locked && !self.state.cuts.has(id)).then_some(())?;
        Some((id, self.pose(id)?))
    }

    pub(super) fn nothing_to_move(&self) -> Reply {
        if self.held().is_some_and(|id| self.state.cuts.has(id)) {
            return Reply::refused("that piece is cut: it moves no more");
        }
        match self.held().and_then(|id| self.state.placed.get(&id)) {
            Some(p) if p.locked => Reply::refused(format!(
                "{} {} is locked: free it first",
                p.piece, p.article
            )),
            Some(p) => Reply::refused(format!("{} is put away: spread it first", p.panel)),
            None => Reply::refused("no piece is in hand: press in one, or Tab"),
        }
    }

    /// Moves the piece in hand on the table, and with it those of its article
    /// if they move together.
    pub(super) fn moved(&mut self, by: Rigid<Table, Table>, gesture: Option<u64>) -> Reply {
        let Some((held, _)) = self.movable() else {
            return self.nothing_to_move();
        };
        let article = self.state.placed.get(&held).map(|p| p.article.clone());
        let with = self.state.placed.iter().filter(|(id, p)| {
            **id == held
                || (self.moves_together()
                    && !p.locked
                    && !self.state.cuts.has(**id)
                    && Some(&p.article) == article.as_ref())
        });
        let ids: Vec<Id> = with.map(|(id, _)| *id).collect();
        let moves = ids.iter().filter_map(|&id| {
            let from = self.spot(id)?;
            let to = self.spot_at(id, &self.pose(id)?.then(&by))?;
            (from != to).then_some(Op::Move { id, from, to })
        });
        let ops: Vec<Op> = moves.collect();
        if self.does_in(ops, gesture) {
            Reply::touching(Touched::Pieces(ids))
        } else {
            Reply::default()
        }
    }

    /// Where a placed piece lies on the table, if its panel is spread.
    pub fn pose(&self, id: Id) -> Option<Rigid<Piece, Table>> {
        let p = self.shown(id)?;
        let panel = self.panels().iter().find(|q| q.name == p.panel)?;
        let panel = Some(panel).filter(|q| q.spread)?;
        Some(p.pose().then(&panel.on_table.pose()))
    }

    /// The spot of a placed piece that shall lie on the table by `pose`: on its
    /// own panel, or on another of the same cloth that its middle has come upon.
    fn spot_at(&self, id: Id, pose: &Rigid<Piece, Table>) -> Option<Spot> {
        let p = self.state.placed.get(&id)?;
        let own = self.state.panel(&p.panel)?;
        let at = pose.shift.to_point();
        let others = self.state.panels.iter();
        let other = others.filter(|q| q.name != own.name && q.cloth == own.cloth && q.spread);
        let panel = if lies_on(own, at) {
            own
        } else {
            // Two plies there may give too many.
            let takes = |q: &&Panel| {
                let mut there = p.clone();
                spot_on(q, pose).put(&mut there);
                self.takes(&there, Some(id)).is_ok()
            };
            let mut here = other.into_iter().filter(|q| lies_on(q, at));
            here.find(takes).unwrap_or(own)
        };
        Some(spot_on(panel, pose))
    }

    fn step(&mut self, by: isize) -> Reply {
        let (mut ids, _) = self.laid();
        ids.retain(|id| self.state.is_to_cut(*id));
        if ids.is_empty() {
            return Reply::refused("nothing is laid yet: N lays the next piece");
        }
        let n = ids.len() as isize;
        let at = self.held().and_then(|id| ids.iter().position(|&k| k == id));
        let next = match at {
            Some(k) => (k as isize + by).rem_euclid(n),
            None if by > 0 => 0,
            None => n - 1,
        };
        self.hold(ids[next as usize])
    }

    fn hold(&mut self, id: Id) -> Reply {
        if self.pose(id).is_none() {
            return Reply::refused("that piece is not on the table");
        }
        self.hand.hold(Some(id));
        Reply::touching(Touched::Over)
    }

    fn square(&mut self, along: Along) -> Reply {
        let Some((id, pose)) = self.movable() else {
            return self.nothing_to_move();
        };
        let Some(p) = self.state.placed.get(&id) else {
            return Reply::default();
        };
        let stock = self.goods.stock();
        let grain = stock.piece(&p.piece).and_then(|q| q.grain);
        let warp = self.state.panel(&p.panel).map(|q| q.grain_deg);
        let (Some(grain), Some(warp)) = (grain, warp) else {
            return Reply::refused(format!(
                "{} has no grain line: draw one in the pattern",
                p.piece
            ));
        };
        let Some(turn) = squared(grain, p.face, p.turn_deg, warp, along, false) else {
            return Reply::refused(format!("the grain line of {} has no length", p.piece));
        };
        let turn = (turn - p.turn_deg).to_radians();
        let about = pose.shift;
        let turned: Rigid<Table, Table> = Rigid::new(false, turn, Vector::zero());
        let reply = self.moved(Rigid::new(false, turn, about - turned.vector(about)), None);
        let to = match along {
            Along::Bias => "on the bias",
            _ => "grain along the warp",
        };
        reply.saying(to)
    }

    fn lock(&mut self) -> Reply {
        let Some((id, placed)) = self.in_hand() else {
            return self.nothing_to_move();
        };
        if self.state.cuts.has(id) {
            return self.nothing_to_move();
        }
        let (from, to) = (placed.locked, !placed.locked);
        self.does(vec![Op::Lock { id, from, to }]);
        let said = if to { "locked" } else { "free" };
        Reply::touching(Touched::Over).saying(format!("{} {} {said}", placed.piece, placed.article))
    }
}

pub(super) fn spot_on(panel: &Panel, pose: &Rigid<Piece, Table>) -> Spot {
    let on = pose.then(&panel.on_table.pose().inverse());
    Spot {
        panel: panel.name.clone(),
        x_mm: rounded(on.shift.x),
        y_mm: rounded(on.shift.y),
        turn_deg: degrees(on.turn),
        face: if on.mirrored { Face::Down } else { Face::Up },
    }
}

fn lies_on(panel: &Panel, at: Point<Table>) -> bool {
    let at = panel.on_table.pose().inverse().point(at);
    panel.outline().is_ok_and(|o| o.contains(at))
}

pub(super) fn rounded(mm: f64) -> f64 {
    (mm * FINEST).round() / FINEST
}

/// Radians as degrees in (−180, 180].
pub(super) fn degrees(radians: f64) -> f64 {
    let d = 10.0 * FINEST;
    let deg = (radians.to_degrees() * d).round() / d;
    let deg = deg.rem_euclid(360.0);
    if deg > 180.0 {
        rounded_degrees(deg - 360.0)
    } else {
        deg
    }
}

fn rounded_degrees(deg: f64) -> f64 {
    let d = 10.0 * FINEST;
    (deg * d).round() / d
}

pub(super) fn words(face: Face) -> &'static str {
    match face {
        Face::Up => "as drawn",
        Face::Down => "mirrored",
    }
}
