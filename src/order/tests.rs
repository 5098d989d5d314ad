//! Orders written out by hand, and lengths by closed form.

use super::*;
use crate::pattern::EdgeName;
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::f64::consts::{PI, SQRT_2};

fn part(piece: &str, cloth: &str, pair: bool, with: Option<&str>) -> MakePart {
    MakePart {
        piece: piece.into(),
        cloth: cloth.into(),
        count: 2,
        pair,
        inside: None,
        with: with.map(str::to_owned),
    }
}

fn slippers() -> Make {
    Make {
        name: "slippers".into(),
        parts: vec![
            part("upper", "canvas", true, None),
            part("upper", "flannel", true, Some("lining")),
            MakePart {
                inside: Some("sole".into()),
                ..part("stiffener", "felt", true, None)
            },
        ],
        bought: vec![Bought {
            name: "lace".into(),
            count: 2,
            length: Some("70 cm".into()),
        }],
        sew: vec!["darts".into(), "side seams".into()],
        ..Make::default()
    }
}

fn order(count: u32) -> Order {
    Order {
        make: "slippers".into(),
        count,
        first: None,
        spare: 0,
        size: None,
        measures: BTreeMap::new(),
        with: Vec::new(),
        cloths: BTreeMap::new(),
        note: None,
    }
}

fn has(name: &str) -> bool {
    ["upper", "sole", "stiffener"].contains(&name)
        || [
            "upper 255",
            "sole 255",
            "stiffener 255",
            "upper 240",
            "sole 240",
        ]
        .contains(&name)
}

/// One pair with a lining, and another for her sister, in a smaller size, of another cloth,
/// without a lining but with a spare set.
#[test]
fn one_pair_please_and_another_for_my_sister() {
    let first = Order {
        size: Some("255".into()),
        with: vec!["lining".into()],
        ..order(1)
    };
    let second = Order {
        measures: [("foot length".to_owned(), "240".to_owned())].into(),
        cloths: [("canvas".to_owned(), "sail".to_owned())].into(),
        spare: 1,
        note: Some("her sister".into()),
        ..order(1)
    };
    let all = expand(&[slippers()], &[first, second], &["2"], &has).unwrap();
    let of = |piece: &str, cloth: &str, inside: Option<&str>| Part {
        piece: piece.into(),
        cloth: cloth.into(),
        count: 2,
        pair: true,
        inside: inside.map(str::to_owned),
    };
    let expected = [
        (
            "1",
            false,
            "size 255, with lining",
            vec![
                of("upper 255", "canvas", None),
                of("upper 255", "flannel", None),
                of("stiffener 255", "felt", Some("sole 255")),
            ],
        ),
        // A stiffener that has one size alone.
        (
            "3",
            false,
            "size 240, her sister",
            vec![
                of("upper 240", "sail", None),
                of("stiffener", "felt", Some("sole 240")),
            ],
        ),
        (
            "4",
            true,
            "size 240, her sister",
            vec![
                of("upper 240", "sail", None),
                of("stiffener", "felt", Some("sole 240")),
            ],
        ),
    ];
    assert_eq!(all.len(), 3);
    for (article, (name, spare, note, parts)) in all.iter().zip(expected) {
        assert_eq!((article.name.as_str(), article.spare), (name, spare));
        assert_eq!(article.note.as_deref(), Some(note));
        assert_eq!(article.parts, parts);
        assert_eq!(article.bought[0].name, "lace");
        assert_eq!(article.sew.len(), 2);
    }
}

#[test]
fn an_order_that_cant_be_says_why() {
    let said = |order: Order| {
        let fault = expand(&[slippers()], &[order], &[], &has).unwrap_err();
        fault.to_string()
    };
    let other = Order {
        make: "boots".into(),
        ..order(1)
    };
    assert!(said(other).contains("there is no make \"boots\"; name one of slippers"));
    assert!(said(order(0)).contains("count is 0"));
    assert!(said(order(501)).contains("order 500 at most"));
    let spare = Order {
        spare: u32::MAX,
        ..order(1)
    };
    assert!(said(spare).contains("order 500 at most"));
    let with = Order {
        with: vec!["linning".into()],
        ..order(1)
    };
    assert!(said(with).contains("nothing of the make is for that"));
    let cloths = Order {
        cloths: [("silk".to_owned(), "sail".to_owned())].into(),
        ..order(1)
    };
    assert!(said(cloths).contains("\"silk\", of which nothing is cut"));
    let slip = Order {
        size: Some("26O".into()),
        ..order(1)
    };
    assert!(said(slip).contains("no piece of it in size \"26O\""));
    let mut make = slippers();
    make.parts[0].piece = "tongue".into();
    let fault = expand(&[make], &[order(1)], &[], &has)
        .unwrap_err()
        .to_string();
    assert!(
        fault.contains("order 1") && fault.contains("the pattern has no \"tongue\""),
        "{fault}"
    );
}

fn edges(name: &EdgeName) -> Option<f64> {
    match (name.piece.as_str(), name.edge.as_str()) {
        ("upper", "throat") => Some(120.0),
        ("band", "top") => Some(80.0),
        ("upper 255", "throat") => Some(150.0),
        _ => None,
    }
}

fn rings(name: &str) -> Option<Vec<EdgeName>> {
    let edge = |text| EdgeName::parse(text).unwrap();
    (name == "top line").then(|| vec![edge("upper: throat"), edge("band: top")])
}

#[test]
fn a_tape_is_the_girth_and_what_it_goes_round() {
    let of = Length {
        name: "binding".into(),
        count: 2,
        ring: Some("top line".into()),
        ease: Some("10 mm".into()),
        round: Some("1.5mm".into()),
        ends: Some("6".into()),
        joins: 1,
        join: Some("1/2 in".into()),
        ..Length::default()
    };
    let found = tape(&of, &edges, &rings).unwrap();
    // 2πt for cloth of thickness t: a parallel curve's length (Steiner).
    let sewn = 200.0 + 10.0 + 2.0 * PI * 1.5;
    assert!(
        (found.total - (sewn + 12.0 + 12.7)).abs() < 1e-9,
        "{found:?}"
    );
    let marks: Vec<(f64, &str)> = found.marks.iter().map(|m| (m.at, m.is.words())).collect();
    assert_eq!(marks.len(), 4);
    assert_eq!(marks[0], (6.0, "start"));
    assert_eq!(marks[1].1, "middle");
    assert!((marks[1].0 - (6.0 + sewn / 2.0)).abs() < 1e-9);
    // The seam, 120 of 200 along, with its share of the ease.
    assert_eq!(marks[2].1, "throat | top");
    assert!((marks[2].0 - (6.0 + 0.6 * sewn)).abs() < 1e-9);
    assert!((marks[3].0 - (6.0 + sewn)).abs() < 1e-9);
    // In a size, where the pattern has one.
    let larger = Length {
        ring: None,
        along: vec!["upper: throat".into(), "band: top".into()],
        size: Some("255".into()),
        ..of
    };
    let found = tape(&larger, &edges, &rings).unwrap();
    assert_eq!(found.net, 230.0);
}

#[test]
fn a_tape_that_cant_be_says_why() {
    let of = Length {
        name: "tape".into(),
        count: 1,
        along: vec!["upper: throat".into()],
        ..Length::default()
    };
    let said = |of: Length| tape(&of, &edges, &rings).unwrap_err().to_string();
    let both = Length {
        length: Some("5 cm".into()),
        ..of.clone()
    };
    assert!(said(both).contains("it must be said once"));
    let negative = Length {
        along: Vec::new(),
        length: Some("-5 cm".into()),
        ..of.clone()
    };
    assert!(said(negative).contains("length is -50 mm"));
    let shrunk = Length {
        ease: Some("-120 mm".into()),
        ..of.clone()
    };
    assert!(said(shrunk).contains("it comes to 0 mm"));
    let unknown = Length {
        along: vec!["upper: hem".into()],
        ..of.clone()
    };
    assert!(said(unknown).contains("there is no edge \"upper: hem\""));
    let none = Length { count: 0, ..of };
    assert!(said(none).contains("count is 0"));
}

#[test]
fn bias_strips_by_hand() {
    // A square of side h between the long sides gives none; 1 m by 0.5 m: 500 mm along the
    // side, and a strip 25√2 mm wide takes 50 of them.
    let found = strips([1000.0, 500.0], 25.0 * SQRT_2, 6.0).unwrap();
    assert_eq!((found.count, found.joins), (10, 9));
    assert!((found.each - 500.0 * SQRT_2).abs() < 1e-9);
    let joined = 10.0 * 500.0 * SQRT_2 - 9.0 * 12.0 * SQRT_2;
    assert!((found.joined - joined).abs() < 1e-9);
    assert_eq!(strips([500.0, 500.0], 25.0, 6.0).unwrap().count, 0);
    assert_eq!(strips([500.0, 1000.0], 25.0 * SQRT_2, 6.0).unwrap(), found);
    assert_eq!(found.for_length(100.0, 35.0, 6.0), Some(1));
    assert_eq!(found.for_length(7000.0, 35.0, 6.0), None);
    // One strip alone, whose joins would take all of it.
    for h in [12.0, 10.0] {
        let one = strips([60.0, h], 30.0, 6.0).unwrap();
        assert_eq!((one.count, one.for_length(1000.0, 30.0, 6.0)), (1, None));
    }
    for bad in [
        strips([0.0, 5.0], 2.0, 0.0),
        strips([100.0, 5.0], -2.0, 0.0),
        strips([100.0, 5.0], 2.0, f64::NAN),
        strips([100.0, 5.0], 2.0, 4.0),
    ] {
        assert!(bad.is_err());
    }
}

proptest! {
    /// So many strips as are said to be enough are, and one less is not.
    #[test]
    fn strips_for_a_length_are_enough(length in 50.0..4000.0f64, width in 10.0..60.0f64) {
        let found = strips([2000.0, 400.0], width, 6.0).unwrap();
        let joined = |n: u32| {
            f64::from(n) * found.each - f64::from(n - 1) * 12.0 * SQRT_2 - width
        };
        if let Some(n) = found.for_length(length, width, 6.0) {
            prop_assert!(joined(n) > length - 1e-6 && (n == 1 || joined(n - 1) < length + 1e-6));
        } else {
            prop_assert!(joined(found.count) < length);
        }
    }

    /// Cut parts equal ordered parts, hand by hand.
    #[test]
    fn every_article_has_every_part(count in 1..20u32, spare in 0..5u32, with in any::<bool>()) {
        let order = Order {
            spare,
            with: with.then(|| "lining".to_owned()).into_iter().collect(),
            ..order(count)
        };
        let all = expand(&[slippers()], &[order], &[], &has).unwrap();
        prop_assert_eq!(all.len() as u32, count + spare);
        let hands = |cloth: &str| {
            let parts = all.iter().flat_map(|a| &a.parts).filter(|p| p.cloth == cloth);
            parts.fold((0, 0), |(l, r), p| (l + p.hands().0, r + p.hands().1))
        };
        let sets = count + spare;
        prop_assert_eq!(hands("canvas"), (sets, sets));
        prop_assert_eq!(hands("flannel"), if with { (sets, sets) } else { (0, 0) });
        let mut names: Vec<&str> = all.iter().map(|a| a.name.as_str()).collect();
        names.dedup();
        prop_assert_eq!(names.len() as u32, sets);
    }
}

#[test]
fn a_pair_is_a_left_and_a_right() {
    let part = |count, pair| Part {
        piece: "upper".into(),
        cloth: "canvas".into(),
        count,
        pair,
        inside: None,
    };
    assert_eq!(part(2, true).hands(), (1, 1));
    assert_eq!(part(2, true).cut_note(), "cut 2, a pair");
    assert_eq!(part(4, true).cut_note(), "cut 4, in pairs");
    assert_eq!(part(3, false).hands(), (3, 0));
}

/// What is laid and cut goes by an article's number, which must not wander when another order
/// grows.
#[test]
fn an_order_that_says_where_it_begins_keeps_its_numbers() {
    let names = |orders: &[Order], taken: &[&str]| -> Vec<String> {
        let all = expand(&[slippers()], orders, taken, &has).unwrap();
        all.into_iter().map(|a| a.name).collect()
    };
    let kept = |first| Order {
        first: Some(first),
        ..order(2)
    };
    assert_eq!(names(&[order(2), kept(3)], &[]), ["1", "2", "3", "4"]);
    // The first order grows past the second.
    assert_eq!(
        names(&[order(3), kept(3), order(1)], &["6"]),
        ["1", "2", "5", "3", "4", "7"]
    );
    let refused = |orders: &[Order], taken: &[&str], part: &str| {
        let why = expand(&[slippers()], orders, taken, &has).unwrap_err();
        assert!(why.to_string().contains(part), "{why}");
    };
    refused(
        &[kept(3), kept(4)],
        &[],
        "order 2 (\"slippers\"): its articles are numbered from 4, and 4 is taken",
    );
    refused(&[kept(3)], &["4"], "4 is taken");
    refused(&[kept(0)], &[], "first number is 0");
    refused(&[kept(u32::MAX)], &[], "from 1 to 9999");
}

#[test]
fn all_orders_together_are_bounded() {
    let why = expand(
        &[slippers()],
        &[order(500), order(500), order(500), order(500), order(1)],
        &[],
        &has,
    );
    let why = why.unwrap_err().to_string();
    assert!(
        why.contains("order 5") && why.contains("2001 articles"),
        "{why}"
    );
}
