//! Tables that were packed row by row (ISO 32000-1, 7.4.4.3): how long a row may be. The
//! parser divides by its length, and makes room for one.

use hayro_syntax::object::{Array, Dict, Object};

/// What a row's length is told by, and the most that each may be, from 1. The product of the
/// last two is kept in a byte.
const ROWS: [(&str, f64); 3] = [
    ("Columns", 1e6),
    ("Colors", 15.0),
    ("BitsPerComponent", 16.0),
];

/// The most that the number of this name may be; none if it is not about rows.
pub fn most(name: &[u8]) -> Option<f64> {
    let known = ROWS.iter().find(|(key, _)| key.as_bytes() == name);
    known.map(|&(_, most)| most)
}

/// Whether rows are of a length that can be, as the dictionary of a stream says. Of a
/// dictionary that was packed itself nobody knew before.
pub fn can_be(dict: &Dict) -> bool {
    let fits = |parms: &Dict| {
        ROWS.iter().all(|(key, most)| {
            let number = parms.get::<f64>(key);
            number.is_none_or(|n| (1.0..=*most).contains(&n))
        })
    };
    ["DP", "DecodeParms"].iter().all(|key| {
        let one = dict.get::<Dict>(key);
        let list = dict.get::<Array>(key);
        let each = list.iter().flat_map(|list| list.iter::<Object>());
        let mut all = one.into_iter().chain(each.filter_map(Object::into_dict));
        all.all(|parms| fits(&parms))
    })
}
