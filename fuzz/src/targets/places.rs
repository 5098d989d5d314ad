//! Where a piece lies: from its own space to the cloth, to the table, and back.

use ghostchalk::cloth::OnTable;
use ghostchalk::lay::{Face, Placement};
use ghostchalk::shape::Region;
use ghostchalk::space::{Piece, Point, Rigid, Table};

use super::Target;
use super::bytes::Bytes;
use super::outlines::{is_finite, slack, star};

pub const PLACE: Target = Target {
    name: "place",
    run: place,
    seeds: &["fuzz/seeds/place/*"],
};

/// Nothing may move by more than this on its way there and back, mm.
const NEAR: f64 = 1e-6;

/// The corners of a letter: its stem's foot, its stem's top, the end of its upper arm. It reads
/// F where they turn to the right.
fn letter(at: Point<Piece>) -> [Point<Piece>; 3] {
    [(0.0, 0.0), (0.0, 50.0), (30.0, 50.0)].map(|(x, y)| Point::new(at.x + x, at.y + y))
}

fn place(data: &[u8]) {
    let mut bytes = Bytes::new(data);
    let placed = Placement {
        id: None,
        piece: "p".to_owned(),
        article: "1".to_owned(),
        panel: "c".to_owned(),
        x_mm: bytes.mm() * 40.0,
        y_mm: bytes.mm() * 40.0,
        turn_deg: bytes.mm() * 15.0,
        face: if bytes.flag() { Face::Down } else { Face::Up },
        locked: false,
    };
    let lies = OnTable {
        x_mm: bytes.mm() * 40.0,
        y_mm: bytes.mm() * 40.0,
        turn_deg: bytes.mm() * 15.0,
    };
    let pose: Rigid<Piece, Table> = placed.pose().then(&lies.pose());
    let back = pose.inverse();
    let points = letter(Point::new(bytes.mm(), bytes.mm()));
    let there = points.map(|p| pose.point(p));
    for (p, q) in points.into_iter().zip(there) {
        assert!((back.point(q) - p).length() < NEAR, "{p:?}");
        // One step after the other is the same as both at once.
        let steps = lies.pose().point(placed.pose().point(p));
        assert!((steps - q).length() < NEAR, "{p:?}");
    }
    let [a, b, c] = there;
    let turns_right = (b - a).cross(c - b) < 0.0;
    assert_eq!(turns_right, placed.face == Face::Up, "F reads F face up");
    for (from, to) in [(0, 1), (1, 2), (0, 2)] {
        let was = (points[to] - points[from]).length();
        let is = (there[to] - there[from]).length();
        assert!((is - was).abs() < NEAR, "{was} mm became {is}");
    }

    let region = Region::ring(star::<Piece>(&mut bytes).ring);
    let moved = region.moved(&pose);
    assert!(is_finite(&moved));
    let off = (moved.area() - region.area()).abs();
    assert!(off <= slack(&region), "its area is off by {off} mm²");
    let home = moved.moved(&back);
    let was = region.rings.iter().flatten();
    for (p, q) in home.rings.iter().flatten().zip(was) {
        assert!((*p - *q).length() < NEAR, "{q:?} came back as {p:?}");
    }
}
