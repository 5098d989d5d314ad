//! A draft worked out: each point, line and length once, when it is first asked for, so
//! that the order of the rows does not matter.

use std::cell::{Cell, RefCell};
use std::collections::{BTreeSet, HashMap};
use std::rc::Rc;

use kurbo::{Affine, Point, Vec2};

use super::Draft;
use super::curve::{Curve, SAME, left};
use super::decl::{Heading, LengthMake, Way, Where};
use super::formula::{Formula, Quantity, Term, Wanted};
use super::names::{Path, PointRef};
use crate::fault::{Fault, Outcome, short};

/// So many stretches has no line of a pattern.
const MOST_STRETCHES: usize = 10_000;

/// As straight steps, so many are followed wherever lines meet.
const MOST_STEPS: usize = 200_000;

/// So many things may wait for one another, searches and all; more would fill the stack.
/// A draft whose rows stand in the order of drawing stays far below.
pub const DEEPEST: usize = 60;

/// Farther out than this nothing is drawn, mm (the longest length that is read).
const FAR: f64 = 1e6;

#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Key {
    Point(PointRef),
    Path(Path),
    Length(usize),
}

#[derive(Clone)]
pub enum Found {
    Busy,
    Point(Point),
    Line(Rc<Curve>),
    Value(Quantity),
}

/// What was known where a search began: its tries look it up there, and copy nothing.
pub struct Outer<'d> {
    pub known: &'d HashMap<Key, Found>,
    pub outer: Option<&'d Outer<'d>>,
}

impl Outer<'_> {
    /// What is waited for there is not known here.
    fn get(&self, key: &Key) -> Option<&Found> {
        match self.known.get(key) {
            None | Some(Found::Busy) => self.outer?.get(key),
            found => found,
        }
    }
}

/// What is known so far.
pub struct Eval<'d> {
    pub draft: &'d Draft,
    /// One for each of the draft's measures, mm.
    pub values: &'d [f64],
    pub known: HashMap<Key, Found>,
    pub outer: Option<&'d Outer<'d>>,
    pub waiting: Vec<Key>,
    /// How many more wait in the searches that this is a part of.
    pub outside: usize,
    /// Tries so far, here and in the searches that this is a part of.
    pub tries: Rc<Cell<usize>>,
    /// The measures that were asked for, likewise.
    pub asked: Rc<RefCell<BTreeSet<usize>>>,
}

impl<'d> Eval<'d> {
    pub fn new(draft: &'d Draft, values: &'d [f64]) -> Self {
        Self {
            draft,
            values,
            known: HashMap::new(),
            outer: None,
            waiting: Vec::new(),
            outside: 0,
            tries: Rc::default(),
            asked: Rc::default(),
        }
    }

    fn called(&self, key: Key) -> String {
        let piece = |p: usize| &self.draft.pieces[p];
        match key {
            Key::Point((p, k)) => format!("{}: {}", piece(p).name, piece(p).points[k].name),
            Key::Length(k) => self.draft.lengths[k].name.clone(),
            Key::Path(Path::Line(p, k)) => format!("{}: {}", piece(p).name, piece(p).lines[k].name),
            Key::Path(Path::Edge(p, k) | Path::Image(p, k) | Path::Whole(p, k)) => {
                format!("{}: {}", piece(p).name, piece(p).edges[k].name)
            }
            Key::Path(Path::Between((p, a), (_, b))) => {
                format!("{} to {}", piece(p).points[a].name, b + 1)
            }
        }
    }

    /// What `key` is, worked out by `make` if it is not known yet.
    fn once(&mut self, key: Key, make: impl FnOnce(&mut Self) -> Outcome<Found>) -> Outcome<Found> {
        let outside = || self.outer?.get(&key);
        match self.known.get(&key).or_else(outside) {
            Some(Found::Busy) => {
                let from = self.waiting.iter().position(|k| *k == key).unwrap_or(0);
                let mut round: Vec<String> = self.waiting[from..]
                    .iter()
                    .map(|k| self.called(*k))
                    .collect();
                round.dedup();
                if round.len() > 8 {
                    round.splice(4..round.len() - 3, ["…".to_owned()]);
                }
                return Err(Fault::input(
                    format!("these need each other: {}", round.join(", ")),
                    "draw one of them from something else",
                ));
            }
            Some(found) => return Ok(found.clone()),
            None => {}
        }
        if self.outside + self.waiting.len() >= DEEPEST {
            return Err(Fault::input(
                format!("more than {DEEPEST} rows wait for one another"),
                "put the rows in the order in which they are drawn",
            ));
        }
        self.known.insert(key, Found::Busy);
        self.waiting.push(key);
        let found = make(self)?;
        self.waiting.pop();
        self.known.insert(key, found.clone());
        Ok(found)
    }

    /// A named length's value, or number.
    fn named(&mut self, k: usize) -> Outcome<Quantity> {
        let decl = &self.draft.lengths[k];
        let found = self.once(Key::Length(k), |e| {
            let value = match &decl.make {
                LengthMake::Is(formula) => e.quantity(formula),
                LengthMake::Until {
                    until,
                    is,
                    least,
                    most,
                } => e.search(k, until, is, [least, most]),
            };
            decl.at.within(value).map(Found::Value)
        })?;
        match found {
            Found::Value(q) => Ok(q),
            _ => Err(lost()),
        }
    }

    /// What a formula comes to.
    pub fn quantity(&mut self, formula: &Formula) -> Outcome<Quantity> {
        formula.value(|term| match term {
            Term::Is(q) => Ok(q),
            Term::Measure(k) => {
                self.asked.borrow_mut().insert(k);
                Ok(Quantity::length(self.values[k]))
            }
            Term::Length(k) => self.named(k),
            Term::LengthOf(path) => Ok(Quantity::length(self.line(path)?.length())),
            Term::Distance(a, b) => {
                let (a, b) = (self.point(a)?, self.point(b)?);
                Ok(Quantity::length((b - a).hypot()))
            }
        })
    }

    /// A formula that must be a length, mm.
    pub fn length(&mut self, formula: &Formula) -> Outcome<f64> {
        let q = self.quantity(formula)?;
        formula.expect(q, Wanted::Length)
    }

    /// A formula that must be a plain number.
    pub fn number(&mut self, formula: &Formula) -> Outcome<f64> {
        let q = self.quantity(formula)?;
        formula.expect(q, Wanted::Number)
    }

    /// How far along `whole` mm a formula is: a length, or a share of it.
    pub fn along(&mut self, formula: &Formula, whole: f64, back: bool) -> Outcome<f64> {
        let s = match self.quantity(formula)? {
            Quantity::Of { value, power: 0 } => value * whole,
            q => formula.expect(q, Wanted::Length)?,
        };
        let past = (s - whole).max(-s);
        if past > SAME {
            return Err(Fault::input(
                format!(
                    "\"{}\" is {} mm, beyond the end of the line, which is {} mm long",
                    formula.text,
                    short(s),
                    short(whole)
                ),
                format!("take {} mm off, or draw the line longer", short(past)),
            ));
        }
        let s = s.clamp(0.0, whole);
        Ok(if back { whole - s } else { s })
    }

    /// A point, in its piece.
    pub fn point(&mut self, at: PointRef) -> Outcome<Point> {
        let decl = &self.draft.pieces[at.0].points[at.1];
        let found = self.once(Key::Point(at), |e| {
            let found = decl.at.within(e.draw_point(&decl.make))?;
            if !(found.x.abs() < FAR && found.y.abs() < FAR) {
                return Err(decl.at.fault(
                    "the point lies more than a kilometre away",
                    "check its lengths",
                ));
            }
            Ok(Found::Point(found))
        })?;
        match found {
            Found::Point(p) => Ok(p),
            _ => Err(lost()),
        }
    }

    /// A line, an edge, or two points' straight line.
    pub fn line(&mut self, path: Path) -> Outcome<Rc<Curve>> {
        let found = self.once(Key::Path(path), |e| e.draw_path(path))?;
        match found {
            Found::Line(line) => Ok(line),
            _ => Err(lost()),
        }
    }

    fn draw_path(&mut self, path: Path) -> Outcome<Found> {
        let draft = self.draft;
        let (curve, at): (_, &Where) = match path {
            Path::Between(a, b) => {
                let ends = [self.point(a)?, self.point(b)?];
                let straight = Curve::straight(&ends);
                let name = &draft.pieces[a.0].points[a.1].name;
                return straight.map(|c| Found::Line(Rc::new(c))).ok_or_else(|| {
                    Fault::input(
                        format!("\"{name}\" and the other point are one place"),
                        "move one of them",
                    )
                });
            }
            Path::Line(p, k) => {
                let decl = &draft.pieces[p].lines[k];
                (self.draw_line(&decl.make), &decl.at)
            }
            Path::Edge(p, k) => {
                let decl = &draft.pieces[p].edges[k];
                (self.draw_line(&decl.make), &decl.at)
            }
            Path::Image(p, k) => {
                let at = &draft.pieces[p].edges[k].at;
                (self.image(p, k), at)
            }
            Path::Whole(p, k) => {
                let at = &draft.pieces[p].edges[k].at;
                (self.whole(p, k), at)
            }
        };
        at.within(curve.and_then(sane))
            .map(|c| Found::Line(Rc::new(c)))
    }

    /// The line about which a piece is mirrored: a point of it, and its unit direction.
    pub fn axis(&mut self, p: usize) -> Outcome<Option<(Point, Vec2)>> {
        let piece = &self.draft.pieces[p];
        let Some([a, b]) = piece.mirror else {
            return Ok(None);
        };
        let (a, b) = (self.point(a)?, self.point(b)?);
        if (b - a).hypot() < SAME {
            return Err(piece
                .at
                .fault("it is mirrored about two points that are one", "move one"));
        }
        Ok(Some((a, (b - a).normalize())))
    }

    fn image(&mut self, p: usize, k: usize) -> Outcome<Curve> {
        let drawn = self.line(Path::Edge(p, k))?;
        let Some((at, along)) = self.axis(p)? else {
            return Err(lost());
        };
        drawn.moved(mirror(at, along)).ok_or_else(lost)
    }

    /// An edge and its image across the middle, in the drawn edge's direction.
    fn whole(&mut self, p: usize, k: usize) -> Outcome<Curve> {
        let drawn = self.line(Path::Edge(p, k))?;
        let image = self.image(p, k)?.reversed();
        if (drawn.end() - image.start()).hypot() <= SAME {
            Ok((*drawn).clone().then(&image))
        } else if (image.end() - drawn.start()).hypot() <= SAME {
            Ok(image.then(&drawn))
        } else {
            Err(Fault::input(
                "neither end of it lies on the line about which the piece is mirrored",
                "end it there, or leave \"whole\" out",
            ))
        }
    }

    /// The unit vector of a direction at a place.
    pub fn heading(&mut self, heading: &Heading, at: Point) -> Outcome<Vec2> {
        let toward = |e: &mut Self, p: PointRef, sign: f64| {
            let to = e.point(p)?;
            if (to - at).hypot() < 1e-6 {
                let name = &e.draft.pieces[p.0].points[p.1].name;
                return Err(Fault::input(
                    format!("\"{name}\" is where the line starts, so it gives no direction"),
                    "name another point",
                ));
            }
            Ok((to - at).normalize() * sign)
        };
        let u = match heading.way {
            // The plain directions exactly, so that what is level stays level.
            Way::Degrees(d) if d % 90.0 == 0.0 => {
                let quarter = (d / 90.0).rem_euclid(4.0) as usize;
                [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][quarter.min(3)].into()
            }
            Way::Degrees(d) => Vec2::from_angle(d.to_radians()),
            Way::Towards(p) => toward(self, p, 1.0)?,
            Way::AwayFrom(p) => toward(self, p, -1.0)?,
            Way::Along(path) | Way::SquareTo(path) => {
                let line = self.line(path)?;
                let u = line.at(line.nearest(at).0).1;
                if matches!(heading.way, Way::SquareTo(_)) {
                    left(u)
                } else {
                    u
                }
            }
        };
        match &heading.turn {
            None => Ok(u),
            Some(turn) => {
                let (sin, cos) = self.number(turn)?.to_radians().sin_cos();
                Ok(u * cos + left(u) * sin)
            }
        }
    }
}

/// Mirrored about the line through `at` along the unit vector `u`.
pub fn mirror(at: Point, u: Vec2) -> Affine {
    let (c, s) = (u.x * u.x - u.y * u.y, 2.0 * u.x * u.y);
    let turn = Affine::new([c, s, s, -c, 0.0, 0.0]);
    Affine::translate(at.to_vec2()) * turn * Affine::translate(-at.to_vec2())
}

/// What was worked out is of another kind than its key.
pub fn lost() -> Fault {
    Fault::mistake("a row of the draft was lost")
}

/// Lines that are joined, or pulled, over and over grow without end.
///
/// # Errors
/// If a line is longer, or has more stretches, than any pattern's.
fn sane(line: Curve) -> Outcome<Curve> {
    let (stretches, km) = (line.stretches(), line.length() / 1e6);
    let steps = line.flat_points();
    if stretches <= MOST_STRETCHES && km <= 1.0 {
        return match steps <= MOST_STEPS {
            true => Ok(line),
            false => Err(Fault::input(
                format!("the line bends over {steps} steps; at most {MOST_STEPS} are drawn"),
                "draw it smaller, or join fewer lines",
            )),
        };
    }
    Err(match km > 1.0 {
        true => Fault::input(
            "the line is longer than a kilometre",
            "check its points and how far it is pulled",
        ),
        false => Fault::input(
            format!("the line has {stretches} stretches; at most {MOST_STRETCHES} are drawn"),
            "join fewer lines",
        ),
    })
}
