//! Two slips that make marks disagree wildly and are easily put right: two
//! marks taken for each other, and the cloth spread wrong side up.

use crate::adjust::{Pair, SIGNIFICANCE, chance_of_more, fit};

/// A slip that explains all the misfit; marks are counted from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mistake {
    Exchanged(usize, usize),
    TurnedOver,
}

/// The one slip that makes three or more marks agree, if there is just one.
/// Two marks can't tell: exchanged they are as far apart.
pub(super) fn mistake(pairs: &[Pair]) -> Option<Mistake> {
    if pairs.len() < 3 {
        return None;
    }
    let agree = |tried: &[Pair]| {
        fit(tried).is_ok_and(|f| chance_of_more(f.chi2, f.freedom) >= SIGNIFICANCE)
    };
    let mut found = Vec::new();
    for a in 0..pairs.len() {
        for b in a + 1..pairs.len() {
            let mut tried = pairs.to_vec();
            (tried[a].to, tried[b].to) = (pairs[b].to, pairs[a].to);
            if agree(&tried) {
                found.push(Mistake::Exchanged(a, b));
            }
        }
    }
    let mut over = pairs.to_vec();
    for p in &mut over {
        p.from[0] = -p.from[0];
    }
    if agree(&over) {
        found.push(Mistake::TurnedOver);
    }
    match found[..] {
        [one] => Some(one),
        _ => None,
    }
}
