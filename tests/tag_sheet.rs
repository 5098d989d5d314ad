//! The printed sheet of tags: the files in `calibration/` are what the program makes, PDF and SVG
//! show the same black, and a photo of the sheet is placed where the board says it lies.

use ghostchalk::calibration::tag_sheet::tag_sheet;
use ghostchalk::photo::Picture;
use ghostchalk::photo::tags::{Board, PITCH, SIZE, find};
use ghostchalk::sheet::Paper;
use image::{GrayImage, ImageFormat, Luma};
use std::io::Cursor;

const PAPERS: [(Paper, &str); 2] = [(Paper::A4, "a4"), (Paper::Letter, "letter")];

type Rings = Vec<Vec<[f64; 2]>>;

/// Black areas of a page's SVG, mm, y up: rings of each path.
fn svg_areas(svg: &str, high: f64) -> Vec<Rings> {
    let read = roxmltree::Document::parse(svg).unwrap();
    let paths = read.descendants().filter_map(|n| n.attribute("d"));
    let corner = |text: &str| -> [f64; 2] {
        let [x, y]: [f64; 2] = text
            .split_whitespace()
            .map(|v| v.parse().unwrap())
            .collect::<Vec<f64>>()
            .try_into()
            .unwrap();
        [x, high - y]
    };
    let rings = |d: &str| -> Rings {
        let closed = d.trim_end_matches('Z').split('Z');
        closed
            .map(|ring| {
                ring.trim_start_matches('M')
                    .split('L')
                    .map(corner)
                    .collect()
            })
            .collect()
    };
    paths.map(rings).collect()
}

/// Black areas of a page's PDF (ISO 32000: m, l, h, f*; 1/72 in).
fn pdf_areas(pdf: &[u8]) -> Vec<Rings> {
    let text = String::from_utf8_lossy(pdf);
    let body = text.split("stream").nth(1).unwrap();
    let words: Vec<&str> = body.split_whitespace().collect();
    let mm = |k: usize| words[k].parse::<f64>().unwrap() * 25.4 / 72.0;
    let (mut areas, mut rings, mut ring) = (Vec::new(), Rings::new(), Vec::new());
    for (k, word) in words.iter().enumerate() {
        match *word {
            "m" => ring = vec![[mm(k - 2), mm(k - 1)]],
            "l" => ring.push([mm(k - 2), mm(k - 1)]),
            "h" => rings.push(std::mem::take(&mut ring)),
            "f*" => areas.push(std::mem::take(&mut rings)),
            _ => {}
        }
    }
    areas
}

#[test]
fn the_sheets_in_the_folder_are_what_the_program_makes() {
    for (paper, name) in PAPERS {
        let stale = "run `ghostchalk sheets --out calibration` again";
        let file = |ending| std::fs::read(format!("calibration/tags-{name}.{ending}")).unwrap();
        assert!(
            file("pdf") == tag_sheet(paper).into_pdf(),
            "{name}: {stale}"
        );
        let svg = tag_sheet(paper).into_svg();
        assert!(file("svg") == svg.as_bytes(), "{name}: {stale}");
    }
}

#[test]
fn both_files_show_the_same_black_at_true_size() {
    for (paper, _) in PAPERS {
        let (wide, high) = paper.size_mm();
        let svg = svg_areas(&tag_sheet(paper).into_svg(), high);
        let pdf = pdf_areas(&tag_sheet(paper).into_pdf());
        assert_eq!((svg.len(), pdf.len()), (6, 6));
        let mut lower_left = Vec::new();
        for (a, b) in svg.iter().zip(&pdf) {
            let all = |rings: &Rings| rings.iter().flatten().copied().collect::<Vec<_>>();
            let (a, b) = (all(a), all(b));
            assert_eq!(a.len(), b.len());
            assert!(
                a.iter()
                    .zip(&b)
                    .all(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1]) < 1e-3)
            );
            let least = [0, 1].map(|k| a.iter().map(|p| p[k]).fold(f64::INFINITY, f64::min));
            let most = [0, 1].map(|k| a.iter().map(|p| p[k]).fold(0.0, f64::max));
            assert!(
                [0, 1]
                    .iter()
                    .all(|&k| (most[k] - least[k] - SIZE).abs() < 1e-3)
            );
            assert!(
                least[0] > 20.0
                    && most[0] < wide - 20.0
                    && least[1] > 14.0
                    && most[1] < high - 14.0
            );
            lower_left.push(least);
        }
        // Upper left, upper right, and down.
        let by = |k: usize| [0, 1].map(|i| ((lower_left[k][i] - lower_left[0][i]) / PITCH).round());
        assert_eq!(
            [by(1), by(2), by(5)],
            [[1.0, 0.0], [0.0, -1.0], [1.0, -2.0]]
        );
        let lines: Vec<f64> = tag_sheet(paper)
            .into_svg()
            .lines()
            .filter(|l| l.starts_with("<line"))
            .map(|l| {
                let of = |name: &str| -> f64 {
                    let from = l.find(&format!("{name}=\"")).unwrap() + name.len() + 2;
                    l[from..].split('"').next().unwrap().parse().unwrap()
                };
                (of("x2") - of("x1")).hypot(of("y2") - of("y1"))
            })
            .collect();
        assert_eq!(
            lines.iter().filter(|l| (**l - 100.0).abs() < 1e-3).count(),
            2
        );
    }
}

/// The sheet as it lies under a camera that looks straight down, turned by 0.3, 2.6 px a mm.
fn photo(paper: Paper) -> (Picture, impl Fn([f64; 2]) -> [f64; 2]) {
    let (wide, high) = paper.size_mm();
    let areas = svg_areas(&tag_sheet(paper).into_svg(), high);
    let ([sin, cos], fine) = ([0.3f64.sin(), 0.3f64.cos()], 2.6);
    let seen = move |[x, y]: [f64; 2]| {
        let (x, y) = (x - wide / 2.0, y - high / 2.0);
        [
            480.0 + fine * (cos * x - sin * y),
            460.0 - fine * (sin * x + cos * y),
        ]
    };
    let under = move |[u, v]: [f64; 2]| {
        let (a, b) = ((u - 480.0) / fine, (460.0 - v) / fine);
        [
            cos * a + sin * b + wide / 2.0,
            cos * b - sin * a + high / 2.0,
        ]
    };
    let odd = |rings: &Rings, [x, y]: [f64; 2]| {
        rings.iter().fold(false, |odd, ring| {
            ring.iter().enumerate().fold(odd, |odd, (k, a)| {
                let b = ring[(k + 1) % ring.len()];
                let meets = (a[1] > y) != (b[1] > y)
                    && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]);
                odd != meets
            })
        })
    };
    let picture = GrayImage::from_fn(960, 920, |u, v| {
        let looks = (0..16).map(|k| {
            let look = |k: u32| (f64::from(k) + 0.5) / 4.0;
            let p = under([f64::from(u) + look(k % 4), f64::from(v) + look(k / 4)]);
            let on_paper = (0.0..wide).contains(&p[0]) && (0.0..high).contains(&p[1]);
            let black = || areas.iter().any(|rings| odd(rings, p));
            match on_paper {
                true if black() => 0.04,
                true => 0.75,
                false => 0.2,
            }
        });
        let light: f64 = looks.sum::<f64>() / 16.0;
        // IEC 61966-2-1.
        Luma([(255.0 * (1.055 * light.powf(1.0 / 2.4) - 0.055)).round() as u8])
    });
    let mut bytes = Vec::new();
    picture
        .write_to(&mut Cursor::new(&mut bytes), ImageFormat::Png)
        .unwrap();
    (Picture::read(&bytes).unwrap(), seen)
}

#[test]
fn a_photo_of_the_printed_sheet_is_placed_by_the_board() {
    for (paper, _) in PAPERS {
        let (picture, seen) = photo(paper);
        let (wide, high) = paper.size_mm();
        let sighting = Board::sheet().seen(&find(&picture)).unwrap();
        assert_eq!((sighting.ids.len(), sighting.seen.len()), (6, 24));
        assert_eq!(sighting.notes, [] as [&str; 0]);
        // The board's origin is tag 4's lower left corner: what is above the tags on the page
        // takes 11 mm, and the rest is in the page's middle.
        let margin = (PITCH - SIZE) / 2.0;
        let (left, foot) = (
            (wide - 2.0 * PITCH) / 2.0,
            (high - 11.0 - 3.0 * PITCH) / 2.0,
        );
        for s in sighting.seen {
            let [x, y] = seen([left + margin + s.is.x, foot + margin + s.is.y]);
            let off = (s.at.x - x).hypot(s.at.y - y);
            assert!(off < 0.1, "{s:?}: {off} px off");
        }
    }
}
