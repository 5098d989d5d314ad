//! The pointer and the piece in hand: how it is held, and presses that go on with
//! each other. Where that piece then lies is worked out elsewhere.

use super::op::Id;
use crate::space::{Point, Table, Vector};

/// Presses of one kind that follow each other within this are undone together,
/// seconds.
const RUN: f64 = 1.0;

/// A piece held by the pointer.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Grip {
    /// From the pointer to the piece's origin, when it was taken hold of.
    offset: Vector<Table>,
    gesture: u64,
}

/// Presses that are undone together.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Run {
    turning: bool,
    id: Id,
    gesture: u64,
    last: f64,
}

/// What the hand is at.
#[derive(Debug, Clone, Default)]
pub(super) struct InHand {
    pointer: Option<Point<Table>>,
    held: Option<Id>,
    grip: Option<Grip>,
    /// Pieces of one article move together.
    together: bool,
    run: Option<Run>,
}

impl InHand {
    /// Nothing is in hand. The pointer stays.
    pub(super) fn empty(&mut self) {
        self.grip = None;
        self.held = None;
        self.run = None;
    }

    pub(super) fn pointer(&self) -> Option<Point<Table>> {
        self.pointer
    }

    /// The pointer is here now; `None`: it is no longer on the table.
    pub(super) fn point(&mut self, at: Option<Point<Table>>) {
        self.pointer = at;
    }

    pub(super) fn held(&self) -> Option<Id> {
        self.held
    }

    /// This piece is in hand, or none. The pointer's grip is as it was.
    pub(super) fn hold(&mut self, id: Option<Id>) {
        self.held = id;
    }

    pub(super) fn moves_together(&self) -> bool {
        self.together
    }

    pub(super) fn move_together(&mut self, on: bool) {
        self.together = on;
    }

    /// Whether the piece in hand is being dragged.
    pub(super) fn is_gripped(&self) -> bool {
        self.grip.is_some()
    }

    /// The gesture of the drag under way.
    pub(super) fn gesture(&self) -> Option<u64> {
        self.grip.map(|g| g.gesture)
    }

    /// The pointer, pressed at `at`, takes hold of the piece in hand, whose origin lies
    /// at `origin`.
    pub(super) fn grip(&mut self, at: Point<Table>, origin: Vector<Table>, gesture: u64) {
        self.grip = Some(Grip {
            offset: origin - at.to_vector(),
            gesture,
        });
    }

    /// The piece that is dragged was moved under the pointer: its origin lies at
    /// `origin` now.
    pub(super) fn regrip(&mut self, origin: Vector<Table>) {
        if let (Some(p), Some(g)) = (self.pointer, &mut self.grip) {
            g.offset = origin - p.to_vector();
        }
    }

    /// The drag ends where it is.
    pub(super) fn release(&mut self) {
        self.grip = None;
    }

    /// The piece that is dragged, where its origin shall lie, and the drag's gesture.
    pub(super) fn pulls(&self) -> Option<(Id, Vector<Table>, u64)> {
        let (grip, at, id) = (self.grip?, self.pointer?, self.held?);
        Some((id, at.to_vector() + grip.offset, grip.gesture))
    }

    /// What a piece that is dragged turns about: the hand.
    pub(super) fn pivot(&self) -> Option<Point<Table>> {
        self.pointer.filter(|_| self.is_gripped())
    }

    /// The gesture that presses in quick succession belong to; `fresh` numbers a new one.
    pub(super) fn running(
        &mut self,
        turning: bool,
        id: Id,
        now: f64,
        fresh: impl FnOnce() -> u64,
    ) -> u64 {
        let goes_on = self
            .run
            .filter(|r| r.turning == turning && r.id == id && now - r.last <= RUN);
        let gesture = goes_on.map_or_else(fresh, |r| r.gesture);
        self.run = Some(Run {
            turning,
            id,
            gesture,
            last: now,
        });
        gesture
    }
}
