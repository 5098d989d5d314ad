//! What a board says of tags that were found.

use super::*;
use crate::photo::tags::Doubt;

/// A tag seen straight from above, 3 px a mm, its lower left corner at `at`.
fn tag(id: u16, at: [f64; 2]) -> Tag {
    let side = 3.0 * SIZE;
    let [x, y] = at;
    let corners = [[x, y], [x + side, y], [x + side, y - side], [x, y - side]];
    Tag {
        id,
        corners: corners.map(Point::from),
        sigma_px: [0.03; 4],
        wrong_bits: 0,
        margin: 1.0,
        scatter_px: 0.02,
        blur_px: 0.8,
    }
}

fn found(tags: &[Tag]) -> Found {
    Found {
        tags: tags.to_vec(),
        doubts: Vec::new(),
    }
}

fn near(a: Point<Table>, b: [f64; 2]) -> bool {
    (a - Point::from(b)).length() < 1e-9
}

#[test]
fn the_sheet_gives_four_corners_a_tag() {
    let board = Board::sheet();
    assert_eq!(board.ids().collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5]);
    let of = |id: u16, k: usize| board.corners(id).unwrap()[k].unwrap();
    assert!(near(of(4, 0), [0.0, 0.0]) && near(of(4, 2), [56.0, 56.0]));
    assert!(near(of(1, 0), [85.0, 170.0]) && near(of(0, 3), [0.0, 226.0]));
    let sighting = board.seen(&found(&[tag(3, [400.0, 500.0])])).unwrap();
    assert_eq!((sighting.seen.len(), sighting.notes.len()), (4, 0));
    let first = sighting.seen[0];
    assert_eq!(first.at, Point::new(400.0, 500.0));
    assert!(near(first.is, [85.0, 85.0]));
    // 0.1 mm of the printer is 0.3 px here.
    assert!((first.sigma_px - 0.3f64.hypot(0.03)).abs() < 1e-12);
}

#[test]
fn a_moved_board_is_turned_about_the_tables_origin_first() {
    let by = Rigid::new(false, std::f64::consts::FRAC_PI_2, Vector::new(500.0, 20.0));
    let board = Board::sheet().moved(&by);
    let corners = board.corners(5).unwrap();
    assert!(near(corners[0].unwrap(), [500.0, 105.0]));
    assert!(near(corners[1].unwrap(), [500.0, 161.0]));
}

#[test]
fn measured_places_give_what_was_measured() {
    let board = Board::default()
        .with_corner(0, Point::new(10.0, 20.0), 0.5)
        .and_then(|b| {
            b.with_side(
                7,
                56.0,
                [[900.0, 20.0], [900.0, 77.0]].map(Point::from),
                0.5,
            )
        })
        .unwrap();
    assert_eq!(board.corners(0).unwrap()[1..], [None; 3]);
    // 57 mm were read: the size is surer, so both ends are 0.5 mm nearer. It lies a quarter
    // turned to the left.
    let corners = board.corners(7).unwrap().map(Option::unwrap);
    let truth = [[900.0, 20.5], [900.0, 76.5], [844.0, 76.5], [844.0, 20.5]];
    assert!(
        corners.iter().zip(truth).all(|(a, b)| near(*a, b)),
        "{corners:?}"
    );
    let seen = board.seen(&found(&[tag(0, [0.0, 0.0]), tag(7, [300.0, 0.0])]));
    assert_eq!(seen.unwrap().seen.len(), 5);
}

#[test]
fn a_place_that_is_no_use_says_so() {
    let said = |board: Outcome<Board>| board.unwrap_err().to_string();
    let corner = |id, x: f64, sigma| Board::default().with_corner(id, Point::new(x, 0.0), sigma);
    assert_eq!(
        said(corner(587, 0.0, 0.5)),
        "tag 587: the tags that Ghostchalk reads are numbered 0 to 586; read the number that is printed \
         beside the tag on the sheet that `ghostchalk sheets` prints."
    );
    assert!(said(corner(1, f64::NAN, 0.5)).contains("(NaN, 0) mm is no place on a table"));
    assert!(said(corner(1, 0.0, -1.0)).contains("can't be sure to -1 mm"));
    let twice = corner(1, 0.0, 0.5).and_then(|b| b.with_corner(1, Point::zero(), 0.5));
    assert!(said(twice).contains("it has a place already"));
    let side = |size, far: f64| {
        let ends = [Point::zero(), Point::new(far, 0.0)];
        Board::default().with_side(2, size, ends, 0.5)
    };
    assert!(said(side(56.0, 85.0)).contains("85 mm apart, and the tag is 56 mm wide"));
    assert!(said(side(0.0, 0.0)).contains("a tag 0 mm wide is of no use"));
    assert!(said(side(1.0, 0.0)).contains("0 mm apart, and the tag is 1 mm wide"));
}

#[test]
fn what_can_not_be_measured_from_is_said() {
    let board = Board::sheet();
    let said = |found: &Found| board.seen(found).unwrap_err().to_string();
    let none = said(&found(&[]));
    assert!(
        none.starts_with("no tag is seen in the photo; lay the printed tags flat"),
        "{none}"
    );
    let (a, b) = (tag(2, [100.0, 300.0]), tag(2, [500.0, 300.0]));
    let twice = said(&found(&[a, b]));
    assert!(
        twice.starts_with("tag 2 is in the photo twice, at 184, 216 px and at 584, 216 px; "),
        "{twice}"
    );
    let stranger = said(&found(&[tag(77, [100.0, 300.0])]));
    assert!(stranger.contains("tag 77 at 184, 216 px is none of those whose place is known"));
    let two = [
        tag(2, [100.0, 300.0]),
        tag(77, [500.0, 300.0]),
        tag(77, [900.0, 300.0]),
    ];
    let mut some = found(&two);
    for (id, why) in [
        (Some(5), Why::Covered),
        (Some(99), Why::Blurred),
        (None, Why::Unknown),
    ] {
        let at = Point::new(1.0, 2.0);
        some.doubts.push(Doubt { id, at, why });
    }
    let sighting = board.seen(&some).unwrap();
    assert_eq!((sighting.seen.len(), sighting.ids), (4, vec![2]));
    let [.., covered, unknown] = &sighting.notes[..] else {
        panic!()
    };
    assert_eq!(sighting.notes.len(), 4);
    assert_eq!(
        covered,
        "tag 5 at 1, 2 px is partly covered, or has no white margin"
    );
    assert!(unknown.starts_with("something like a tag at 1, 2 px is none of those"));
    let empty = Board::default().seen(&found(&[a])).unwrap_err().to_string();
    assert!(empty.starts_with("no tag's place is known"));
}
