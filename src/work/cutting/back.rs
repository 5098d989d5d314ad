//! Any part, cut or not, is lit again whole in a free place near the person; and
//! where parts are dropped.

use super::{DropSite, Of, Phase};
use crate::lay::{CutPart, DROP_RADIUS, Face, Room, drop_places, inside, inside_of};
use crate::shape::{Region, offset};
use crate::space::{Piece, Point, Rigid, Table, Vector};
use crate::work::bench::Bench;
use crate::work::doing::Doing;
use std::f64::consts::FRAC_PI_2;

/// From one place that is tried to the next, mm.
const STEP: f64 = 15.0;

/// A piece that is lit to lay a part into.
#[derive(Debug, Clone, PartialEq)]
pub struct Lying {
    pub piece: String,
    pub article: String,
    pub cloth: String,
    pub panel: String,
    pub face: Face,
    /// Wrong side up.
    pub over: bool,
    pub pose: Rigid<Piece, Table>,
    /// There is no room for it but over cloth.
    pub over_cloth: bool,
    /// The edge that is walked: it stands out.
    pub edge: Vec<Point<Piece>>,
}

impl Bench {
    /// What is laid back, as a part; of a piece in its sheet, the part that it
    /// will give.
    pub fn part_of(&self, of: Of) -> Option<CutPart> {
        match of {
            Of::Part(id) => self.state.cuts.part(id).cloned(),
            Of::Piece(id) => self.parts_of(id)?.into_iter().next(),
        }
    }

    /// Works out what lies where beside the sheets: once a signal, for the pointer
    /// must not wait for it.
    pub(in crate::work) fn settle(&mut self) {
        let Doing::Cutting(cutting) = &self.doing else {
            return;
        };
        let (phase, back) = (cutting.phase.clone(), cutting.lies_back());
        let from = Some((phase.clone(), self.revision()));
        if cutting.settled == from {
            return;
        }
        let drops = self.drop_sites();
        if let Doing::Cutting(cutting) = &mut self.doing {
            cutting.drops = drops;
            cutting.settled = from;
        }
        let marked = match phase {
            Phase::Marks { part } => self.part_of(Of::Part(part)),
            Phase::Piece { id } => self.part_of(Of::Piece(id)),
            _ => None,
        };
        let transfer = marked.map_or(Vec::new(), |p| self.transfer_of(&p));
        let lies = match (phase, back) {
            (Phase::Walk { of, edge, to, over }, _) => self.walked(of, edge, to, over),
            (_, Some((of, over))) => self.lying(of, over).into_iter().collect(),
            _ => Vec::new(),
        };
        if let Doing::Cutting(cutting) = &mut self.doing {
            cutting.lies = lies;
            cutting.transfer = transfer;
        }
    }

    /// What is to be transferred to a part; worked out once.
    pub(super) fn transfer_of(&mut self, part: &CutPart) -> Vec<String> {
        let stock = self.goods.stock();
        self.worked_out.transfer_of(part, &stock)
    }

    /// A part in its light: turned as it was cut, if there is room for it so.
    pub fn lying(&self, of: Of, over: bool) -> Option<Lying> {
        let part = self.part_of(of)?;
        let piece = self.goods.stock().piece(&part.piece)?;
        let turn = self.pose(part.placed).map_or(0.0, |p| p.turn);
        let mirrored = (part.face == Face::Down) != over;
        let pose = Rigid::new(mirrored, turn, Vector::zero());
        let (place, over_cloth) = self.free_place(&inside_of(piece).moved(&pose))?;
        Some(Lying {
            piece: part.piece,
            article: part.article,
            cloth: part.cloth,
            panel: part.panel,
            face: part.face,
            over,
            pose: pose.then(&place),
            over_cloth,
            edge: Vec::new(),
        })
    }

    /// How a shape is brought to where it is near the person and clear of all cloth,
    /// by a quarter turn or two if need be; if there is no such place, clear of what
    /// is to be cut; else anywhere in the light. And whether it lies over cloth.
    pub(super) fn free_place(&self, shape: &Region<Table>) -> Option<(Rigid<Table, Table>, bool)> {
        let reach = self.lit.room()?;
        let room = offset(reach, -(self.lit.band() + 6.0));
        let drops = self.doing.cutting().map_or(&[][..], |c| &c.drops);
        let drops = drops.iter().map(|d| Region::disc(d.at, DROP_RADIUS));
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
        let gap = self.lit.band() + 4.0;
        let clear_of = |taken: &[Region<Table>]| {
            let room = Room::new(&room, taken, gap);
            (0..4).find_map(|quarters| {
                let turn = f64::from(quarters) * FRAC_PI_2;
                let turned = shape.moved(&Rigid::new(false, turn, Vector::zero()));
                let at = room.places(&turned, STEP, wish).next()?;
                Some(Rigid::new(false, turn, at.to_vector()))
            })
        };
        let over = || clear_of(&to_cut).or_else(|| clear_of(&[]));
        let clear = clear_of(&cloths).map(|at| (at, false));
        clear.or_else(|| over().map(|at| (at, true)))
    }

    /// Places to drop parts on, one an article and cloth.
    pub fn drop_sites(&self) -> Vec<DropSite> {
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
        let Some(top) = self.lit.room() else {
            return Vec::new();
        };
        let ways = &self.state.ways;
        let places = drop_places(top, &self.sheets(), ways.stands, ways.cuts, shades.len());
        let site = |((article, cloth), at)| DropSite { article, cloth, at };
        shades.into_iter().zip(places).map(site).collect()
    }

    /// The cloth on the table.
    fn sheets(&self) -> Vec<Region<Table>> {
        let spread = self.panels().iter().filter(|p| p.spread);
        spread.filter_map(super::super::outline_on_table).collect()
    }
}
