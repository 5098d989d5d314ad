//! Paper that goes with the work: tickets for the bundles, the list of all that is cut, pieces
//! at full size, and what the ledger says.

mod gather;
mod ledger;
mod list;
mod page;
mod picture;
mod tiled;

#[cfg(test)]
mod tests;

pub use gather::{Ticket, TicketPart, tickets};
pub use ledger::{LedgerRow, PanelYield, csv, ledger, yields};
pub use list::cut_list;
pub use page::ticket_pages;
pub use tiled::{Tiled, tiled};
