//! Formulas: a measure divided or multiplied by a number, plus or minus a length.
//!
//! The arithmetic is `exmex`'s (MIT or Apache-2.0; works on values of our own kind, so
//! that every step checks its units). Names, lengths and what is measured are told apart
//! here first, because a name in a draft may have spaces and a length its fraction:
//! `exmex` sees brackets, signs and numbered slots, and nothing else.

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use exmex::{BinOp, Express, FlatEx, MakeOperators, Operator};

use super::names::{Path, PointRef, Scope};
use super::scan::slots;
use crate::fault::{Fault, Outcome};
use crate::measure::LONGEST;

/// The longest formula, in characters.
const LONGEST_FORMULA: usize = 300;

/// A draft may have so many that are not one term only: 60 MB.
const MOST_FORMULAS: usize = 3000;

/// A value with its unit, or why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Quantity {
    /// `value` in mm to the power of `power`: 0 a plain number, 1 a length, 2 an area.
    Of {
        value: f64,
        power: i8,
    },
    Wrong(&'static str),
}

impl Quantity {
    /// `mm` as a length.
    pub fn length(mm: f64) -> Self {
        Self::of(mm, 1)
    }

    /// A plain number.
    pub fn number(value: f64) -> Self {
        Self::of(value, 0)
    }

    fn of(value: f64, power: i8) -> Self {
        // The square of the longest length is the most that is of use in between.
        if !value.is_finite() || value.abs() > LONGEST * LONGEST {
            return Self::Wrong("the result is beyond all measure, or divided by nothing");
        }
        if power.abs() > 2 {
            return Self::Wrong("lengths are multiplied, or divided by, more than once");
        }
        Self::Of { value, power }
    }

    fn sum(self, other: Self, sign: f64) -> Self {
        match (self, other) {
            (Self::Wrong(_), _) => self,
            (_, Self::Wrong(_)) => other,
            (Self::Of { value: a, power: p }, Self::Of { value: b, power: q }) if p == q => {
                Self::of(a + sign * b, p)
            }
            (Self::Of { power: 0, .. }, _) | (_, Self::Of { power: 0, .. }) => {
                Self::Wrong("a length and a plain number can't be added or taken from one another")
            }
            _ => Self::Wrong("a length and an area can't be added or taken from one another"),
        }
    }

    fn product(self, other: Self, over: bool) -> Self {
        match (self, other) {
            (Self::Wrong(_), _) => self,
            (_, Self::Wrong(_)) => other,
            (Self::Of { value: a, power: p }, Self::Of { value: b, power: q }) => {
                if over {
                    Self::of(a / b, p - q)
                } else {
                    Self::of(a * b, p + q)
                }
            }
        }
    }
}

impl Default for Quantity {
    fn default() -> Self {
        Self::number(0.0)
    }
}

impl FromStr for Quantity {
    type Err = std::num::ParseFloatError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        text.parse().map(Self::number)
    }
}

#[derive(Debug, Clone)]
struct Signs;

impl MakeOperators<Quantity> for Signs {
    fn make<'a>() -> Vec<Operator<'a, Quantity>> {
        let bin = |apply: fn(Quantity, Quantity) -> Quantity, prio, is_commutative| BinOp {
            apply,
            prio,
            is_commutative,
        };
        vec![
            Operator::make_bin_unary("+", bin(|a, b| a.sum(b, 1.0), 0, true), |a| a),
            Operator::make_bin_unary("-", bin(|a, b| a.sum(b, -1.0), 0, false), |a| {
                a.product(Quantity::number(-1.0), false)
            }),
            Operator::make_bin("*", bin(|a, b| a.product(b, false), 1, true)),
            Operator::make_bin("/", bin(|a, b| a.product(b, true), 1, false)),
        ]
    }
}

/// What stands in a slot of a formula.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Term {
    Is(Quantity),
    Measure(usize),
    Length(usize),
    /// `length(edge)`: how long an edge or a line is.
    LengthOf(Path),
    /// `distance(a, b)`: between two points.
    Distance(PointRef, PointRef),
}

/// What a formula must come to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Wanted {
    Length,
    Number,
}

/// A formula, read.
#[derive(Clone)]
pub struct Formula {
    pub text: String,
    terms: Vec<Term>,
    /// None: the one term is all there is. Shared, because one is some 20 KB.
    sum: Option<Arc<FlatEx<Quantity, Signs>>>,
}

impl fmt::Debug for Formula {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "Formula({:?})", self.text)
    }
}

impl Formula {
    /// Reads `text`; names in it are looked up in `scope`.
    ///
    /// # Errors
    /// If it is no formula, or names what is not there.
    pub fn read(text: &str, scope: Scope) -> Outcome<Self> {
        if text.chars().count() > LONGEST_FORMULA {
            return Err(Fault::input(
                format!("a formula is longer than {LONGEST_FORMULA} characters"),
                "give a part of it a name under [lengths]",
            ));
        }
        let mut terms = Vec::new();
        let slots = slots(text, scope, &mut terms)?;
        let unread = || {
            Fault::input(
                format!("\"{}\" can't be worked out", text.trim()),
                "write it like foot length / 3.1 + 6mm, with + - * / and ( )",
            )
        };
        if terms.is_empty() {
            return Err(unread());
        }
        let text = text.trim().to_owned();
        if terms.len() == 1 && slots.trim().starts_with('{') && slots.trim().ends_with('}') {
            let sum = None;
            return Ok(Self { text, terms, sum });
        }
        let count = scope.names.formulas.get() + 1;
        scope.names.formulas.set(count);
        if count > MOST_FORMULAS {
            return Err(Fault::input(
                format!("the draft has more than {MOST_FORMULAS} formulas"),
                "give lengths that are used often a name under [lengths]",
            ));
        }
        let sum = FlatEx::<Quantity, Signs>::parse(&slots).map_err(|_| unread())?;
        if sum.var_names().len() != terms.len() {
            return Err(unread());
        }
        let sum = Some(Arc::new(sum));
        Ok(Self { text, terms, sum })
    }

    /// The formula's value, its terms' values given by `look`.
    ///
    /// # Errors
    /// If the units don't fit, the result is no number, or `look` fails.
    pub fn value(&self, mut look: impl FnMut(Term) -> Outcome<Quantity>) -> Outcome<Quantity> {
        let values = self.terms.iter().map(|t| match t {
            Term::Is(q) => Ok(*q),
            t => look(*t),
        });
        let values = values.collect::<Outcome<Vec<_>>>()?;
        let wrong = |why: &str| {
            Fault::input(
                format!("\"{}\": {why}", self.text),
                "check the units: a length divided by a number is a length",
            )
        };
        let sum = match (&self.sum, values.as_slice()) {
            (None, [only]) => Ok(*only),
            (None, _) => return Err(wrong("it can't be worked out")),
            (Some(sum), values) => sum.eval(values),
        };
        match sum {
            Ok(Quantity::Wrong(why)) => Err(wrong(why)),
            Ok(q) => Ok(q),
            Err(_) => Err(wrong("it can't be worked out")),
        }
    }

    /// Checks that `q`, which this formula came to, is what was wanted.
    ///
    /// # Errors
    /// If it is of another unit, or longer than [`LONGEST`].
    pub fn expect(&self, q: Quantity, wanted: Wanted) -> Outcome<f64> {
        let wrong = |is: &str, remedy: &str| {
            Err(Fault::input(format!("\"{}\" is {is}", self.text), remedy))
        };
        match (q, wanted) {
            (Quantity::Of { value, power: 1 }, Wanted::Length) if value.abs() > LONGEST => {
                wrong("longer than a kilometre", "check the numbers and units")
            }
            (Quantity::Of { value, power: 1 }, Wanted::Length)
            | (Quantity::Of { value, power: 0 }, Wanted::Number) => Ok(value),
            (Quantity::Of { power: 0, .. }, Wanted::Length) => wrong(
                "a plain number where a length is wanted",
                "write its unit (25mm, 3/8in), or a measure divided by a number",
            ),
            (Quantity::Of { power: 1, .. }, Wanted::Number) => wrong(
                "a length where a plain number is wanted",
                "leave the unit out, or divide by a length",
            ),
            (Quantity::Of { power: 2, .. }, _) => wrong(
                "an area, not a length",
                "multiply a length by a plain number only",
            ),
            _ => wrong(
                "neither a length nor a number",
                "check what is divided by what",
            ),
        }
    }
}
