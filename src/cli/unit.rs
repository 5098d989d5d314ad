//! The unit that lengths are told in, as a person names it.

use crate::measure::Unit;

/// `mm`, `cm` or `in`, which may be written out.
pub fn unit(text: &str) -> Result<Unit, String> {
    match text {
        "mm" => Ok(Unit::Mm),
        "cm" => Ok(Unit::Cm),
        "in" | "inch" => Ok(Unit::Inch),
        _ => Err("write mm, cm or in".to_owned()),
    }
}

/// The word for it in a file.
pub fn word(unit: Unit) -> &'static str {
    match unit {
        Unit::Mm => "mm",
        Unit::Cm => "cm",
        Unit::Metre => "m",
        Unit::Inch => "in",
    }
}
