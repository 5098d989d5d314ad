//! What is lit while cutting, besides the pieces: rough cuts, a part that lies
//! back in its light, drop places, and the words beside it all.

use super::beside::beside;
use super::ground::height_of;
use super::pen::{DASHED, DOTTED, Line, Pen};
use super::{Glow, guides};
use crate::lay::{DROP_RADIUS, Laid, inside, places_near};
use crate::light::{Lamp, lettering};
use crate::scene::{Figure, Level};
use crate::shape::{Region, offset};
use crate::space::{Bounds, Piece, Point, Rigid, Table, Vector};
use crate::work::Bench;
use crate::work::cutting::{Beside, Cutting, Of, Phase, Prompt};

/// From one place for words that is tried to the next, and between words and what
/// they must not cover, mm.
const STEP: f64 = 20.0;
const GAP: f64 = 8.0;

/// Words beside a piece may cover so much of others, mm²: a corner.
const COVERED: f64 = 600.0;

/// A rough cut: long dashes, told from a fold's and a keep-out's.
const ROUGH: Line = Line::Dashed(24.0, 8.0);

/// All that is lit for the cutting under way but its words.
pub(super) fn cutting(glow: &mut Glow, bench: &Bench, cutting: &Cutting) -> Vec<Figure> {
    let level = guides(bench.ways());
    let dim = Level(level.0 / 2);
    let mut figures = Vec::new();
    let on = |panel: &str| {
        let panel = bench.state().panel(panel);
        panel.map_or(0.0, |p| height_of(bench, p))
    };
    let mut pen = Pen::default();
    match &cutting.phase {
        Phase::Apart { panel } => {
            for cut in &cutting.rough {
                pen.line(&[cut.from, cut.to], ROUGH, 2.0, level);
            }
            figures.extend(std::mem::take(&mut pen).finish(on(panel)));
        }
        Phase::Notches {
            of: Of::Piece(id),
            at,
        } => {
            let placed = bench.state().placed.get(id);
            let pose = bench.pose(*id);
            if let (Some(p), Some(pose)) = (placed, pose) {
                notch_ring(bench, &p.piece, &pose, *at, &mut pen, level);
                figures.extend(std::mem::take(&mut pen).finish(on(&p.panel)));
            }
        }
        Phase::Again { part, places, at } => {
            figures.extend(again(bench, *part, places.get(*at), level));
        }
        Phase::Check => {
            let side = bench.ways().stands;
            for m in &glow.profile.marks {
                pen.cross(Point::from(m.table_mm), side, 24.0, 1.6, level);
            }
        }
        _ => {}
    }
    if let Some((part, over)) = cutting.lies_back() {
        figures.extend(laid_back(glow, bench, part, over, level));
        if let Phase::Notches {
            of: Of::Part(part),
            at,
        } = cutting.phase
            && let (Some(part), Some(pose)) = (
                bench.state().cuts.part(part),
                bench.laid_back_pose(part, false),
            )
        {
            notch_ring(bench, &part.piece, &pose, at, &mut pen, level);
        }
    }
    if bench.shows_outlines() {
        let (ids, laid) = bench.laid();
        for (id, l) in ids.iter().zip(&laid) {
            if bench.state().cuts.has(*id) {
                pen.outline(&inside(l), DOTTED, 1.2, dim);
            }
        }
    }
    drops(glow, bench, cutting, &mut pen, level, dim);
    figures.extend(pen.finish(0.0));
    figures
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
            let (part, over) = c.lies_back()?;
            let pose = bench.laid_back_pose(part, over)?;
            let part = bench.state().cuts.part(part)?;
            let piece = bench.goods.stock().piece(&part.piece)?;
            let whole: Region<Table> = crate::lay::inside_of(piece).moved(&pose);
            offset(&whole, glow.settings.band + 8.0).bounds()
        }),
    };
    let set = lettering(
        &mut glow.letters,
        &prompt.lines,
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
    let others: Vec<Region<Table>> = to_cut
        .filter(|(id, _)| bench.state().is_to_cut(**id))
        .map(|(_, l)| inside(l))
        .collect();
    let near =
        about.and_then(|about| beside(&about, size, &others, &glow.lit, ways.stands, ways.cuts));
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
    let drops = bench.drop_sites().into_iter();
    let drops: Vec<Region<Table>> = drops.map(|(_, at)| Region::disc(at, DROP_RADIUS)).collect();
    let wish = Vector::new(b.center().x, b.center().y);
    let near = ways.stands.to_table(Vector::new(0.0, -b.height() / 2.0));
    let wish = (wish + near).to_point();
    let mut places = places_near(top, STEP, wish).into_iter();
    places.find(|at| {
        let room = super::rectangle(&Bounds::new(*at - half, *at + half));
        let within = room.rings.iter().flatten().all(|p| top.contains(*p));
        within
            && others
                .iter()
                .chain(&drops)
                .all(|o| !crate::shape::near(&room, o, GAP))
    })
}

/// A ring round the notch that is asked for.
fn notch_ring(
    bench: &Bench,
    piece: &str,
    pose: &Rigid<Piece, Table>,
    at: usize,
    pen: &mut Pen,
    level: Level,
) {
    let piece = bench.goods.stock().piece(piece);
    if let Some(n) = piece.and_then(|p| p.notches.get(at)) {
        let ring = Region::disc(pose.point(n.at), 14.0);
        pen.outline(&ring, Line::Solid, 2.0, level);
    }
}

/// A part in its light again, at the height of one ply: band, notches, marks and
/// label as in the lay; its net line in short dashes, what goes inside it dotted.
fn laid_back(glow: &mut Glow, bench: &Bench, part: u32, over: bool, level: Level) -> Vec<Figure> {
    let stock = bench.goods.stock();
    let Some(part) = bench.state().cuts.part(part) else {
        return Vec::new();
    };
    let (Some(pose), Some(piece), Some(cloth)) = (
        bench.laid_back_pose(part.id, over),
        stock.piece(&part.piece),
        stock.cloth(&part.cloth),
    ) else {
        return Vec::new();
    };
    let laid = [Laid {
        piece,
        article: &part.article,
        cloth: &cloth.name,
        panel: &part.panel,
        cut_note: if over { "wrong side up" } else { "laid back" }.to_owned(),
        face: part.face,
        pose,
        height: cloth.thickness_mm,
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
    let inner = stock.inside_of(part).and_then(|name| stock.piece(name));
    if let Some(inner) = inner {
        let seat: Region<Table> = crate::lay::inside_of(inner).moved(&pose);
        pen.outline(&seat, DOTTED, 1.6, level);
    }
    figures.extend(pen.finish(cloth.thickness_mm));
    figures
}

/// Where a spoilt part may be cut again, and its partner.
fn again(bench: &Bench, part: u32, place: Option<&crate::work::Spot>, level: Level) -> Vec<Figure> {
    let stock = bench.goods.stock();
    let Some(part) = bench.state().cuts.part(part) else {
        return Vec::new();
    };
    let mut figures = Vec::new();
    if let (Some(piece), Some(spot)) = (stock.piece(&part.piece), place)
        && let Some(panel) = bench.state().panel(&spot.panel)
    {
        let on: Rigid<Piece, crate::space::Cloth> = Rigid::new(
            spot.face == crate::lay::Face::Down,
            spot.turn_deg.to_radians(),
            Vector::new(spot.x_mm, spot.y_mm),
        );
        let pose = on.then(&panel.on_table.pose());
        let outline: Region<Table> = crate::lay::inside_of(piece).moved(&pose);
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
    let state = bench.state();
    let goes = match &cutting.phase {
        Phase::Piece { id } => state.placed.get(id).and_then(|p| {
            let cloth = &state.panel(&p.panel)?.cloth;
            Some((p.article.clone(), cloth.clone()))
        }),
        Phase::Marks { part } | Phase::LaidBack { part, .. } => {
            let part = state.cuts.part(*part);
            part.map(|p| (p.article.clone(), p.cloth.clone()))
        }
        _ => None,
    };
    let ways = *bench.ways();
    for (shade, at) in bench.drop_sites() {
        let this = goes.as_ref() == Some(&shade);
        let level = if this { level } else { dim };
        pen.outline(&Region::disc(at, DROP_RADIUS), Line::Solid, 1.6, level);
        if this {
            pen.outline(
                &Region::disc(at, DROP_RADIUS - 5.0),
                Line::Solid,
                1.6,
                level,
            );
        }
        let words = [shade.0, shade.1];
        pen.words(&mut glow.letters, &words, at, ways.stands);
    }
}
