//! Lengths: what a number with a unit means on the page.
//!
//! Inside the drawing a unit is a fixed number of user units, whatever the
//! `viewBox` makes of those (SVG 2, "Units"): `10mm` there is 37.795… user
//! units and need not be 10 mm on the page.

use kurbo::Size;
use roxmltree::Node;
use svgtypes::Number;

use super::place::excerpt;
use crate::fault::{Fault, Outcome};
use crate::measure::{MM_PER_INCH, MM_PER_PT, MM_PER_PX};

/// What a percentage is a part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Axis {
    Width,
    Height,
    /// A radius: the viewport's diagonal over √2.
    Both,
}

enum Unit {
    /// None given, or px, which is the same.
    User,
    Fixed {
        mm: f64,
    },
    Percent,
}

fn read(text: &str) -> Outcome<(f64, Unit)> {
    let unclear = || {
        Fault::input(
            format!("\"{}\" is not a length", excerpt(text)),
            "give a number and a unit, such as 210mm",
        )
    };
    let text = text.trim();
    let digits = text.trim_end_matches(|c: char| c.is_ascii_alphabetic() || c == '%');
    if digits.ends_with(char::is_whitespace) {
        return Err(unclear());
    }
    let Number(number) = digits.parse().map_err(|_| unclear())?;
    let unit = match text[digits.len()..].to_ascii_lowercase().as_str() {
        "" | "px" => Unit::User,
        "mm" => Unit::Fixed { mm: 1.0 },
        "cm" => Unit::Fixed { mm: 10.0 },
        "q" => Unit::Fixed { mm: 0.25 },
        "in" => Unit::Fixed { mm: MM_PER_INCH },
        "pt" => Unit::Fixed { mm: MM_PER_PT },
        "pc" => Unit::Fixed {
            mm: 12.0 * MM_PER_PT,
        },
        "%" => Unit::Percent,
        "em" | "ex" | "ch" | "rem" | "vw" | "vh" | "vmin" | "vmax" => {
            return Err(Fault::input(
                format!("\"{}\" depends on a font or a window", excerpt(text)),
                "give the length in mm, cm, in, pt, pc or px",
            ));
        }
        _ => return Err(unclear()),
    };
    Ok((number, unit))
}

/// A length on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PageLength {
    pub mm: f64,
    /// Whether it was given in px, or as a bare number, which is the same.
    pub in_px: bool,
}

/// A length on the page.
///
/// # Errors
///
/// When `text` is not a length, or one relative to something unknown.
pub fn page_mm(text: &str) -> Outcome<PageLength> {
    match read(text)? {
        (number, Unit::User) => Ok(PageLength {
            mm: number * MM_PER_PX,
            in_px: true,
        }),
        (number, Unit::Fixed { mm }) => Ok(PageLength {
            mm: number * mm,
            in_px: false,
        }),
        (_, Unit::Percent) => Err(Fault::input(
            format!("\"{}\" gives the drawing no size of its own", excerpt(text)),
            "give its width and height in mm",
        )),
    }
}

/// A length inside the drawing, in user units; a percentage is of `viewport`.
///
/// # Errors
///
/// When `text` is not a length, or one relative to something unknown.
pub fn user(text: &str, axis: Axis, viewport: Option<Size>) -> Outcome<f64> {
    match (read(text)?, viewport) {
        ((number, Unit::User), _) => Ok(number),
        ((number, Unit::Fixed { mm }), _) => Ok(number * mm / MM_PER_PX),
        ((number, Unit::Percent), Some(size)) => {
            let whole = match axis {
                Axis::Width => size.width,
                Axis::Height => size.height,
                Axis::Both => {
                    (size.width.powi(2) + size.height.powi(2)).sqrt()
                        * std::f64::consts::FRAC_1_SQRT_2
                }
            };
            Ok(number / 100.0 * whole)
        }
        ((_, Unit::Percent), None) => Err(Fault::input(
            format!("\"{}\" is a part of an unknown size", excerpt(text)),
            "give the drawing a width and height, or the length in mm",
        )),
    }
}

/// The length in the attribute `name`, in user units; none if it is absent,
/// empty or `auto`.
///
/// # Errors
///
/// As [`user`], and the fault names the attribute.
pub fn attribute(
    node: Node,
    name: &str,
    axis: Axis,
    viewport: Option<Size>,
) -> Outcome<Option<f64>> {
    match node.attribute(name).map(str::trim) {
        None | Some("" | "auto") => Ok(None),
        Some(text) => user(text, axis, viewport)
            .map(Some)
            .map_err(|fault| fault.at(name)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// CSS Values 3, section 6.2: absolute lengths.
    #[test]
    fn units_have_their_w3c_values() {
        for (text, mm) in [
            ("1in", 25.4),
            ("1cm", 10.0),
            ("1mm", 1.0),
            ("1Q", 0.25),
            ("1pc", 25.4 / 6.0),
            ("1pt", 25.4 / 72.0),
            ("1px", 25.4 / 96.0),
            ("1", 25.4 / 96.0),
            (" -1.5e1MM ", -15.0),
        ] {
            assert!((page_mm(text).unwrap().mm - mm).abs() < 1e-12, "{text}");
            let px = user(text, Axis::Width, None).unwrap();
            assert!((px - mm * 96.0 / 25.4).abs() < 1e-12, "{text}");
        }
    }

    #[test]
    fn a_percentage_is_of_the_viewport_inside_and_nothing_outside() {
        let size = Some(Size::new(30.0, 40.0));
        assert_eq!(user("50%", Axis::Width, size).unwrap(), 15.0);
        assert_eq!(user("50%", Axis::Height, size).unwrap(), 20.0);
        let radius = user("100%", Axis::Both, size).unwrap();
        assert!((radius - 50.0 / 2f64.sqrt()).abs() < 1e-12);
        assert!(user("50%", Axis::Width, None).is_err());
        assert!(page_mm("100%").unwrap_err().what.contains("no size"));
    }

    #[test]
    fn what_is_no_absolute_length_is_a_fault() {
        for text in [
            "",
            "mm",
            "1e999mm",
            "NaN",
            "inf",
            "10furlong",
            "1mm 2",
            "1 mm",
        ] {
            assert!(page_mm(text).is_err(), "{text}");
        }
        assert!(page_mm("2em").unwrap_err().what.contains("font"));
        assert!(page_mm("2ex").unwrap_err().what.contains("font"));
    }
}
