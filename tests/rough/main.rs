//! How a laid sheet is cut up, on random lays: rough cuts keep clear of the
//! light and part what they say; the order of cutting follows hand and side.

mod lays;
mod order;
mod parted;
mod plain;
mod reference;
