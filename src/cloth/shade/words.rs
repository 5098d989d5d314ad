//! What a person is told. L* is called lightness: 0 is black, 100 is white.

use super::article::{Off, OneShade};
use super::partners::{Partners, Verdict};
use super::under::{Fading, Slope, Under};
use crate::colour::Lab;
use crate::space::{Piece, Vector};
use std::fmt::{self, Display, Formatter};

/// What the ends of a piece as drawn are called: "the toe", "the heel".
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Ends<'a> {
    pub up: &'a str,
    pub down: &'a str,
    pub left: &'a str,
    pub right: &'a str,
}

impl Default for Ends<'_> {
    fn default() -> Self {
        Self {
            up: "the top",
            down: "the bottom",
            left: "the left",
            right: "the right",
        }
    }
}

impl Ends<'_> {
    /// One end, or two if the way lies between them: each has an eighth of a turn.
    pub fn name(&self, way: Vector<Piece>) -> String {
        let across = if way.x < 0.0 { self.left } else { self.right };
        let along = if way.y < 0.0 { self.down } else { self.up };
        let steep = std::f64::consts::FRAC_PI_8.tan();
        let (x, y) = (way.x.abs(), way.y.abs());
        if x <= steep * y {
            along.to_owned()
        } else if y <= steep * x {
            across.to_owned()
        } else {
            format!("{along} and {across}")
        }
    }
}

/// One decimal under 10, none from there, and no ".0".
fn figure(v: f64) -> String {
    if v.abs() < 9.95 {
        let text = format!("{v:.1}");
        match text.strip_suffix(".0") {
            Some("-0") => "0".to_owned(),
            Some(whole) => whole.to_owned(),
            None => text,
        }
    } else {
        format!("{v:.0}")
    }
}

fn percent(share: f64) -> String {
    // Not all is not 100 %.
    format!("{} %", (100.0 * share + 1e-9).floor())
}

impl<S> Slope<S> {
    /// "lighter towards the toe by 6 in 100 mm".
    pub fn says(&self, ends: &Ends<'_>) -> String {
        let towards = ends.name(self.in_piece);
        format!(
            "lighter towards {towards} by {} in 100 mm",
            figure(self.per_100)
        )
    }
}

impl<S> Under<S> {
    /// The sentence of [`Display`], with the piece's ends named.
    pub fn says(&self, ends: &Ends<'_>) -> String {
        let mut text = format!(
            "lightness {} of 100, most of it {} to {}",
            figure(self.mean.l),
            figure(self.spread.low),
            figure(self.spread.high)
        );
        let mut add = |more: String| {
            text.push_str("; ");
            text.push_str(&more);
        };
        match (self.fading, &self.slope) {
            (Fading::Fades, Some(slope)) => add(slope.says(ends)),
            (Fading::Even, _) => add("no fade".to_owned()),
            (Fading::CantTell, Some(slope)) => add(format!(
                "can't tell whether it fades: up to {} from end to end",
                figure(slope.most)
            )),
            (_, None) => add("can't tell whether it fades".to_owned()),
        }
        if let (Some(dark), Some(light)) = (&self.darkest, &self.lightest) {
            add(format!(
                "without stripes and weave: darkest place {}, lightest {}",
                figure(dark.colour.l),
                figure(light.colour.l)
            ));
        }
        if self.seen < 0.99 {
            add(format!("{} of it seen", percent(self.seen)));
        }
        if self.blown > 0.005 {
            add(format!("{} too bright for the camera", percent(self.blown)));
        }
        text
    }
}

impl<S> Display for Under<S> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(&self.says(&Ends::default()))
    }
}

impl Display for Verdict {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Match => "match",
            Verdict::Near => "near",
            Verdict::Apart => "apart",
            Verdict::CantTell => "can't tell",
        })
    }
}

impl Display for Partners {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        let (mean, most) = (figure(self.mean), figure(self.most));
        write!(f, "{}: {mean}, 95 % {most}", self.verdict)?;
        if self.verdict == Verdict::CantTell {
            write!(f, ", give or take {}", figure(2.0 * self.error))?;
        }
        if self.lighter.abs() >= 0.95 {
            let by = figure(self.lighter.abs());
            let which = if self.lighter > 0.0 {
                "second"
            } else {
                "first"
            };
            write!(f, "; the {which} is lighter by {by}")?;
        }
        if self.seen < 0.99 {
            write!(f, "; {} of the piece seen on both", percent(self.seen))?;
        }
        Ok(())
    }
}

/// What of a step of colour is worth a word: "lighter by 3, yellower".
fn step_says(step: Lab) -> String {
    let mut words = Vec::new();
    if step.l.abs() >= 0.5 {
        let way = if step.l > 0.0 { "lighter" } else { "darker" };
        words.push(format!("{way} by {}", figure(step.l.abs())));
    }
    for (v, more, less) in [(step.a, "redder", "greener"), (step.b, "yellower", "bluer")] {
        if v.abs() >= 1.0 {
            words.push(if v > 0.0 { more } else { less }.to_owned());
        }
    }
    words.join(", ")
}

impl Display for Off {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        write!(f, "{} is off by {}", self.name, figure(self.apart))?;
        match step_says(self.step) {
            words if words.is_empty() => Ok(()),
            words => write!(f, ": {words}"),
        }
    }
}

impl Display for OneShade {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        if self.off.is_empty() {
            return f.write_str("one shade");
        }
        if self.shade.is_none() {
            f.write_str("no shade that most pieces keep to; ")?;
        }
        let off: Vec<String> = self.off.iter().map(Off::to_string).collect();
        f.write_str(&off.join("; "))
    }
}
