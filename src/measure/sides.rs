//! Two sides as people write them: `1200x800mm`.

use super::{Unit, parse_length};
use crate::fault::{Fault, Outcome};

/// What stands between two sides.
const TIMES: [char; 3] = ['x', 'X', '×'];

/// What stands on either side of the x, as it is written; `None` if there is no x.
pub fn split_sides(text: &str) -> Option<(&str, &str)> {
    text.split_once(TIMES)
}

/// The two sides in mm that `text` means. A unit that only the second names counts for both;
/// without any they are millimetres.
///
/// # Errors
/// If there are not two, or one is no length (see [`parse_length`]).
pub fn parse_sides(text: &str) -> Outcome<[f64; 2]> {
    let (a, b) = split_sides(text).ok_or_else(|| {
        Fault::input(
            format!("\"{text}\" is not two sides"),
            "write them with an x between, such as 1200x800mm",
        )
    })?;
    let of_both = Unit::named_in(b).unwrap_or(Unit::Mm);
    Ok([parse_length(a, of_both)?, parse_length(b, Unit::Mm)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sides_are_read_as_they_are_typed() {
        assert_eq!(parse_sides("1200x800"), Ok([1200.0, 800.0]));
        assert_eq!(parse_sides("1200x800mm"), Ok([1200.0, 800.0]));
        assert_eq!(parse_sides("1.2m × 80cm"), Ok([1200.0, 800.0]));
        assert_eq!(parse_sides("40x20in"), Ok([1016.0, 508.0]));
        assert_eq!(parse_sides("1/2 X 11\""), Ok([12.7, 279.4]));
        for bad in ["1200", "x", "1200x", "axb", "1x2x3", "1x2ell"] {
            assert!(parse_sides(bad).is_err(), "{bad}");
        }
    }
}
