//! Lengths in files, kept as they are typed. One without quotes is a number, and is taken as
//! if it stood in them: `less = 1` is `less = "1"`, 1 mm unless its place says otherwise.

use serde::Deserialize;
use serde::de::{Deserializer, Error, Visitor};
use std::collections::BTreeMap;
use std::fmt;

/// A length as text.
struct Typed(String);

impl<'de> Deserialize<'de> for Typed {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Reads;
        impl Visitor<'_> for Reads {
            type Value = Typed;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a length in quotes, such as \"6mm\", or a number of mm")
            }

            fn visit_str<E: Error>(self, text: &str) -> Result<Typed, E> {
                Ok(Typed(text.to_owned()))
            }

            fn visit_i64<E: Error>(self, number: i64) -> Result<Typed, E> {
                Ok(Typed(number.to_string()))
            }

            fn visit_u64<E: Error>(self, number: u64) -> Result<Typed, E> {
                Ok(Typed(number.to_string()))
            }

            fn visit_f64<E: Error>(self, number: f64) -> Result<Typed, E> {
                // A length is read back from this: no exponent.
                Ok(Typed(format!("{number}")))
            }
        }
        from.deserialize_any(Reads)
    }
}

/// For `deserialize_with`: a length that must be there.
///
/// # Errors
/// If it is neither text nor number.
pub fn one<'de, D: Deserializer<'de>>(from: D) -> Result<String, D::Error> {
    Typed::deserialize(from).map(|t| t.0)
}

/// For `deserialize_with`, with `default`: a length that may be there.
///
/// # Errors
/// If it is neither text nor number.
pub fn maybe<'de, D: Deserializer<'de>>(from: D) -> Result<Option<String>, D::Error> {
    one(from).map(Some)
}

/// For `deserialize_with`: lengths by name.
///
/// # Errors
/// If one is neither text nor number.
pub fn by_name<'de, D: Deserializer<'de>>(from: D) -> Result<BTreeMap<String, String>, D::Error> {
    let all = BTreeMap::<String, Typed>::deserialize(from)?;
    Ok(all.into_iter().map(|(name, t)| (name, t.0)).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::{Unit, parse_length};

    #[derive(Debug, Deserialize)]
    struct Part {
        #[serde(deserialize_with = "one")]
        thick: String,
        #[serde(default, deserialize_with = "maybe")]
        less: Option<String>,
        #[serde(default, deserialize_with = "by_name")]
        carve: BTreeMap<String, String>,
    }

    #[test]
    fn numbers_are_lengths_in_mm() {
        let text = "thick = 4\nless = 0.75\n[carve]\ntop = \"3/8in\"\nside = 20\n";
        let part: Part = toml::from_str(text).unwrap();
        let mm = |t: &str| parse_length(t, Unit::Mm).unwrap();
        assert_eq!((mm(&part.thick), mm(&part.less.unwrap())), (4.0, 0.75));
        let carve: Vec<f64> = part.carve.values().map(|t| mm(t)).collect();
        assert!(carve[0] == 20.0 && (carve[1] - 9.525).abs() < 1e-9);
        let bare: Part = toml::from_str("thick = \"1in\"").unwrap();
        assert!(bare.less.is_none() && bare.carve.is_empty());
        let wrong = toml::from_str::<Part>("thick = true")
            .unwrap_err()
            .to_string();
        assert!(wrong.contains("a length in quotes"), "{wrong}");
    }
}
