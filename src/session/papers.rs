//! Papers written from the panel, into the job's folder.

use super::table::LiveTable;
use crate::disk;
use crate::fault::{Fault, Outcome};
use crate::lay::{Face, Placement};
use crate::look::shades;
use crate::measure::Unit;
use crate::papers::Papers;
use crate::sheet::{Paper, pdf};
use crate::ticket::{csv, ledger, tiled};
use std::path::PathBuf;

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PaperWish {
    Tickets,
    CutList,
    Ledger,
    /// The piece in hand, at full size.
    Piece,
}

impl PaperWish {
    /// What is written of the whole job.
    pub const ALL: [Self; 3] = [Self::Tickets, Self::CutList, Self::Ledger];

    pub fn words(self) -> &'static str {
        match self {
            Self::Tickets => "write the tickets",
            Self::CutList => "write the cut list",
            Self::Ledger => "write the ledger",
            Self::Piece => "this piece on paper, full size",
        }
    }

    /// Its file in the job's folder, and how one of ours begins.
    fn file(self) -> (&'static str, &'static [u8]) {
        match self {
            Self::Tickets => ("tickets.pdf", b"%PDF-"),
            Self::CutList => ("cut-list.pdf", b"%PDF-"),
            Self::Ledger => ("ledger.csv", b"part,when,"),
            Self::Piece => ("piece.pdf", b"%PDF-"),
        }
    }
}

impl LiveTable {
    /// Writes a paper of the job as it stands, on the paper that goes with a unit: Letter with
    /// inches, else A4. Where it is.
    ///
    /// # Errors
    /// If nothing is ordered, a length can't be worked out, or the file is another's.
    pub fn write_paper(&mut self, wish: PaperWish, unit: Unit) -> Outcome<PathBuf> {
        let job = self.job();
        let state = self.bench.state();
        let stock = self.bench.goods.stock();
        let (name, begins) = wish.file();
        let path = job.folder.join(name);
        if disk::beginning(&path, 16)?.is_some_and(|b| !b.starts_with(begins)) {
            return Err(
                Fault::input("there is another file of this name", "take it away first")
                    .in_file(&path),
            );
        }
        let paper = match unit {
            Unit::Inch => Paper::Letter,
            _ => Paper::A4,
        };
        let papers = || {
            let placed: Vec<&Placement> = state.placed.values().collect();
            let shaded = shades(&stock, &placed, &state.panels, self.eyes.known());
            Papers::of(job, &stock, state, &shaded)
        };
        let bytes = match wish {
            PaperWish::Tickets => {
                let papers = papers()?;
                if papers.tickets.is_empty() {
                    return Err(Fault::input(
                        "nothing is ordered",
                        "write an order into the job",
                    ));
                }
                pdf(&papers.ticket_pages(paper, unit))
            }
            PaperWish::CutList => pdf(&papers()?.cut_list(paper, unit)),
            PaperWish::Ledger => csv(&ledger(&stock, &state.cuts.parts)).into_bytes(),
            PaperWish::Piece => {
                let held = self.bench.held().and_then(|id| state.placed.get(&id));
                let piece = held.and_then(|p| Some((stock.piece(&p.piece)?, p.face)));
                let Some((piece, face)) = piece else {
                    return Err(Fault::input(
                        "no piece is in hand",
                        "take one in hand first",
                    ));
                };
                pdf(&tiled(piece, face == Face::Down, paper, unit)?.pages)
            }
        };
        disk::write_atomic(&path, &bytes)?;
        Ok(path)
    }
}
