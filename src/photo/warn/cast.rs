//! Light of a strong colour, and light of two colours.

use super::{About, Warning};
use crate::photo::Light;
use crate::space::{Bounds, Point, Table};

/// A white sheet whose strongest channel is so many times its weakest: the weak one is
/// noise and steps. *Estimate.*
const STRONG: f64 = 2.2;
/// Red by blue may change so much over the table before two lights are suspected: a lamp's
/// own light changes by less. *Estimate.*
const TWO: f64 = 1.15;
/// Places that are looked at, a side.
const LOOKED: usize = 5;

/// Whether the light on a part of the table has a strong colour, or two, by what white
/// sheets and bare table tell of it ([`Light::fit`]).
pub fn cast(light: &Light, bounds: Bounds<Table>) -> Option<Warning> {
    two(light, bounds).or_else(|| strong(light, bounds.center()))
}

fn strong(light: &Light, middle: Point<Table>) -> Option<Warning> {
    let [r, g, b] = light.white(middle)?;
    let (high, low) = (r.max(g).max(b), r.min(g).min(b));
    if high < STRONG * low {
        return None;
    }
    let colour = if r >= g && g >= b {
        "yellow"
    } else if r >= g && r >= b {
        "red"
    } else if b >= r && b >= g {
        "blue"
    } else {
        "green"
    };
    Some(Warning {
        about: About::Cast,
        text: format!(
            "The light is strongly {colour}: a white sheet is {:.1} times as bright in one colour as in another; it is taken out, but colours are coarse, so use whiter light or daylight.",
            high / low
        ),
        at: None,
    })
}

fn two(light: &Light, bounds: Bounds<Table>) -> Option<Warning> {
    let step = |k: usize, low: f64, length: f64| low + length * k as f64 / (LOOKED - 1) as f64;
    let places = (0..LOOKED).flat_map(|r| (0..LOOKED).map(move |c| (r, c)));
    let places = places.filter_map(|(r, c)| {
        let p = Point::new(
            step(c, bounds.min.x, bounds.width()),
            step(r, bounds.min.y, bounds.height()),
        );
        // Where it is not known nothing is said.
        let [er, _, eb] = light.error(p);
        let [r, _, b] = light.relative(p);
        (er.hypot(eb) < 0.05).then_some((p, r / b))
    });
    let places: Vec<(Point<Table>, f64)> = places.collect();
    let red = places.iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    let blue = places.iter().min_by(|a, b| a.1.total_cmp(&b.1))?;
    let ratio = red.1 / blue.1;
    (ratio > TWO).then(|| Warning {
        about: About::Cast,
        text: format!(
            "Two kinds of light fall on the table: it is yellower about ({:.0}, {:.0}) mm and bluer about ({:.0}, {:.0}) mm, by {:.0} %; close the curtain or switch one lamp off, and take the photo again.",
            red.0.x,
            red.0.y,
            blue.0.x,
            blue.0.y,
            100.0 * (ratio - 1.0)
        ),
        at: Some(red.0),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::{Ground, Patch};
    use crate::raster::Raster;

    fn table() -> Bounds<Table> {
        Bounds::new(Point::zero(), Point::new(600.0, 400.0))
    }

    fn lit(of: impl Fn(Point<Table>) -> [f64; 3]) -> Light {
        let spots = [[0.0, 0.0], [540.0, 0.0], [0.0, 320.0], [540.0, 320.0]];
        let sheets = spots.map(|[x, y]| Patch {
            bounds: Bounds::new(Point::new(x, y), Point::new(x + 60.0, y + 80.0)),
            ground: Ground::White,
        });
        let raster = Raster::over(table(), 5.0, |_, _, p| of(p).map(|v| v as f32));
        Light::fit(&raster, &sheets).unwrap()
    }

    #[test]
    fn daylight_and_a_lamp_that_falls_off_are_fine() {
        assert_eq!(cast(&lit(|_| [0.7, 0.7, 0.66]), table()), None);
        let slope = lit(|p| [0.8, 0.7, 0.5].map(|v| v * (0.6 + p.x / 1500.0)));
        assert_eq!(cast(&slope, table()), None);
    }

    #[test]
    fn candlelight_is_told() {
        let warning = cast(&lit(|_| [0.8, 0.5, 0.2]), table()).unwrap();
        assert!(warning.text.contains("strongly yellow") && warning.text.contains("4.0 times"));
    }

    #[test]
    fn window_and_lamp_together_are_told_with_their_places() {
        let warning = cast(
            &lit(|p| [0.7 - p.x / 3000.0, 0.6, 0.45 + p.x / 3000.0]),
            table(),
        );
        let warning = warning.unwrap();
        assert!(
            warning.text.starts_with("Two kinds of light"),
            "{}",
            warning.text
        );
        assert!(warning.at.unwrap().x < 100.0);
    }
}
