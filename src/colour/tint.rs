//! The colours that light from the projector can have: white, and the six that are made of
//! one or two of its primaries, each wholly on or off.

use serde::{Deserialize, Serialize};

/// A colour of light. A channel has the white light's code, or none: no code is made of
/// another, so all are as exact as white.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Tint {
    /// The brightest, and the default.
    #[default]
    White,
    Green,
    Cyan,
    Magenta,
    Yellow,
    Red,
    Blue,
}

impl Tint {
    /// In the order in which they are offered and tried: white, the brightest, first, and
    /// blue, which is dark on most projectors, last.
    pub const ALL: [Tint; 7] = [
        Tint::White,
        Tint::Green,
        Tint::Cyan,
        Tint::Magenta,
        Tint::Yellow,
        Tint::Red,
        Tint::Blue,
    ];

    /// Whether red, green and blue are on.
    pub fn channels(self) -> [bool; 3] {
        match self {
            Tint::White => [true, true, true],
            Tint::Green => [false, true, false],
            Tint::Cyan => [false, true, true],
            Tint::Magenta => [true, false, true],
            Tint::Yellow => [true, true, false],
            Tint::Red => [true, false, false],
            Tint::Blue => [false, false, true],
        }
    }

    /// In the words of the panel, the light and the job file.
    pub fn words(self) -> &'static str {
        match self {
            Tint::White => "white",
            Tint::Green => "green",
            Tint::Cyan => "cyan",
            Tint::Magenta => "magenta",
            Tint::Yellow => "yellow",
            Tint::Red => "red",
            Tint::Blue => "blue",
        }
    }

    /// The one after it in [`Tint::ALL`], and after the last the first.
    #[must_use]
    pub fn next(self) -> Tint {
        let at = Tint::ALL.iter().position(|t| *t == self).unwrap_or(0);
        Tint::ALL[(at + 1) % Tint::ALL.len()]
    }

    /// Red, green and blue of a pixel whose white light has this sRGB code.
    pub fn codes(self, white: u8) -> [u8; 3] {
        self.channels().map(|on| if on { white } else { 0 })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_seven_are_told_apart_and_come_round() {
        let mut seen = std::collections::BTreeSet::new();
        let mut at = Tint::White;
        for tint in Tint::ALL {
            assert_eq!(at, tint);
            assert!(seen.insert(tint.channels()) && tint.channels().contains(&true));
            at = at.next();
        }
        assert_eq!(at, Tint::White);
        assert_eq!(Tint::Yellow.codes(188), [188, 188, 0]);
    }
}
