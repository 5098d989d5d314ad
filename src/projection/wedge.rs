//! The steps near black that a person looks at to say which is the darkest they
//! can tell from darkness: shared by the page that shows them and by whoever
//! takes the answer.

use crate::fault::{Fault, Outcome};

/// The sRGB codes of the steps, which are also their numbers on the page.
pub const CODES: [u8; 17] = [
    0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30, 32,
];

/// The darkest code that was seen, from the number typed.
///
/// # Errors
/// If it is not the number of a step that is lit.
pub fn least_visible_code(number: u32) -> Outcome<u8> {
    let lit = CODES[1..].iter().find(|c| u32::from(**c) == number);
    lit.copied().ok_or_else(|| {
        Fault::input(
            format!("no square is numbered {number}, or it is not lit"),
            "type an even number from 2 to 32",
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_a_lit_step_can_be_seen() {
        assert_eq!(least_visible_code(8), Ok(8));
        for wrong in [0, 7, 34, 1000] {
            assert!(least_visible_code(wrong).is_err());
        }
    }
}
