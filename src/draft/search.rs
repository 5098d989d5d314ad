//! A length that is searched for: tried until what depends on it comes out right.

use std::collections::HashMap;
use std::rc::Rc;

use super::decl::LengthMake;
use super::eval::{Eval, Found, Key, Outer};
use super::formula::{Formula, Quantity};
use crate::fault::{Fault, Outcome, short};

/// Tries until a length that is searched for is found.
const MOST_TRIES: usize = 60;

/// And in all, where searches stand within searches.
const MOST_TRIES_IN_ALL: usize = 3000;

/// A length that is searched for is right when what it is for comes within this, mm.
const FOUND: f64 = 1e-4;

impl Eval<'_> {
    /// The length between two bounds at which `until` comes to `is`: by regula falsi
    /// with the Illinois step (Dowell & Jarratt, BIT 11, 1971), halving where that is slow.
    pub fn search(
        &mut self,
        k: usize,
        until: &Formula,
        is: &Formula,
        bounds: [&Formula; 2],
    ) -> Outcome<Quantity> {
        let (mut a, mut b) = (self.length(bounds[0])?, self.length(bounds[1])?);
        let miss = |e: &Self, x: f64| {
            e.tries.set(e.tries.get() + 1);
            if e.tries.get() > MOST_TRIES_IN_ALL {
                return Err(Fault::input(
                    "too many lengths are searched for, one within the other",
                    "work some of them out: a measure divided by a number",
                ));
            }
            // What is known already did not need this length, and stays.
            let outer = Outer {
                known: &e.known,
                outer: e.outer,
            };
            let length = Found::Value(Quantity::length(x));
            let mut trial = Eval {
                draft: e.draft,
                values: e.values,
                known: HashMap::from([(Key::Length(k), length)]),
                outer: Some(&outer),
                waiting: Vec::new(),
                outside: e.outside + e.waiting.len(),
                tries: Rc::clone(&e.tries),
                asked: Rc::clone(&e.asked),
            };
            Ok::<f64, Fault>(trial.length(until)? - trial.length(is)?)
        };
        let (mut fa, mut fb) = (miss(self, a)?, miss(self, b)?);
        if fa.abs() <= FOUND {
            return Ok(Quantity::length(a));
        }
        if fb.abs() > FOUND && fa.signum() == fb.signum() {
            return Err(Fault::input(
                format!(
                    "no length from {} to {} mm will do: \"{}\" is {} mm off at one end and {} mm at the other",
                    short(a),
                    short(b),
                    until.text,
                    short(fa),
                    short(fb)
                ),
                self.to_check(k, [until, is], a),
            ));
        }
        let mut last = 0;
        for step in 0..MOST_TRIES {
            if fb.abs() <= FOUND {
                return Ok(Quantity::length(b));
            }
            let x = if step % 4 == 3 {
                f64::midpoint(a, b)
            } else {
                (a * fb - b * fa) / (fb - fa)
            };
            let fx = miss(self, x)?;
            if fx.abs() <= FOUND {
                return Ok(Quantity::length(x));
            }
            if fx.signum() == fa.signum() {
                (a, fa) = (x, fx);
                if last == 1 {
                    fb /= 2.0;
                }
                last = 1;
            } else {
                (b, fb) = (x, fx);
                if last == 2 {
                    fa /= 2.0;
                }
                last = 2;
            }
        }
        Err(Fault::input(
            format!(
                "no length makes \"{}\" come out right: it jumps from too small to too large",
                until.text
            ),
            self.to_check(k, [until, is], a),
        ))
    }

    /// What to do where no length will do: the measures that count for it are the first
    /// suspects, as a person measures more often than a draft is changed.
    fn to_check(&self, k: usize, formulas: [&Formula; 2], x: f64) -> String {
        // Worked out anew, for what is known is not asked for again; but for lengths that
        // were searched for, which would be searched for once more.
        let lengths = &self.draft.lengths;
        let searched = |key: &Key| matches!(key, Key::Length(k) if matches!(lengths[*k].make, LengthMake::Until { .. }));
        let mut known: HashMap<Key, Found> = HashMap::new();
        let (mut here, mut outer) = (&self.known, self.outer);
        loop {
            let found = here.iter();
            let found = found.filter(|(key, f)| searched(key) && !matches!(f, Found::Busy));
            for (key, f) in found {
                known.entry(*key).or_insert_with(|| f.clone());
            }
            let Some(next) = outer else { break };
            (here, outer) = (next.known, next.outer);
        }
        let mut anew = Eval {
            draft: self.draft,
            values: self.values,
            known,
            outer: None,
            waiting: Vec::new(),
            outside: self.outside + self.waiting.len(),
            tries: Rc::clone(&self.tries),
            asked: Rc::default(),
        };
        let length = Found::Value(Quantity::length(x));
        anew.known.insert(Key::Length(k), length);
        for formula in formulas {
            // If one can't be worked out, what it asked for until then still counts.
            let _ = anew.length(formula);
        }
        let asked = anew.asked.borrow();
        let name = |k: &usize| self.draft.measures.get(*k).map(|m| m.name.as_str());
        let mut names: Vec<&str> = asked.iter().filter_map(name).collect();
        let change = "the least, the most or the formulas of this length";
        match names.pop() {
            None => format!("change {change}"),
            Some(last) if names.is_empty() => format!("check {last}, or change {change}"),
            Some(last) => format!("check {} and {last}, or change {change}", names.join(", ")),
        }
    }
}
