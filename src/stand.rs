//! Where the person stands at the table, and which hand cuts. Text, arrows and
//! pointer axes follow the side; labels keep clear of the hand that holds.

use crate::space::{Table, Vector};
use serde::{Deserialize, Serialize};
use std::f64::consts::{FRAC_PI_2, PI};

/// Seen by the person: x to their right, y away from them; mm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Person {}

/// The side of the table at which the person stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    /// At the operator's edge (smallest y), looking along +y.
    #[default]
    Front,
    /// At the largest x, looking along −x.
    Right,
    /// At the largest y, looking along −y.
    Back,
    /// At the smallest x, looking along +x.
    Left,
}

impl Side {
    /// Counter-clockwise round the table, from the front.
    pub const ALL: [Side; 4] = [Side::Front, Side::Right, Side::Back, Side::Left];

    /// How far text that is upright from the front turns to be upright from
    /// here: radians, counter-clockwise as seen from above, −π/2 to π.
    pub fn turn(self) -> f64 {
        match self {
            Side::Front => 0.0,
            Side::Right => FRAC_PI_2,
            Side::Back => PI,
            Side::Left => -FRAC_PI_2,
        }
    }

    /// A displacement on the table as this person sees it. Exact: components
    /// change places and signs only.
    pub fn to_person(self, v: Vector<Table>) -> Vector<Person> {
        match self {
            Side::Front => Vector::new(v.x, v.y),
            Side::Right => Vector::new(v.y, -v.x),
            Side::Back => Vector::new(-v.x, -v.y),
            Side::Left => Vector::new(-v.y, v.x),
        }
    }

    /// The displacement on the table that this person sees as `v`: the exact
    /// inverse of [`Side::to_person`].
    pub fn to_table(self, v: Vector<Person>) -> Vector<Table> {
        match self {
            Side::Front => Vector::new(v.x, v.y),
            Side::Right => Vector::new(-v.y, v.x),
            Side::Back => Vector::new(-v.x, -v.y),
            Side::Left => Vector::new(v.y, -v.x),
        }
    }
}

/// A hand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Hand {
    Left,
    /// Most people cut with it.
    #[default]
    Right,
}

impl Hand {
    /// The other one: if this hand cuts, that one holds the cloth.
    pub fn other(self) -> Hand {
        match self {
            Hand::Left => Hand::Right,
            Hand::Right => Hand::Left,
        }
    }

    /// Towards this hand's side, as the person sees it: −1 left, +1 right.
    pub fn sign(self) -> f64 {
        match self {
            Hand::Left => -1.0,
            Hand::Right => 1.0,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::space::Rigid;

    #[test]
    fn text_turned_for_a_side_has_its_up_away_from_the_person() {
        // Where each one looks, by the words of the enum.
        let looks = [(0.0, 1.0), (-1.0, 0.0), (0.0, -1.0), (1.0, 0.0)];
        for (side, (x, y)) in Side::ALL.into_iter().zip(looks) {
            let text: Rigid<Table, Table> = Rigid::new(false, side.turn(), Vector::zero());
            let up = text.vector(Vector::new(0.0, 1.0));
            assert!((up - Vector::new(x, y)).length() < 1e-12, "{side:?}");
            // Its reading direction is to their right.
            let along = text.vector(Vector::new(1.0, 0.0));
            assert!((side.to_person(along) - Vector::new(1.0, 0.0)).length() < 1e-12);
            assert!((side.to_person(up) - Vector::new(0.0, 1.0)).length() < 1e-12);
        }
    }

    #[test]
    fn there_and_back_is_exact() {
        let v = Vector::new(3.25, -7.1);
        for side in Side::ALL {
            assert_eq!(side.to_table(side.to_person(v)), v);
        }
    }

    #[test]
    fn names_in_files_are_small_letters() {
        let said = toml::Value::try_from(Side::Back).unwrap();
        assert_eq!(said.as_str(), Some("back"));
        let said = toml::Value::try_from(Hand::Left).unwrap();
        assert_eq!(said.as_str(), Some("left"));
        assert!(toml::Value::from("Back").try_into::<Side>().is_err());
    }
}
