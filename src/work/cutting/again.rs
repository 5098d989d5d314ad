//! A spoilt part is cut again: exactly that hand, from one ply.

use super::Phase;
use super::prompt::hand;
use crate::lay::{Along, CutPart, Face, Room, inside, inside_of, squared};
use crate::shape::{Region, intersection};
use crate::space::{Cloth, Piece, Point, Rigid, Table, Vector};
use crate::work::act::{Reply, Touched};
use crate::work::bench::Bench;
use crate::work::op::{Id, Op, Spot};
use crate::work::pieces::{degrees, rounded};

/// From one place that is tried to the next, mm: coarsely first, finely if that
/// finds none.
const STEPS: [f64; 2] = [15.0, 5.0];

/// Places offered at most, and how far apart they are, mm.
const OFFERED: usize = 5;
const APART: f64 = 60.0;

impl Bench {
    /// A part is spoilt; where it could be cut again is offered.
    pub(super) fn spoil(&mut self, id: u32) -> Reply {
        let Some(part) = self.state.cuts.part(id).cloned() else {
            return self.next_with("that part is not there");
        };
        self.change_part(id, |p| {
            p.spoilt = true;
        });
        let places = self.places_for(&part);
        let said = format!(
            "{} {} spoilt: one is to be cut again, single, {}, cloth face side up",
            part.piece,
            part.article,
            hand(part.face)
        );
        if places.is_empty() {
            let none = format!("{said}; no place for it was found on single cloth here");
            return self.next_with(&none);
        }
        self.turn_to(Phase::Again {
            part: id,
            places,
            at: 0,
        });
        Reply::touching(Touched::All).saying(said)
    }

    /// It is cut again when another sheet is on the table, or at the end.
    pub(super) fn put_off(&mut self, part: u32) -> Reply {
        self.course.put_off(part);
        self.next_with("it is cut later")
    }

    /// Whether a part is spoilt, and nothing is laid or cut in its stead.
    pub(super) fn is_wanted_again(&self, part: &CutPart) -> bool {
        let counts = self.counts();
        let own = |c: &&crate::lay::Count| {
            (c.article, &c.part.piece, &c.part.cloth)
                == (part.article.as_str(), &part.piece, &part.cloth)
        };
        part.spoilt && counts.iter().find(own).is_some_and(|c| c.takes(part.face))
    }

    /// A spoilt part that the cloth on the table has room for.
    pub(super) fn again_due(&mut self) -> Option<Phase> {
        // Looking for places takes a while: once a change is enough.
        let from = (self.revision(), self.course.put_off_times());
        if !self.worked_out.knows_due(from) {
            let due = self.look_for_places();
            self.worked_out.keep_due(from, due);
        }
        self.worked_out.due()
    }

    fn look_for_places(&self) -> Option<Phase> {
        let parts = self.state.cuts.parts.iter();
        let due = parts.filter(|p| !self.course.is_put_off(p.id) && self.is_wanted_again(p));
        due.into_iter().find_map(|p| {
            let places = self.places_for(p);
            (!places.is_empty()).then_some(Phase::Again {
                part: p.id,
                places,
                at: 0,
            })
        })
    }

    /// Accepts an offered place.
    pub(super) fn lay_again(&mut self, part: u32, place: Option<&Spot>) -> Reply {
        let (Some(part), Some(spot)) = (self.state.cuts.part(part).cloned(), place) else {
            return self.put_off(part);
        };
        let id = self.new_id();
        let placed = spot.placement(id, part.piece.clone(), part.article.clone());
        if let Err(why) = self.takes(&placed, None) {
            self.go_to_next();
            return Reply::refused(why);
        }
        let from = self.state.cuts.first.clone();
        let mut to = vec![id];
        to.extend(from.iter().filter(|k| self.state.is_to_cut(**k)));
        self.does(vec![Op::Lay { id, placed }, Op::First { from, to }]);
        self.next_with("laid: it is cut next")
    }

    /// The partner of a part: the other hand of its article, cut or laid.
    pub fn partner_of(&self, part: &CutPart) -> Option<Id> {
        let face = part.face.other();
        let own = (&part.piece, &part.article, &part.cloth);
        let good = self.state.cuts.parts.iter().filter(|p| !p.spoilt);
        let mut cut = good.filter(|p| p.face == face && own == (&p.piece, &p.article, &p.cloth));
        let stock = self.goods.stock();
        let laid = || {
            let mut all = self.state.placed.iter().filter(|(id, p)| {
                let panel = self.state.panel(&p.panel);
                let cloth = panel.is_some_and(|q| q.cloth == part.cloth);
                let same = (&p.piece, &p.article) == (own.0, own.1);
                // Where the wrong side is up, what comes off is the other hand.
                let gives = || stock.gives(p, &self.state.panels).contains(&face);
                same && cloth && self.state.is_to_cut(**id) && gives()
            });
            all.next().map(|(id, _)| *id)
        };
        cut.next().map(|p| p.placed).or_else(laid)
    }

    /// Free cloth that would take a part, from one ply, the nearest to where it
    /// was cut first: there its shade is most alike.
    fn places_for(&self, part: &CutPart) -> Vec<Spot> {
        let all = STEPS.into_iter().map(|step| self.places_by(part, step));
        all.into_iter().find(|p| !p.is_empty()).unwrap_or_default()
    }

    fn places_by(&self, part: &CutPart, step: f64) -> Vec<Spot> {
        let stock = self.goods.stock();
        let Some(piece) = stock.piece(&part.piece) else {
            return Vec::new();
        };
        let whole = inside_of(piece);
        let was = self.pose(part.placed).map(|p| p.shift.to_point());
        let taken = self.taken();
        let gap = self.lit.band().max(self.state.ways.lit_width());
        let mut found: Vec<(f64, Spot)> = Vec::new();
        for panel in self.state.panels.iter().filter(|p| p.spread) {
            let panels = &self.state.panels;
            let alone = !panels
                .iter()
                .any(|q| q.under.as_deref() == Some(&panel.name));
            // One part alone comes of it, face side up, as the words say.
            let single = panel.under.is_none() && alone && panel.stack.is_plain();
            let Ok(outline) = panel.outline() else {
                continue;
            };
            // Cut through from above, it has holes that nothing here knows of.
            let mut cut = self.state.cuts.parts.iter();
            let holed = cut.any(|c| {
                let lay = self.state.placed.get(&c.placed);
                c.panel == panel.name && lay.is_none_or(|p| p.panel != panel.name)
            });
            if panel.cloth != part.cloth || !single || holed {
                continue;
            }
            let on = panel.on_table.pose();
            let mut room = outline;
            for k in panel.keep_out.iter().filter_map(|k| k.outline().ok()) {
                room = crate::shape::difference(&room, &k);
            }
            let back = on.inverse();
            if let Some(reach) = self.lit.room() {
                room = intersection(&room, &reach.moved(&back));
            }
            let taken: Vec<Region<Cloth>> = taken.iter().map(|t| t.moved(&back)).collect();
            let as_it_lay = self.state.placed.get(&part.placed);
            let turn = piece
                .grain
                .and_then(|g| squared(g, part.face, 0.0, panel.grain_deg, Along::Warp, false))
                .or(as_it_lay.map(|p| p.turn_deg))
                .unwrap_or(0.0);
            let mirrored = part.face == Face::Down;
            let pose = Rigid::<Piece, Cloth>::new(mirrored, turn.to_radians(), Vector::zero());
            let shape = whole.moved(&pose);
            let wish = was.map(|p| back.point(p));
            let from = wish.or_else(|| room.bounds().map(|b| b.center()));
            let room = Room::new(&room, &taken, gap);
            for at in room.places(&shape, step, from.unwrap_or_default()) {
                let far = wish.map_or(0.0, |w| (at - w).length());
                let apart = |s: &Spot| {
                    s.panel != panel.name || (Point::new(s.x_mm, s.y_mm) - at).length() >= APART
                };
                if found.iter().all(|(_, s)| apart(s)) {
                    found.push((
                        far,
                        Spot {
                            panel: panel.name.clone(),
                            x_mm: rounded(at.x),
                            y_mm: rounded(at.y),
                            turn_deg: degrees(turn.to_radians()),
                            face: part.face,
                        },
                    ));
                }
                if found.len() >= OFFERED {
                    break;
                }
            }
        }
        found.sort_by(|a, b| a.0.total_cmp(&b.0));
        found.truncate(OFFERED);
        found.into_iter().map(|(_, spot)| spot).collect()
    }

    /// All that is laid or cut away, on the table.
    pub(super) fn taken(&self) -> Vec<Region<Table>> {
        let (_, laid) = self.laid();
        laid.iter().map(inside).collect()
    }
}
