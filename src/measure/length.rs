//! Lengths at the edge: what a person types for one, and how one is shown.
//!
//! A tape is read in millimetres or in inches and fractions, and typed in
//! whatever way is to hand: `12,5`, `3.5cm`, `3/8in`, `1-1/4"`, `1¼ in`. What
//! could mean two lengths is refused rather than guessed, because a guess
//! that is wrong by a factor of 25 spoils cloth.

use super::MM_PER_INCH;
use crate::fault::{Fault, Outcome};

/// The longest length that is taken, mm, of either sign: 1 km.
pub const LONGEST: f64 = 1e6;

/// What a length is typed or shown in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    Mm,
    Cm,
    Metre,
    Inch,
}

impl Unit {
    /// Millimetres in one of it. The inch is 25.4 mm exactly: international
    /// yard and pound agreement of 1959; ISO 80000-3.
    pub fn mm(self) -> f64 {
        match self {
            Unit::Mm => 1.0,
            Unit::Cm => 10.0,
            Unit::Metre => 1000.0,
            Unit::Inch => MM_PER_INCH,
        }
    }

    /// The distance between two neighbouring lengths that [`Unit::show`] can
    /// tell apart, mm.
    pub fn step(self) -> f64 {
        match self {
            Unit::Mm => 0.1,
            Unit::Cm => 0.1,
            Unit::Metre => 1.0,
            Unit::Inch => MM_PER_INCH / 16.0,
        }
    }

    /// A length of `mm` millimetres as a person reads it: `12.5 mm`,
    /// `1.25 cm`, `1.250 m`, `4 3/16 in` (a reduced fraction of sixteenths).
    /// Rounded to the nearest [`Unit::step`]; a length just halfway goes to
    /// the even neighbour, so that a column of them has no bias. What is not
    /// finite is shown as `no length`.
    pub fn show(self, mm: f64) -> String {
        if !mm.is_finite() {
            return "no length".to_owned();
        }
        // Adding zero takes the sign off a zero.
        let places = |scale: f64| (mm * scale).round_ties_even() / scale + 0.0;
        match self {
            Unit::Mm => format!("{:.1} mm", places(10.0)),
            Unit::Cm => format!("{:.2} cm", places(10.0) / 10.0),
            Unit::Metre => format!("{:.3} m", places(1.0) / 1000.0),
            Unit::Inch => sixteenths(mm),
        }
    }

    /// The unit that a length names, if it names one.
    pub(super) fn named_in(text: &str) -> Option<Self> {
        Self::named(parts(text).1.trim())
    }

    fn named(name: &str) -> Option<Self> {
        Some(match name.to_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Unit::Mm,
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Unit::Cm,
            "m" | "metre" | "metres" | "meter" | "meters" => Unit::Metre,
            "in" | "inch" | "inches" | "\"" | "″" | "”" | "“" | "''" | "′′" | "’’" => {
                Unit::Inch
            }
            _ => return None,
        })
    }
}

fn sixteenths(mm: f64) -> String {
    let count = (mm * 16.0 / MM_PER_INCH).round_ties_even();
    let sign = if count < 0.0 { "-" } else { "" };
    let (whole, part) = ((count.abs() / 16.0).floor(), count.abs() % 16.0);
    let (mut over, mut under) = (part as u32, 16);
    while over > 0 && over.is_multiple_of(2) {
        (over, under) = (over / 2, under / 2);
    }
    match (whole > 0.0, over > 0) {
        (_, false) => format!("{sign}{whole:.0} in"),
        (false, true) => format!("{sign}{over}/{under} in"),
        (true, true) => format!("{sign}{whole:.0} {over}/{under} in"),
    }
}

/// The length in mm that `text` means; `default` is its unit if it names none.
///
/// Read are: decimals with a point or a comma, fractions (`3/8`, `1 1/4`,
/// `1-1/4`, `1¼`), a sign before it all, and after it a unit (`mm`, `cm`, `m`,
/// `in`, `inch`, `"`, `″`) with or without a space.
///
/// # Errors
/// If it is no length, or could be two: a fraction without a unit where the
/// default is not inches (3/8 of a millimetre is not meant), or one comma
/// before exactly three digits (1,250 is either 1.25 or 1250). If it is longer
/// than [`LONGEST`].
pub fn parse_length(text: &str, default: Unit) -> Outcome<f64> {
    let shown = if text.chars().count() > 40 {
        text.chars().take(40).collect::<String>() + "…"
    } else {
        text.to_owned()
    };
    let no_length = |remedy: &str| Fault::input(format!("\"{shown}\" is not a length"), remedy);
    let example = "write it like 12.5, 12,5 mm, 3.5 cm, 3/8 in or 1 1/4\"";

    let (number, name) = parts(text);
    let (number, name) = (number.trim(), name.trim());
    // What has no digit is no length, whatever its unit would be.
    if number.is_empty() {
        return Err(no_length(example));
    }
    let unit = match name {
        "" => None,
        name => Some(Unit::named(name).ok_or_else(|| {
            Fault::input(
                format!("\"{name}\" in \"{shown}\" is not a unit of length"),
                "use mm, cm, m or in",
            )
        })?),
    };
    let (negative, number) = match number.strip_prefix('-') {
        Some(rest) => (true, rest.trim_start()),
        None => (
            false,
            number.strip_prefix('+').unwrap_or(number).trim_start(),
        ),
    };
    let value = if number.contains('/') {
        if unit.is_none() && default != Unit::Inch {
            return Err(Fault::input(
                format!("\"{shown}\" is a fraction without a unit"),
                "say of what: 3/8 in, for example",
            ));
        }
        mixed(number).ok_or_else(|| no_length(example))?
    } else {
        if two_ways(number) {
            return Err(Fault::input(
                format!("the comma in \"{shown}\" can be read two ways"),
                "write 1.25 for one and a quarter, or 1250 without a comma",
            ));
        }
        decimal(number).ok_or_else(|| no_length(example))?
    };
    let mm = value * unit.unwrap_or(default).mm();
    if mm > LONGEST {
        return Err(Fault::input(
            format!("\"{shown}\" is longer than a kilometre"),
            "check the number and its unit",
        ));
    }
    // Adding zero takes the sign off a zero.
    Ok(if negative { -mm } else { mm } + 0.0)
}

/// The number of a length, and the name of its unit, if any; both spelled in ASCII.
fn parts(text: &str) -> (String, String) {
    let mut plain = spelled(text);
    // The point of an abbreviation, `in.`, is not a number's.
    if plain
        .strip_suffix('.')
        .is_some_and(|front| front.ends_with(char::is_alphabetic))
    {
        plain.pop();
    }
    let end = plain
        .rfind(|c: char| c.is_ascii_digit() || c == '.' || c == ',')
        .map_or(0, |at| at + 1);
    let name = plain.split_off(end);
    (plain, name)
}

/// The text with its typographic signs spelled in ASCII: `1¼` is `1 1/4`.
fn spelled(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.trim().chars() {
        match c {
            '¼' => out.push_str(" 1/4"),
            '½' => out.push_str(" 1/2"),
            '¾' => out.push_str(" 3/4"),
            '⅛' => out.push_str(" 1/8"),
            '⅜' => out.push_str(" 3/8"),
            '⅝' => out.push_str(" 5/8"),
            '⅞' => out.push_str(" 7/8"),
            '⁄' => out.push('/'),
            '−' | '–' => out.push('-'),
            c if c.is_whitespace() => out.push(' '),
            c => out.push(c),
        }
    }
    out.trim_start().to_owned()
}

/// `3/8`, `1 1/4` or `1-1/4`: a whole number, if any, and a fraction.
fn mixed(text: &str) -> Option<f64> {
    let (front, under) = text.split_once('/')?;
    let front = front.trim();
    let (whole, over) = match front.rfind([' ', '-']) {
        Some(at) => (
            front[..at].trim_end().trim_end_matches('-').trim_end(),
            &front[at + 1..],
        ),
        None => ("", front),
    };
    let whole = if whole.is_empty() { 0 } else { digits(whole)? };
    let (over, under) = (digits(over)?, digits(under.trim())?);
    (under > 0).then(|| f64::from(whole) + f64::from(over) / f64::from(under))
}

/// Up to seven digits and nothing else.
fn digits(text: &str) -> Option<u32> {
    let fit = (1..=7).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
    fit.then(|| text.parse().ok()).flatten()
}

/// Digits with at most one point or comma.
fn decimal(text: &str) -> Option<f64> {
    let signs = text.bytes().filter(|b| !b.is_ascii_digit()).count();
    let allowed = text
        .bytes()
        .all(|b| b.is_ascii_digit() || b == b'.' || b == b',');
    // Rust reads `5.` and `.5`, but not a lone point.
    (allowed && signs <= 1)
        .then(|| text.replace(',', ".").parse().ok())
        .flatten()
}

/// Whether a comma may stand for the decimal point or for thousands.
pub fn two_ways(text: &str) -> bool {
    text.split_once(',').is_some_and(|(front, back)| {
        back.len() == 3
            && digits(back).is_some()
            && (1..=3).contains(&front.len())
            && digits(front).is_some()
            && !front.starts_with('0')
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn lengths_are_read_as_they_are_typed() {
        let mm = |text: &str| parse_length(text, Unit::Mm).unwrap();
        for (text, want) in [
            ("12", 12.0),
            ("12.5", 12.5),
            ("12,5", 12.5),
            ("0,125", 0.125),
            (" 12 mm ", 12.0),
            ("3.5cm", 35.0),
            ("1.2 m", 1200.0),
            ("3/8in", 9.525),
            ("1 1/4\"", 31.75),
            ("1-1/4 in", 31.75),
            ("1 - 1/4 in", 31.75),
            ("1¼″", 31.75),
            ("½ inch", 12.7),
            ("4 3/16 in.", 106.3625),
            ("-1 1/4 in", -31.75),
            ("−2", -2.0),
            ("+3 IN", 76.2),
            (".5", 0.5),
            ("1/2 cm", 5.0),
        ] {
            assert!((mm(text) - want).abs() < 1e-9, "{text}: {}", mm(text));
        }
        assert_eq!(parse_length("2 1/2", Unit::Inch), Ok(63.5));
        assert_eq!(parse_length("2", Unit::Cm), Ok(20.0));
    }

    #[test]
    fn nonsense_and_doubt_are_refused_in_a_sentence() {
        let said = |text: &str| parse_length(text, Unit::Mm).unwrap_err().to_string();
        for text in [
            "",
            " ",
            "mm",
            "twelve",
            "12..5",
            "1.2.3",
            "1/0 in",
            "1/2/3 in",
            "--3",
            "NaN",
            "inf",
            "1e5",
            "1 2 mm",
            "12 5",
            "/2 in",
            "1/ in",
            ".",
            "1.5/2 in",
            "1 1/4 1 in",
            "é",
        ] {
            assert!(said(text).contains("not a"), "{text}: {}", said(text));
        }
        assert!(said("3/8").contains("without a unit"));
        assert!(said("1,250").contains("two ways"));
        assert!(said("3 furlongs").contains("\"furlongs\""));
        // Without a digit it is not its unit that is wrong.
        for text in ["NaN", "inf", "far"] {
            assert!(said(text).starts_with(&format!("\"{text}\" is not a length; write it like")));
        }
        assert!(said("2000 m").contains("kilometre"));
        assert!(said(&"9".repeat(400)).len() < 200);
    }

    #[test]
    fn lengths_are_shown_as_they_are_read() {
        assert_eq!(Unit::Mm.show(12.0), "12.0 mm");
        assert_eq!(Unit::Mm.show(-0.01), "0.0 mm");
        assert_eq!(Unit::Cm.show(12.5), "1.25 cm");
        assert_eq!(Unit::Metre.show(1200.0), "1.200 m");
        assert_eq!(Unit::Inch.show(106.3625), "4 3/16 in");
        assert_eq!(Unit::Inch.show(12.7), "1/2 in");
        assert_eq!(Unit::Inch.show(-31.75), "-1 1/4 in");
        assert_eq!(Unit::Inch.show(0.1), "0 in");
        assert_eq!(Unit::Inch.show(25.39), "1 in");
        // Halfway, in binary exactly: to the even sixteenth.
        assert_eq!(Unit::Inch.show(25.4 * 0.53125), "1/2 in");
        assert_eq!(Unit::Inch.show(25.4 * 0.59375), "5/8 in");
        assert_eq!(Unit::Mm.show(f64::NAN), "no length");
    }

    proptest! {
        #[test]
        fn what_is_shown_is_read_back_within_half_a_step(mm in -50_000.0..50_000.0f64) {
            for unit in [Unit::Mm, Unit::Cm, Unit::Metre, Unit::Inch] {
                let text = unit.show(mm);
                let back = parse_length(&text, Unit::Mm).unwrap();
                prop_assert!((back - mm).abs() <= unit.step() / 2.0 + 1e-9, "{} → {}", mm, text);
            }
        }

        #[test]
        fn no_text_makes_it_stumble(text in "\\PC{0,12}") {
            if let Ok(mm) = parse_length(&text, Unit::Inch) {
                prop_assert!(mm.abs() <= LONGEST);
            }
        }
    }
}
