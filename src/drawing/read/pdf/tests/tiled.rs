//! Pages that were parted for printing: found, given, given wrongly.

use super::*;

#[test]
fn tiled_pages_are_joined_by_what_is_on_them() {
    for name in ["reportlab_tiled.pdf", "reportlab_tiled_bare.pdf"] {
        let pattern = plain(name);
        holds(
            &pattern.notes,
            "the 4 pages were joined into one sheet of 2 in a row, overlapping 15 mm and 15 mm",
        );
        check(&pattern, name);
    }
}

#[test]
fn tiled_pages_are_joined_as_given() {
    let tiles = Tiles {
        columns: 2,
        order: Order::Rows,
        overlap: [15.0; 2],
        trim: [5.0; 4],
    };
    for name in ["reportlab_tiled.pdf", "reportlab_tiled_bare.pdf"] {
        let options = Options {
            tiles: Some(tiles),
            ..Options::default()
        };
        check(&parse(&file(name), &options).unwrap(), name);
    }
    let wrong = [
        Tiles {
            columns: 0,
            ..tiles
        },
        Tiles {
            overlap: [15.0, f64::NAN],
            ..tiles
        },
        Tiles {
            overlap: [0.0, 190.0],
            ..tiles
        },
        Tiles {
            trim: [5.0, 5.0, 200.0, 5.0],
            ..tiles
        },
    ];
    for tiles in wrong {
        let options = Options {
            tiles: Some(tiles),
            ..Options::default()
        };
        assert!(
            parse(&file("reportlab_tiled.pdf"), &options).is_err(),
            "{tiles:?}"
        );
    }
}

/// A PDF of A4 pages with these contents.
fn pages(contents: &[String]) -> Vec<u8> {
    let kids: String = (0..contents.len())
        .map(|k| format!("{} 0 R ", 10 + 2 * k))
        .collect();
    let mut file = format!(
        "%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n\
         2 0 obj<</Type/Pages/Kids[{kids}]/Count {}/MediaBox[0 0 595 842]>>endobj\n",
        contents.len()
    );
    for (k, content) in contents.iter().enumerate() {
        let n = 10 + 2 * k;
        file += &format!(
            "{n} 0 obj<</Type/Page/Parent 2 0 R/Contents {} 0 R>>endobj\n\
             {} 0 obj<</Length {}>>stream\n{content}\nendstream endobj\n",
            n + 1,
            n + 1,
            content.len()
        );
    }
    (file + "trailer<</Root 1 0 R>>\n").into_bytes()
}

/// 150 mm by 200 mm on A4, on one page of two.
#[test]
fn a_large_rectangle_on_one_page_is_a_piece_and_no_frame() {
    let pocket = "85 130 425.2 566.9 re S".to_owned();
    let flap = "85 130 m 300 130 l 300 300 l 85 400 l s".to_owned();
    let read = |contents: &[String]| parse(&pages(contents), &Options::default()).unwrap();
    let found = read(&[pocket.clone(), flap.clone()]);
    assert_eq!(found.pieces.len(), 2, "{:?}", found.left_out);
    let frame = "20 20 555 802 re S ";
    let found = read(&[format!("{frame}{pocket}"), format!("{frame}{flap}")]);
    assert_eq!(found.pieces.len(), 2, "{:?}", found.left_out);
    holds(&found.left_out, "it is the frame of a page");
}

#[test]
fn a_trim_that_leaves_nothing_of_wide_pages_is_refused() {
    // A5, wide: 210 mm by 148 mm.
    let flap = "85 130 m 300 130 l 300 300 l 85 390 l s".to_owned();
    let text = String::from_utf8(pages(&[flap.clone(), flap])).unwrap();
    let wide = text.replace("[0 0 595 842]", "[0 0 595 420]");
    let with = |trim| Options {
        tiles: Some(Tiles {
            columns: 2,
            order: Order::Rows,
            overlap: [0.0; 2],
            trim: [trim; 4],
        }),
        ..Options::default()
    };
    let fault = parse(wide.as_bytes(), &with(80.0)).unwrap_err();
    assert_eq!(fault.what, "overlap and trim leave nothing of the pages");
    assert!(parse(wide.as_bytes(), &with(5.0)).is_ok());
}

/// Fifty pages of one drawing, ten in a row, overlapping 20 pt.
#[test]
fn fifty_tiled_pages_are_joined() {
    let (w, h, overlap) = (500.0, 400.0, 20.0);
    let kids: String = (0..50).map(|k| format!("{} 0 R ", 10 + 2 * k)).collect();
    let mut file = format!(
        "%PDF-1.4\n1 0 obj<</Type/Catalog/Pages 2 0 R>>endobj\n\
         2 0 obj<</Type/Pages/Kids[{kids}]/Count 50/MediaBox[0 0 {w} {h}]\
         /Resources<</XObject<</F 3 0 R>>>>>>endobj\n"
    );
    // An ellipse that nearly fills the sheet, in 20 000 points.
    let (a, b) = (2400.0, 930.0);
    let (cx, cy) = (5.0 * (w - overlap), 2.5 * (h - overlap));
    let points = (0..20_000).map(|k| {
        let (sin, cos) = (f64::from(k) / 20_000.0 * std::f64::consts::TAU).sin_cos();
        let pen = if k == 0 { 'm' } else { 'l' };
        format!("{:.4} {:.4} {pen}\n", cx + (a - 40.0) * cos, cy + b * sin)
    });
    let form = points.collect::<String>() + "s";
    file += &format!(
        "3 0 obj<</Type/XObject/Subtype/Form/BBox[-9999 -9999 9999 9999]/Length {}>>stream\n{form}\nendstream endobj\n",
        form.len()
    );
    for k in 0..50_u32 {
        let (column, row) = (f64::from(k % 10), f64::from(k / 10));
        // The lower left corner of the page on the drawing; the first row is the top.
        let (x, y) = (column * (w - overlap), (4.0 - row) * (h - overlap));
        let content = format!("1 0 0 1 {} {} cm /F Do", -x, -y);
        let n = 10 + 2 * k;
        file += &format!(
            "{n} 0 obj<</Type/Page/Parent 2 0 R/Contents {} 0 R>>endobj\n",
            n + 1
        );
        file += &format!(
            "{} 0 obj<</Length {}>>stream\n{content}\nendstream endobj\n",
            n + 1,
            content.len()
        );
    }
    file += "trailer<</Root 1 0 R>>\n";
    let begun = std::time::Instant::now();
    let found = parse(file.as_bytes(), &Options::default()).unwrap();
    println!("50 pages: {:?}", begun.elapsed());
    holds(
        &found.notes,
        "one sheet of 10 in a row, overlapping 7.1 mm and 7.1 mm",
    );
    let bounds = crate::space::Bounds::from_points(&found.pieces[0].cut[0]);
    let mm = crate::measure::MM_PER_PT;
    assert!(
        (bounds.width() - 2.0 * (a - 40.0) * mm).abs() < 0.02,
        "{}",
        bounds.width()
    );
    assert!(
        (bounds.height() - 2.0 * b * mm).abs() < 0.02,
        "{}",
        bounds.height()
    );
}

/// What is said on the command line to have the pages laid so, out of a note.
fn said(text: &str) -> Tiles {
    let words = text.split_once("so again: ").unwrap().1;
    let words = words.split_once(" (").unwrap().0;
    let mut tiles = Tiles::default();
    let mut words = words.split(' ');
    let sides = |text: &str| -> Vec<f64> {
        let mm = |one: &str| one.strip_suffix("mm").unwrap().parse().unwrap();
        text.split('x').map(mm).collect()
    };
    while let Some(word) = words.next() {
        match word {
            "--down" => tiles.order = Order::Columns,
            "--columns" => tiles.columns = words.next().unwrap().parse().unwrap(),
            "--overlap" => {
                let all = sides(words.next().unwrap());
                tiles.overlap = [all[0], all[all.len() - 1]];
            }
            "--trim" => {
                let all = sides(words.next().unwrap());
                tiles.trim = std::array::from_fn(|k| all[k % all.len()]);
            }
            other => panic!("{other}"),
        }
    }
    tiles
}

fn given(bytes: &[u8], tiles: Tiles) -> Outcome<Pattern> {
    let options = Options {
        tiles: Some(tiles),
        ..Options::default()
    };
    parse(bytes, &options)
}

fn note<'a>(pattern: &'a Pattern, part: &str) -> &'a str {
    let mut all = pattern.notes.iter();
    all.find(|n| n.contains(part))
        .unwrap_or_else(|| panic!("{part}: {:?}", pattern.notes))
}

/// Ellipses, turned, over A4 pages of which `[left, top, right, bottom]` mm show nothing,
/// two in a row, overlapping; given down columns if `down`.
fn ellipses([left, top, right, bottom]: [f64; 4], overlap: [f64; 2], down: bool) -> Vec<u8> {
    const PT: f64 = 72.0 / 25.4;
    let (w, h) = (595.0 / PT, 842.0 / PT);
    let step = [w - left - right - overlap[0], h - top - bottom - overlap[1]];
    let middle = [step[0] + overlap[0] / 2.0, step[1] + overlap[1] / 2.0];
    let rounds = |out: &mut String, of: [f64; 2]| {
        for (a, b) in [(120.0, 70.0), (60.0, 90.0)] {
            for k in 0..400 {
                let (sin, cos) = (f64::from(k) / 400.0 * std::f64::consts::TAU).sin_cos();
                let (x, y) = (a * cos - 0.4 * b * sin, b * sin + 0.3 * a * cos);
                // Y down from the page's top, as the pages are counted.
                let at = [left + middle[0] + x - of[0], top + middle[1] + y - of[1]];
                let pen = if k == 0 { 'm' } else { 'l' };
                *out += &format!("{:.4} {:.4} {pen}\n", at[0] * PT, (h - at[1]) * PT);
            }
            *out += "s\n";
        }
    };
    let contents: Vec<String> = (0..4)
        .map(|k| {
            let (column, row) = if down { (k / 2, k % 2) } else { (k % 2, k / 2) };
            let mut page = format!(
                "{:.4} {:.4} {:.4} {:.4} re W n\n",
                left * PT,
                bottom * PT,
                (w - left - right) * PT,
                (h - top - bottom) * PT
            );
            rounds(
                &mut page,
                [f64::from(column) * step[0], f64::from(row) * step[1]],
            );
            page
        })
        .collect();
    pages(&contents)
}

#[test]
fn the_note_says_what_repeats_it_and_it_does() {
    for (name, words) in [
        (
            "reportlab_tiled.pdf",
            "--columns 2 --overlap 15mm --trim 5mm",
        ),
        (
            "reportlab_tiled_bare.pdf",
            "--columns 2 --overlap 15mm --trim 5",
        ),
    ] {
        let found = plain(name);
        let note = note(&found, "to have it so again: ");
        assert!(note.contains(words), "{note}");
        let again = given(&file(name), said(note)).unwrap();
        assert_eq!(again.pieces.len(), found.pieces.len());
        check(&again, name);
    }
    // Margins and overlaps that differ by side, and pages that go down columns.
    let sides = [
        ([6.0, 8.0, 10.0, 14.0], [12.0, 9.0]),
        ([5.0; 4], [0.0, 7.0]),
    ];
    for ((trim, overlap), down) in sides.into_iter().zip([false, true]) {
        let bytes = ellipses(trim, overlap, down);
        let found = parse(&bytes, &Options::default()).unwrap();
        let tiles = said(note(&found, "so again: "));
        assert_eq!(tiles.order == Order::Columns, down);
        let near = |a: &f64, b: &f64| (a - b).abs() < 0.05;
        assert!(
            tiles.overlap.iter().zip(&overlap).all(|(a, b)| near(a, b)),
            "{tiles:?}"
        );
        assert!(
            tiles.trim.iter().zip(&trim).all(|(a, b)| near(a, b)),
            "{tiles:?}"
        );
        let again = given(&bytes, tiles).unwrap();
        let size = |p: &Pattern| crate::space::Bounds::from_points(&p.pieces[0].cut[0]).size();
        assert!((size(&found) - size(&again)).to_vector().length() < 0.01);
    }
}

#[test]
fn pages_given_wrongly_are_refused_and_told_what_fits() {
    let bytes = file("reportlab_tiled_bare.pdf");
    let right = Tiles {
        columns: 2,
        order: Order::Rows,
        overlap: [15.0; 2],
        trim: [5.0; 4],
    };
    let found = given(&bytes, right).unwrap();
    let said = note(&found, "lines that run over where pages meet");
    assert!(!said.contains("none goes on"), "{said}");
    let wrong = [
        (
            Tiles {
                trim: [0.0; 4],
                ..right
            },
            "go on within 0.3 mm: none does from page",
        ),
        (
            Tiles {
                overlap: [3.0, 15.0],
                ..right
            },
            "go on within 0.3 mm: none does from page",
        ),
        (
            Tiles {
                columns: 4,
                ..right
            },
            "go on within 0.3 mm: none does from page",
        ),
        // The white margins lie between what is drawn.
        (
            Tiles {
                overlap: [0.0; 2],
                trim: [0.0; 4],
                ..right
            },
            "no line runs over from page to page",
        ),
    ];
    for (tiles, says) in wrong {
        let fault = given(&bytes, tiles).unwrap_err();
        assert!(fault.what.contains(says), "{tiles:?}: {fault}");
        assert!(
            fault.remedy.contains("--columns 2 --overlap 15mm --trim 5"),
            "{fault}"
        );
    }
}

/// Two halves of an oblong, and of a slanted line within it, on two pages side by side.
/// The second page is shifted down by `by` mm, and `stray` lines run off the top of either.
fn halves(by: f64, stray: u32, slant: f64) -> Vec<u8> {
    const PT: f64 = 72.0 / 25.4;
    let y = |mm: f64| mm * PT;
    let s = slant * PT;
    // At another place along the upper edge of either page.
    let strays = |from: u32| -> String {
        let at = |k| y(f64::from(from + 13 * k));
        (0..stray)
            .map(|k| format!("{0} 842 m {0} 830 l S ", at(k)))
            .collect()
    };
    let left = format!(
        "595 {} m 100 {} l 100 {} l 595 {} l S ",
        y(100.0) + s,
        y(100.0),
        y(220.0),
        y(220.0)
    );
    let down = by * PT;
    let right = format!(
        "0 {} m 300 {} l 300 {} l 0 {} l S ",
        y(100.0) + s - down,
        y(100.0) + s * (1.0 + 300.0 / 495.0) - down,
        y(220.0) - down,
        y(220.0) - down
    );
    pages(&[left + &strays(20), right + &strays(26)])
}

#[test]
fn what_does_not_go_on_is_told_by_page_and_place() {
    let beside = Tiles {
        columns: 2,
        ..Tiles::default()
    };
    // Strays at the rims, for which nothing is found by itself.
    let found = given(&halves(0.0, 9, 30.0), beside).unwrap();
    note(&found, "of 2 lines that run over where pages meet, 2 go on");
    let plain = parse(&halves(0.0, 9, 30.0), &Options::default()).unwrap_err();
    assert!(plain.what.contains("no closed line"), "{plain}");
    let fault = given(&halves(1.0, 9, 30.0), beside).unwrap_err();
    assert!(
        fault.what.contains("only 0 of 4 lines")
            && fault
                .what
                .contains("page 1's right edge 77 mm from its top")
            && fault.what.contains("page 2's left edge 78 mm from its top")
            && fault.what.contains("and 1 more"),
        "{fault}"
    );
    assert!(fault.remedy.contains("measure the overlap"), "{fault}");
}

#[test]
fn lines_square_to_the_joint_do_not_tell_the_overlap() {
    let beside = Tiles {
        columns: 2,
        ..Tiles::default()
    };
    let square = |slant: f64| {
        let found = given(&halves(0.0, 0, slant), beside).unwrap();
        found
            .notes
            .iter()
            .any(|n| n.contains("so square over where pages meet"))
    };
    assert!(square(0.0));
    assert!(!square(60.0));
}
