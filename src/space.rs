//! The coordinate spaces, as types: a point carries the space it lives in, so
//! that a wrong composition does not compile. All lengths are millimetres
//! except in [`Projector`] and [`Photo`] space, which count pixels; angles
//! are radians, counter-clockwise. f64 throughout.
//!
//! * **piece**: y up along the drawing's upward direction.
//! * **cloth**: fixed to one spread panel.
//! * **table**: x along the operator's edge to the right, y away from the
//!   operator; z (height, where it occurs) up.
//! * **projector**, **photo**: the top left pixel covers [0,1)×[0,1), so its
//!   centre is (0.5, 0.5); x to the right, y *down*.

use euclid::{Point2D, Vector2D};

/// Millimetres in one piece's own frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Piece {}
/// Millimetres fixed to one spread panel of cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Cloth {}
/// Millimetres on the table top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Table {}
/// Projector pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Projector {}
/// Pixels of a photograph.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Photo {}

/// A point in space `S`.
pub type Point<S> = Point2D<f64, S>;
/// A displacement in space `S`.
pub type Vector<S> = Vector2D<f64, S>;

/// An axis-aligned rectangle in space `S`.
pub type Bounds<S> = euclid::Box2D<f64, S>;

/// The mean of places; `None` of none.
pub fn mean<S>(places: impl IntoIterator<Item = Point<S>>) -> Option<Point<S>> {
    let start = (Vector::<S>::zero(), 0.0_f64);
    let (sum, n) = places
        .into_iter()
        .fold(start, |(sum, n), p| (sum + p.to_vector(), n + 1.0));
    (n > 0.0).then(|| (sum / n).to_point())
}

/// A rigid motion from space `A` to space `B`, perhaps turned over first:
/// `p ↦ R(turn) · M · p + shift`, where `M` negates x if `mirrored`.
///
/// Mirroring is about the y axis, as one turns a piece over sideways: an
/// upright grain stays upright, a slanted one leans the other way.
#[derive(Debug, PartialEq)]
pub struct Rigid<A, B> {
    /// Turned over before anything else.
    pub mirrored: bool,
    /// Counter-clockwise turn in radians.
    pub turn: f64,
    /// Where the origin of `A` lands, in `B`.
    pub shift: Vector<B>,
    _from: std::marker::PhantomData<A>,
}

// Derived `Clone`/`Copy` would ask the space tags for the same.
impl<A, B> Clone for Rigid<A, B> {
    fn clone(&self) -> Self {
        *self
    }
}
impl<A, B> Copy for Rigid<A, B> {}

impl<A, B> Rigid<A, B> {
    /// A motion from its parts; see the type for their meaning and order.
    pub fn new(mirrored: bool, turn: f64, shift: Vector<B>) -> Self {
        Self {
            mirrored,
            turn,
            shift,
            _from: std::marker::PhantomData,
        }
    }

    /// Maps a point.
    pub fn point(&self, p: Point<A>) -> Point<B> {
        self.mapper()(p)
    }

    /// Maps a displacement: the shift does not apply.
    pub fn vector(&self, v: Vector<A>) -> Vector<B> {
        let turned: Rigid<A, B> = Rigid::new(self.mirrored, self.turn, Vector::zero());
        turned.mapper()(v.to_point()).to_vector()
    }

    /// The motion as a function, for mapping many points: the sine and cosine
    /// are taken once.
    pub fn mapper(&self) -> impl Fn(Point<A>) -> Point<B> + use<A, B> {
        let (sin, cos) = self.turn.sin_cos();
        let flip = if self.mirrored { -1.0 } else { 1.0 };
        let shift = self.shift;
        move |p| {
            let x = flip * p.x;
            Point::new(cos * x - sin * p.y + shift.x, sin * x + cos * p.y + shift.y)
        }
    }

    /// The motion back.
    pub fn inverse(&self) -> Rigid<B, A> {
        // M R(t) M = R(-t), so a mirrored motion undoes with the same turn.
        let turn = if self.mirrored { self.turn } else { -self.turn };
        let linear = Rigid::new(self.mirrored, turn, Vector::zero());
        let shift = -linear.vector(self.shift);
        Rigid::new(self.mirrored, turn, shift)
    }

    /// This motion followed by `next`.
    pub fn then<C>(&self, next: &Rigid<B, C>) -> Rigid<A, C> {
        let turn = if next.mirrored { -self.turn } else { self.turn };
        Rigid::new(
            self.mirrored != next.mirrored,
            next.turn + turn,
            next.vector(self.shift) + next.shift,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use std::f64::consts::FRAC_PI_2;

    #[test]
    fn a_quarter_turn_is_counter_clockwise() {
        let pose: Rigid<Cloth, Table> = Rigid::new(false, FRAC_PI_2, Vector::new(10.0, 0.0));
        let p = pose.point(Point::new(1.0, 0.0));
        assert!((p - Point::new(10.0, 1.0)).length() < 1e-12);
    }

    #[test]
    fn face_down_keeps_the_grain_and_swaps_the_sides() {
        let down: Rigid<Piece, Cloth> = Rigid::new(true, 0.0, Vector::zero());
        assert_eq!(down.point(Point::new(3.0, 7.0)), Point::new(-3.0, 7.0));
    }

    #[test]
    fn the_mean_of_places_is_between_them_and_of_none_nowhere() {
        let places: [Point<Table>; 3] = [(0.0, 3.0), (4.0, 0.0), (8.0, 3.0)].map(Point::from);
        assert_eq!(mean(places), Some(Point::new(4.0, 2.0)));
        assert_eq!(mean::<Table>([]), None);
    }

    proptest! {
        #[test]
        fn inverse_and_composition_agree_with_pointwise_mapping(
            (m1, m2) in any::<(bool, bool)>(),
            t1 in -7.0..7.0f64, t2 in -7.0..7.0f64,
            s in prop::array::uniform4(-500.0..500.0f64),
            x in -300.0..300.0f64, y in -300.0..300.0f64,
        ) {
            let a: Rigid<Piece, Cloth> = Rigid::new(m1, t1, Vector::new(s[0], s[1]));
            let b: Rigid<Cloth, Table> = Rigid::new(m2, t2, Vector::new(s[2], s[3]));
            let p = Point::new(x, y);
            prop_assert!((a.inverse().point(a.point(p)) - p).length() < 1e-9);
            prop_assert!((a.then(&b).point(p) - b.point(a.point(p))).length() < 1e-9);
        }
    }
}
