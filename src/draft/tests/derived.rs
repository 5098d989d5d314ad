//! A drafted piece, and what is derived from it.

use super::*;
use crate::pattern::derive::derive;
use crate::pattern::{Allowed, Derived, edges};
use crate::space::{Piece, Point};

type At = Point<Piece>;

/// The demo's upper, of which the throat leaves its sides square and then bends away.
#[test]
fn where_two_carvings_meet_no_spur_is_left() {
    let drawn = parse(SLIPPERS).unwrap().draw(&Measures::default()).unwrap();
    let (pattern, _) = drawn.finished().unwrap();
    let upper = pattern.pieces.iter().find(|p| p.name == "upper").unwrap();
    for (less, carved) in [(1.0, 20.0), (0.0, 20.0), (1.0, 25.0), (0.5, 9.0)] {
        let part = Derived {
            less,
            carve: ["side inner", "side outer"]
                .map(|n| (n.to_owned(), carved))
                .to_vec(),
            keep_allowance: false,
            ..Derived::same("felt", "upper")
        };
        let Allowed { piece, notes } = derive(upper, &part).unwrap();
        let all = edges(&piece);
        let names: Vec<&str> = all.iter().map(|e| e.name.as_str()).collect();
        let of = |name: &str| all.iter().find(|e| e.name == name).unwrap();
        assert_eq!(names.len(), 5, "{names:?}");
        for side in ["side inner", "side outer"] {
            // One straight line from neighbour to neighbour, at an angle that is no spur's.
            let edge = of(side);
            let straight = (edge.line[0] - *edge.line.last().unwrap()).length();
            assert!(
                (edge.length - straight).abs() < 1e-6,
                "{less} {carved} {side}: {:?}",
                edge.line
            );
            let k = all.iter().position(|e| e.name == side).unwrap();
            let (before, after) = (&all[(k + 4) % 5].line, &all[(k + 1) % 5].line);
            let way = |a: At, b: At| (b - a).normalize();
            let end = way(edge.line[0], edge.line[1]);
            let corners = [
                way(before[before.len() - 2], before[before.len() - 1]).angle_to(end),
                end.angle_to(way(after[0], after[1])),
            ];
            for c in corners {
                let degrees = c.radians.to_degrees();
                assert!(
                    (50.0..130.0).contains(&degrees),
                    "{less} {carved} {side}: {degrees}"
                );
            }
        }
        assert!(notes.iter().all(|n| !n.contains("narrower")), "{notes:?}");
    }
}
