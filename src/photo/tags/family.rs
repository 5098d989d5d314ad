//! AprilTag 36h11: which cells are black, and which code a reading is.

use super::codes::CODES;

/// Cells along a side, with the black border of one cell.
pub const CELLS: usize = 8;
/// Cells that carry bits along a side.
pub(super) const BITS: usize = 6;
/// How many tags the family has: ids from 0.
pub const COUNT: usize = CODES.len();
/// Most wrong bits that are put right. Codes of this family differ in 11 bits or more, however
/// turned, so 5 could be; but then one random reading in 66 would be a tag, and at 2 it is one
/// in 44 000 (counted: 587 codes, 4 turns, of 2³⁶ readings).
pub const MOST_WRONG: u32 = 2;

/// Which cells of tag `id` are black: rows from the top, columns from the left, as it is
/// printed upright. `None` if the family has no such tag.
pub fn black(id: u16) -> Option<[[bool; CELLS]; CELLS]> {
    let code = *CODES.get(usize::from(id))?;
    let inside = |v: usize| (1..=BITS).contains(&v);
    Some(std::array::from_fn(|row| {
        std::array::from_fn(|column| {
            !(inside(row) && inside(column) && bit(code, row - 1, column - 1))
        })
    }))
}

fn bit(code: u64, row: usize, column: usize) -> bool {
    code >> (BITS * BITS - 1 - (BITS * row + column)) & 1 == 1
}

/// The code as read by who has turned the tag a quarter to the left (counter-clockwise as
/// it is looked at): its right column becomes its upper row.
fn turned_left(code: u64) -> u64 {
    rearranged(|row, column| bit(code, column, BITS - 1 - row))
}

/// The code as a mirror shows it, left and right exchanged.
pub(super) fn mirrored(code: u64) -> u64 {
    rearranged(|row, column| bit(code, row, BITS - 1 - column))
}

fn rearranged(of: impl Fn(usize, usize) -> bool) -> u64 {
    (0..BITS * BITS).fold(0, |code, k| code << 1 | u64::from(of(k / BITS, k % BITS)))
}

/// What a reading is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Match {
    pub id: u16,
    /// Quarter turns to the left after which the reading is upright.
    pub turns: usize,
    pub wrong: u32,
}

/// The tag that differs from a reading in `most` bits or fewer; no two can where `most`
/// is below 6.
pub(super) fn matched(reading: u64, most: u32) -> Option<Match> {
    let mut code = reading;
    let mut best: Option<Match> = None;
    for turns in 0..4 {
        for (id, known) in CODES.iter().enumerate() {
            let wrong = (known ^ code).count_ones();
            if wrong <= most && best.is_none_or(|b| wrong < b.wrong) {
                let id = id as u16;
                best = Some(Match { id, turns, wrong });
            }
        }
        code = turned_left(code);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The family's name says 36 bits and a distance of 11, whichever way a tag lies (Olson,
    /// *AprilTag: A robust and flexible visual fiducial system*, ICRA 2011).
    #[test]
    fn codes_differ_in_eleven_bits_however_turned() {
        let mut least = 36;
        for (k, code) in CODES.iter().enumerate() {
            assert!(code >> 36 == 0);
            let mut turned = *code;
            for turns in 0..4 {
                for (other, known) in CODES.iter().enumerate() {
                    if other != k || turns != 0 {
                        least = least.min((known ^ turned).count_ones());
                    }
                }
                turned = turned_left(turned);
            }
            assert_eq!(turned, *code, "four quarter turns are none");
        }
        assert_eq!((COUNT, least), (587, 11));
    }

    #[test]
    fn a_turned_tag_with_two_wrong_bits_is_told_and_with_three_is_not() {
        for id in [0, 17, 586] {
            let mut code = CODES[usize::from(id)];
            for left in 0..4 {
                let turns = (4 - left) % 4;
                let spoilt = code ^ 0x8_0000_0001;
                let found = matched(spoilt, MOST_WRONG);
                assert_eq!(
                    found,
                    Some(Match {
                        id,
                        turns,
                        wrong: 2
                    })
                );
                assert_eq!(matched(spoilt ^ 0x400, MOST_WRONG), None);
                code = turned_left(code);
            }
        }
    }

    #[test]
    fn the_border_is_black_and_there_are_587() {
        let first = black(0).unwrap();
        let edge = |v: usize| v == 0 || v == CELLS - 1;
        for (row, cells) in first.iter().enumerate() {
            for (column, black) in cells.iter().enumerate() {
                assert!(*black || !(edge(row) || edge(column)));
            }
        }
        assert_eq!(black(587), None);
        assert!(black(586).is_some());
    }

    #[test]
    fn a_mirrored_tag_is_no_tag() {
        for code in CODES {
            assert_eq!(mirrored(mirrored(code)), code);
            assert_eq!(matched(mirrored(code), MOST_WRONG), None);
        }
    }
}
