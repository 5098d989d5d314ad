//! Outlines drawn as several strokes that meet end to end.

use std::collections::HashMap;

use super::flatten::{GAP, Ground, SAME};
use super::place::Place;
use crate::fault::{Fault, Outcome, short};
use crate::pattern::Polyline;
use crate::space::{Bounds, Piece, Point};

/// Two ends this near, in mm, were meant to meet.
const MEANT: f64 = 0.5;

/// A stroke drawn as a part of an outline; or the whole of one, once joined.
pub struct Stroke<'a> {
    pub place: Place<'a>,
    /// Index of the shape it is a part of.
    pub shape: usize,
    pub points: Polyline,
}

/// One end of a stroke: the stroke's index, and whether it is the last point.
type End = (usize, bool);

/// The closed lines that the open `strokes` make, in any order and direction.
/// Ends up to 0.05 mm apart meet halfway. Each line stands at the place of its
/// first stroke.
///
/// # Errors
///
/// When an end meets none, or more than one.
pub fn join(mut strokes: Vec<Stroke>, ground: Ground) -> Outcome<Vec<Stroke>> {
    if strokes.len() > 1 {
        // Too short to lead anywhere: it would be one more end at a joint.
        strokes.retain(|stroke| {
            let size = Bounds::from_points(&stroke.points).size();
            size.width.hypot(size.height) > GAP
        });
    }
    let joints = Joints::of(&strokes, ground)?;
    let mut done = vec![false; strokes.len()];
    let mut rings = Vec::new();
    for first in 0..strokes.len() {
        if done[first] {
            continue;
        }
        let (chain, loose) = joints.follow((first, false));
        let Stroke { place, shape, .. } = strokes[first];
        if let Some(to) = loose {
            let (_, from) = joints.follow((first, true));
            let from = from.unwrap_or((first, false));
            return Err(joints.open(from, to).at(place));
        }
        let mut points = Polyline::new();
        for (stroke, reversed) in chain {
            done[stroke] = true;
            append(&mut points, &strokes[stroke].points, reversed);
        }
        close(&mut points);
        rings.push(Stroke {
            place,
            shape,
            points,
        });
    }
    Ok(rings)
}

/// Appends `stroke` to `points`, whose last point it meets.
fn append(points: &mut Polyline, stroke: &Polyline, reversed: bool) {
    let mut stroke = stroke.clone();
    if reversed {
        stroke.reverse();
    }
    if let (Some(last), Some(first)) = (points.pop(), stroke.first_mut()) {
        *first = last.lerp(*first, 0.5);
    }
    for p in stroke {
        if points
            .last()
            .is_none_or(|&last| (p - last).length() >= SAME)
        {
            points.push(p);
        }
    }
}

/// Makes the last point and the first one.
fn close(points: &mut Polyline) {
    if let (Some(last), Some(first)) = (points.pop(), points.first_mut()) {
        *first = first.lerp(last, 0.5);
        let first = *first;
        let same = |p: Option<&Point<Piece>>| p.is_some_and(|&p| (p - first).length() < SAME);
        while points.len() > 1 && same(points.last()) {
            points.pop();
        }
        while points.len() > 1 && same(points.get(1)) {
            points.remove(1);
        }
    }
}

/// Which ends meet.
struct Joints<'s, 'a> {
    strokes: &'s [Stroke<'a>],
    ground: Ground,
    meets: HashMap<End, End>,
}

impl<'s, 'a> Joints<'s, 'a> {
    /// # Errors
    ///
    /// When more than two ends meet at one place.
    fn of(strokes: &'s [Stroke<'a>], ground: Ground) -> Outcome<Self> {
        let mut joints = Self {
            strokes,
            ground,
            meets: HashMap::new(),
        };
        // By cells as wide as ends may be apart, so that each end looks at
        // its neighbours only.
        let cell = |p: Point<Piece>| ((p.x / GAP).floor() as i64, (p.y / GAP).floor() as i64);
        let mut cells: HashMap<(i64, i64), Vec<End>> = HashMap::new();
        for end in joints.ends() {
            cells.entry(cell(joints.at(end))).or_default().push(end);
        }
        for end in joints.ends() {
            let p = joints.at(end);
            let (column, row) = cell(p);
            let around = (-1..=1).flat_map(|x| (-1..=1).map(move |y| (column + x, row + y)));
            let near = around.filter_map(|cell| cells.get(&cell)).flatten();
            let mut near =
                near.filter(|&&other| other.0 != end.0 && (joints.at(other) - p).length() <= GAP);
            let (met, second) = (near.next().copied(), near.next());
            if second.is_some() {
                let at = ground.say(p);
                return Err(Fault::input(
                    format!("more than two strokes of the outline meet at {at}"),
                    "let each end meet one other, and take out what is drawn twice",
                )
                .at(strokes[end.0].place));
            }
            if let Some(met) = met {
                joints.meets.insert(end, met);
            }
        }
        Ok(joints)
    }

    fn ends(&self) -> impl Iterator<Item = End> + use<> {
        (0..self.strokes.len()).flat_map(|stroke| [(stroke, false), (stroke, true)])
    }

    fn at(&self, (stroke, last): End) -> Point<Piece> {
        let points = &self.strokes[stroke].points;
        let end = if last { points.last() } else { points.first() };
        end.copied().unwrap_or_default()
    }

    /// The strokes from `start` on, each by the end it is entered at, and the
    /// loose end they lead to; none if they lead back to `start`.
    fn follow(&self, start: End) -> (Vec<End>, Option<End>) {
        let mut chain = vec![start];
        let mut at = start;
        loop {
            let far = (at.0, !at.1);
            match self.meets.get(&far) {
                None => return (chain, Some(far)),
                Some(&next) if next == start => return (chain, None),
                Some(&next) => at = next,
            }
            chain.push(at);
        }
    }

    /// The fault of a chain of strokes with two loose ends.
    fn open(&self, from: End, to: End) -> Fault {
        const JOIN: &str = "join its ends";
        for end in [to, from] {
            let p = self.at(end);
            let loose = self
                .ends()
                .filter(|other| *other != end && !self.meets.contains_key(other));
            let apart = loose.map(|other| (self.at(other), (self.at(other) - p).length()));
            let nearest = apart.reduce(|a, b| if b.1 < a.1 { b } else { a });
            if let Some((other, gap)) = nearest.filter(|&(_, gap)| gap <= MEANT) {
                let at = self.ground.say(p.lerp(other, 0.5));
                let gap = short(gap);
                return Fault::input(
                    format!("the outline is open: it has a gap of {gap} mm at {at}"),
                    JOIN,
                );
            }
        }
        let [from, to] = [from, to].map(|end| self.ground.say(self.at(end)));
        Fault::input(
            format!("the outline is open: it runs from {from} to {to}"),
            JOIN,
        )
    }
}
