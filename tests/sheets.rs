//! Printed sheets: the files in `calibration/` are what the program makes, and
//! their lengths are true.

use ghostchalk::calibration::target::{corner_target, spacing};
use ghostchalk::calibration::vernier::{lit, reading, vernier_sheet};
use ghostchalk::calibration::{MarkRow, Profile, read_points};
use ghostchalk::sheet::Paper;
use ghostchalk::space::Point;
use std::path::Path;

const PAPERS: [(Paper, &str); 2] = [(Paper::A4, "a4"), (Paper::Letter, "letter")];

#[test]
fn the_sheets_in_the_folder_are_what_the_program_makes() {
    for (paper, name) in PAPERS {
        let kept = std::fs::read(format!("calibration/corner-target-{name}.pdf")).unwrap();
        let stale = "run `ghostchalk sheets --out calibration` again";
        assert!(kept == corner_target(paper).into_pdf(), "{name}: {stale}");
        let file = |ending| std::fs::read(format!("calibration/vernier-{name}.{ending}")).unwrap();
        let pdf = vernier_sheet(paper).into_pdf();
        assert!(file("pdf") == pdf, "{name}: {stale}");
        let svg = vernier_sheet(paper).into_svg();
        assert!(file("svg") == svg.as_bytes(), "{name}: {stale}");
    }
}

/// Straight lines in a page's content, mm (ISO 32000: `m` and `l`, 1/72 in).
fn lines(pdf: &[u8]) -> Vec<[f64; 4]> {
    let text = String::from_utf8_lossy(pdf);
    let body = text.split("stream").nth(1).unwrap();
    let words: Vec<&str> = body.split_whitespace().collect();
    let number = |k: usize| words[k].parse::<f64>().unwrap() * 25.4 / 72.0;
    (0..words.len().saturating_sub(5))
        .filter(|&k| words[k + 2] == "m" && words[k + 5] == "l")
        .map(|k| [number(k), number(k + 1), number(k + 3), number(k + 4)])
        .collect()
}

#[test]
fn the_check_line_and_the_crosses_are_true_to_size() {
    for (paper, _) in PAPERS {
        let all = lines(&corner_target(paper).into_pdf());
        let flat: Vec<&[f64; 4]> = all.iter().filter(|l| l[1] == l[3]).collect();
        let longest = flat.iter().map(|l| l[2] - l[0]).fold(0.0, f64::max);
        assert!((longest - 100.0).abs() < 1e-3, "check line {longest}");
        // The crosses' level bars are 20 mm; their middles span the rectangle.
        let middles: Vec<(f64, f64)> = flat
            .iter()
            .filter(|l| (l[2] - l[0] - 20.0).abs() < 1e-3)
            .map(|l| ((l[0] + l[2]) / 2.0, l[1]))
            .collect();
        assert_eq!(middles.len(), 4);
        let (across, along) = spacing(paper);
        assert!((middles[1].0 - middles[0].0 - across).abs() < 1e-3);
        assert!((middles[2].1 - middles[1].1 - along).abs() < 1e-3);
        let (w, h) = paper.size_mm();
        assert!(
            middles
                .iter()
                .all(|m| m.0 > 14.0 && m.0 < w - 14.0 && m.1 > 14.0 && m.1 < h - 14.0)
        );
    }
}

/// Straight lines of a page's SVG, mm, y up.
fn svg_lines(svg: &str, high: f64) -> Vec<[f64; 4]> {
    let read = roxmltree::Document::parse(svg).unwrap();
    read.descendants()
        .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "line")))
        .map(|n| {
            let of = |name| n.attribute(name).unwrap().parse::<f64>().unwrap();
            [of("x1"), high - of("y1"), of("x2"), high - of("y2")]
        })
        .collect()
}

/// Words of a page's SVG and the middle of each, mm, y up. Digits and minus are
/// 0.556 of the size wide in Helvetica, capitals 0.72 high (Adobe's metrics).
fn svg_words(svg: &str, high: f64) -> Vec<(String, [f64; 2])> {
    let read = roxmltree::Document::parse(svg).unwrap();
    read.descendants()
        .filter(|n| n.has_tag_name(("http://www.w3.org/2000/svg", "text")))
        .map(|n| {
            let of = |name| n.attribute(name).unwrap().parse::<f64>().unwrap();
            let (text, size) = (n.text().unwrap().to_owned(), of("font-size"));
            let wide = 0.556 * size * text.chars().count() as f64;
            let middle = [of("x") + wide / 2.0, high - of("y") + 0.36 * size];
            (text, middle)
        })
        .collect()
}

#[test]
fn both_files_of_a_sheet_show_the_same_lines() {
    for (paper, _) in PAPERS {
        let pdf = lines(&vernier_sheet(paper).into_pdf());
        let svg = svg_lines(&vernier_sheet(paper).into_svg(), paper.size_mm().1);
        assert_eq!(pdf.len(), svg.len());
        for (a, b) in pdf.iter().zip(&svg) {
            assert!(
                a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-3),
                "{a:?} {b:?}"
            );
        }
        // Two check lines, one each way, and a printer's margin about all.
        let hundred = |along: usize, across: usize| {
            let is = |l: &&[f64; 4]| {
                l[across] == l[across + 2] && (l[along + 2] - l[along] - 100.0).abs() < 1e-3
            };
            svg.iter().filter(is).count()
        };
        assert_eq!([hundred(0, 1), hundred(1, 0)], [1, 1]);
        let (w, h) = paper.size_mm();
        for l in svg {
            let within = |x: f64, y: f64| x > 6.0 && x < w - 6.0 && y > 6.0 && y < h - 6.0;
            assert!(within(l[0], l[1]) && within(l[2], l[3]), "{l:?}");
        }
    }
}

/// On the sheet as printed, with light put over each mark and moved: the number
/// beside the line that agrees says which way, and how far, the light is off.
#[test]
fn every_printed_mark_reads_the_light_that_lies_on_it() {
    for (paper, _) in PAPERS {
        let (svg, high) = (vernier_sheet(paper).into_svg(), paper.size_mm().1);
        let (drawn, words) = (svg_lines(&svg, high), svg_words(&svg, high));
        let middle = |l: &[f64; 4]| [(l[0] + l[2]) / 2.0, (l[1] + l[3]) / 2.0];
        let ticks = |axis: usize| {
            let short = move |l: &&[f64; 4]| {
                let long = (l[3 - axis] - l[1 - axis]).abs();
                l[axis] == l[axis + 2] && (5.9..8.1).contains(&long)
            };
            drawn.iter().filter(short).map(middle).collect::<Vec<_>>()
        };
        let [across, away] = [ticks(0), ticks(1)];
        // A mark is where a line of each scale crosses in both their middles.
        let near = |a: [f64; 2], b: [f64; 2], by: f64| (a[0] - b[0]).hypot(a[1] - b[1]) < by;
        let marks: Vec<[f64; 2]> = across
            .iter()
            .copied()
            .filter(|a| away.iter().any(|b| near(*a, *b, 1e-3)))
            .collect();
        assert_eq!(marks.len(), 6);
        let reads = |mark: [f64; 2], axis: usize, off: f64| {
            let scale = if axis == 0 { &across } else { &away };
            let strokes = lit(Point::from(mark), [0.63, 0.63]);
            let lit = strokes.iter().filter_map(|s| {
                let [a, b] = [[s.from.x, s.from.y], [s.to.x, s.to.y]];
                (a[axis] == b[axis]).then_some(a[axis] + off)
            });
            let pairs = lit.flat_map(|at| {
                let own = scale
                    .iter()
                    .filter(|t| (t[1 - axis] - mark[1 - axis]).abs() < 1e-3);
                own.map(move |t| ((t[axis] - at).abs(), *t))
            });
            let (_, tick) = pairs.min_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
            if near(tick, mark, 1e-3) {
                return 0.0;
            }
            // The number that stands level with the line, nearest to it.
            let (text, _) = words
                .iter()
                .filter(|(_, at)| (at[axis] - tick[axis]).abs() < 0.1)
                .filter(|(text, _)| text.replace('−', "-").parse::<f64>().is_ok())
                .min_by(|a, b| {
                    let far = |w: &[f64; 2]| (w[0] - tick[0]).hypot(w[1] - tick[1]);
                    far(&a.1).total_cmp(&far(&b.1))
                })
                .unwrap();
            text.replace('−', "-").parse::<f64>().unwrap()
        };
        for mark in marks {
            for k in (-100..=100).step_by(3) {
                let off = f64::from(k) / 100.0;
                let move_by = reading(reads(mark, 0, off), reads(mark, 1, -off)).unwrap();
                assert!((off + move_by.x).abs() < 0.05 + 1e-3, "{off}: {move_by:?}");
                assert!((-off + move_by.y).abs() < 0.05 + 1e-3, "{off}: {move_by:?}");
            }
        }
    }
}

#[test]
fn the_worked_points_make_a_profile() {
    let rows = read_points(Path::new("calibration/worked/four-marks.csv"), false).unwrap();
    let rows: Vec<MarkRow> = rows
        .iter()
        .map(|r| MarkRow {
            table: r.table.unwrap(),
            projector: r.projector,
        })
        .collect();
    let rows: [MarkRow; 4] = rows.try_into().unwrap();
    let profile = Profile::of_four(&rows, [1920, 1080], false).unwrap();
    let map = profile.mapping().unwrap();
    for r in rows {
        assert!((map.pixel(r.table, 0.0).unwrap() - r.projector).length() < 1e-9);
    }
}
