//! What papers say, against what is known of the pieces and parts.

use super::*;
use crate::cloth::{Cloth, Panel, Stack};
use crate::lay::{CutBy, CutPart, Face, Marking, Stock};
use crate::measure::Unit;
use crate::order::{Article, Bought, Part};
use crate::pattern::{Notch, NotchKind, PatternPiece};
use crate::sheet::{Page, Paper};
use crate::space::{Point, Vector};
use std::collections::BTreeMap;

fn oblong(name: &str, width: f64, height: f64) -> PatternPiece {
    let (x, y) = (width / 2.0, height / 2.0);
    let corners = [(-x, -y), (x, -y), (x * 0.8, y), (-x, y)];
    let mut piece = PatternPiece::named(name);
    piece.cut = vec![corners.iter().map(|&(x, y)| Point::new(x, y)).collect()];
    piece.notches = vec![Notch {
        at: Point::new(0.0, -y),
        inward: Vector::new(0.0, 1.0),
        depth: 3.0,
        kind: NotchKind::Slit,
    }];
    piece
}

fn part(id: u32, face: Face, spoilt: bool) -> CutPart {
    CutPart {
        id,
        placed: id,
        piece: "upper".into(),
        article: "1".into(),
        cloth: "canvas".into(),
        panel: "sail".into(),
        face,
        plies: 1,
        clipped_late: Vec::new(),
        marking: Marking::Nothing,
        spoilt,
        by: Some(CutBy {
            when: "2031-05-17T14:03:22Z".into(),
            profile: Some("=table, \"new\".toml".into()),
            trim_mm: 0.25,
            error_mm: Some(0.4),
        }),
    }
}

#[test]
fn a_recut_takes_the_place_of_what_was_spoilt() {
    let cut = [
        part(1, Face::Up, true),
        part(2, Face::Down, false),
        part(3, Face::Up, true),
        part(4, Face::Up, false),
    ];
    let pieces = [oblong("upper", 100.0, 50.0)];
    let articles = [Article {
        name: "1".into(),
        parts: vec![Part {
            piece: "upper".into(),
            cloth: "canvas".into(),
            count: 2,
            pair: true,
            inside: None,
        }],
        ..Article::default()
    }];
    let stock = Stock {
        pieces: &pieces,
        cloths: &[],
        articles: &articles,
    };
    // Cut at once, and only then one of them found spoilt: none of these is a recut.
    let at_once = [part(1, Face::Up, true), part(2, Face::Down, false)];
    assert!(
        ledger(&stock, &at_once)
            .iter()
            .all(|r| r.recut_of.is_none())
    );
    let rows = ledger(&stock, &cut);
    let recut: Vec<Option<u32>> = rows.iter().map(|r| r.recut_of).collect();
    assert_eq!(recut, [None, None, Some(1), Some(3)]);
    // Read back by a reader of CSV, a formula made harmless.
    let text = csv(&rows);
    let mut read = ::csv::Reader::from_reader(text.as_bytes());
    let names: Vec<String> = read.headers().unwrap().iter().map(str::to_owned).collect();
    let at = |name: &str| names.iter().position(|n| n == name).unwrap();
    let rows: Vec<::csv::StringRecord> = read.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), 4);
    let said = |k: usize, name: &str| rows[k][at(name)].to_owned();
    assert_eq!(said(0, "spoilt"), "true");
    assert_eq!(said(1, "hand"), "mirrored");
    assert_eq!(said(2, "recut_of"), "1");
    assert_eq!(said(3, "profile"), "'=table, \"new\".toml");
    assert_eq!(said(3, "error_mm").parse(), Ok(0.4));
}

#[test]
fn yield_is_what_became_parts_of_all_layers() {
    let piece = oblong("upper", 100.0, 50.0);
    let pieces = [piece];
    let stock = Stock {
        pieces: &pieces,
        cloths: &[],
        articles: &[],
    };
    let outline = vec![[0.0, 0.0], [500.0, 0.0], [500.0, 100.0], [0.0, 100.0]];
    let panel = Panel {
        stack: Stack {
            layers: 2,
            ..Stack::default()
        },
        ..Panel::new("sail", "canvas", outline)
    };
    let other = Panel {
        name: "other".into(),
        ..panel.clone()
    };
    let cut = [part(1, Face::Up, true), part(2, Face::Up, false)];
    let all = yields(&stock, &[panel, other], &cut);
    assert_eq!(all.len(), 1);
    // A corner is cut in by a tenth: 4750 mm².
    assert_eq!((all[0].parts_mm2, all[0].spoilt_mm2), (4750.0, 4750.0));
    assert_eq!(all[0].area_mm2, 100_000.0);
    assert!((all[0].percent - 4.75).abs() < 1e-12);
}

#[test]
fn a_ticket_tells_hands_marks_and_what_is_cut() {
    let pieces = [oblong("upper", 100.0, 50.0)];
    let articles = [Article {
        name: "1".into(),
        note: Some("size 255".into()),
        parts: vec![Part {
            piece: "upper".into(),
            cloth: "canvas".into(),
            count: 4,
            pair: true,
            inside: None,
        }],
        bought: vec![Bought {
            name: "lace".into(),
            count: 2,
            length: None,
        }],
        ..Article::default()
    }];
    let cloths = [Cloth {
        name: "canvas".into(),
        thickness_mm: 0.8,
        no_face: false,
    }];
    let stock = Stock {
        pieces: &pieces,
        cloths: &cloths,
        articles: &articles,
    };
    let cut = [part(1, Face::Up, true), part(2, Face::Down, false)];
    let key = ("1".to_owned(), "upper".to_owned(), "canvas".to_owned());
    let shades = [(key, "lightness 62".to_owned())].into();
    let all = tickets("job", &stock, &cut, &BTreeMap::new(), &shades);
    let one = &all[0].parts[0];
    assert_eq!(one.hands(), "2 as drawn, 2 mirrored");
    assert_eq!(one.marks().as_deref(), Some("1 notch"));
    assert_eq!((one.cut.up, one.cut.down), (0, 1));
    assert_eq!(one.shade.as_deref(), Some("lightness 62"));
    assert!(!ticket_pages(&all, Paper::A4, Unit::Mm).is_empty());
}

/// An article of two of a piece, with what is said of it.
fn two_of(article: &str, piece: &str, note: &str) -> Article {
    Article {
        name: article.into(),
        note: Some(note.into()),
        parts: vec![Part {
            piece: piece.into(),
            cloth: "canvas".into(),
            count: 2,
            pair: false,
            inside: None,
        }],
        ..Article::default()
    }
}

fn pages_of(pieces: &[PatternPiece], articles: &[Article]) -> Vec<String> {
    let stock = Stock {
        pieces,
        cloths: &[],
        articles,
    };
    let all = tickets("job", &stock, &[], &BTreeMap::new(), &BTreeMap::new());
    let pages = ticket_pages(&all, Paper::A4, Unit::Mm);
    pages.into_iter().map(Page::into_svg).collect()
}

#[test]
fn of_many_articles_alike_a_ticket_names_a_few() {
    let pieces = [oblong("upper 255", 100.0, 50.0)];
    let articles: Vec<Article> = (1..=24)
        .map(|n| two_of(&n.to_string(), "upper 255", "size 255"))
        .collect();
    let stock = Stock {
        pieces: &pieces,
        cloths: &[],
        articles: &articles,
    };
    let all = tickets("job", &stock, &[], &BTreeMap::new(), &BTreeMap::new());
    assert_eq!(
        all[1].parts[0].alike,
        [
            "upper 255 1",
            "upper 255 3",
            "upper 255 4",
            "upper 255 5",
            "19 more of upper 255"
        ]
    );
    // Four a page or so, each whole.
    let pages = pages_of(&pieces, &articles);
    assert!((4..=8).contains(&pages.len()), "{} pages", pages.len());
    assert!(pages.iter().all(|p| !p.contains("continued")));
}

#[test]
fn no_page_has_a_heading_alone() {
    // A note, and a name, that fill pages by themselves.
    let long = "longer ".repeat(2000);
    let name = "sole ".repeat(2000);
    let pieces = [oblong("upper", 100.0, 50.0), oblong(&name, 100.0, 50.0)];
    for article in [two_of("1", "upper", &long), two_of("1", &name, "size 255")] {
        let pages = pages_of(&pieces, &[article]);
        assert_eq!(pages.len(), 1);
        assert!(pages[0].contains("2 alike") || pages[0].contains("sole sole"));
        assert!(pages[0].contains(">...<"), "it says that there is more");
    }
    // A title stands over what it is for.
    for steps in 30..90 {
        let article = Article {
            sew: (0..steps).map(|k| format!("step {k}")).collect(),
            bought: vec![Bought {
                name: "lace".into(),
                count: 2,
                length: None,
            }],
            ..two_of("1", "upper", "size 255")
        };
        for page in pages_of(&pieces, &[article]) {
            let at = page.find("sewn in this order");
            assert!(at.is_none_or(|at| page[at..].contains("step 0")), "{steps}");
        }
    }
}

#[test]
fn pages_are_as_many_as_the_piece_takes() {
    // A4 leaves 186 by 261 mm; neighbours share 10; a line's width is left round it.
    let pages = |width: f64, height: f64| {
        let made = tiled(&oblong("upper", width, height), false, Paper::A4, Unit::Mm).unwrap();
        (made.columns, made.rows, made.pages.len())
    };
    assert_eq!(pages(184.0, 259.0), (1, 1, 1));
    assert_eq!(pages(185.0, 259.0), (2, 1, 3));
    assert_eq!(pages(184.0 + 176.0, 260.0), (2, 2, 5));
    assert_eq!(pages(184.0 + 176.1, 60.0), (3, 1, 4));
    let large = tiled(&oblong("upper", 9e3, 9e3), false, Paper::A4, Unit::Mm);
    let said = large.err().unwrap().to_string();
    assert!(said.contains("pages; check its size"), "{said}");
}
