//! What is lit while cutting, besides the pieces: rough cuts, a part that lies
//! back in its light, drop places, and the words beside it all.

use super::beside::beside;
use super::ground::height_of;
use super::pen::{DASHED, DOTTED, Line, Pen};
use super::watch;
use super::{Glow, guides};
use crate::cloth::Panel;
use crate::lay::{DROP_RADIUS, Laid, Room, inside, inside_of, is_seated};
use crate::light::{Lamp, lettering};
use crate::scene::{Figure, Level};
use crate::shape::{Region, offset};
use crate::space::{Bounds, Piece, Point, Rigid, Table, Vector};
use crate::work::cutting::{Beside, Cutting, Lying, Of, Phase, Prompt, hand, side_up};
use crate::work::{Bench, outline_on_table};

/// From one place for words that is tried to the next, and between words and what
/// they must not cover, mm.
const STEP: f64 = 20.0;
const GAP: f64 = 8.0;

/// Words beside a piece may cover so much of others, mm²: a corner.
const COVERED: f64 = 600.0;

/// The line of an edge that is walked, mm: the seam runs along its middle.
const EDGE: f64 = 2.4;

/// A rough cut: long dashes, told from a fold's and a keep-out's.
const ROUGH: Line = Line::Dashed(24.0, 8.0);

/// All that is lit for the cutting under way but its words. `flash`: what is asked
/// for flashes, and is on.
pub(super) fn cutting(
    glow: &mut Glow,
    bench: &Bench,
    cutting: &Cutting,
    flash: bool,
) -> Vec<Figure> {
    let level = guides(bench.ways());
    let dim = Level(level.0 / 2);
    let mut figures = Vec::new();
    let on = |panel: &str| {
        let panel = bench.state().panel(panel);
        panel.map_or(0.0, |p| height_of(bench, p))
    };
    let mut pen = Pen::default();
    pen.keep_off(glow.keys);
    match &cutting.phase {
        Phase::Apart { panel } | Phase::Stack { panel } => {
            for cut in &cutting.rough {
                pen.line(&[cut.from, cut.to], ROUGH, 2.0, level);
            }
            let coming = bench.panels().iter().filter(|p| p.spread);
            let comes = |p: &&Panel| bench.state().panel(&p.name).is_some_and(|q| !q.spread);
            for sheet in coming.filter(comes) {
                where_it_lies(glow, bench, sheet, &mut pen, level);
            }
            figures.extend(std::mem::take(&mut pen).finish(on(panel)));
        }
        Phase::Notches {
            of: Of::Piece(id),
            at,
            ..
        } => {
            let placed = bench.state().placed.get(id);
            let pose = bench.pose(*id);
            if let (Some(p), Some(pose)) = (placed, pose) {
                notch_ring(bench, &p.piece, &pose, (*at, flash), &mut pen, level);
                figures.extend(std::mem::take(&mut pen).finish(on(&p.panel)));
            }
        }
        Phase::Again { .. } => figures.extend(again(bench, cutting, level)),
        Phase::Choose { to, at } => {
            // Where it lies, or lay.
            let of = bench.choices(*to).get(*at).copied();
            let placed = of.and_then(|of| Some(bench.part_of(of)?.placed));
            let (ids, laid) = bench.laid();
            if let Some(k) = placed.and_then(|id| ids.iter().position(|k| *k == id)) {
                pen.outline(&offset(&inside(&laid[k]), 3.0), DASHED, 3.0, level);
                figures.extend(std::mem::take(&mut pen).finish(laid[k].height));
            }
        }
        Phase::Check { .. } => watch::crosses(bench, &mut pen, level),
        _ => {}
    }
    for lying in &cutting.lies {
        figures.extend(laid_back(glow, bench, lying, level));
        if let Phase::Notches { at, .. } = cutting.phase {
            notch_ring(
                bench,
                &lying.piece,
                &lying.pose,
                (at, flash),
                &mut pen,
                level,
            );
        }
    }
    if let Some((lying, at)) = bench.notch_at() {
        // Where a notch would come to be.
        let ring = Region::disc(lying.pose.point(at), 6.0);
        pen.outline(&ring, Line::Solid, 1.6, level);
    }
    if bench.shows_outlines() {
        let (_, laid) = bench.laid();
        for l in laid.iter().filter(|l| l.is_cut) {
            pen.outline(&inside(l), DOTTED, 1.2, dim);
        }
    }
    // It may be a fresh one by now.
    pen.keep_off(glow.keys);
    drops(glow, bench, cutting, &mut pen, level, dim);
    figures.extend(pen.finish(0.0));
    figures
}

/// The outline of a sheet that is to be spread, and its marks.
fn where_it_lies(glow: &mut Glow, bench: &Bench, sheet: &Panel, pen: &mut Pen, level: Level) {
    let side = bench.ways().stands;
    if let Some(outline) = outline_on_table(sheet) {
        pen.outline(&outline, DOTTED, 1.6, level);
    }
    for m in &sheet.marks {
        let at = sheet.on_table.pose().point(Point::new(m.x_mm, m.y_mm));
        pen.cross(at, side, 12.0, 1.2, level);
        let beside = side.to_table(Vector::new(26.0, 16.0));
        let name = std::slice::from_ref(&m.name);
        pen.words(&mut glow.letters, name, at + beside, side);
    }
}

/// The words of a prompt, beside what they are about; `false` if they must stand
/// at the person's edge.
pub(super) fn words(glow: &mut Glow, bench: &Bench, prompt: &Prompt, pen: &mut Pen) -> bool {
    let ways = *bench.ways();
    let about: Option<Bounds<Table>> = match prompt.beside {
        Beside::Nothing => None,
        Beside::Piece(id) => {
            let (ids, laid) = bench.laid();
            let here = ids.iter().position(|k| *k == id);
            here.and_then(|k| offset(&inside(&laid[k]), glow.settings.band + 8.0).bounds())
        }
        Beside::Part => bench.doing().cutting().and_then(|c| {
            let whole = |l: &Lying| {
                let piece = bench.goods.stock().piece(&l.piece)?;
                let whole: Region<Table> = inside_of(piece).moved(&l.pose);
                offset(&whole, glow.settings.band + 8.0).bounds()
            };
            c.lies.iter().filter_map(whole).reduce(|a, b| a.union(&b))
        }),
    };
    let set = lettering(
        &mut glow.letters,
        &prompt.room,
        Point::origin(),
        ways.stands,
    );
    let Some(room) = set.lines.iter().copied().reduce(|a, b| a.union(&b)) else {
        return true;
    };
    let size = ways.stands.to_person(room.size().to_vector());
    // Its ground is 5 mm wider all round.
    let size = [size.x.abs() + 10.0, size.y.abs() + 10.0];
    let (ids, laid) = bench.laid();
    let to_cut = ids.iter().zip(&laid);
    let mut others: Vec<Region<Table>> = to_cut
        .filter(|(id, _)| bench.state().is_to_cut(**id))
        .map(|(_, l)| inside(l))
        .collect();
    let stock = bench.goods.stock();
    if let Some(cutting) = bench.doing().cutting() {
        let lies = cutting.lies.iter();
        others.extend(lies.filter_map(|l| Some(inside_of(stock.piece(&l.piece)?).moved(&l.pose))));
        others.extend(offered(bench, cutting));
    }
    // On the table, and not on the floor.
    let top = bench.table_top().unwrap_or(&glow.lit);
    let near = about.and_then(|about| beside(&about, size, &others, top, ways.stands, ways.cuts));
    let at = match near {
        Some((at, covered)) if covered < COVERED => Some(at),
        near => clear_place(glow, bench, size, &others).or(near.map(|(at, _)| at)),
    };
    let Some(at) = at else { return false };
    pen.words(&mut glow.letters, &prompt.lines, at, ways.stands);
    true
}

/// A place for words that have none beside a piece: near the person, clear of what is
/// to be cut and of the drop places.
fn clear_place(
    glow: &Glow,
    bench: &Bench,
    size: [f64; 2],
    others: &[Region<Table>],
) -> Option<Point<Table>> {
    let ways = bench.ways();
    let top = bench.table_top().unwrap_or(&glow.lit);
    let b = top.bounds()?;
    let half = ways.stands.to_table(Vector::new(size[0], size[1])) / 2.0;
    let half = Vector::new(half.x.abs(), half.y.abs());
    let drops = bench.doing().cutting().map_or(&[][..], |c| &c.drops);
    let drops = drops.iter().map(|d| Region::disc(d.at, DROP_RADIUS));
    let wish = Vector::new(b.center().x, b.center().y);
    let near = ways.stands.to_table(Vector::new(0.0, -b.height() / 2.0));
    let wish = (wish + near).to_point();
    let words = super::rectangle(&Bounds::new(-half.to_point(), half.to_point()));
    let taken: Vec<Region<Table>> = others.iter().cloned().chain(drops).collect();
    let room = Room::new(top, &taken, GAP);
    room.places(&words, STEP, wish).next()
}

/// A ring round the notch that is asked for; while it flashes, its whole place.
fn notch_ring(
    bench: &Bench,
    piece: &str,
    pose: &Rigid<Piece, Table>,
    (at, flash): (usize, bool),
    pen: &mut Pen,
    level: Level,
) {
    let piece = bench.goods.stock().piece(piece);
    let notch = piece.and_then(|p| p.notches.get(*p.notches_in_order().get(at)?));
    if let Some(n) = notch {
        let ring = Region::disc(pose.point(n.at), 14.0);
        pen.outline(&ring, Line::Solid, 2.0, level);
        if flash {
            pen.outline(&ring, Line::Solid, 8.0, Level::FULL);
        }
    }
}

/// A part in its light again, at the height of one ply: band, notches, marks and
/// label as in the lay; its net line in short dashes, what goes inside it dotted.
fn laid_back(glow: &mut Glow, bench: &Bench, lying: &Lying, level: Level) -> Vec<Figure> {
    let stock = bench.goods.stock();
    let (Some(piece), Some(cloth)) = (stock.piece(&lying.piece), stock.cloth(&lying.cloth)) else {
        return Vec::new();
    };
    let pose = lying.pose;
    let laid = [Laid {
        piece,
        article: &lying.article,
        cloth: &cloth.name,
        panel: &lying.panel,
        cut_note: format!("{} · {}", hand(lying.face), side_up(lying.over)),
        // Which hand it is the note says; how the cloth lies, too.
        face: crate::lay::Face::Up,
        pose,
        height: cloth.thickness_mm,
        is_cut: false,
        trim: 0.0,
    }];
    // A lamp of its own, for the lay's keeps what it has worked out.
    let Ok(mut lamp) = Lamp::new(glow.settings) else {
        return Vec::new();
    };
    lamp.light(&laid, &glow.lit);
    let mut figures = lamp.scene().figures.clone();
    for patch in figures.iter_mut().flat_map(|f| &mut f.patches) {
        patch.level = level;
    }
    let mut pen = Pen::default();
    for net in &piece.net {
        let mut line: Vec<Point<Table>> = net.points.iter().map(|&p| pose.point(p)).collect();
        if net.closed {
            line.extend(line.first().copied());
        }
        pen.line(&line, Line::Dashed(6.0, 3.0), 0.8, level);
    }
    let inner = stock.inside_of(&lying.article, &lying.piece);
    let inner = inner.and_then(|name| stock.piece(name));
    let inner = inner.filter(|inner| is_seated(inner, piece));
    if let Some(inner) = inner {
        let seat: Region<Table> = inside_of(inner).moved(&pose);
        pen.outline(&seat, DOTTED, 1.6, level);
    }
    let edge: Vec<Point<Table>> = lying.edge.iter().map(|&p| pose.point(p)).collect();
    if let (Some(&from), Some(&to)) = (edge.first(), edge.last()) {
        pen.line(&edge, Line::Solid, EDGE, level);
        for end in [from, to] {
            pen.outline(&Region::disc(end, 5.0), Line::Solid, 1.2, level);
        }
    }
    figures.extend(pen.finish(cloth.thickness_mm));
    figures
}

/// The place that is offered to a spoilt part.
fn offered(bench: &Bench, cutting: &Cutting) -> Option<Region<Table>> {
    let Phase::Again { part, places, at } = &cutting.phase else {
        return None;
    };
    let spot = places.get(*at)?;
    let part = bench.state().cuts.part(*part)?;
    let piece = bench.goods.stock().piece(&part.piece)?;
    let panel = bench.state().panel(&spot.panel)?;
    let on = spot.placement(part.placed, part.piece.clone(), part.article.clone());
    Some(inside_of(piece).moved(&on.pose().then(&panel.on_table.pose())))
}

/// Where a spoilt part may be cut again, and its partner.
fn again(bench: &Bench, cutting: &Cutting, level: Level) -> Vec<Figure> {
    let Phase::Again { part, places, at } = &cutting.phase else {
        return Vec::new();
    };
    let Some(part) = bench.state().cuts.part(*part) else {
        return Vec::new();
    };
    let mut figures = Vec::new();
    let panel = places.get(*at).and_then(|s| bench.state().panel(&s.panel));
    if let (Some(outline), Some(panel)) = (offered(bench, cutting), panel) {
        let mut pen = Pen::default();
        pen.outline(&outline, DASHED, 2.0, level);
        figures.extend(pen.finish(height_of(bench, panel)));
    }
    let partner = bench.partner_of(part);
    let (ids, laid) = bench.laid();
    if let Some(k) = partner.and_then(|id| ids.iter().position(|k| *k == id)) {
        let mut pen = Pen::default();
        pen.outline(&inside(&laid[k]), DOTTED, 2.0, level);
        figures.extend(pen.finish(laid[k].height));
    }
    figures
}

/// Places to drop parts on, one an article and cloth; the one that the part in
/// hand goes to is bright and doubled.
fn drops(
    glow: &mut Glow,
    bench: &Bench,
    cutting: &Cutting,
    pen: &mut Pen,
    level: Level,
    dim: Level,
) {
    let goes = match &cutting.phase {
        Phase::Piece { id } => bench.part_of(Of::Piece(*id)),
        Phase::Marks { part } => bench.part_of(Of::Part(*part)),
        Phase::LaidBack { of, .. } => bench.part_of(*of),
        _ => None,
    };
    let ways = *bench.ways();
    for drop in &cutting.drops {
        let this = goes
            .as_ref()
            .is_some_and(|p| (&p.article, &p.cloth) == (&drop.article, &drop.cloth));
        let level = if this { level } else { dim };
        let mut ring = |radius: f64| {
            pen.outline(&Region::disc(drop.at, radius), Line::Solid, 1.6, level);
        };
        ring(DROP_RADIUS);
        if this {
            ring(DROP_RADIUS - 5.0);
        }
        let words = [drop.article.clone(), drop.cloth.clone()];
        pen.words(&mut glow.letters, &words, drop.at, ways.stands);
    }
}
