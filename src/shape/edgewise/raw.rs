//! The raw offset curve of a closed line, before what it crosses is undone.

use super::bend::Bend;
use super::{Join, Sided};
use crate::space::{Point, Vector};

/// A closed curve that may cross itself; the side of the edge that begins at each point.
pub struct Curve<S> {
    pub points: Vec<Point<S>>,
    pub side: Vec<usize>,
    /// The index of the outline's point that each was moved from; they only ever rise,
    /// going round from the first.
    pub foot: Vec<usize>,
    /// How often it crosses itself for a strip that is wider than its edge is long: many
    /// of these cross each other.
    pub crossings: usize,
}

/// The edges of one side in turn, and where they are moved to.
struct Chain<S> {
    side: usize,
    by: f64,
    line: Vec<Point<S>>,
    moved: Vec<Point<S>>,
    /// Of each of `moved`, the point of `line` it was moved from.
    foot: Vec<usize>,
}

impl<S> Chain<S> {
    fn pop(&mut self) -> Option<Point<S>> {
        self.foot.pop();
        self.moved.pop()
    }

    fn reverse(&mut self) {
        self.moved.reverse();
        self.foot.reverse();
    }
}

/// The raw curve of `part` with every side `s` moved by `reach(s)` ≥ 0, outwards if `grow`.
pub fn curve<S>(
    part: &Sided<S>,
    grow: bool,
    reach: &dyn Fn(usize) -> f64,
    join: &dyn Fn(usize) -> Join,
    blunted: &mut Vec<usize>,
) -> Curve<S> {
    let out = if grow { 1.0 } else { -1.0 };
    let runs = part.runs();
    let closed = runs.len() == 1;
    let mut chains: Vec<Chain<S>> = runs
        .into_iter()
        .map(|(side, line)| chain(side, line, reach(side), out, closed, blunted))
        .collect();
    let count = chains.len();
    let mut between: Vec<Vec<(Point<S>, usize)>> = Vec::new();
    for k in 0..if closed { 0 } else { count } {
        let next = (k + 1) % count;
        let way = join(chains[next].side);
        // The two are distinct, for a ring of several runs has two sides at least.
        let Ok([a, b]) = chains.get_disjoint_mut([k, next]) else {
            continue;
        };
        between.push(corner(a, b, way, out, blunted));
    }
    let mut curve = Curve {
        points: Vec::new(),
        side: Vec::new(),
        foot: Vec::new(),
        crossings: 0,
    };
    let mut begins = part.first_run();
    for (k, chain) in chains.into_iter().enumerate() {
        curve.crossings += chain.moved.len().saturating_sub(chain.line.len());
        for (p, foot) in chain.moved.into_iter().zip(chain.foot) {
            curve.points.push(p);
            curve.side.push(chain.side);
            curve.foot.push(begins + foot);
        }
        begins += chain.line.len() - 1;
        for (p, side) in between.get_mut(k).map(std::mem::take).unwrap_or_default() {
            curve.points.push(p);
            curve.side.push(side);
            curve.foot.push(begins);
        }
    }
    curve
}

fn unit<S>(a: Point<S>, b: Point<S>) -> Vector<S> {
    (b - a).try_normalize().unwrap_or_else(Vector::zero)
}

fn chain<S>(
    side: usize,
    line: Vec<Point<S>>,
    by: f64,
    out: f64,
    closed: bool,
    blunted: &mut Vec<usize>,
) -> Chain<S> {
    let m = line.len() - 1;
    if by == 0.0 {
        let mut moved = line.clone();
        if closed {
            moved.pop();
        }
        return Chain {
            side,
            by,
            foot: (0..moved.len()).collect(),
            line,
            moved,
        };
    }
    let e: Vec<Vector<S>> = line.windows(2).map(|w| unit(w[0], w[1])).collect();
    let bend = |k: usize, before: usize, after: usize| {
        Bend::new(line[k], [e[before], e[after]], [by, by], out)
    };
    let length = |k: usize| (line[k + 1] - line[k]).length();
    let mut turn = |k: usize, before: usize, after: usize| {
        let bend = bend(k, before, after);
        if !bend.gapes() {
            bend.crossed([length(before), length(after)], out)
        } else if bend.is_corner() {
            let (points, cut) = bend.mitre();
            if cut {
                blunted.push(side);
            }
            points
        } else {
            bend.arc()
        }
    };
    let (mut moved, mut foot) = (Vec::with_capacity(2 * line.len()), Vec::new());
    for k in 0..=m {
        match k {
            0 if closed => moved.extend(turn(0, m - 1, 0)),
            0 => moved.push(bend(0, 0, 0).b()),
            _ if k < m => moved.extend(turn(k, k - 1, k)),
            _ if closed => {}
            _ => moved.push(bend(m, m - 1, m - 1).a()),
        }
        foot.resize(moved.len(), k);
    }
    Chain {
        side,
        by,
        line,
        moved,
        foot,
    }
}

/// What lies between two chains at their common corner. What is not on the way is taken
/// off their ends.
fn corner<S>(
    a: &mut Chain<S>,
    b: &mut Chain<S>,
    way: Join,
    out: f64,
    blunted: &mut Vec<usize>,
) -> Vec<(Point<S>, usize)> {
    let (at, m) = (b.line[0], a.line.len() - 1);
    let e = [unit(a.line[m - 1], at), unit(at, b.line[1])];
    let bend = Bend::new(at, e, [a.by, b.by], out);
    if way == Join::Meet && (a.by == 0.0 || b.by == 0.0) {
        return meet(a, b, &bend, out, blunted);
    }
    let folds = bend.gapes() && way == Join::FoldBack && a.by > 0.0 && b.by > 0.0;
    let folded = if folds { fold_back(a, &bend) } else { None };
    if let Some(points) = folded {
        return fold_in(points, a, b, &bend);
    }
    if bend.gapes() && way == Join::Square {
        return Vec::new();
    }
    // Shrunk by more on one side, that one's line runs on to the other's, which may bend on
    // the way: else a spur would stay where its strip ends, square to the corner.
    if out < 0.0
        && !bend.gapes()
        && bend.is_corner()
        && let Some(x) = run_on(a, b, &bend)
    {
        return vec![(x, b.side)];
    }
    let points = if bend.gapes() {
        let (points, cut) = bend.mitre();
        if cut {
            blunted.push(b.side);
        }
        points
    } else {
        let lengths = [(at - a.line[m - 1]).length(), (b.line[1] - at).length()];
        bend.crossed(lengths, out)
    };
    // Where the two meet in one place, one ends there and the other begins.
    if let &[x] = points.as_slice() {
        a.moved.last_mut().into_iter().for_each(|end| *end = x);
        b.moved.first_mut().into_iter().for_each(|begin| *begin = x);
        return Vec::new();
    }
    let last = points.len() - 1;
    let side = |k: usize| if k == last { b.side } else { a.side };
    let points = points.into_iter().enumerate();
    points.map(|(k, p)| (p, side(k))).collect()
}

/// Where the line of the side that is moved farther, run on beyond the corner, meets the
/// moved line of the other. That one begins, or ends, there then. Nothing is changed if it
/// meets none within the mitre's limit, or needs not run on.
fn run_on<S>(a: &mut Chain<S>, b: &mut Chain<S>, bend: &Bend<S>) -> Option<Point<S>> {
    if a.by == b.by {
        return None;
    }
    let after = b.by > a.by;
    let (from, way, deep) = if after {
        (bend.b(), -bend.e[1], bend.m[1])
    } else {
        (bend.a(), bend.e[0], bend.m[0])
    };
    let near = if after { &*a } else { &*b };
    let count = near.moved.len();
    let at = |k: usize| near.moved[if after { count - 1 - k } else { k }];
    let past = |p: Point<S>| (p - from).dot(deep);
    let k = (0..count)
        .find(|&k| past(at(k)) >= 0.0)
        .filter(|&k| k > 0)?;
    let (p, q) = (at(k - 1), at(k));
    let x = p.lerp(q, past(p) / (past(p) - past(q)));
    if (x - from).dot(way) < 0.0 || (x - bend.at).length() > bend.limit() {
        return None;
    }
    if after {
        a.moved.truncate(count - k);
        a.foot.truncate(count - k);
    } else {
        b.moved.drain(..k);
        b.foot.drain(..k);
    }
    Some(x)
}

/// The moved line before the corner, ended on the line of the side after it and mirrored
/// about that until it is as far out as that side's strip: from the corner outwards.
fn fold_back<S>(a: &Chain<S>, bend: &Bend<S>) -> Option<Vec<Point<S>>> {
    let inside = |p: Point<S>| -(p - bend.at).dot(bend.m[1]);
    let mirrored = |p: Point<S>| p + bend.m[1] * (2.0 * inside(p));
    // From its end back; straight on if it ends short of the line.
    let mut back: Vec<Point<S>> = a.moved.iter().rev().copied().collect();
    let start = match back.iter().position(|&p| inside(p) >= 0.0)? {
        0 => {
            let run = -bend.by[0] * bend.cos / bend.sin;
            run.is_finite().then(|| bend.a() + bend.e[0] * run)?
        }
        k => {
            let (p, q) = (back[k - 1], back[k]);
            let share = inside(p) / (inside(p) - inside(q));
            back.drain(..k);
            p.lerp(q, share)
        }
    };
    let mut points = vec![start];
    let mut last = start;
    for p in back {
        if inside(p) >= bend.by[1] {
            let share = (bend.by[1] - inside(last)) / (inside(p) - inside(last));
            points.push(mirrored(last.lerp(p, share)));
            let near = |p: &Point<S>| (*p - bend.at).length() <= bend.limit();
            return points.iter().all(near).then_some(points);
        }
        if p != last {
            points.push(mirrored(p));
        }
        last = p;
    }
    // The edge before is too short to fold on.
    None
}

/// Puts a folded end between the chains: what lies beyond it on either is left out.
fn fold_in<S>(
    points: Vec<Point<S>>,
    a: &mut Chain<S>,
    b: &mut Chain<S>,
    bend: &Bend<S>,
) -> Vec<(Point<S>, usize)> {
    let over = |p: &Point<S>| (*p - bend.at).dot(bend.m[1]) > 0.0;
    while a.moved.len() > 1 && a.moved.last().is_some_and(over) {
        a.pop();
    }
    if let Some(&end) = points.last() {
        let ahead = |p: &Point<S>| (*p - end).dot(bend.e[1]) >= 0.0;
        let first = b.moved.iter().position(ahead).unwrap_or(0);
        b.moved.drain(..first);
        b.foot.drain(..first);
    }
    points.into_iter().map(|p| (p, b.side)).collect()
}

/// One of the two stays: the other ends on its line.
fn meet<S>(
    a: &mut Chain<S>,
    b: &mut Chain<S>,
    bend: &Bend<S>,
    out: f64,
    blunted: &mut Vec<usize>,
) -> Vec<(Point<S>, usize)> {
    if a.by == 0.0 && b.by == 0.0 {
        return Vec::new();
    }
    let (side, after) = (b.side, b.by == 0.0);
    // Seen from the moved chain's end, whichever way it runs.
    let (moved, stays, way, run_on) = if after {
        (&mut *a, &mut *b, bend.e[1], bend.e[0])
    } else {
        b.reverse();
        (&mut *b, &mut *a, -bend.e[0], -bend.e[1])
    };
    // Away from the cloth, whichever way the other is moved.
    let away = if after { bend.m[1] } else { bend.m[0] } * out;
    let beyond = |p: Point<S>| (p - bend.at).dot(away);
    let mut popped = None;
    while moved.moved.len() > 1 && moved.moved.last().is_some_and(|&p| beyond(p) > 0.0) {
        popped = moved.pop();
    }
    let last = moved.moved.last().copied().unwrap_or(bend.at);
    let toward = popped.map_or(run_on, |p| p - last);
    let rate = toward.dot(away);
    let far = if rate.abs() > 1e-12 {
        -beyond(last) / rate
    } else {
        0.0
    };
    let x = last + toward * far;
    // On the line to the last digit that it has.
    let mut on = bend.at + way * (x - bend.at).dot(way);
    let limit = bend.limit();
    if -(x - bend.at).dot(way) > limit {
        on = bend.at - way * limit;
        let share = (limit + (last - bend.at).dot(way)) / -toward.dot(way);
        let foot = moved.foot.last().copied().unwrap_or(0);
        moved.moved.push(last + toward * share.max(0.0));
        moved.foot.push(foot);
        blunted.push(side);
    }
    // The line that stays begins where the other meets it, not at the net corner.
    if after {
        if let Some(first) = stays.moved.first_mut() {
            *first = on;
        }
        return Vec::new();
    }
    b.reverse();
    a.moved.last_mut().into_iter().for_each(|end| *end = on);
    // The edge from the line that stays to the moved one belongs to the latter.
    vec![(on, side)]
}
