//! What is cut by length, laid along a ruler of light: each mark lit, the cut at the end.

use super::act::{Act, Reply, Touched};
use super::bench::Bench;
use super::doing::Doing;
use crate::measure::Unit;
use crate::order::{Tape, TapeMark, TapeMarkIs};
use crate::shape::bounds;
use crate::space::{Bounds, Point, Table, Vector};
use crate::stand::Person;

/// The ruler lies so far within the light, mm.
const WITHIN: f64 = 25.0;

/// Where it is sought: so many sixteenths of the table's depth from the person's edge, at
/// which the words stand.
const NEAR: std::ops::RangeInclusive<u8> = 3..=8;

/// A ruler shorter than this serves nobody, mm.
const SHORTEST: f64 = 100.0;

/// Which tape is laid, and how much of it is done.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Laying {
    /// Among all that is cut by length, from 0.
    pub at: usize,
    /// The ruler begins so far along the tape, mm.
    pub from: f64,
}

/// A ruler as it is lit.
#[derive(Debug, Clone, PartialEq)]
pub struct Ruler<'a> {
    pub article: &'a str,
    pub tape: &'a Tape,
    /// Where it begins, and which way it runs: to the person's right.
    pub start: Point<Table>,
    pub along: Vector<Table>,
    /// The stretch of the tape that it shows, mm from the tape's start.
    pub from: f64,
    pub to: f64,
}

fn is_seam(mark: &TapeMark) -> bool {
    matches!(mark.is, TapeMarkIs::Seam(_))
}

/// What a seam on a ruler is called there, from 0: names of edges are too long.
fn seam_sign(k: usize) -> String {
    format!("seam {}", k + 1)
}

impl Ruler<'_> {
    /// The marks on it, each with what it is called there: a seam by its number.
    pub fn signs(&self) -> Vec<(&TapeMark, String)> {
        let mut seams = 0;
        let sign = |m| {
            if !is_seam(m) {
                return (m, m.is.words().to_owned());
            }
            seams += 1;
            (m, seam_sign(seams - 1))
        };
        self.marks().map(sign).collect()
    }

    /// The marks on it.
    pub fn marks(&self) -> impl Iterator<Item = &TapeMark> {
        let on = |m: &&TapeMark| m.at >= self.from - 1e-9 && m.at <= self.to + 1e-9;
        self.tape.marks.iter().filter(on)
    }

    /// A place of the tape on the table.
    pub fn place(&self, at: f64) -> Point<Table> {
        self.start + self.along * (at - self.from)
    }

    /// Whether the tape ends on it.
    pub fn ends(&self) -> bool {
        self.to >= self.tape.total - 1e-9
    }

    /// Where the next ruler begins: at the last mark of this one, so that the tape is found
    /// again by it, else at its end.
    fn next(&self) -> f64 {
        let marks = self.marks().map(|m| m.at);
        let last = marks.filter(|at| *at > self.from + SHORTEST).last();
        last.unwrap_or(self.to)
    }
}

impl Bench {
    /// What is cut by length, by article.
    pub fn set_tapes(&mut self, tapes: Vec<(String, Tape)>) {
        self.tapes = tapes;
    }

    /// What is cut by length, by article.
    pub fn tapes(&self) -> &[(String, Tape)] {
        &self.tapes
    }

    pub(super) fn lay_tapes(&mut self) -> Reply {
        if self.tapes.is_empty() {
            return Reply::refused("nothing of this order is cut by length");
        }
        if self.ruler_room().is_none() {
            return Reply::refused(
                "there is no room in the light for a ruler: clear a strip along the table",
            );
        }
        self.doing = Doing::Lengths(Laying::default());
        Reply::touching(Touched::All)
    }

    /// The ruler that is lit now.
    pub fn ruler(&self) -> Option<Ruler<'_>> {
        let Doing::Lengths(at) = &self.doing else {
            return None;
        };
        let (article, tape) = self.tapes.get(at.at)?;
        let (start, along, long) = self.ruler_room()?;
        Some(Ruler {
            article,
            tape,
            start,
            along,
            from: at.from,
            to: (at.from + long).min(tape.total),
        })
    }

    /// The longest line of light along the person's edge, beyond what is said there and within
    /// the table's marks: where it begins, its direction, its length.
    fn ruler_room(&self) -> Option<(Point<Table>, Vector<Table>, f64)> {
        let reach = self.lit.reach()?;
        let side = self.ways().stands;
        let to_person = |p: &Point<Table>| side.to_person(p.to_vector()).to_point();
        let lit = bounds(reach.rings.iter().flatten().map(to_person))?;
        // Light may fall beside the table; its marks lie on it.
        let marked = bounds(self.watch.marks().iter().map(to_person));
        let marked = marked.filter(|m: &Bounds<Person>| m.width() > SHORTEST);
        let b = marked.map_or(lit, |m| m.intersection(&lit).unwrap_or(lit));
        let holds = |x: f64, y: f64| {
            let at = |dy: f64| side.to_table(Vector::new(x, y + dy)).to_point();
            reach.contains(at(-WITHIN)) && reach.contains(at(WITHIN))
        };
        let lines = NEAR.filter_map(|k| {
            let y = b.min.y + b.height() * f64::from(k) / 16.0;
            let middle = b.center().x;
            if !holds(middle, y) {
                return None;
            }
            let end = |edge: f64| {
                if holds(edge, y) {
                    return edge;
                }
                let (mut in_it, mut out) = (middle, edge);
                for _ in 0..40 {
                    let half = f64::midpoint(in_it, out);
                    match holds(half, y) {
                        true => in_it = half,
                        false => out = half,
                    }
                }
                in_it
            };
            let (left, right) = (end(b.min.x) + WITHIN, end(b.max.x) - WITHIN);
            Some((left, y, right - left))
        });
        // The nearest of those that are hardly shorter than the longest.
        let lines: Vec<(f64, f64, f64)> = lines.collect();
        let most = lines.iter().map(|l| l.2).fold(0.0, f64::max);
        let (x, y, long) = lines.into_iter().find(|l| l.2 >= 0.95 * most)?;
        let start = side.to_table(Vector::new(x, y)).to_point();
        (long >= SHORTEST).then(|| (start, side.to_table(Vector::new(1.0, 0.0)), long))
    }

    /// Answers while tapes are laid; hands back what is not about them.
    pub(super) fn while_laying_tapes(&mut self, act: Act) -> Result<Reply, Act> {
        let Doing::Lengths(at) = self.doing else {
            return match act {
                Act::Lengths => Ok(match self.doing {
                    Doing::Laying => self.lay_tapes(),
                    _ => Reply::refused("finish what is being done first, or leave it (Esc)"),
                }),
                act => Err(act),
            };
        };
        let count = self.tapes.len();
        let next = match act {
            Act::Lengths => return Ok(Reply::default()),
            Act::Leave => {
                self.doing = Doing::Laying;
                return Ok(Reply::touching(Touched::All));
            }
            Act::Finish | Act::Press => match self.ruler() {
                Some(ruler) if !ruler.ends() => Laying {
                    from: ruler.next(),
                    ..at
                },
                _ if at.at + 1 < count => Laying {
                    at: at.at + 1,
                    from: 0.0,
                },
                _ => {
                    self.doing = Doing::Laying;
                    return Ok(Reply::touching(Touched::All).saying("all lengths are laid"));
                }
            },
            Act::BackUp if at.from > 0.0 => Laying { from: 0.0, ..at },
            Act::Next | Act::Previous | Act::BackUp => {
                let by = if act == Act::Next { 1 } else { count - 1 };
                Laying {
                    at: (at.at + by) % count,
                    from: 0.0,
                }
            }
            act => return Err(act),
        };
        self.doing = Doing::Lengths(next);
        Ok(Reply::touching(Touched::All))
    }

    /// What the person is asked to do with the tape in hand.
    pub fn ruler_asks(&self, unit: Unit) -> Option<Vec<String>> {
        let ruler = self.ruler()?;
        let tape = ruler.tape;
        let from = tape
            .cloth
            .as_deref()
            .map_or(String::new(), |c| format!(" of {c}"));
        let times = match tape.count {
            1 => String::new(),
            n => format!("{n} x "),
        };
        let mut lines = vec![format!(
            "{times}{} {}{from}: {}",
            tape.name,
            ruler.article,
            unit.show(tape.total)
        )];
        if ruler.from > 0.0 {
            lines.push(format!(
                "lay it so that {} is at the start",
                unit.show(ruler.from)
            ));
        }
        for (k, mark) in ruler.marks().filter(|m| is_seam(m)).enumerate() {
            lines.push(format!("{}: {}", seam_sign(k), mark.is.words()));
        }
        lines.push(match ruler.ends() {
            true => "mark it at each line, cut at the double line".to_owned(),
            false => "mark it at each line; it goes on".to_owned(),
        });
        Some(lines)
    }
}
