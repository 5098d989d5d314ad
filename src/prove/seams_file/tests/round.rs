//! Any seams written and read again, and any text read or refused.

use super::*;
use crate::pattern::{EdgeName, FitsAt, Ring, Seam};
use proptest::prelude::*;

prop_compose! {
    fn mm()(v in prop_oneof![-1e5..1e5f64, -10.0..10.0f64]) -> f64 { v }
}

fn names() -> impl Strategy<Value = Vec<EdgeName>> {
    prop::collection::vec(("[a-zé\"\\\\ \t]{0,8}[a-z]", "[a-z0-9\" ]{0,8}[a-z]"), 1..4).prop_map(
        |all| {
            let name = |(p, e): (String, String)| EdgeName {
                piece: p.trim().to_owned(),
                edge: e.trim().to_owned(),
            };
            all.into_iter().map(name).collect()
        },
    )
}

proptest! {
    /// What is written reads back bit for bit.
    #[test]
    fn written_and_read_it_is_the_same(
        one in names(), other in names(), edges in names(),
        (ease, cloth, girth, tolerance) in (mm(), mm(), mm(), mm()),
        sewn in prop::option::of(mm()), mid in any::<bool>(), number in 1usize..50, place in 1usize..9,
    ) {
        let above = |v: f64| v.abs() + 1e-3;
        let file = SeamsFile {
            edges: vec![
                EdgeNaming {
                    piece: one[0].piece.clone(), along: Along::Number(number), name: "u".into(),
                    length: sewn.map(above), allowance: Some(cloth.abs()), line: 0,
                },
                EdgeNaming {
                    piece: one[0].piece.clone(), along: Along::Between(Place::Corner(place), Place::Notch(number)),
                    name: "v".into(), length: None, allowance: None, line: 0,
                },
            ],
            sewing: Sewing {
                seams: vec![Seam { name: "s \"1\"".into(), one, other, ease: ease.abs(), tolerance: above(tolerance) }],
                rings: vec![Ring {
                    name: "r".into(), edges, girth: above(girth), ease, cloth: cloth.abs(),
                    at: if mid { FitsAt::MidWall } else { FitsAt::Outside },
                    tolerance: above(tolerance), sewn: sewn.map(above),
                }],
            },
        };
        let mut again = SeamsFile::parse(&file.to_text().unwrap()).unwrap();
        again.edges.iter_mut().for_each(|e| e.line = 0);
        prop_assert_eq!(again, file);
    }

    /// No text makes it panic.
    #[test]
    fn any_text_is_read_or_refused(text in ".{0,200}", cut in 0usize..2400) {
        let _ = SeamsFile::parse(&text);
        let _ = SeamsFile::parse(&with(&text));
        let end = (0..=cut.min(DEMO.len())).rev().find(|&k| DEMO.is_char_boundary(k)).unwrap_or(0);
        let _ = SeamsFile::parse(&DEMO[..end]);
    }
}
