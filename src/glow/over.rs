//! What lies over the lay for a moment: the pointer, what is being drawn,
//! marks that are asked for, the tape, samples, trouble, and words.

use super::cutting;
use super::edge::{say, signed};
use super::ground::{height_of, marks_matter};
use super::key_sheet;
use super::pen::{DASHED, Line, Pen};
use super::ruler;
use super::watch;
use super::{Glow, Trouble, guides};
use crate::calibration::cut_test::STRIP;
use crate::cloth::Panel;
use crate::measure::{self, Unit};
use crate::scene::{Figure, Level};
use crate::shape::{Region, bounds, offset};
use crate::space::{Point, Table, Vector};
use crate::stand::Side;
use crate::work::samples;
use crate::work::{Bench, Doing, Id, Said, Way};

/// What else the light has to say.
#[derive(Debug, Clone, Default)]
pub struct Notice {
    /// The last sentence, while it stands.
    pub said: Option<Said>,
    /// Sentences of the program: no keyboard, read-only, and the like.
    pub lines: Vec<String>,
    /// The list of keys, thrown on to the table.
    pub sheet: Vec<String>,
    /// The piece in hand is being found: its flash is on.
    pub flash: bool,
    /// The shade under the piece in hand, where it is known.
    pub shade: Option<String>,
    /// What a photo proposes: outlines on the table, and what each is.
    pub proposed: Vec<(Vec<Point<Table>>, String)>,
    /// What keeps the journal from being written.
    pub trouble: Option<String>,
    /// Lengths are said in inches.
    pub inches: bool,
}

impl Notice {
    fn unit(&self) -> Unit {
        if self.inches { Unit::Inch } else { Unit::Mm }
    }
}

/// Sentences about the piece in hand at most: the panel has them all.
const MOST_WRONG: usize = 2;

/// Letters in a line of what is said beside a piece, at most.
const ACROSS: usize = 40;

/// Half the line that shows how the warp runs, mm.
const WARP: f64 = 70.0;

/// Reach of the pointer's arms, and their width, mm.
const POINTER: (f64, f64) = (18.0, 1.6);

pub(super) fn over(glow: &mut Glow, bench: &Bench, notice: &Notice) -> Vec<Figure> {
    let ways = bench.ways();
    let side = ways.stands;
    let mut pen = Pen::default();
    // What else is said keeps off the keys.
    glow.keys = key_sheet::lay(glow, bench, &notice.sheet, &mut pen);
    pen.keep_off(glow.keys);
    if ways.way == Way::Dark && bench.doing().is_laying() {
        // Dark, but for what the program must say.
        let rest = Notice {
            shade: None,
            ..notice.clone()
        };
        say(glow, &mut pen, bench, &[], &rest);
        return pen.finish(0.0).into_iter().collect();
    }
    let level = guides(ways);
    let wrong = trouble_in_hand(glow, bench);
    for t in &wrong {
        if t.place.is_empty() {
            warp_through(bench, t.id, &mut pen, level);
        }
        pen.hatched(&t.place, level);
    }
    // In a round of notches it is the notch that flashes.
    let found = bench.held().filter(|_| bench.notch_in_round().is_none());
    if let (true, Some(pose)) = (notice.flash, found.and_then(|id| bench.pose(id))) {
        let ring = Region::disc(pose.shift.to_point(), 60.0);
        pen.outline(&ring, Line::Solid, 4.0, Level::FULL);
    }
    proposed(glow, &mut pen, notice, (side, level));
    let mut figures: Vec<Figure> = doing(glow, bench, notice, level).into_iter().collect();
    let mut asks = Vec::new();
    let mut rest = notice.clone();
    if let (Some(at), Some(mut prompt)) = (bench.doing().cutting(), bench.prompt()) {
        // What was said stands with what is asked for: there the eye is.
        if let (None, Some(said)) = (at.list, rest.said.take()) {
            let lines = measure::lines(&signed(&said), ACROSS);
            prompt.room.splice(0..0, lines.clone());
            prompt.lines.splice(0..0, lines);
        }
        figures.extend(cutting::cutting(glow, bench, at, notice.flash));
        // With the keys on the table all is said at the person's edge.
        let keys = glow.keys.is_some();
        if keys || !cutting::words(glow, bench, &prompt, &mut pen) {
            asks.extend(prompt.lines);
        }
    } else if let Some(words) = bench.ruler_asks(notice.unit()) {
        asks.extend(words);
    } else if !bench.doing().is_laying() {
        asks.push(bench.doing().asks(&bench.marks_in_work()));
    }
    // Hatching tells where, and not what.
    asks.extend(wrong.into_iter().take(MOST_WRONG).map(|t| t.sentence));
    say(glow, &mut pen, bench, &asks, &rest);
    figures.extend(pen.finish(0.0));
    figures.extend(pointer(bench, level));
    figures
}

/// What is wrong with the piece in hand.
fn trouble_in_hand(glow: &Glow, bench: &Bench) -> Vec<Trouble> {
    let Some(held) = bench.held() else {
        return Vec::new();
    };
    let about = |t: &&Trouble| t.id == held || t.other == Some(held);
    glow.trouble.iter().filter(about).cloned().collect()
}

/// What a photo proposes lies dashed on the table, each with its name.
fn proposed(glow: &mut Glow, pen: &mut Pen, notice: &Notice, (side, level): (Side, Level)) {
    for (ring, name) in &notice.proposed {
        let closed: Vec<_> = ring.iter().chain(ring.first()).copied().collect();
        pen.line(&closed, DASHED, 1.2, level);
        let seen = ring
            .iter()
            .map(|p| side.to_person(p.to_vector()).to_point());
        let Some(b) = bounds(seen) else { continue };
        let below = Vector::new(b.center().x, b.min.y - 14.0);
        pen.words(
            &mut glow.letters,
            std::slice::from_ref(name),
            side.to_table(below).to_point(),
            side,
        );
    }
}

/// How the warp runs, through the middle of a piece that is off it.
fn warp_through(bench: &Bench, id: Id, pen: &mut Pen, level: Level) {
    let panel = bench.state().placed.get(&id);
    let panel = panel.and_then(|p| bench.state().panel(&p.panel));
    let (Some(panel), Some(pose)) = (panel, bench.pose(id)) else {
        return;
    };
    let (sin, cos) = panel.grain_deg.to_radians().sin_cos();
    let along = panel.on_table.pose().vector(Vector::new(cos, sin)) * WARP;
    let middle = pose.shift.to_point();
    pen.line(&[middle - along, middle + along], DASHED, 1.2, level);
}

/// The pointer: light, or dark where all is lit.
fn pointer(bench: &Bench, level: Level) -> Option<Figure> {
    let at = bench.pointer()?;
    let side = bench.ways().stands;
    let mut pen = Pen::default();
    let (reach, width) = POINTER;
    if bench.ways().way == Way::Plain {
        pen.cross(at, side, reach, width, Level(-255));
    } else {
        pen.cross(at, side, reach, width, level);
    }
    pen.finish(under(bench, at).map_or(0.0, |p| height_of(bench, p)))
}

/// The panel that a place lies on.
fn under(bench: &Bench, at: Point<Table>) -> Option<&Panel> {
    bench.state().panels.iter().filter(|p| p.spread).find(|p| {
        let inside = crate::work::outline_on_table(p);
        inside.is_some_and(|o| o.contains(at))
    })
}

/// The strip of the cut test: a band, outside it as ever.
fn strip(pen: &mut Pen, at: Point<Table>, side: Side, band: f64, level: Level) {
    let [l, w] = STRIP.map(|mm| mm / 2.0);
    let corners = [(-l, -w), (l, -w), (l, w), (-l, w)];
    let corner = |(x, y)| at + side.to_table(Vector::new(x, y));
    let mut inside = Region::ring(corners.map(corner).to_vec());
    let mut lit = offset(&inside, band);
    inside.rings[0].reverse();
    lit.append(inside);
    pen.lit(lit, level);
}

/// What belongs to the activity.
fn doing(glow: &mut Glow, bench: &Bench, notice: &Notice, level: Level) -> Option<Figure> {
    let mut pen = Pen::default();
    pen.keep_off(glow.keys);
    let side = bench.ways().stands;
    let pointer = bench.pointer();
    let panel = bench.doing().panel().and_then(|p| bench.state().panel(p));
    let mut height = panel.map_or(0.0, |p| height_of(bench, p));
    if let Doing::Strip { at } = bench.doing() {
        let under = under(bench, *at);
        height = under.map_or(0.0, |p| height_of(bench, p));
    }
    if marks_matter(bench.doing()) {
        marks(glow, bench, &mut pen, level);
    }
    match bench.doing() {
        Doing::Drawing { corners, .. } => {
            let line: Vec<_> = corners.iter().copied().chain(pointer).collect();
            pen.line(&line, DASHED, 1.6, level);
            for &c in corners {
                pen.lit(Region::disc(c, 2.5), level);
            }
        }
        Doing::Warp { from, .. } | Doing::Edge { from } => {
            if let (Some(a), Some(b)) = (*from, pointer) {
                pen.line(&[a, b], Line::Solid, 1.2, level);
            }
        }
        Doing::Tape { from: Some(a), to } => {
            if let Some(b) = to.or(pointer) {
                tape(glow, &mut pen, [*a, b], notice.unit(), side, level);
            }
        }
        Doing::Lengths(_) => ruler::ruler(glow, bench, &mut pen, (notice.unit(), side, level)),
        Doing::Strip { at } => strip(&mut pen, *at, side, bench.ways().lit_width(), level),
        Doing::Checking { .. } => watch::crosses(bench, &mut pen, level),
        Doing::Samples { at } => {
            for (place, percent) in samples::places(*at, side) {
                let half = side.to_table(Vector::new(0.0, samples::LENGTH / 2.0));
                let level = Level((f64::from(percent) * 2.55).round() as i16);
                let width = bench.ways().band_mm;
                pen.line(&[place - half, place + half], Line::Solid, width, level);
                let foot = place - half * 1.35;
                pen.words(&mut glow.letters, &[percent.to_string()], foot, side);
            }
        }
        _ => {}
    }
    pen.finish(height)
}

/// The marks of the panel in work: the one that is asked for stands out.
fn marks(glow: &mut Glow, bench: &Bench, pen: &mut Pen, level: Level) {
    let side = bench.ways().stands;
    let Some(panel) = bench.doing().panel().and_then(|p| bench.state().panel(p)) else {
        return;
    };
    let before = panel.on_table.pose();
    let (asked, pointed) = match bench.doing() {
        Doing::Carrying { at, now, .. } => (Some(*at), now.clone()),
        _ => (None, Vec::new()),
    };
    let guess = bench.guessed_pose().unwrap_or(before);
    for (k, (name, cloth)) in bench.marks_in_work().into_iter().enumerate() {
        let seen = pointed.get(k).copied().flatten();
        let at = seen.unwrap_or_else(|| guess.point(cloth));
        let wanted = asked.is_none_or(|a| a == k);
        let level = if wanted || seen.is_some() {
            level
        } else {
            Level(level.0 / 3)
        };
        pen.cross(at, side, 12.0, 1.2, level);
        if asked == Some(k) {
            pen.outline(&Region::disc(at, 16.0), Line::Solid, 1.6, level);
        }
        if seen.is_some() {
            pen.outline(&Region::disc(at, 9.0), DASHED, 1.2, level);
        }
        let beside = side.to_table(Vector::new(26.0, 16.0));
        pen.words(&mut glow.letters, &[name], at + beside, side);
    }
}

/// A tape of light: its line, a tick at every 10 mm (or inch), its length.
fn tape(
    glow: &mut Glow,
    pen: &mut Pen,
    [a, b]: [Point<Table>; 2],
    unit: Unit,
    side: Side,
    level: Level,
) {
    let length = (b - a).length();
    if length < 1.0 {
        return;
    }
    let along = (b - a) / length;
    let across = Vector::new(-along.y, along.x);
    pen.line(&[a, b], Line::Solid, 0.8, level);
    let (step, every) = match unit {
        Unit::Inch => (25.4, 12),
        _ => (10.0, 10),
    };
    let count = ((length / step) as usize).min(2000);
    for k in 0..=count {
        let at = a + along * (step * k as f64);
        let long = if k % every == 0 { 9.0 } else { 5.0 };
        pen.line(&[at, at + across * long], Line::Solid, 0.8, level);
    }
    pen.line(
        &[b - across * 9.0, b + across * 9.0],
        Line::Solid,
        0.8,
        level,
    );
    let beside = a + along * (length / 2.0) - across * 18.0;
    pen.words(&mut glow.letters, &[unit.show(length)], beside, side);
}
