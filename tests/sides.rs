//! Labels follow the person round the table: a lay turned with its person is lit
//! as the lay was, turned.

mod common;

use common::{blob, star};
use ghostchalk::lay::{Face, Laid};
use ghostchalk::light::{LabelAt, Lamp, Settings};
use ghostchalk::pattern::PatternPiece;
use ghostchalk::shape::{Region, difference, intersection};
use ghostchalk::space::{Piece, Point, Rigid, Table, Vector};
use ghostchalk::stand::{Hand, Side};

fn piece(region: &Region<Table>, name: &str) -> PatternPiece {
    let mut piece = PatternPiece::named(name);
    let ring = |r: &Vec<Point<Table>>| r.iter().map(|p| p.cast_unit()).collect();
    piece.cut = region.rings.iter().map(ring).collect();
    piece
}

fn laid<'a>(piece: &'a PatternPiece, pose: Rigid<Piece, Table>) -> Laid<'a> {
    Laid {
        piece,
        article: "1",
        cloth: "canvas",
        panel: "sling",
        cut_note: "cut 2, a pair".to_owned(),
        is_cut: false,
        trim: 0.0,
        face: Face::Up,
        pose,
        height: 0.0,
    }
}

fn block(l: f64, b: f64, r: f64, t: f64) -> Region<Table> {
    let corners = [(l, b), (r, b), (r, t), (l, t)];
    Region::ring(corners.map(|(x, y)| Point::new(x, y)).to_vec())
}

/// All light of a figure, as one region.
fn light(lamp: &Lamp, index: usize) -> Region<Table> {
    let mut all = Region::default();
    for patch in &lamp.scene().figures[index].patches {
        all.append(patch.region.clone());
    }
    all
}

#[test]
fn a_lay_turned_with_its_person_is_lit_as_it_was() {
    // A label inside, and one beside its piece.
    let pieces = [
        piece(&blob(90.0, 2), "sole"),
        piece(&star(6, 40.0, 16.0), "patch"),
    ];
    let reach = block(-300.0, -200.0, 320.0, 250.0);
    let poses = [(0.3, -80.0, 20.0), (-1.1, 150.0, -60.0)];
    let lit = |side: Side, turn: &Rigid<Table, Table>| {
        let pose = |(t, x, y)| Rigid::<Piece, Table>::new(false, t, Vector::new(x, y)).then(turn);
        let all: Vec<Laid> = pieces
            .iter()
            .zip(poses)
            .map(|(p, at)| laid(p, pose(at)))
            .collect();
        let settings = Settings {
            side,
            hand: Some(Hand::Right),
            ..Settings::default()
        };
        let mut lamp = Lamp::new(settings).unwrap();
        lamp.light(&all, &reach.moved(turn));
        assert_eq!(lamp.label(0), LabelAt::Inside, "{side:?}");
        assert_eq!(lamp.label(1), LabelAt::Beside, "{side:?}");
        [light(&lamp, 0), light(&lamp, 1)]
    };
    let front = lit(Side::Front, &Rigid::new(false, 0.0, Vector::zero()));
    for side in Side::ALL {
        let turn = Rigid::new(false, side.turn(), Vector::new(37.0, -12.0));
        for (was, now) in front.iter().zip(lit(side, &turn)) {
            // Looking for room on a grid may move a label by a cell, no more:
            // compare areas, and what is unlike after the turn.
            let was = was.moved(&turn);
            let unlike = difference(&was, &now).area() + difference(&now, &was).area();
            assert!((was.area() - now.area()).abs() < 0.5, "{side:?}");
            assert!(unlike < 0.02 * was.area(), "{side:?} {unlike}");
        }
    }
}

#[test]
fn a_label_beside_a_piece_rather_stands_on_the_cutting_hands_side() {
    // A narrow strip in the middle of the reach, as much room on either side.
    let strip = piece(&block(-5.0, -150.0, 5.0, 150.0), "tape");
    let pose = Rigid::new(false, 0.0, Vector::zero());
    let reach = block(-200.0, -160.0, 200.0, 160.0);
    for side in Side::ALL {
        let turn: Rigid<Table, Table> = Rigid::new(false, side.turn(), Vector::zero());
        for hand in [Hand::Left, Hand::Right] {
            let settings = Settings {
                side,
                hand: Some(hand),
                ..Settings::default()
            };
            let mut lamp = Lamp::new(settings).unwrap();
            lamp.light(&[laid(&strip, pose.then(&turn))], &reach.moved(&turn));
            assert_eq!(lamp.label(0), LabelAt::Beside);
            let label = &lamp.scene().figures[0].patches[3].region;
            let at = label.bounds().unwrap().center().to_vector();
            assert!(
                side.to_person(at).x * hand.sign() > 20.0,
                "{side:?} {hand:?}"
            );
            assert!(intersection(label, lamp.inside(0)).area() < 1e-6);
        }
    }
}
