//! What the lines in a piece are, by their looks.

use kurbo::{BezPath, Shape};

use super::cells::Cells;
use super::edge_grid::{EdgeGrid, Foot};
use super::single::{PAGE, Single};
use super::sort::{MARK, TOUCH, Traced};
use super::{Stroke, Text};
use crate::drawing::read::drawn::flatten::Budget;
use crate::drawing::read::drawn::foot;
use crate::drawing::read::drawn::left_out::{LeftOut, Why};
use crate::drawing::read::drawn::roles::Role;
use crate::fault::Outcome;
use crate::pattern::NotchKind;
use crate::shape::{along, edge_distance, length};
use crate::space::{Piece, Point};

type At = Point<Piece>;

/// Two clips this near are a double notch, mm (common practice: 5 to 6 mm apart).
const DOUBLE: f64 = 7.0;
/// Shortest line that is taken for the grain, mm.
const GRAIN: f64 = 20.0;
/// Largest drill mark, mm.
const DRILL: f64 = 10.0;
/// How far a circle's radius may differ, as a part.
const ROUND: f64 = 0.04;
/// An arrowhead's strokes meet the line's end this near, mm.
const TIP: f64 = 0.5;
/// How near a line the word stands that says it is the grain, mm.
const NAMED: f64 = 20.0;
/// Widest allowance: farther in, a line is no net line (common practice: a deep hem), mm.
const ALLOWANCE: f64 = 60.0;
/// A net line keeps its distance to the cut line along this part of its length, within
/// [`EVEN`] mm of the middle one.
const MOSTLY: f64 = 0.6;
const EVEN: f64 = 1.0;

/// A line, and what it is.
pub struct Look<'s> {
    pub path: BezPath,
    pub role: Role,
    pub notch: NotchKind,
    pub by: &'s Stroke,
}

/// All that was told in one piece.
pub struct Seen<'s> {
    pub looks: Vec<Look<'s>>,
}

/// A notch before it is known whether it is one of two: where it is clipped, how
/// deep, and where its inner end lies.
struct Clip<'s> {
    at: At,
    inner: At,
    kind: NotchKind,
    by: &'s Stroke,
}

/// Tells what each of `inner` is to the piece cut along `outline`.
pub fn at<'s>(
    outline: &Single<'s>,
    inner: Vec<Traced<'s>>,
    texts: &[&Text],
    budget: &mut Budget,
    left_out: &mut LeftOut,
) -> Outcome<Seen<'s>> {
    let mut grid = EdgeGrid::default();
    grid.add(0, &outline.points, budget)?;
    let mut seen = Seen { looks: Vec::new() };
    let (mut clips, mut rest) = (Vec::new(), Vec::new());
    for line in inner {
        let of = line.of;
        match of.stroke.told {
            // An outline within an outline is cut out of it.
            Some(Role::Cut) => seen.looks.push(look(&of, Role::Cutout)),
            Some(Role::Notch) if of.straight().is_some() => seen.looks.push(look(&of, Role::Notch)),
            Some(role) => seen.looks.push(look(&of, role)),
            None => match clip(&of, &grid, budget)? {
                Some(clip) => clips.push(clip),
                None => rest.push(of),
            },
        }
    }
    for clip in doubled(clips) {
        let mut path = BezPath::new();
        path.move_to(PAGE.page(clip.at));
        path.line_to(PAGE.page(clip.inner));
        seen.looks.push(Look {
            path,
            role: Role::Notch,
            notch: clip.kind,
            by: clip.by,
        });
    }
    grain(&mut rest, texts, &mut seen, budget, left_out)?;
    crosses(&mut rest, &mut seen);
    for of in rest {
        let role = if of.closed && of.size() <= DRILL && round(&of) {
            Role::Drill
        } else if (of.closed || of.stroke.dashed) && is_net(&of, outline, budget)? {
            Role::Net
        } else {
            Role::Line
        };
        seen.looks.push(look(&of, role));
    }
    one_net(&mut seen, outline);
    Ok(seen)
}

fn look<'s>(of: &Single<'s>, role: Role) -> Look<'s> {
    Look {
        path: of.path.clone(),
        role,
        notch: of.stroke.notch,
        by: of.stroke,
    }
}

/// Whether it is a circle, so that a letter drawn as lines is no drill point.
fn round(of: &Single) -> bool {
    let centre = of.bounds.center();
    let mean = (of.bounds.width() + of.bounds.height()) / 4.0;
    let even = |p: &At| ((*p - centre).length() / mean - 1.0).abs() <= ROUND;
    of.points.len() >= 6 && of.points.iter().all(even)
}

/// A short mark on the outline.
fn clip<'s>(of: &Single<'s>, grid: &EdgeGrid, budget: &mut Budget) -> Outcome<Option<Clip<'s>>> {
    if of.size() > MARK || of.stroke.dashed {
        return Ok(None);
    }
    let mut on = |p: At| -> Outcome<Option<Foot>> {
        Ok(grid.nearest(p, budget)?.filter(|foot| foot.2 <= TOUCH))
    };
    let farthest = |from: At| {
        let away = of.points.iter().map(|&p| (p, (p - from).length()));
        away.max_by(|a, b| a.1.total_cmp(&b.1))
    };
    if of.closed {
        // A wedge or diamond on the line, filled in.
        let mut touching: Option<Foot> = None;
        for &p in &of.points {
            let foot = on(p)?;
            touching = match (touching, foot) {
                (Some(a), Some(b)) if b.2 < a.2 => Some(b),
                (a, b) => a.or(b),
            };
        }
        let inner = touching.and_then(|(_, at, _)| Some((at, farthest(at)?)));
        return Ok(inner
            .filter(|(_, (_, depth))| *depth > TOUCH)
            .map(|(at, (inner, _))| Clip {
                at,
                inner,
                kind: NotchKind::Vee,
                by: of.stroke,
            }));
    }
    let (first, last) = (on(of.first())?, on(of.last())?);
    if let Some([a, b]) = of.straight() {
        let nearer = match (first, last) {
            // Along the line, not into it.
            (Some(_), Some(_)) if (b - a).length() > 2.0 * TOUCH => return Ok(None),
            (Some(f), Some(l)) => f.2 <= l.2,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (None, None) => return Ok(None),
        };
        let (at, inner) = if nearer { (a, b) } else { (b, a) };
        return Ok(Some(Clip {
            at,
            inner,
            kind: of.stroke.notch,
            by: of.stroke,
        }));
    }
    // Two legs from the line to a point and back.
    let (Some((_, a, _)), Some((_, b, _))) = (first, last) else {
        return Ok(None);
    };
    let foot = grid.nearest(a.lerp(b, 0.5), budget)?;
    let at = foot.filter(|foot| foot.2 <= 2.0 * TOUCH);
    let inner = at.and_then(|(_, at, _)| Some((at, farthest(at)?)));
    let wedge = |depth: f64| of.points.len() == 3 && depth > TOUCH && (b - a).length() > 0.1;
    Ok(inner
        .filter(|(_, (_, depth))| wedge(*depth))
        .map(|(at, (inner, _))| Clip {
            at,
            inner,
            kind: NotchKind::Vee,
            by: of.stroke,
        }))
}

/// Slits side by side are one double notch.
fn doubled(clips: Vec<Clip>) -> Vec<Clip> {
    let mut out: Vec<Clip> = Vec::new();
    let mut cells = Cells::new(DOUBLE);
    for clip in clips {
        let pair = cells.near(clip.at).map(|(k, _)| k).find(|&k| {
            let o: &Clip = &out[k];
            let (v, w) = (o.inner - o.at, clip.inner - clip.at);
            let side_by_side = v.dot(w) > 0.9 * v.length() * w.length();
            let slits = o.kind == NotchKind::Slit && clip.kind == NotchKind::Slit;
            slits && side_by_side
        });
        match pair.map(|k| &mut out[k]) {
            Some(first) => {
                first.at = first.at.lerp(clip.at, 0.5);
                first.inner = first.inner.lerp(clip.inner, 0.5);
                first.kind = NotchKind::Double;
            }
            None => {
                cells.add(out.len(), clip.at);
                out.push(clip);
            }
        }
    }
    out
}

/// Finds the grain: of the straight lines with an arrowhead, or beside the word, the
/// longest. Its arrowheads go with it.
fn grain<'s>(
    rest: &mut Vec<Single<'s>>,
    texts: &[&Text],
    seen: &mut Seen<'s>,
    budget: &mut Budget,
    left_out: &mut LeftOut,
) -> Outcome<()> {
    // A line and its head may be one stroke: tip to tip with the head's leg.
    let words: Vec<At> = texts
        .iter()
        .filter(|t| t.words.to_lowercase().contains("grain"))
        .map(|t| PAGE.piece(t.at))
        .collect();
    let mut heads = Cells::new(TIP);
    for (k, single) in rest.iter().enumerate().filter(|(_, s)| s.size() <= MARK) {
        for &p in &single.points {
            heads.add(k, p);
        }
    }
    let mut best: Option<(f64, usize, [At; 2], Vec<usize>)> = None;
    for (k, single) in rest.iter().enumerate() {
        let Some([a, b]) = single.straight() else {
            continue;
        };
        let long = (b - a).length();
        if long < GRAIN || best.as_ref().is_some_and(|(l, ..)| *l >= long) {
            continue;
        }
        budget.look(1 + words.len())?;
        let tip = |end: At| -> Vec<usize> {
            let at = heads.near(end).map(|(h, _)| h).filter(|&h| h != k);
            at.filter(|&h| rest[h].size() < long / 2.0).collect()
        };
        let (at_a, at_b) = (tip(a), tip(b));
        let named = words.iter().any(|&w| edge_distance((a, b), w) <= NAMED);
        let ends = match (at_a.is_empty(), at_b.is_empty()) {
            (true, true) if !named => continue,
            (true, false) => [a, b],
            (false, true) => [b, a],
            // Without a head, or with two, upwards.
            _ if (b.y, b.x) >= (a.y, a.x) => [a, b],
            _ => [b, a],
        };
        let taken = at_a.into_iter().chain(at_b).collect();
        best = Some((long, k, ends, taken));
    }
    let Some((_, k, [tail, head], mut taken)) = best else {
        for text in texts
            .iter()
            .filter(|t| t.words.to_lowercase().contains("grain"))
        {
            const NONE: Why = Why::Said(
                "it names a grain, but no straight line with an arrowhead is near it",
                "they name a grain, but no straight line with an arrowhead is near them",
            );
            left_out.add(text.place.place(), NONE);
        }
        return Ok(());
    };
    let mut path = BezPath::new();
    path.move_to(PAGE.page(tail));
    path.line_to(PAGE.page(head));
    seen.looks.push(Look {
        path,
        role: Role::Grain,
        notch: NotchKind::Slit,
        by: rest[k].stroke,
    });
    taken.push(k);
    taken.sort_unstable();
    let mut index = 0;
    rest.retain(|_| {
        index += 1;
        taken.binary_search(&(index - 1)).is_err()
    });
    Ok(())
}

/// Finds drill points drawn as crosses of two short strokes.
fn crosses<'s>(rest: &mut Vec<Single<'s>>, seen: &mut Seen<'s>) {
    let short: Vec<(usize, [At; 2])> = rest
        .iter()
        .enumerate()
        .filter(|(_, s)| s.size() <= DRILL)
        .filter_map(|(k, s)| Some((k, s.straight()?)))
        .collect();
    let mid = |[a, b]: [At; 2]| a.lerp(b, 0.5);
    let mut cells = Cells::new(TIP);
    for (n, &(_, one)) in short.iter().enumerate() {
        cells.add(n, mid(one));
    }
    let mut taken = vec![false; rest.len()];
    for &(k, one) in &short {
        if taken[k] {
            continue;
        }
        let near = cells.near(mid(one)).map(|(n, _)| short[n]);
        let cross = near
            .filter(|(o, _)| *o != k && !taken[*o])
            .find(|(_, other)| {
                let (v, w) = (one[1] - one[0], other[1] - other[0]);
                v.dot(w).abs() < 0.5 * v.length() * w.length()
            });
        if let Some((o, _)) = cross {
            (taken[k], taken[o]) = (true, true);
            let at = PAGE.page(mid(one));
            let path = kurbo::Circle::new(at, 1.0).to_path(1e-3);
            seen.looks.push(Look {
                path,
                role: Role::Drill,
                notch: NotchKind::Slit,
                by: rest[k].stroke,
            });
        }
    }
    let mut index = 0;
    rest.retain(|_| {
        index += 1;
        !taken[index - 1]
    });
}

/// Whether the line keeps its distance to the outline as a net line does.
fn is_net(of: &Single, outline: &Single, budget: &mut Budget) -> Outcome<bool> {
    const LOOKS: usize = 64;
    if of.size() <= MARK {
        return Ok(false);
    }
    let mut line = of.points.clone();
    if of.closed {
        line.extend(of.points.first());
    }
    let whole = length(&line);
    budget.look(LOOKS * outline.points.len())?;
    let mut away: Vec<f64> = (0..LOOKS)
        .filter_map(|k| along(&line, whole * (k as f64 + 0.5) / LOOKS as f64))
        .filter_map(|station| foot::nearest(station.at, [&outline.points]))
        .map(|foot| foot.distance)
        .collect();
    away.sort_by(f64::total_cmp);
    let Some(&middle) = away.get(away.len() / 2) else {
        return Ok(false);
    };
    let even = away.iter().filter(|&&d| (d - middle).abs() <= EVEN).count();
    let far = away.last().is_some_and(|&d| d > ALLOWANCE);
    Ok(!far && middle > TOUCH / 2.0 && even as f64 >= MOSTLY * away.len() as f64)
}

/// Of several closed lines that could each be the net line, the dashed one is, else the
/// outermost; the others stay lines.
fn one_net(seen: &mut Seen, outline: &Single) {
    let area = |look: &Look| look.path.area().abs();
    let closed = |look: &Look| {
        look.role == Role::Net && look.path.elements().last() == Some(&kurbo::PathEl::ClosePath)
    };
    let nets = seen
        .looks
        .iter()
        .enumerate()
        .filter(|(_, l)| closed(l) && l.by.told.is_none());
    let best = nets.clone().max_by(|(_, a), (_, b)| {
        let dashed = |l: &Look| l.by.dashed && !outline.stroke.dashed;
        dashed(a).cmp(&dashed(b)).then(area(a).total_cmp(&area(b)))
    });
    let Some(best) = best.map(|(k, _)| k) else {
        return;
    };
    let others: Vec<usize> = nets.map(|(k, _)| k).filter(|&k| k != best).collect();
    for k in others {
        seen.looks[k].role = Role::Line;
    }
}
