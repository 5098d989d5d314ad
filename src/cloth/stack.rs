//! How a panel lies: in how many layers, and which side of it is up.

use serde::{Deserialize, Serialize};

/// The most layers that are cut at once: common practice is far less by hand.
pub const MOST_LAYERS: u32 = 50;

/// The layers of a panel, all cut at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Stack {
    pub layers: u32,
    /// Every second layer is turned over, as in folded cloth; else all lie the same way up.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub turned: bool,
    /// The top layer lies wrong side up: of two plies, face sides together.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub wrong_side_up: bool,
}

impl Default for Stack {
    fn default() -> Self {
        Self {
            layers: 1,
            turned: false,
            wrong_side_up: false,
        }
    }
}

impl Stack {
    /// Single, face side up.
    pub fn is_plain(&self) -> bool {
        *self == Self::default()
    }

    /// Whether the wrong side is up, layer by layer from the top.
    pub fn sides(self) -> impl Iterator<Item = bool> {
        (0..self.layers).map(move |k| self.wrong_side_up ^ (self.turned && k % 2 == 1))
    }

    /// `4 plies, every second one turned over`; nothing of what lies single, face side up.
    pub fn words(&self) -> Option<String> {
        let layers = match (self.layers, self.turned, self.wrong_side_up) {
            (1, _, false) => return None,
            (1, _, true) => return Some("single, wrong side up".to_owned()),
            (2, true, false) => "2 plies, wrong sides together",
            (2, true, true) => "2 plies, face sides together",
            (n, true, _) => &format!("{n} plies, every second one turned over"),
            (n, false, false) => &format!("{n} plies, all the same way up"),
            (n, false, true) => &format!("{n} plies, all wrong side up"),
        };
        Some(layers.to_owned())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn layers_lie_as_they_are_folded() {
        let stack = |layers, turned, wrong_side_up| Stack {
            layers,
            turned,
            wrong_side_up,
        };
        let sides = |s: Stack| s.sides().collect::<Vec<_>>();
        assert_eq!(sides(Stack::default()), [false]);
        assert_eq!(sides(stack(3, true, false)), [false, true, false]);
        assert_eq!(sides(stack(2, true, true)), [true, false]);
        assert_eq!(sides(stack(2, false, true)), [true, true]);
        assert_eq!(Stack::default().words(), None);
        let words = stack(2, true, true).words().unwrap();
        assert_eq!(words, "2 plies, face sides together");
        let read: Stack = toml::from_str("layers = 4").unwrap();
        assert_eq!(read, stack(4, false, false));
    }
}
