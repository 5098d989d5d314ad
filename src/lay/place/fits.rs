//! Where a piece fits, of all places a cell apart: the free cells eroded by the cells that
//! the piece touches.
//!
//! A place is one at which every row of the piece's cells falls on free cells: the erosion
//! of the free set by the piece (Serra, *Image Analysis and Mathematical Morphology*, 1982),
//! which is the free part of the piece's configuration space (Lozano-Pérez, IEEE Trans.
//! Computers 32(2), 1983). A row is eroded by a run of n cells with two looks at runs of
//! 2^k ≤ n cells laid one over the other, as a minimum over a range is had from a sparse
//! table (Bender & Farach-Colton, LATIN 2000); 64 places at once.

use super::cells::{Cells, Run};

/// The free cells, and those at which a run of 2, 4, 8, … free cells begins.
#[derive(Debug)]
pub struct Free {
    levels: Vec<Cells>,
}

impl Free {
    /// Of free cells that have `pad` ≥ 2 + (cells of the widest run)/64 words after each
    /// row, for runs up to `longest` cells.
    pub fn new(cells: Cells, longest: usize) -> Self {
        let mut levels = vec![cells];
        let mut length = 1;
        while 2 * length <= longest {
            let last = &levels[levels.len() - 1];
            let mut next = last.clone();
            let look = Look::at(length);
            for y in 0..last.height {
                let row = last.row(y);
                let to = &mut next.words[y * last.stride..(y + 1) * last.stride];
                for (w, word) in to.iter_mut().enumerate() {
                    *word &= look.word(row, w);
                }
            }
            levels.push(next);
            length *= 2;
        }
        Self { levels }
    }

    /// The free cells themselves.
    pub fn cells(&self) -> &Cells {
        &self.levels[0]
    }

    /// The cells at which the corner of the box of `runs` (least column, least row) may lie
    /// so that all their cells are free; no runs have no place. The runs' rows and columns must
    /// begin at 0.
    pub fn erode(&self, runs: &[Run]) -> Cells {
        let free = self.cells();
        let mut fits = Cells::none(free.width, free.height, 0);
        let Some(tall) = runs.iter().map(|r| r.row as usize + 1).max() else {
            return fits;
        };
        // Long runs tell most places apart: first.
        let mut order: Vec<&Run> = runs.iter().collect();
        order.sort_by_key(|r| r.from - r.to);
        let looks: Vec<(usize, usize, Look, Look)> = order
            .iter()
            .map(|r| {
                let length = (r.to - r.from) as usize;
                let level = length.ilog2() as usize;
                let from = r.from as usize;
                let second = from + length - (1 << level);
                (r.row as usize, level, Look::at(from), Look::at(second))
            })
            .collect();
        let words = fits.stride;
        for y in 0..(free.height + 1).saturating_sub(tall) {
            let own = &mut fits.words[y * words..(y + 1) * words];
            own.fill(u64::MAX);
            for (dy, level, first, second) in &looks {
                let row = self.levels[*level].row(y + dy);
                let mut any = 0;
                let a = first.over(row, words);
                let b = second.over(row, words);
                for ((word, a), b) in own.iter_mut().zip(a).zip(b) {
                    *word &= a & b;
                    any |= *word;
                }
                if any == 0 {
                    break;
                }
            }
        }
        fits
    }
}

/// A row looked at from a cell further to the right.
#[derive(Debug, Clone, Copy)]
struct Look {
    words: usize,
    bits: u32,
}

impl Look {
    fn at(cells: usize) -> Self {
        Self {
            words: cells / 64,
            bits: (cells % 64) as u32,
        }
    }

    /// Word `w` of the row as it is seen from there; beyond the row there is nothing.
    fn word(self, row: &[u64], w: usize) -> u64 {
        let at = |k: usize| row.get(k).copied().unwrap_or(0);
        let (low, high) = (at(w + self.words), at(w + self.words + 1));
        // A shift by 64 is none: two steps.
        (low >> self.bits) | ((high << 1) << (63 - self.bits))
    }

    /// The first words as seen from there; the row's padding must reach so far.
    fn over(self, row: &[u64], words: usize) -> impl Iterator<Item = u64> + '_ {
        let part = &row[self.words..self.words + words + 1];
        let pairs = part.iter().zip(&part[1..]);
        pairs.map(move |(low, high)| (low >> self.bits) | ((high << 1) << (63 - self.bits)))
    }
}
