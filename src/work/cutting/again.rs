//! A spoilt part is cut again: exactly that hand, from one ply.

use super::Phase;
use crate::lay::{
    Along, CutPart, DROP_RADIUS, Face, drop_places, fits, inside, inside_of, places_near, squared,
};
use crate::shape::{Region, offset};
use crate::space::{Cloth, Piece, Point, Rigid, Table, Vector};
use crate::work::act::{Reply, Touched};
use crate::work::bench::Bench;
use crate::work::op::{Id, Op, Spot};
use crate::work::pieces::{degrees, rounded, words};

/// From one place that is tried to the next, mm.
const STEP: f64 = 15.0;

/// Places offered at most, and how far apart they are, mm.
const OFFERED: usize = 5;
const APART: f64 = 60.0;

impl Bench {
    /// A part is spoilt; where it could be cut again is offered.
    pub(super) fn spoil(&mut self, id: u32) -> Reply {
        let Some(part) = self.state.cuts.part(id).cloned() else {
            return self.next_with_words("that part is not there");
        };
        self.change_part(id, |p| {
            p.spoilt = true;
        });
        let places = self.places_for(&part);
        let said = format!(
            "{} {} spoilt: one is to be cut again, single, {}",
            part.piece,
            part.article,
            words(part.face)
        );
        if places.is_empty() {
            let none = format!("{said}; no single cloth on the table has room for it");
            return self.next_with_words(&none);
        }
        self.turn_to(Phase::Again {
            part: id,
            places,
            at: 0,
        });
        Reply::touching(Touched::All).saying(said)
    }

    fn next_with_words(&mut self, words: &str) -> Reply {
        self.go_to_next();
        Reply::touching(Touched::All).saying(words)
    }

    /// Accepts an offered place.
    pub(super) fn lay_again(&mut self, part: u32, place: Option<&Spot>) -> Reply {
        let (Some(part), Some(spot)) = (self.state.cuts.part(part).cloned(), place) else {
            return self.next_with_words("it is cut later");
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
        self.next_with_words("laid: it is cut next")
    }

    /// The partner of a part: the other hand of its article, cut or laid.
    pub fn partner_of(&self, part: &CutPart) -> Option<Id> {
        let face = part.face.other();
        let own = (&part.piece, &part.article, &part.cloth);
        let good = self.state.cuts.parts.iter().filter(|p| !p.spoilt);
        let mut cut = good.filter(|p| p.face == face && own == (&p.piece, &p.article, &p.cloth));
        let laid = || {
            let mut all = self.state.placed.iter().filter(|(id, p)| {
                let panel = self.state.panel(&p.panel);
                let cloth = panel.is_some_and(|q| q.cloth == part.cloth);
                let same = (&p.piece, &p.article) == (own.0, own.1) && p.face == face;
                same && cloth && self.state.is_to_cut(**id)
            });
            all.next().map(|(id, _)| *id)
        };
        cut.next().map(|p| p.placed).or_else(laid)
    }

    /// Free cloth that would take a part, from one ply, the nearest to where it
    /// was cut first: there its shade is most alike.
    fn places_for(&self, part: &CutPart) -> Vec<Spot> {
        let stock = self.goods.stock();
        let Some(piece) = stock.piece(&part.piece) else {
            return Vec::new();
        };
        let whole = inside_of(piece);
        let was = self.pose(part.placed).map(|p| p.shift.to_point());
        let taken = self.taken();
        let gap = self.band.max(self.state.ways.lit_width());
        let mut found: Vec<(f64, Spot)> = Vec::new();
        for panel in self.state.panels.iter().filter(|p| p.spread) {
            let single = panel.under.is_none()
                && !self
                    .state
                    .panels
                    .iter()
                    .any(|q| q.under.as_deref() == Some(&panel.name));
            let Ok(outline) = panel.outline() else {
                continue;
            };
            if panel.cloth != part.cloth || !single {
                continue;
            }
            let on = panel.on_table.pose();
            let mut room = outline;
            for k in panel.keep_out.iter().filter_map(|k| k.outline().ok()) {
                room = crate::shape::difference(&room, &k);
            }
            let back = on.inverse();
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
            for at in places_near(&room, STEP, from.unwrap_or_default()) {
                let shift: Rigid<Cloth, Cloth> = Rigid::new(false, 0.0, at.to_vector());
                if !fits(&shape.moved(&shift), &room, &taken, 2.0 * gap) {
                    continue;
                }
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

    /// Places to drop parts on, one an article and cloth: its name, its cloth, and
    /// the middle of the place.
    pub fn drop_sites(&self) -> Vec<((String, String), Point<Table>)> {
        let mut shades: Vec<(String, String)> = Vec::new();
        for p in self.state.placed.values() {
            let Some(panel) = self.state.panel(&p.panel) else {
                continue;
            };
            let shade = (p.article.clone(), panel.cloth.clone());
            if !shades.contains(&shade) {
                shades.push(shade);
            }
        }
        let Some(top) = self.table_top.as_ref().or(self.reach.as_ref()) else {
            return Vec::new();
        };
        let ways = &self.state.ways;
        let places = drop_places(top, &self.sheets(), ways.stands, ways.cuts, shades.len());
        shades.into_iter().zip(places).collect()
    }

    /// The cloth on the table.
    fn sheets(&self) -> Vec<Region<Table>> {
        let spread = self.state.panels.iter().filter(|p| p.spread);
        spread.filter_map(super::super::outline_on_table).collect()
    }

    /// Where a part lies back in its light: near the person, clear of all cloth
    /// and of what is to be cut if there is such a place; turned as it was cut.
    pub fn laid_back_pose(&self, part: u32, over: bool) -> Option<Rigid<Piece, Table>> {
        let part = self.state.cuts.part(part)?;
        let piece = self.goods.stock().piece(&part.piece)?;
        let turn = self.pose(part.placed).map_or(0.0, |p| p.turn);
        let mirrored = (part.face == Face::Down) != over;
        let pose = Rigid::new(mirrored, turn, Vector::zero());
        let shape: Region<Table> = inside_of(piece).moved(&pose);
        let reach = self.table_top.as_ref().or(self.reach.as_ref())?;
        let room = offset(reach, -(self.band + 6.0));
        let drops = self.drop_sites().into_iter();
        let drops = drops.map(|(_, at)| Region::disc(at, DROP_RADIUS));
        let drops: Vec<Region<Table>> = drops.collect();
        let mut cloths = self.sheets();
        cloths.extend(drops.iter().cloned());
        let mut to_cut: Vec<Region<Table>> = {
            let (ids, laid) = self.laid();
            let here = ids.iter().zip(&laid);
            let here = here.filter(|(id, _)| self.state.is_to_cut(**id));
            here.map(|(_, l)| inside(l)).collect()
        };
        to_cut.extend(drops);
        // Near the middle of the person's edge.
        let side = self.state.ways.stands;
        let seen = reach.rings.iter().flatten();
        let seen = seen.map(|p| side.to_person(p.to_vector()).to_point());
        let b = crate::shape::bounds(seen)?;
        let wish = side.to_table(Vector::new(b.center().x, b.min.y)).to_point();
        let gap = self.band + 4.0;
        let clear_of = |taken: &[Region<Table>]| {
            places_near(&room, STEP, wish).into_iter().find(|at| {
                let shift: Rigid<Table, Table> = Rigid::new(false, 0.0, at.to_vector());
                fits(&shape.moved(&shift), &room, taken, gap)
            })
        };
        let at = clear_of(&cloths)
            .or_else(|| clear_of(&to_cut))
            .or_else(|| clear_of(&[]))?;
        Some(Rigid::new(mirrored, turn, at.to_vector()))
    }
}
