//! More marks than four: each is stuck down where the light proposes it, its cross is
//! moved onto it, and a tape says how far it lies from marks 1 to 4. The light gets surer
//! of its place, learns what the lens does, and can say how sure it is.

use super::typed::{Length, Typed};
use super::{Ended, Known, Setting, SettingReply, Step};
use crate::adjust::{Pair, fit as rigid};
use crate::calibration::Profile;
use crate::calibration::fit::{
    Believed, Choice, Fit, Form, HAND_PX, Places, Sighted, best, next_mark,
};
use crate::calibration::network::{Network, Reading};
use crate::calibration::table_marks::{Span, TAPE};
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;
use crate::space::{Point, Projector, Rigid, Table, Vector};
use nalgebra::DMatrix;
use std::cell::RefCell;
use std::rc::Rc;

/// A mark stands at three distances at least.
const NEEDED: usize = 3;

/// An edge that nobody read, because its opposite one was: standard deviation, mm
/// (estimate).
const ASSUMED: f64 = 5.0;

/// A cross that is proposed keeps so far inside the picture, px.
const INSIDE: f64 = 12.0;

/// A mark beyond the four.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct More {
    /// From marks 1 to 4.
    pub distances: [Option<Length>; 4],
    /// Its cross.
    pub at: Point<Projector>,
}

/// What a refined mapping is worked out from.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    marks: Option<[Point<Table>; 4]>,
    typed: Typed,
    crosses: [Point<Projector>; 4],
    more: Vec<More>,
    finest: f64,
}

/// The mapping worked out last: a page asks for it several times a frame. It is no part
/// of what setting has come to.
#[derive(Debug, Default)]
pub(super) struct Kept(RefCell<Option<(Key, Rc<Refined>)>>);

impl Clone for Kept {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl PartialEq for Kept {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

/// All marks, what is believed of them, and the mapping they make.
#[derive(Debug)]
pub(super) struct Refined {
    marks: Vec<Sighted>,
    believed: Believed,
    pub choice: Choice,
    /// The tape's readings one of which is likely a slip.
    again: Vec<String>,
}

impl Setting {
    /// The mark that is being set, counted from 1 with the four.
    pub(super) fn more_in_hand(&self) -> usize {
        4 + self.more.len()
    }

    /// Its distances so far.
    pub(super) fn distances(&self) -> Option<&[Option<Length>; 4]> {
        self.more.last().map(|m| &m.distances)
    }

    /// How true light is over the table by the marks so far, in words, and what one more
    /// would make it. Empty before the marks are set.
    pub(super) fn surer(&self) -> Vec<String> {
        let Ok(refined) = self.refined(&self.set()) else {
            return Vec::new();
        };
        let n = refined.marks.len();
        let show = |mm: f64| self.show_error(mm);
        let Some((_, [now, with])) = self.proposed(&refined) else {
            return Vec::new();
        };
        let lens = match refined.choice.fit.form {
            Form::Plane => ", and nothing is known of what the lens bends",
            _ => ", with what the lens bends",
        };
        vec![format!(
            "by {n} marks light is true to {} over the table (typical miss across a line){lens}; \
             one more would make it {}",
            show(now),
            show(with)
        )]
    }

    /// How true light is at some places of the table, mm, as standard errors across a
    /// line; empty before the marks are set.
    pub fn true_to(&self) -> Vec<(Point<Table>, f64)> {
        let Ok(refined) = self.refined(&self.set()) else {
            return Vec::new();
        };
        let field = refined.choice.fit.field(&refined.marks);
        let m = refined.marks.iter().take(4).map(|m| m.table);
        let [a, b, c, d] = m.collect::<Vec<_>>()[..] else {
            return Vec::new();
        };
        let shares = (0..4).flat_map(|r| (0..5).map(move |c| [c, r].map(f64::from)));
        let places = shares.map(|[u, v]| {
            let (u, v) = (0.08 + 0.21 * u, 0.08 + 0.28 * v);
            a.lerp(b, u).lerp(d.lerp(c, u), v)
        });
        places.filter_map(|p| Some((p, field.across(p)?))).collect()
    }

    /// An error, in words: sixteenths are too coarse for one.
    pub fn show_error(&self, mm: f64) -> String {
        match self.unit() {
            Unit::Inch => format!("{:.3} in", mm / Unit::Inch.mm()),
            _ => format!("{mm:.2} mm"),
        }
    }

    /// Over to another mark: the light proposes where.
    pub(super) fn begin_more(&mut self) -> Outcome<SettingReply> {
        self.propose()?;
        let known = self.known.clone();
        self.go(Step::More, known);
        Ok(SettingReply::default())
    }

    fn propose(&mut self) -> Outcome<SettingReply> {
        self.field = 0;
        self.refused.clear();
        self.doubt = false;
        self.pace = super::Pace::default();
        let refined = self.refined(&self.set())?;
        let before = self.more_before.get(self.more.len()).copied();
        let place = before.or_else(|| self.proposed(&refined).map(|(place, _)| place));
        let to = place.and_then(|p| refined.choice.fit.mapping.pixel(p, 0.0));
        let [w, h] = self.start.picture.map(f64::from);
        let corner = Point::new(INSIDE, INSIDE);
        let to = to.map(|q| q.clamp(corner, Point::new(w - INSIDE, h - INSIDE)));
        let (four, unit) = (self.known.marks, self.unit());
        let known = |k: usize| Some(Length::known((before? - four?[k]).length(), unit));
        self.more.push(More {
            distances: std::array::from_fn(known),
            at: to.unwrap_or(Point::new(w / 2.0, h / 2.0)),
        });
        Ok(SettingReply::default())
    }

    /// What is known of where one more mark helps most: over the table as far as the
    /// marks and the light reach.
    fn proposed(&self, refined: &Refined) -> Option<(Point<Table>, [f64; 2])> {
        let fit = &refined.choice.fit;
        let [w, h] = self.start.picture.map(f64::from);
        let inset = INSIDE;
        let corners = [
            (inset, inset),
            (w - inset, inset),
            (w - inset, h - inset),
            (inset, h - inset),
        ];
        let lit = corners
            .iter()
            .filter_map(|&c| fit.mapping.place(Point::from(c)));
        let lit: Vec<Point<Table>> = lit.collect();
        let marks: Vec<Point<Table>> = refined.marks.iter().map(|m| m.table).collect();
        // The lit quadrangle's inner box, or the marks' if they reach further.
        let mid = |mut v: Vec<f64>, k: usize| {
            v.sort_by(f64::total_cmp);
            v.get(k).copied()
        };
        let x: Vec<f64> = lit.iter().map(|p| p.x).collect();
        let y: Vec<f64> = lit.iter().map(|p| p.y).collect();
        let from: Point<Table> = Point::new(mid(x.clone(), 1)?, mid(y.clone(), 1)?);
        let to: Point<Table> = Point::new(mid(x, 2)?, mid(y, 2)?);
        let low = |a: f64, f: fn(&Point<Table>) -> f64| marks.iter().map(f).fold(a, f64::min);
        let high = |a: f64, f: fn(&Point<Table>) -> f64| marks.iter().map(f).fold(a, f64::max);
        let table = [
            Point::new(low(from.x, |m| m.x), low(from.y, |m| m.y)),
            Point::new(high(to.x, |m| m.x), high(to.y, |m| m.y)),
        ];
        next_mark(fit, &marks, &refined.believed, table)
    }

    /// The mark in hand is set and measured; with nothing typed, that was all.
    pub(super) fn more_done(&mut self) -> Outcome<SettingReply> {
        let Some(last) = self.more.last() else {
            return self.more_over();
        };
        let number = self.more_in_hand();
        let typed = last.distances.iter().flatten().count();
        if typed == 0 {
            return self.more_over();
        }
        if typed < NEEDED {
            let free = last.distances.iter().position(Option::is_none);
            self.field = free.unwrap_or(0);
            return Err(Fault::input(
                format!("mark {number} stands by three distances or more"),
                "measure it from one more of the marks 1 to 4",
            ));
        }
        let all: Vec<&More> = self.more.iter().collect();
        let refined = self.refined(&all)?;
        if !refined.again.is_empty() && !self.doubt {
            self.doubt = true;
            return Ok(SettingReply::warning(format!(
                "the tape's readings do not go together; take again: {}. Go on, and it is kept all \
                 the same",
                refined.again.join(", ")
            )));
        }
        let name = format!("mark {number}");
        let fit = &refined.choice.fit;
        let worst = fit.slip().map(|k| &fit.marks[k]);
        let said = match worst.and_then(|m| Some((&m.name, m.left_out_mm()?))) {
            Some((name, mm)) => SettingReply::warning(format!(
                "{name} looks set on the wrong place, {} off: take it out, or set and measure it \
                 again",
                self.show_error(mm)
            )),
            None => SettingReply::saying(format!("{name} is set")),
        };
        self.step = Step::Done;
        self.propose()?;
        self.step = Step::More;
        Ok(said)
    }

    /// That was all: the profile is the mapping of all marks.
    pub(super) fn more_over(&mut self) -> Outcome<SettingReply> {
        // The one in hand was not gone on from.
        let refined = self.refined(&self.set())?;
        let known = match self.set().is_empty() {
            true => self.known.clone(),
            false => self.with_all(&refined)?,
        };
        self.more.pop();
        // Back where more marks were asked for.
        self.past.pop();
        self.step = Step::Done;
        self.known = known;
        self.field = 0;
        self.refused.clear();
        let words = self.surer();
        Ok(match words.first() {
            Some(words) => SettingReply::saying(words.clone()),
            None => SettingReply::default(),
        })
    }

    /// The table is set, by all its marks.
    pub(super) fn set_with_all(&mut self) -> Outcome<SettingReply> {
        let refined = self.refined(&self.set())?;
        self.known = self.with_all(&refined)?;
        Ok(SettingReply::ending(Ended::Set))
    }

    fn with_all(&self, refined: &Refined) -> Outcome<Known> {
        let Refined {
            marks,
            believed,
            choice,
            ..
        } = refined;
        let mirror = self.known.mirror;
        let made = Profile::of_fit(&choice.fit, marks, believed, self.start.picture, mirror)?;
        let before = self.known.profile.clone();
        let profile = Profile {
            output: Some(self.start.output.clone()),
            effective_px: self.known.effective,
            least_code: self.known.least_code,
            colour_lines_clean: self.known.colours_clean,
            checked: before.as_ref().and_then(|p| p.checked),
            lens_place: before.as_ref().and_then(|p| p.lens_place),
            ..made
        };
        profile.mapping()?;
        Ok(Known {
            profile: Some(profile),
            ..self.known.clone()
        })
    }

    /// Takes out the mark that was set last.
    pub(super) fn less(&mut self) -> Outcome<SettingReply> {
        self.more.pop();
        let words = match self.more.pop() {
            Some(_) => format!("mark {} is out", 5 + self.more.len()),
            None => "no mark but the four is set".to_owned(),
        };
        // What is proposed follows from the marks that are left.
        self.step = Step::Done;
        self.propose()?;
        self.step = Step::More;
        Ok(SettingReply::saying(words))
    }

    /// The marks beyond the four that are set and measured: all but the one in hand.
    fn set(&self) -> Vec<&More> {
        let in_hand = usize::from(self.step == Step::More);
        let done = self.more.len().saturating_sub(in_hand);
        self.more[..done].iter().collect()
    }

    /// The mapping of the four marks and these; not worked out again while they stay.
    fn refined(&self, more: &[&More]) -> Outcome<Rc<Refined>> {
        let key = Key {
            marks: self.known.marks,
            typed: self.typed.clone(),
            crosses: self.crosses,
            more: more.iter().map(|m| (*m).clone()).collect(),
            finest: self.finest(),
        };
        if let Some((of, refined)) = &*self.refined.0.borrow()
            && *of == key
        {
            return Ok(Rc::clone(refined));
        }
        let refined = Rc::new(self.work_out(more)?);
        *self.refined.0.borrow_mut() = Some((key, Rc::clone(&refined)));
        Ok(refined)
    }

    /// Finer than a sent pixel by this, where the projector rescales.
    fn finest(&self) -> f64 {
        self.known.profile.as_ref().map_or(1.0, Profile::finest)
    }

    fn work_out(&self, more: &[&More]) -> Outcome<Refined> {
        let missing = || Fault::input("the marks are not set yet", "go back and read them");
        let four = self.known.marks.ok_or_else(missing)?;
        let mut net = Network {
            names: (1..=4 + more.len()).map(|k| format!("mark {k}")).collect(),
            readings: Vec::new(),
            lines: Vec::new(),
        };
        let tape = self.typed.tape();
        for span in Span::ALL {
            let [from, to] = span.ends();
            // What was not read follows from where the marks were said to be.
            let read = tape.get(span).filter(|_| !self.typed.by_places);
            let mm = read.unwrap_or((four[to] - four[from]).length());
            // Opposite edges are taken to be equal where only one was read.
            let sigma = if read.is_some() || self.typed.by_places {
                TAPE
            } else {
                ASSUMED
            };
            net.readings.push(Reading {
                from,
                to,
                mm,
                sigma,
            });
        }
        for (k, m) in more.iter().enumerate() {
            for (from, d) in m.distances.iter().enumerate() {
                if let Some(d) = d {
                    net.readings.push(Reading {
                        from,
                        to: 4 + k,
                        mm: d.mm,
                        sigma: TAPE,
                    });
                }
            }
        }
        let adjusted = net.adjust()?;
        // Onto the table as the four marks have it.
        let pairs: Vec<Pair> = (0..4)
            .map(|k| Pair {
                from: adjusted.marks[k].to_array(),
                to: four[k].to_array(),
                sigma_from: net.sigma(),
                sigma_to: net.sigma(),
            })
            .collect();
        let turn = rigid(&pairs).map_err(|_| missing())?;
        let [x, y] = turn.shift;
        let motion: Rigid<Table, Table> = Rigid::new(false, turn.turn, Vector::new(x, y));
        let pixels = self
            .crosses
            .iter()
            .copied()
            .chain(more.iter().map(|m| m.at));
        let marks: Vec<Sighted> = (adjusted.marks.iter().zip(pixels).enumerate())
            .map(|(k, (p, pixel))| Sighted {
                name: net.names[k].clone(),
                table: motion.point(*p),
                pixel,
            })
            .collect();
        let n = 2 * marks.len();
        let (sin, cos) = turn.turn.sin_cos();
        let r = DMatrix::from_fn(n, n, |a, b| match (a / 2 == b / 2, a % 2, b % 2) {
            (false, ..) => 0.0,
            (_, 0, 0) | (_, 1, 1) => cos,
            (_, 0, _) => -sin,
            _ => sin,
        });
        let believed = Believed {
            hand_px: HAND_PX * self.finest(),
            places: Places::Covariance(&r * adjusted.covariance.clone() * r.transpose()),
        };
        let choice = if more.is_empty() {
            Choice {
                fit: Fit::new(&marks, self.start.picture, &believed, Form::Plane)?,
                because: String::new(),
            }
        } else {
            best(&marks, self.start.picture, &believed, &[])?
        };
        let read = |k: &&usize| net.readings[**k].sigma <= TAPE;
        let again = adjusted.again.iter().filter(read);
        let again = again.map(|k| net.name(*k)).collect();
        Ok(Refined {
            marks,
            believed,
            choice,
            again,
        })
    }

    /// The marks beyond the four of the earlier profile are set anew, one by one, where the
    /// four lie as they did.
    pub(super) fn more_as_before(&mut self) {
        let earlier = self.earlier.as_ref().map_or(&[][..], |p| &p.marks);
        let beyond = earlier.iter().skip(4);
        self.more_before = beyond.map(|m| m.table_mm.into()).collect();
    }
}
