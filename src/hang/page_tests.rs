use super::tests::{hung, near};
use super::{Side, Wanted, hang_page};
use crate::measure::Unit;
use crate::sheet::{Paper, width};

/// A page's words with their boxes: left, right, bottom, top; mm from its upper left corner, down.
fn boxes(svg: &str) -> Vec<(String, [f64; 4])> {
    let read = roxmltree::Document::parse(svg).unwrap();
    let texts = read.descendants().filter(|n| n.tag_name().name() == "text");
    texts
        .map(|n| {
            let of = |name| n.attribute(name).unwrap().parse::<f64>().unwrap();
            let (x, y, size) = (of("x"), of("y"), of("font-size"));
            let text = n.text().unwrap().to_owned();
            // Helvetica's lowest letters reach 0.21 below the line, its capitals 0.73 above.
            let wide = width(&text, size);
            (text, [x, x + wide, y + 0.21 * size, y - 0.73 * size])
        })
        .collect()
}

#[test]
fn no_words_of_the_page_lie_over_others_or_in_the_margin() {
    let cautions = ["Mount: a falling projector injures."; 3];
    let all: [&dyn Fn(&mut Wanted); 9] = [
        &|_| (),
        &|w| w.ceiling = Some(2400.0),
        &|w| (w.offset, w.ceiling) = (1.2, Some(2700.0)),
        &|w| (w.offset, w.side) = (0.6, Some(Side::Left)),
        &|w| w.table = [700.0, 2400.0],
        &|w| (w.throw, w.height, w.ceiling) = (0.5, Some(790.0), Some(1700.0)),
        &|w| (w.table, w.throw) = ([5000.0, 1500.0], 0.5),
        &|w| (w.throw, w.height, w.offset) = (0.1, Some(1900.0), 2.0),
        &|w| (w.table, w.throw, w.picture) = ([200.0, 200.0], 4.0, [64, 64]),
    ];
    for (k, change) in all.iter().enumerate() {
        let h = hung(change);
        for (paper, unit) in [
            (Paper::A4, Unit::Mm),
            (Paper::A4, Unit::Inch),
            (Paper::Letter, Unit::Mm),
            (Paper::Letter, Unit::Inch),
        ] {
            let all = boxes(&hang_page(&h, paper, unit, &cautions).into_svg());
            let (wide, high) = paper.size_mm();
            for (n, (text, a)) in all.iter().enumerate() {
                let inside = a[0] > 12.0 && a[1] < wide - 12.0 && a[3] > 12.0 && a[2] < high - 12.0;
                assert!(inside, "{k} {paper:?} {unit:?}: {text} {a:?}");
                for (other, b) in &all[n + 1..] {
                    let apart = a[1] <= b[0] || b[1] <= a[0] || a[2] <= b[3] || b[2] <= a[3];
                    assert!(apart, "{k} {paper:?} {unit:?}: {text} over {other}");
                }
            }
        }
    }
}

#[test]
fn the_plan_is_to_the_scale_that_it_states() {
    let h = hung(|_| ());
    for (paper, scale) in [(Paper::A4, 20.0), (Paper::Letter, 20.0)] {
        let svg = hang_page(&h, paper, Unit::Mm, &[]).into_svg();
        let words = boxes(&svg);
        let all: Vec<&str> = words.iter().map(|(t, _)| t.as_str()).collect();
        let stated = format!("1:{scale:.0} if printed");
        assert!(all.join(" ").contains(&stated), "{all:?}");
        // The first line is the cross at the foot, from its left end.
        let read = roxmltree::Document::parse(&svg).unwrap();
        let line = read.descendants().find(|n| n.tag_name().name() == "line");
        let of = |name| {
            line.unwrap()
                .attribute(name)
                .unwrap()
                .parse::<f64>()
                .unwrap()
        };
        let (x, y) = ((of("x1") + of("x2")) / 2.0, of("y1"));
        for error in ["0.1", "0.2"] {
            let (_, b) = words.iter().find(|(t, _)| t == error).unwrap();
            let (left, up) = ((b[0] + b[1]) / 2.0, b[2] - 0.56 * 2.2);
            let by_hand = error.parse::<f64>().unwrap() * 1792.0 / scale;
            near((left - x).hypot(up - y), by_hand, 0.02);
        }
    }
}
