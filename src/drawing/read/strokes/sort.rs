//! Which closed lines are pieces, and which piece everything else belongs to.

use std::borrow::Cow;
use std::collections::BTreeMap;

use kurbo::BezPath;

use super::edge_grid::EdgeGrid;
use super::looks::{self, Look, Seen};
use super::naming;
use super::ring;
use super::single::{PAGE, Single, singles};
use super::square::{self, Check};
use super::{Given, Sheet, Text};
use crate::drawing::read::drawn::drawing::{Drawing, Drawn, Group};
use crate::drawing::read::drawn::flatten::{self, Budget};
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::drawn::place::excerpt;
use crate::drawing::read::drawn::roles::{Role, Told};
use crate::fault::{Fault, Outcome, short};
use crate::pattern::{NotchKind, Polyline};
use crate::shape::{signed_area, surrounds};
use crate::space::{Bounds, Piece, Point};

/// A closed line of no more than this is a mark, where there are larger ones, mm.
pub const MARK: f64 = 15.0;
/// How far off its line a mark may be drawn, mm: as the assembler lets in.
pub const TOUCH: f64 = 1.0;
/// A gap that a file's rounding explains, mm; a wider one is told.
const ROUNDING: f64 = 0.05;
/// How near to a piece a text beside it must stand to be its name, mm.
const BESIDE: f64 = 15.0;

/// A line, closed or open, joined from strokes.
pub struct Traced<'s> {
    /// The first stroke of it.
    pub of: Single<'s>,
    /// From how many strokes it was joined.
    pub strokes: usize,
}

impl Traced<'_> {
    fn points(&self) -> &Polyline {
        &self.of.points
    }
}

/// One outermost closed line and all that lies in it.
pub struct Nested<'s> {
    pub outline: Traced<'s>,
    pub inner: Vec<Traced<'s>>,
    pub texts: Vec<&'s Text>,
}

/// Pieces with roles, from loose strokes.
///
/// # Errors
///
/// When there is no closed line, a printed check square is of another size than it
/// says, or there is more than the limits let in.
pub fn drawing<'s>(sheet: &'s Sheet, given: Given, left_out: &mut LeftOut) -> Outcome<Drawing<'s>> {
    let mut budget = Budget::new();
    let all = singles(sheet, &mut budget, left_out)?;
    let mut notes = Vec::new();
    let (mut closed, open) = traced(all, given.join, &mut budget, &mut notes)?;
    closed.retain(|line| {
        let encloses =
            line.of.points.len() > 2 && line.of.bounds.width().min(line.of.bounds.height()) > 1e-3;
        if !encloses {
            const NOTHING: Why = Why::Said("it encloses nothing", "they enclose nothing");
            left_out.add(line.of.stroke.place.place(), NOTHING);
        }
        encloses
    });
    let check = check_of(&closed, &sheet.texts, &mut budget)?;
    if let Some(check) = &check {
        notes.push(check.judge(given.scale)?);
    }
    if closed.is_empty() {
        return Err(Fault::input(
            "there is no closed line among the strokes",
            "close the outlines of the pieces, or let ends farther apart be joined",
        ));
    }
    let taken = check.map(|check| check.ring);
    let nested = nest(closed, open, taken, sheet, &mut budget, left_out)?;
    let mut drawing = Drawing {
        grouped: true,
        notes,
        ..Drawing::default()
    };
    let mut names = naming::Names::default();
    for one in nested {
        let group = group(one, &mut names, &mut budget, &mut drawing.notes, left_out)?;
        drawing.groups.push(group);
    }
    Ok(drawing)
}

/// The check square among closed lines, by its place among them.
fn check_of(closed: &[Traced], texts: &[Text], budget: &mut Budget) -> Outcome<Option<Check>> {
    let largest = closed
        .iter()
        .map(|c| signed_area(c.points()).abs())
        .fold(0.0, f64::max);
    let rings: Vec<&Polyline> = closed.iter().map(Traced::points).collect();
    let check = square::check_square(&rings, texts, budget)?;
    // The only thing drawn is no check of anything.
    let small = |check: &Check| signed_area(rings[check.ring]).abs() < largest;
    Ok(check.filter(small))
}

/// Closed and open lines: strokes of one layer and one kind of line, joined.
fn traced<'s>(
    all: Vec<Single<'s>>,
    join: f64,
    budget: &mut Budget,
    notes: &mut Vec<String>,
) -> Outcome<(Vec<Traced<'s>>, Vec<Traced<'s>>)> {
    let (mut closed, mut open) = (Vec::new(), Vec::new());
    let mut classes: BTreeMap<(bool, Option<&str>), Vec<usize>> = BTreeMap::new();
    for (k, single) in all.iter().enumerate() {
        if single.closed {
            closed.push((
                k,
                Traced {
                    of: single.clone(),
                    strokes: 1,
                },
            ));
        } else {
            let class = (single.stroke.dashed, single.stroke.layer.as_deref());
            classes.entry(class).or_default().push(k);
        }
    }
    let mut gap = 0.0_f64;
    for members in classes.values() {
        let joined = ring::join(&all, members, join);
        gap = gap.max(joined.gap);
        let lines = joined.loops.into_iter().map(|l| (l, true));
        for (line, is_closed) in lines.chain(joined.open.into_iter().map(|l| (l, false))) {
            let Some(&(first, _)) = line.chain.first() else {
                continue;
            };
            let placed = |fault: Fault| fault.at(all[first].stroke.place.place());
            let Some(run) = flatten::runs(&line.path, PAGE, budget)
                .map_err(placed)?
                .pop()
            else {
                continue;
            };
            if run.points.len() < 2 {
                continue;
            }
            let traced = Traced {
                of: Single {
                    stroke: all[first].stroke,
                    path: line.path,
                    bounds: Bounds::from_points(&run.points),
                    points: run.points,
                    closed: is_closed,
                },
                strokes: line.chain.len(),
            };
            if is_closed {
                closed.push((first, traced));
            } else {
                open.push((first, traced));
            }
        }
    }
    if gap > ROUNDING {
        notes.push(format!(
            "ends of strokes up to {} mm apart were joined.",
            short(gap)
        ));
    }
    closed.sort_by_key(|&(k, _)| k);
    open.sort_by_key(|&(k, _)| k);
    let bare = |list: Vec<(usize, Traced<'s>)>| list.into_iter().map(|(_, t)| t).collect();
    Ok((bare(closed), bare(open)))
}

/// Outermost closed lines in the order of the file, with what lies in each.
fn nest<'s>(
    closed: Vec<Traced<'s>>,
    open: Vec<Traced<'s>>,
    check: Option<usize>,
    sheet: &'s Sheet,
    budget: &mut Budget,
    left_out: &mut LeftOut,
) -> Outcome<Vec<Nested<'s>>> {
    let large = closed.iter().any(|c| c.of.size() > MARK);
    let mut order: Vec<(usize, Traced)> = closed.into_iter().enumerate().collect();
    order.sort_by(|a, b| {
        let area = |t: &Traced| signed_area(t.points()).abs();
        area(&b.1).total_cmp(&area(&a.1)).then(a.0.cmp(&b.0))
    });
    let mut outer: Vec<(usize, Nested)> = Vec::new();
    let mut loose = Vec::new();
    for (k, line) in order {
        if check == Some(k) {
            continue;
        }
        let small = large && line.of.size() <= MARK;
        let told_other = line.of.stroke.told.is_some_and(|role| role != Role::Cut);
        match holder(&outer, &line.of, budget)? {
            Some(at) if !small => outer[at].1.inner.push(line),
            None if !small && !told_other => outer.push((
                k,
                Nested {
                    outline: line,
                    inner: Vec::new(),
                    texts: Vec::new(),
                },
            )),
            _ => loose.push(line),
        }
    }
    let mut grid = EdgeGrid::default();
    for (at, (_, piece)) in outer.iter().enumerate() {
        grid.add(at, piece.outline.points(), budget)?;
    }
    for line in loose.into_iter().chain(open) {
        // A notch touches its outline, be it drawn inwards or out.
        let mut touches = None;
        if line.of.size() <= 2.0 * MARK {
            for p in [line.of.first(), line.of.last()] {
                let foot = grid.nearest(p, budget)?.filter(|foot| foot.2 <= TOUCH);
                touches = touches.or(foot.map(|(at, ..)| at));
            }
        }
        let held = match touches {
            Some(at) => Some(at),
            None => holder(&outer, &line.of, budget)?,
        };
        match held {
            Some(at) => outer[at].1.inner.push(line),
            None => left_out.add(line.of.stroke.place.place(), Why::OutsidePieces),
        }
    }
    for text in &sheet.texts {
        let p = PAGE.piece(text.at);
        let mut within = None;
        budget.look(outer.len())?;
        for (at, (_, piece)) in outer.iter().enumerate() {
            if piece.outline.of.bounds.contains_inclusive(p) {
                budget.look(piece.outline.points().len())?;
                if surrounds(piece.outline.points(), p) {
                    within = Some(at);
                    break;
                }
            }
        }
        if within.is_none() {
            let near = outer.iter().enumerate().map(|(at, (_, piece))| {
                let b = piece.outline.of.bounds;
                let away = (p - p.clamp(b.min, b.max)).length();
                (at, away)
            });
            let near = near.filter(|&(_, away)| away <= BESIDE);
            within = near.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(at, _)| at);
        }
        match within {
            Some(at) => outer[at].1.texts.push(text),
            None => left_out.add(text.place.place(), Why::OutsidePieces),
        }
    }
    outer.sort_by_key(|&(k, _)| k);
    Ok(outer.into_iter().map(|(_, nested)| nested).collect())
}

/// The outermost line that holds `line`: more than half of some of its points.
fn holder(outer: &[(usize, Nested)], line: &Single, budget: &mut Budget) -> Outcome<Option<usize>> {
    const LOOKS: usize = 9;
    // The ends of a line are often on the outline itself, so its edges' middles.
    let count = line.points.len() - usize::from(!line.closed);
    let middle = |k: usize| {
        let next = line.points[(k + 1) % line.points.len()];
        line.points[k].lerp(next, 0.5)
    };
    let looks = LOOKS.min(count);
    let some: Vec<Point<Piece>> = (0..looks).map(|k| middle(k * count / looks)).collect();
    for (at, (_, piece)) in outer.iter().enumerate() {
        budget.look(1)?;
        let outline = &piece.outline;
        if !outline
            .of
            .bounds
            .intersects(&line.bounds.inflate(1e-6, 1e-6))
        {
            continue;
        }
        let mut held = 0;
        for &p in &some {
            if outline.of.bounds.contains_inclusive(p) {
                budget.look(outline.points().len())?;
                held += usize::from(surrounds(outline.points(), p));
            }
        }
        if 2 * held > some.len() {
            return Ok(Some(at));
        }
    }
    Ok(None)
}

/// The piece group of an outermost line.
fn group<'s>(
    nested: Nested<'s>,
    names: &mut naming::Names,
    budget: &mut Budget,
    notes: &mut Vec<String>,
    left_out: &mut LeftOut,
) -> Outcome<Group<'s>> {
    let Nested {
        outline,
        inner,
        texts,
    } = nested;
    let stroke = outline.of.stroke;
    let named = names.of(&texts, &outline.of, left_out);
    let seen = looks::at(&outline.of, inner, &texts, budget, left_out)?;
    notes.push(told(&named, &outline, &seen));
    notes.extend(named.notes);
    let draw = |path: BezPath, role: Role, notch: NotchKind, by: &'s super::Stroke| Drawn {
        place: by.place.place(),
        called: None,
        told: Told::Role(role),
        notch,
        path,
        is_text: false,
    };
    let mut drawn = vec![draw(outline.of.path, Role::Cut, NotchKind::Slit, stroke)];
    for Look {
        path,
        role,
        notch,
        by,
    } in seen.looks
    {
        drawn.push(draw(path, role, notch, by));
    }
    if let Some(text) = named.from {
        let mut path = BezPath::new();
        path.move_to(text.at);
        drawn.push(Drawn {
            place: text.place.place(),
            called: None,
            told: Told::Role(Role::Label),
            notch: NotchKind::Slit,
            path,
            is_text: true,
        });
    }
    Ok(Group {
        place: stroke.place.place(),
        name: Cow::Owned(named.name),
        cut_count: named.count,
        pair: named.pair,
        drawn,
        hides: false,
        lenient: true,
    })
}

/// One sentence on all that was guessed of a piece.
fn told(named: &naming::Named, outline: &Traced, seen: &Seen) -> String {
    let mut parts = Vec::new();
    let b = outline.of.bounds;
    parts.push(format!(
        "its cut line is the outermost closed line ({} mm by {} mm)",
        short((b.width() * 10.0).round() / 10.0),
        short((b.height() * 10.0).round() / 10.0)
    ));
    if outline.strokes > 1 {
        parts.push(format!("joined from {} strokes", outline.strokes));
    }
    let count = |role: Role| seen.looks.iter().filter(|look| look.role == role).count();
    let kinds = [
        (Role::Net, "net line", "net lines"),
        (Role::Notch, "notch", "notches"),
        (Role::Grain, "grain line", "grain lines"),
        (Role::Drill, "drill point", "drill points"),
        (Role::Line, "inner line", "inner lines"),
    ];
    for (role, one, many) in kinds {
        match count(role) {
            0 => {}
            1 => parts.push(format!("1 {one}")),
            n => parts.push(format!("{n} {many}")),
        }
    }
    format!(
        "piece \"{}\" was told by its looks: {}.",
        excerpt(&named.name),
        parts.join(", ")
    )
}
