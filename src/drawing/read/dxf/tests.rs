//! Files by ezdxf with known geometry, and broken ones. `tests/reference/pattern_files.py`
//! made them.

use super::*;
use crate::drawing::read::testing::{check, file, holds};
use crate::pattern::NotchKind;
use proptest::prelude::*;

fn plain(name: &str) -> Pattern {
    parse(&file(name), &Options::default()).unwrap()
}

fn refused(text: &str) -> String {
    let fault = parse(text.as_bytes(), &Options::default()).unwrap_err();
    assert!(!fault.remedy.is_empty());
    fault.to_string()
}

/// A drawing of these entities, in millimetres.
fn drawing(entities: &str) -> String {
    format!(
        "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n\
         {entities}0\nENDSEC\n0\nEOF\n"
    )
}

const SQUARE: &str = "0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n10\n0\n20\n0\n10\n90\n20\n0\n10\n90\n\
                      20\n80\n10\n0\n20\n80\n";

#[test]
fn lines_arcs_bulges_and_splines_of_every_version_are_where_they_were_drawn() {
    for name in [
        "ezdxf_r12.dxf",
        "ezdxf_r2000_cm.dxf",
        "ezdxf_r2010_in.dxf",
        "ezdxf_r2018_mm.dxf",
    ] {
        let pattern = plain(name);
        check(&pattern, name);
        let band = &pattern.pieces[0];
        assert_eq!(band.name, "heel band", "{name}");
        // The net line lies 10 mm inside.
        assert_eq!(band.net.len(), 1, "{name}: {:?}", pattern.notes);
        assert!(band.net[0].closed && band.lines.is_empty());
        assert!(
            pattern.left_out.iter().all(|l| l.contains("TEXT")),
            "{:?}",
            pattern.left_out
        );
        let largest = match pattern.pieces.len() {
            1 => "the largest piece, \"heel band\", is 225 mm by 50 mm",
            _ => "the largest piece, \"upper\", is",
        };
        holds(&pattern.notes, largest);
    }
}

#[test]
fn blocks_mirrored_turned_scaled_and_nested_are_where_they_show() {
    let pattern = plain("ezdxf_blocks.dxf");
    check(&pattern, "ezdxf_blocks.dxf");
    holds(&pattern.notes, "1 line is drawn at heights up to 3 mm");
}

#[test]
fn the_layers_of_the_sewn_products_standard_are_read_with_every_mark() {
    let pattern = plain("ezdxf_sewn_r12.dxf");
    check(&pattern, "ezdxf_sewn_r12.dxf");
    let band = &pattern.pieces[0];
    assert_eq!((band.cut_count, band.pair), (2, true));
    assert_eq!(
        (band.net.len(), band.cutouts.len(), band.lines.len()),
        (1, 1, 1)
    );
    let depths: Vec<f64> = band
        .notches
        .iter()
        .map(|n| (n.depth * 1e3).round() / 1e3)
        .collect();
    assert_eq!(depths, [5.0, 6.0]);
    assert_eq!(band.folds.len(), 1);
    assert!((crate::shape::length(&band.folds[0]) - 50.0).abs() < 1e-6);
    assert!(band.label_at.is_some());
    assert_eq!(pattern.left_out.len(), 1, "{:?}", pattern.left_out);
    holds(&pattern.notes, "was not used: 2 points and lines");
}

#[test]
fn without_a_unit_the_person_is_asked_and_what_they_say_counts() {
    let bare = drawing(SQUARE).replace("70\n4\n", "70\n0\n");
    assert!(refused(&bare).ends_with("say its unit: mm, cm or in."));
    let with = |unit| Options {
        unit: Some(unit),
        ..Options::default()
    };
    for unit in [Unit::Mm, Unit::Cm, Unit::Inch] {
        let pattern = parse(bare.as_bytes(), &with(unit)).unwrap();
        let width = crate::space::Bounds::from_points(&pattern.pieces[0].cut[0]).width();
        assert!((width - 90.0 * unit.mm()).abs() < 1e-9);
    }
    let other = parse(drawing(SQUARE).as_bytes(), &with(Unit::Inch)).unwrap();
    holds(
        &other.notes,
        "the file says that one unit is 1 mm; it was read as 25.4 mm",
    );
    let text = "0\nTEXT\n8\n0\n10\n0\n20\n0\n40\n5\n1\nUnits: ENGLISH\n";
    assert!(refused(&drawing(&format!("{SQUARE}{text}"))).contains("a text that it is 25.4 mm"));
    let double = Options {
        scale: 2.0,
        ..Options::default()
    };
    let pattern = parse(drawing(SQUARE).as_bytes(), &double).unwrap();
    assert!((crate::shape::signed_area(&pattern.pieces[0].cut[0]) - 4.0 * 7200.0).abs() < 1e-6);
}

#[test]
fn bad_files_are_refused_with_the_line() {
    let good = drawing(SQUARE);
    assert!(parse(good.as_bytes(), &Options::default()).is_ok());
    let cases = [
        (String::new(), "the file is empty"),
        ("hello\nthere\n".into(), "this is not a DXF"),
        ("%PDF-1.4\n%".into(), "this is not a DXF"),
        (
            "AutoCAD Binary DXF\r\n\u{1a}".into(),
            "this is a binary DXF",
        ),
        (good.replace("0\nEOF\n", ""), "it was cut short"),
        (
            good.replace("20\n80\n10", "20\n8o\n10"),
            "line 34: \"8o\" is not a number",
        ),
        (
            good.replace("20\n80\n10", "20\n1e400\n10"),
            "\"1e400\" is not a number",
        ),
        (
            good.replace("20\n80\n10", "x\n80\n10"),
            "line 33: \"x\" stands where a number should",
        ),
        (
            good.replace("70\n1\n", "70\n0\n"),
            "there is no closed line",
        ),
        (drawing(""), "there is no line in the drawing"),
        (good.replace("10\n90\n", "10\n9e8\n"), "larger than 100 m"),
    ];
    for (text, says) in cases {
        let said = refused(&text);
        assert!(said.contains(says), "{said} / {says}");
    }
}

#[test]
fn blocks_that_hold_themselves_or_multiply_are_refused() {
    let blocks = |inner: &str| {
        let with = format!(
            "0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nA\n10\n0\n20\n0\n{inner}0\nENDBLK\n\
             0\nBLOCK\n2\nB\n10\n0\n20\n0\n0\nINSERT\n2\nA\n10\n0\n20\n0\n0\nENDBLK\n\
             0\nENDSEC\n0\nSECTION\n2\nENTITIES"
        );
        drawing("0\nINSERT\n2\nB\n10\n0\n20\n0\n").replacen(
            "0\nENDSEC\n0\nSECTION\n2\nENTITIES",
            &with,
            1,
        )
    };
    let said = refused(&blocks("0\nINSERT\n2\nb\n10\n0\n20\n0\n"));
    assert!(
        said.contains("INSERT: the block \"b\" holds itself"),
        "{said}"
    );
    let said = refused(&blocks("0\nINSERT\n2\nC\n"));
    assert!(said.contains("which is not in the file"), "{said}");
    let many = "0\nINSERT\n2\nC\n70\n9999\n71\n9999\n";
    assert!(refused(&blocks(many)).contains("not in the file"));
    let flood = drawing("0\nINSERT\n2\nA\n70\n100000\n71\n100000\n44\n1\n");
    assert!(refused(&flood).contains("not in the file"));
}

/// What is off costs as much as what shows, and a large entity more than a small one.
#[test]
fn blocks_that_multiply_are_refused_though_they_are_off() {
    let file = |inner: &str, many: u32| {
        format!(
            "0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n0\nLAYER\n2\nOld\n70\n0\n62\n-7\n0\nENDTAB\n\
             0\nENDSEC\n0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nA\n10\n0\n20\n0\n{inner}0\nENDBLK\n0\nENDSEC\n{}",
            drawing(&format!(
                "{SQUARE}0\nINSERT\n8\n0\n2\nA\n10\n0\n20\n0\n70\n{many}\n71\n{many}\n44\n1\n45\n1\n"
            ))
        )
    };
    let off = "0\nLINE\n8\nOld\n10\n0\n20\n0\n11\n1\n21\n1\n".repeat(900);
    let said = refused(&file(&off, 95));
    assert!(
        said.contains("LINE: its blocks are drawn more often"),
        "{said}"
    );
    assert!(parse(file(&off, 3).as_bytes(), &Options::default()).is_ok());
    let large = format!("0\nLWPOLYLINE\n8\nOld\n{}", "10\n0\n20\n0\n".repeat(5000));
    assert!(refused(&file(&large, 95)).contains("LWPOLYLINE: its blocks are drawn"));
}

#[test]
fn a_stray_block_makes_no_drawing_one_of_sewn_products() {
    let file = |inner: &str, loose: &str| {
        let insert = "0\nINSERT\n8\n0\n2\nA\n10\n300\n20\n0\n";
        let text = format!(
            "0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nA\n10\n0\n20\n0\n{inner}0\nENDBLK\n0\nENDSEC\n{}",
            drawing(&format!("{loose}{insert}"))
        );
        parse(text.as_bytes(), &Options::default()).unwrap()
    };
    let boundary = SQUARE.replace("8\n0\n90", "8\n1\n90");
    let line = "0\nLINE\n8\n1\n10\n0\n20\n0\n11\n9\n21\n9\n";
    let told = |pattern: &Pattern| {
        pattern
            .notes
            .iter()
            .any(|n| n.contains("were told by the layers"))
    };
    // A frame's corner on layer 1, and the pattern outside of it.
    let found = file(line, SQUARE);
    assert!(
        !told(&found) && found.pieces.len() == 1,
        "{:?}",
        found.notes
    );
    let found = file(&boundary, SQUARE);
    assert!(
        !told(&found) && found.pieces.len() == 2,
        "{:?}",
        found.notes
    );
    holds(&found.notes, "it was read by its looks, not by the layers");
    assert!(told(&file(&boundary, "")));
    let name = "0\nTEXT\n8\n15\n10\n9\n20\n9\n40\n5\n1\nPiece Name: sole\n";
    let found = file(&format!("{boundary}{name}"), SQUARE);
    assert!(told(&found) && found.pieces.len() == 1 && found.pieces[0].name == "sole");
    holds(&found.left_out, "LWPOLYLINE: it lies outside every piece");
}

#[test]
fn solids_are_left_out_and_a_file_of_nothing_else_is_refused() {
    let face = "0\n3DFACE\n8\n0\n10\n0\n20\n0\n30\n5\n11\n9\n21\n0\n31\n5\n";
    let pattern = parse(
        drawing(&format!("{SQUARE}{face}")).as_bytes(),
        &Options::default(),
    )
    .unwrap();
    assert_eq!(
        pattern.left_out,
        ["line 40, 3DFACE: it is a solid or a surface, not a line."]
    );
    assert!(refused(&drawing(face)).contains("no line in the drawing"));
}

#[test]
fn what_is_off_is_listed_by_its_layer() {
    let tables = "0\nSECTION\n2\nTABLES\n0\nTABLE\n2\nLAYER\n0\nLAYER\n2\nOld\n70\n0\n62\n-7\n0\nENDTAB\n0\nENDSEC\n";
    let other = SQUARE.replace("8\n0\n90", "8\nOLD\n90");
    let text = tables.to_owned() + &drawing(&format!("{SQUARE}{other}"));
    let pattern = parse(text.as_bytes(), &Options::default()).unwrap();
    assert_eq!(pattern.pieces.len(), 1);
    holds(&pattern.left_out, "LWPOLYLINE: its layer \"OLD\" is off");
}

#[test]
fn texts_are_freed_of_their_formatting() {
    let text = "0\nMTEXT\n8\n0\n10\n9\n20\n9\n40\n5\n1\n{\\fArial|b0;heel}\\Pb\\U+00E4nd %%d\n";
    let pattern = parse(
        drawing(&format!("{SQUARE}{text}")).as_bytes(),
        &Options::default(),
    )
    .unwrap();
    assert_eq!(pattern.pieces[0].name, "heel bänd °");
}

#[test]
fn slits_side_by_side_are_a_double_notch() {
    let slit = |x: f64| format!("0\nLINE\n8\n0\n10\n{x}\n20\n0\n11\n{x}\n21\n4\n");
    let text = drawing(&format!(
        "{SQUARE}{}{}{}",
        slit(20.0),
        slit(25.0),
        slit(60.0)
    ));
    let pattern = parse(text.as_bytes(), &Options::default()).unwrap();
    let notches = &pattern.pieces[0].notches;
    let kinds: Vec<_> = notches.iter().map(|n| (n.kind, n.at.x, n.depth)).collect();
    assert_eq!(
        kinds,
        [
            (NotchKind::Double, -22.5, 4.0),
            (NotchKind::Slit, 15.0, 4.0)
        ]
    );
}

/// Half a million strokes and more end in a sentence, and in time.
#[test]
fn a_flood_of_strokes_is_refused() {
    let line = "0\nLINE\n8\n0\n10\n0\n20\n0\n11\n1\n21\n1\n";
    let begun = std::time::Instant::now();
    assert!(refused(&drawing(&line.repeat(500_001))).contains("500 000 strokes"));
    println!("500 001 lines: {:?}", begun.elapsed());
    let long = line.replace("8\n0\n", &format!("8\n{}\n", "a".repeat(256)));
    assert!(refused(&drawing(&long)).contains("layer's name is longer than 255"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    #[test]
    fn a_file_with_bytes_changed_never_panics(
        which in 0..4usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..8),
        cut in any::<prop::sample::Index>(),
        shorten in any::<bool>(),
    ) {
        let names = ["ezdxf_r12.dxf", "ezdxf_r2018_mm.dxf", "ezdxf_blocks.dxf", "ezdxf_sewn_r12.dxf"];
        let mut bytes = file(names[which]);
        for (at, byte) in changes {
            let at = at.index(bytes.len());
            bytes[at] = byte;
        }
        if shorten {
            bytes.truncate(cut.index(bytes.len()));
            prop_assert!(parse(&bytes, &Options::default()).is_err());
        } else if let Ok(pattern) = parse(&bytes, &Options::default()) {
            let finite = |p: &crate::space::Point<_>| p.x.is_finite() && p.y.is_finite();
            prop_assert!(pattern.pieces.iter().flat_map(|p| p.cut.iter().flatten()).all(finite));
        }
    }
}
