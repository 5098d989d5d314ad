//! Printed sheets: the files in `calibration/` are what the program makes, and
//! their lengths are true.

use ghostchalk::calibration::target::{corner_target, spacing};
use ghostchalk::calibration::{MarkRow, Profile, read_points};
use ghostchalk::sheet::Paper;
use std::path::Path;

const PAPERS: [(Paper, &str); 2] = [(Paper::A4, "a4"), (Paper::Letter, "letter")];

#[test]
fn the_sheets_in_the_folder_are_what_the_program_makes() {
    for (paper, name) in PAPERS {
        let kept = std::fs::read(format!("calibration/corner-target-{name}.pdf")).unwrap();
        let stale = "run `ghostchalk sheets --out calibration` again";
        assert!(kept == corner_target(paper).into_pdf(), "{name}: {stale}");
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
