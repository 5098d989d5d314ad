//! Orders that become articles: whatever is ordered, it is as many as were ordered, and no two
//! are called alike.

use std::fmt::Write;

use ghostchalk::job::JobFile;
use ghostchalk::pattern::PatternPiece;

use super::Target;
use super::bytes::Bytes;

pub const ORDER: Target = Target {
    name: "order",
    run: order,
    seeds: &["fuzz/seeds/order/*"],
};

const PIECES: [&str; 6] = [
    "upper",
    "upper 255",
    "upper 26 cm",
    "sole",
    "sole 255",
    "strap",
];
const CLOTHS: [&str; 3] = ["canvas", "felt", "flannel"];
const SIZES: [&str; 3] = ["255", "26 cm", "270"];

fn order(data: &[u8]) {
    let text = job(&mut Bytes::new(data));
    let file = JobFile::parse(&text);
    let file = file.unwrap_or_else(|fault| panic!("{fault}\n{text}"));
    let Ok(patterns) = file.all_patterns() else {
        return;
    };
    assert!(patterns.len() <= file.patterns.len() + file.orders.len());
    let pieces = PIECES.map(PatternPiece::named);
    let Ok(all) = file.all_articles(&pieces) else {
        return;
    };
    let (written, ordered) = all.split_at(file.articles.len());
    assert_eq!(written, file.articles);
    let sum = |of: fn(&ghostchalk::order::Order) -> u32| -> usize {
        file.orders.iter().map(|o| of(o) as usize).sum()
    };
    let spare = ordered.iter().filter(|a| a.spare).count();
    assert_eq!(ordered.len(), sum(|o| o.count + o.spare), "{text}");
    assert_eq!(spare, sum(|o| o.spare), "{text}");
    for (k, article) in ordered.iter().enumerate() {
        let twice = ordered[..k].iter().chain(written);
        let twice = twice.filter(|a| a.name == article.name).count();
        assert_eq!(twice, 0, "two are called {:?}\n{text}", article.name);
        for part in &article.parts {
            assert!(PIECES.contains(&part.piece.as_str()), "{:?}", part.piece);
            assert!(part.count > 0 && !part.cut_note().is_empty());
            let (up, down) = part.hands();
            assert_eq!(up + down, part.count);
        }
    }
}

/// A job with a few makes and orders; not all of them can be carried out.
fn job(bytes: &mut Bytes) -> String {
    let mut out = String::from("ghostchalk_job = 1\nname = \"orders\"\n");
    // Writing to a string can't fail.
    let mut put = |text: std::fmt::Arguments| {
        let _ = out.write_fmt(text);
    };
    for _ in 0..bytes.below(3) {
        put(format_args!("[[article]]\nname = \"{}\"\n", bytes.below(9)));
    }
    let makes = bytes.below(3);
    for k in 0..makes {
        put(format_args!("[[make]]\nname = \"make {k}\"\n"));
        if bytes.flag() {
            put(format_args!("draft = \"d.toml\"\n"));
        }
        for _ in 0..bytes.below(4) {
            let (piece, cloth) = (PIECES[bytes.below(6)], CLOTHS[bytes.below(3)]);
            put(format_args!(
                "[[make.part]]\npiece = \"{piece}\"\ncloth = \"{cloth}\"\ncount = {}\npair = {}\n",
                bytes.below(5),
                bytes.flag()
            ));
            if bytes.below(4) == 0 {
                put(format_args!("with = \"lining\"\n"));
            }
            if bytes.below(4) == 0 {
                put(format_args!("inside = \"{}\"\n", PIECES[bytes.below(6)]));
            }
        }
    }
    for _ in 0..bytes.below(6) {
        let make = bytes.below(makes + 1);
        put(format_args!("[[order]]\nmake = \"make {make}\"\n"));
        put(format_args!("count = {}\n", bytes.below(40)));
        put(format_args!("spare = {}\n", bytes.below(4)));
        if bytes.below(4) == 0 {
            put(format_args!("first = {}\n", bytes.below(60)));
        }
        match bytes.below(4) {
            0 => put(format_args!("size = \"{}\"\n", SIZES[bytes.below(3)])),
            1 => put(format_args!(
                "measures = {{ foot = \"{}\" }}\n",
                SIZES[bytes.below(3)]
            )),
            _ => {}
        }
        if bytes.below(4) == 0 {
            put(format_args!("with = [\"lining\"]\n"));
        }
        if bytes.below(4) == 0 {
            let (from, to) = (CLOTHS[bytes.below(3)], CLOTHS[bytes.below(3)]);
            put(format_args!("cloths = {{ {from} = \"{to}\" }}\n"));
        }
    }
    out
}
