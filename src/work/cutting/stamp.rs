//! What is noted with what is cut.

use crate::work::op::Id;
use std::collections::BTreeMap;

/// When, by which table, and how true: noted with what is cut.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stamp {
    /// UTC, as RFC 3339 writes it.
    pub when: String,
    /// The table's profile, by its file.
    pub profile: Option<String>,
    /// Standard errors of the pieces' shape, mm.
    pub errors: BTreeMap<Id, f64>,
}
