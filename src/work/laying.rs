//! More pieces on the cloth: another of the same, its partner, the next that is
//! ordered; and away again.

use super::act::{Reply, Touched};
use super::bench::Bench;
use super::op::{Id, Op, Spot};
use super::pieces::{degrees, rounded};
use crate::lay::{Along, Face, Placement, squared};
use crate::shape::bounds;
use crate::space::{Cloth, Point, Vector};

/// Between a piece and another of it laid beside it, mm: two bands and room
/// for the blade.
const BESIDE: f64 = 12.0;

impl Bench {
    /// Whether the order takes a placement in place of what is laid by `instead`.
    pub(super) fn takes(&self, p: &Placement, instead: Option<Id>) -> Result<(), String> {
        let others = self.state.placed.iter();
        let others = others.filter(|(id, _)| Some(**id) != instead);
        self.goods.stock().takes(
            p,
            &self.state.panels,
            others.map(|(_, q)| q),
            &self.state.cuts.parts,
        )
    }

    pub(super) fn another(&mut self) -> Reply {
        let Some((_, p)) = self.in_hand() else {
            return self.nothing_to_move();
        };
        let beside = self.beside(&p, p.face);
        self.lay_at(p.article, p.piece, beside)
    }

    pub(super) fn partner(&mut self) -> Reply {
        let Some((_, p)) = self.in_hand() else {
            return self.nothing_to_move();
        };
        let face = p.face.other();
        let beside = self.beside(&p, face);
        self.lay_at(p.article, p.piece, beside)
    }

    /// The partner at the mirrored place of the panel that is this one's mirror:
    /// another of the same cloth, alike in size (old articles come in left and
    /// right). Marks of the same names on both say how they correspond; without
    /// them their boxes do.
    pub(super) fn partner_across(&mut self) -> Reply {
        let Some((_, p)) = self.in_hand() else {
            return self.nothing_to_move();
        };
        let Some(own) = self.state.panel(&p.panel) else {
            return Reply::default();
        };
        let alike = self.state.panels.iter();
        let found = alike
            .filter(|q| q.name != own.name && q.cloth == own.cloth && q.spread)
            .find_map(|q| Some((q, super::mirror::across(own, q)?)));
        let Some((panel, across)) = found else {
            return Reply::refused(format!(
                "no panel on the table is the mirror of {}: spread the other half first",
                p.panel
            ));
        };
        let pose = p.pose().then(&across);
        let spot = Spot {
            panel: panel.name.clone(),
            x_mm: rounded(pose.shift.x),
            y_mm: rounded(pose.shift.y),
            turn_deg: degrees(pose.turn),
            face: if pose.mirrored { Face::Down } else { Face::Up },
        };
        self.lay_at(p.article, p.piece, spot)
    }

    pub(super) fn in_hand(&self) -> Option<(Id, Placement)> {
        let id = self.held()?;
        Some((id, self.state.placed.get(&id)?.clone()))
    }

    /// A place to the person's right of a placement.
    pub(super) fn beside(&self, p: &Placement, face: Face) -> Spot {
        let spot = Spot::of(p);
        let stock = self.goods.stock();
        let (Some(piece), Some(panel)) = (stock.piece(&p.piece), self.state.panel(&p.panel)) else {
            return spot;
        };
        let on = panel.on_table.pose();
        let side = self.state.ways.stands;
        // Mirrored, a piece reaches out otherwise about its middle.
        let seen = |face| {
            let pose = Placement { face, ..p.clone() }.pose().then(&on);
            let cut = piece.cut.iter().flatten();
            let seen = cut.map(|&q| side.to_person(pose.point(q).to_vector()).to_point());
            bounds(seen).unwrap_or_default()
        };
        let right = seen(p.face).max.x - seen(face).min.x + BESIDE;
        let by = side.to_table(Vector::new(right, 0.0));
        let by = on.inverse().vector(by);
        Spot {
            x_mm: rounded(spot.x_mm + by.x),
            y_mm: rounded(spot.y_mm + by.y),
            face,
            ..spot
        }
    }

    /// Lays a new piece, as far as the order asks for one.
    pub(super) fn lay_at(&mut self, article: String, piece: String, spot: Spot) -> Reply {
        let id = self.new_id();
        let placed = spot.placement(id, piece, article);
        if let Err(words) = self.takes(&placed, None) {
            return Reply::refused(words);
        }
        self.does(vec![Op::Lay { id, placed }]);
        self.hand.hold(Some(id));
        Reply::touching(Touched::All)
    }

    pub(super) fn lay_new(&mut self, article: &str, piece: &str, panel: &str) -> Reply {
        let stock = self.goods.stock();
        let (Some(on), Some(pattern)) = (self.state.panel(panel), stock.piece(piece)) else {
            return Reply::refused(format!("there is no {piece} or no {panel} here"));
        };
        if !on.spread {
            return Reply::refused(format!("{panel} is put away: spread it first"));
        }
        let back = on.on_table.pose().inverse();
        let middle = || bounds(on.outline_mm.iter().map(|&c| Point::<Cloth>::from(c)));
        let pointed = self.pointer().map(|p| back.point(p));
        let outline = on.outline().ok();
        let at = pointed
            .filter(|p| outline.is_some_and(|o| o.contains(*p)))
            .or_else(|| middle().map(|b| b.center()))
            .unwrap_or_default();
        let counts = self.counts();
        let takes = counts
            .iter()
            .find(|c| c.article == article && c.part.piece == piece && c.part.cloth == on.cloth);
        let face = match takes {
            Some(c) if !c.takes(Face::Up) && c.takes(Face::Down) => Face::Down,
            _ => Face::Up,
        };
        let turn = pattern
            .grain
            .and_then(|g| squared(g, face, 0.0, on.grain_deg, Along::Warp, false));
        let spot = Spot {
            panel: panel.to_owned(),
            x_mm: rounded(at.x),
            y_mm: rounded(at.y),
            turn_deg: turn.unwrap_or(0.0),
            face,
        };
        self.lay_at(article.to_owned(), piece.to_owned(), spot)
    }

    pub(super) fn take_away(&mut self) -> Reply {
        let Some((id, placed)) = self.in_hand() else {
            return self.nothing_to_move();
        };
        if placed.locked || self.state.cuts.has(id) {
            return self.nothing_to_move();
        }
        let said = format!("{} {} taken away", placed.piece, placed.article);
        self.does(vec![Op::TakeAway { id, placed }]);
        self.hand.hold(None);
        Reply::touching(Touched::All).saying(said)
    }
}
