//! The strip of sample guides: the same short guide at rising strength, side by
//! side on the cloth. The first that is seen well is strong enough: more only
//! spills.

use crate::space::{Point, Table, Vector};
use crate::stand::Side;

/// Percent of the projector's white, each about 1.5 times the last: equal
/// steps to the eye.
pub const STRENGTHS: [u8; 7] = [9, 13, 20, 30, 45, 67, 100];

/// From one sample's middle to the next, mm.
pub const APART: f64 = 40.0;

/// Length of a sample, mm.
pub const LENGTH: f64 = 60.0;

/// Where a strip that begins at `at` has its samples' middles: in a row to the
/// person's right.
pub fn places(at: Point<Table>, side: Side) -> [(Point<Table>, u8); 7] {
    let step = side.to_table(Vector::new(APART, 0.0));
    std::array::from_fn(|k| (at + step * k as f64, STRENGTHS[k]))
}

/// The strength of the sample that was pressed on.
pub fn picked(at: Point<Table>, side: Side, press: Point<Table>) -> Option<u8> {
    let near = places(at, side).into_iter().find(|(p, _)| {
        let off = side.to_person(press - *p);
        off.x.abs() <= APART / 2.0 && off.y.abs() <= LENGTH / 2.0 + 10.0
    });
    near.map(|(_, percent)| percent)
}
