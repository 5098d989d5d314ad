//! One side of a seam: edges laid end to end in a direction of travel, darts closed.

use super::laid::{AT_CORNER, Laid};
use crate::pattern::NotchKind;
use crate::shape::along;
use crate::space::{Piece as PieceSpace, Point};

/// An edge of a run, and which way it is travelled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Step {
    /// Its place among the pieces.
    pub piece: usize,
    pub edge: usize,
    /// Against the counter-clockwise sense.
    pub back: bool,
}

/// What stands at a place of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stands {
    /// A notch, by its place in the piece's `notches`.
    Notch(usize, NotchKind),
    /// The run goes over from one edge to the next: a seam or a corner is there.
    Joint,
}

/// Something at a place of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// mm from the start, darts closed.
    pub s: f64,
    pub stands: Stands,
    /// The step on which it is.
    pub step: usize,
    /// On the line that is walked, piece space.
    pub at: Point<PieceSpace>,
}

/// One side of a seam.
#[derive(Debug, Clone, PartialEq)]
pub struct Run {
    pub steps: Vec<Step>,
    /// Where each step begins, mm from the start, and last the whole length, darts closed.
    pub begins: Vec<f64>,
    /// mm that darts take up.
    pub darts: f64,
    /// In order, those within [`AT_CORNER`] of either end left out.
    pub stops: Vec<Stop>,
    /// Whether a notch stands at its start, and at its end.
    pub ends: [bool; 2],
}

impl Run {
    /// Lays the edges end to end.
    pub fn lay(laid: &[Laid], steps: Vec<Step>) -> Self {
        let mut run = Self {
            begins: vec![0.0],
            darts: 0.0,
            stops: Vec::new(),
            ends: [false; 2],
            steps,
        };
        let mut whole = 0.0;
        for (k, step) in run.steps.iter().enumerate() {
            let piece = &laid[step.piece];
            for mark in piece.marks.iter().filter(|m| m.edge == step.edge) {
                let at = along(&piece.edges[step.edge].line, mark.s);
                run.stops.push(Stop {
                    s: whole + closed(piece, *step, mark.s),
                    stands: Stands::Notch(mark.notch, mark.kind),
                    step: k,
                    at: at.map_or(piece.piece.notches[mark.notch].at, |st| st.at),
                });
            }
            let taken = piece.taken(step.edge);
            run.darts += taken;
            whole += piece.edges[step.edge].length - taken;
            run.begins.push(whole);
            if k + 1 < run.steps.len() {
                let line = &piece.edges[step.edge].line;
                let end = if step.back { line.first() } else { line.last() };
                run.stops.push(Stop {
                    s: whole,
                    stands: Stands::Joint,
                    step: k,
                    at: end.copied().unwrap_or_default(),
                });
            }
        }
        run.settle(whole);
        run
    }

    /// mm, darts closed.
    pub fn length(&self) -> f64 {
        self.begins.last().copied().unwrap_or(0.0)
    }

    /// Puts the stops in order; a notch at a joint, or on both edges of a corner, stands
    /// there once.
    fn settle(&mut self, whole: f64) {
        let notch = |stop: &Stop| matches!(stop.stands, Stands::Notch(..));
        self.ends = [
            self.stops.iter().any(|s| notch(s) && s.s <= AT_CORNER),
            self.stops
                .iter()
                .any(|s| notch(s) && s.s >= whole - AT_CORNER),
        ];
        let inside = |s: f64| s > AT_CORNER && s < whole - AT_CORNER;
        self.stops.retain(|stop| inside(stop.s));
        self.stops.sort_by(|a, b| a.s.total_cmp(&b.s));
        let mut kept: Vec<Stop> = Vec::new();
        for stop in self.stops.drain(..) {
            match kept.last_mut() {
                Some(last) if stop.s - last.s <= AT_CORNER => match (last.stands, stop.stands) {
                    (Stands::Joint, _) => *last = stop,
                    (_, Stands::Joint) => {}
                    (Stands::Notch(_, a), Stands::Notch(_, b)) if a == b => {}
                    _ => kept.push(stop),
                },
                _ => kept.push(stop),
            }
        }
        self.stops = kept;
    }

    /// The step on which a length falls, and mm from where that step begins, darts closed.
    pub fn on(&self, s: f64) -> (usize, f64) {
        let last = self.steps.len().saturating_sub(1);
        let step = (0..last).find(|&k| s <= self.begins[k + 1]).unwrap_or(last);
        (step, s - self.begins[step])
    }

    /// The point at a length, piece space of the piece it falls on.
    pub fn point(&self, laid: &[Laid], s: f64) -> Option<Point<PieceSpace>> {
        let (k, rest) = self.on(s);
        let step = *self.steps.get(k)?;
        let piece = &laid[step.piece];
        let edge = &piece.edges[step.edge];
        let open = opened(piece, step, rest);
        along(
            &edge.line,
            if step.back { edge.length - open } else { open },
        )
        .map(|st| st.at)
    }
}

/// Where a place of an edge falls in the direction of travel with its darts closed, mm
/// from where the travel begins; within a dart: at it.
fn closed(piece: &Laid, step: Step, s: f64) -> f64 {
    let whole = piece.edges[step.edge].length;
    let own = piece.darts.iter().filter(|d| d.edge == step.edge);
    if step.back {
        let after = own.map(|d| d.to - s.clamp(d.from, d.to));
        whole - s - after.sum::<f64>()
    } else {
        let before = own.map(|d| s.clamp(d.from, d.to) - d.from);
        s - before.sum::<f64>()
    }
}

/// The way back from [`closed`]: mm in the direction of travel, darts open.
fn opened(piece: &Laid, step: Step, s: f64) -> f64 {
    let whole = piece.edges[step.edge].length;
    let own = piece.darts.iter().filter(|d| d.edge == step.edge);
    let mut darts: Vec<(f64, f64)> = own
        .map(|d| match step.back {
            true => (whole - d.to, whole - d.from),
            false => (d.from, d.to),
        })
        .collect();
    darts.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut open = s;
    for (from, to) in darts {
        if open > from {
            open += to - from;
        }
    }
    open
}
