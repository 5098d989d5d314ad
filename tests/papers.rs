//! Papers as an independent reader sees them: poppler's `pdftotext` and `pdftoppm`. Where it is
//! not installed these tests say so and pass, unless `GHOSTCHALK_PAPER_TESTS` asks for them.

use image::GrayImage;
use std::path::Path;
use std::process::Command;

const DPI: f64 = 300.0;

/// px to mm at 300 dpi.
fn mm(px: f64) -> f64 {
    px / DPI * 25.4
}

fn has_poppler() -> bool {
    let there = Command::new("pdftotext").arg("-v").output().is_ok();
    if !there {
        assert!(
            std::env::var_os("GHOSTCHALK_PAPER_TESTS").is_none(),
            "poppler-utils is not installed"
        );
        eprintln!("poppler-utils is not installed: papers are not looked at");
    }
    there
}

fn ghostchalk(args: &[&str]) {
    let done = Command::new(env!("CARGO_BIN_EXE_ghostchalk"))
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .args(args)
        .output()
        .unwrap();
    assert!(
        done.status.success(),
        "{args:?}: {}",
        String::from_utf8_lossy(&done.stderr)
    );
}

fn text(pdf: &Path) -> String {
    let done = Command::new("pdftotext")
        .arg("-layout")
        .arg(pdf)
        .arg("-")
        .output()
        .unwrap();
    assert!(done.status.success());
    String::from_utf8(done.stdout).unwrap()
}

/// Every page, 300 dpi.
fn pages(pdf: &Path) -> Vec<GrayImage> {
    let folder = tempfile::tempdir().unwrap();
    let done = Command::new("pdftoppm")
        .args(["-r", "300", "-gray", "-png"])
        .arg(pdf)
        .arg(folder.path().join("p"))
        .output()
        .unwrap();
    assert!(
        done.status.success(),
        "{}",
        String::from_utf8_lossy(&done.stderr)
    );
    let mut files: Vec<_> = std::fs::read_dir(&folder)
        .unwrap()
        .map(|f| f.unwrap().path())
        .collect();
    files.sort();
    files
        .iter()
        .map(|f| image::open(f).unwrap().to_luma8())
        .collect()
}

/// How dark a column of pixels is from row `top` to before `bottom`: 1 is a pixel of black.
fn column(page: &GrayImage, x: u32, top: u32, bottom: u32) -> f64 {
    (top..bottom)
        .map(|y| 1.0 - f64::from(page.get_pixel(x, y).0[0]) / 255.0)
        .sum()
}

/// The middles of the ticks at both ends of the line to check, px: two dark columns 4 mm high,
/// 12 mm from the page's foot.
fn check_line(page: &GrayImage) -> [f64; 2] {
    let at = |mm: f64| page.height() - (mm / 25.4 * DPI) as u32;
    // Below the line, where there is nothing but ticks.
    let (top, bottom) = (at(11.5), at(10.2));
    let dark: Vec<f64> = (0..page.width())
        .map(|x| column(page, x, top, bottom))
        .collect();
    let high = f64::from(bottom - top);
    let ticks: Vec<usize> = (0..dark.len()).filter(|&x| dark[x] > 0.2 * high).collect();
    let middle = |near: usize| {
        let own = ticks.iter().filter(|&&x| x.abs_diff(near) < 12);
        let (sum, weight) = own.fold((0.0, 0.0), |(s, w), &x| {
            (s + (x as f64 + 0.5) * dark[x], w + dark[x])
        });
        sum / weight
    };
    [middle(ticks[0]), middle(*ticks.last().unwrap())]
}

#[test]
fn a_line_of_100_mm_is_100_mm() {
    if !has_poppler() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    for (paper, wide, high) in [("a4", 210.0, 297.0), ("letter", 215.9, 279.4)] {
        let pdf = folder.path().join(format!("{paper}.pdf"));
        ghostchalk(&[
            "paper",
            "demo-data",
            "heel band",
            "-o",
            pdf.to_str().unwrap(),
            "--paper",
            paper,
        ]);
        let pages = pages(&pdf);
        assert_eq!(pages.len(), 3, "two, and how they lie");
        for page in &pages[1..] {
            // A page's size is rounded up to whole pixels.
            assert!(
                (mm(f64::from(page.width())) - wide).abs() < 0.1,
                "{}",
                page.width()
            );
            assert!(
                (mm(f64::from(page.height())) - high).abs() < 0.1,
                "{}",
                page.height()
            );
            let [from, to] = check_line(page);
            assert!(
                (mm(to - from) - 100.0).abs() < 0.1,
                "{paper}: {}",
                mm(to - from)
            );
        }
        let said = text(&pdf);
        for name in [
            "page A1 (1 of 2)",
            "page B1 (2 of 2)",
            "100 mm: measure it",
            "actual size",
        ] {
            assert!(said.contains(name), "{name}: {said}");
        }
    }
}

/// The pages laid together by their crosses are the piece: its cut line, read by the program's
/// own reader of patterns, is black on them, and so far from it there is none.
#[test]
fn pages_laid_together_are_the_piece() {
    if !has_poppler() {
        return;
    }
    use ghostchalk::job::Job;
    use ghostchalk::shape::{along, bounds, length};
    let folder = tempfile::tempdir().unwrap();
    let job = Job::open(Path::new("demo-data")).unwrap();
    // Side by side, and one above the other.
    for (name, columns) in [("heel band", 2), ("sole", 1)] {
        let pdf = folder.path().join("piece.pdf");
        ghostchalk(&["paper", "demo-data", name, "-o", pdf.to_str().unwrap()]);
        let pages = pages(&pdf);
        let piece = job.pieces.iter().find(|p| p.name == name).unwrap();
        let b = bounds(piece.cut[0].iter().copied())
            .unwrap()
            .inflate(1.0, 1.0);
        // A4 less 12 mm at the sides and the top and 24 at the foot; neighbours share 10.
        let (own, step) = ([186.0, 261.0], [176.0, 251.0]);
        let closed: Vec<_> = piece.cut[0]
            .iter()
            .chain(piece.cut[0].first())
            .copied()
            .collect();
        let round = length(&closed);
        let mut off = 0.0f64;
        for k in 0..600 {
            let p = along(&closed, round * f64::from(k) / 600.0).unwrap().at;
            let (x, y) = (p.x - b.min.x, b.max.y - p.y);
            let both = [x, y];
            let tile = both
                .iter()
                .zip(own.iter().zip(&step))
                .map(|(v, (own, step))| {
                    let mut tile = 0usize;
                    while v - tile as f64 * step > *own {
                        tile += 1;
                    }
                    tile
                });
            let tile: Vec<usize> = tile.collect();
            let page = &pages[1 + tile[1] * columns + tile[0]];
            let at = [
                12.0 + x - tile[0] as f64 * step[0],
                12.0 + y - tile[1] as f64 * step[1],
            ];
            // The nearest dark pixel.
            let [cx, cy] = at.map(|v| v / 25.4 * DPI);
            let mut near = f64::MAX;
            for dy in -8..=8i32 {
                for dx in -8..=8i32 {
                    let (px, py) = (cx as i32 + dx, cy as i32 + dy);
                    if px < 0 || py < 0 || px >= page.width() as i32 || py >= page.height() as i32 {
                        continue;
                    }
                    if page.get_pixel(px as u32, py as u32).0[0] < 100 {
                        let d = (f64::from(px) + 0.5 - cx).hypot(f64::from(py) + 0.5 - cy);
                        near = near.min(d);
                    }
                }
            }
            off = off.max(mm(near));
        }
        // A pixel is 0.085 mm, the line 0.3.
        assert!(off < 0.1, "{name}: {off} mm");
    }
}

#[test]
fn tickets_and_the_list_say_what_is_cut() {
    if !has_poppler() {
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let pdf = folder.path().join("tickets.pdf");
    ghostchalk(&["tickets", "demo-data", "-o", pdf.to_str().unwrap()]);
    let said = text(&pdf);
    for words in [
        "Deck-chair slippers",
        "upper, canvas",
        "1 as drawn, 1 mirrored",
        "heel band lining, flannel",
        "cut by length",
        "stay tape",
        "364.3 mm",
        "middle 182.1 mm",
        "waxed linen thread, 6 m",
        "sewn in this order",
        "1. close the toe darts",
        "lightness",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let list = folder.path().join("list.pdf");
    ghostchalk(&["order", "demo-data", "--list", list.to_str().unwrap()]);
    let said = text(&list);
    for words in [
        "2 x upper (1 as drawn, 1 mirrored)",
        "2 x size label",
        "by length",
        "spread sling, single",
        "sheets, in the order in which they are cut",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
}
