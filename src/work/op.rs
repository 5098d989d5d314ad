//! Everything a person can change, resolved: each `Op` holds what was before and
//! what is after, never "by how much", so that it can be undone and replayed
//! without knowing anything else.

use super::cuts::{AddedNotch, Switches};
use super::ways::Ways;
use crate::cloth::{ClothMark, KeepOut, Looks, MOST_LAYERS, OnTable, Panel, Stack};
use crate::lay::wish::Wished;
use crate::lay::{CutPart, Face, Marking, Placement, Trim};
use crate::shape::signed_area;
use crate::space::{Cloth, Point};
use serde::{Deserialize, Serialize};
use std::fmt;

/// How far from the origin anything may be put, mm: what a job can hold.
pub(super) const FURTHEST: f64 = 1e5;

/// A placement's number: its own for as long as the job lives.
pub type Id = u32;

/// Where a piece lies: on which panel, cloth space, mm and degrees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spot {
    pub panel: String,
    pub x_mm: f64,
    pub y_mm: f64,
    pub turn_deg: f64,
    pub face: Face,
}

impl Spot {
    /// Where a placement is.
    pub fn of(p: &Placement) -> Self {
        Self {
            panel: p.panel.clone(),
            x_mm: p.x_mm,
            y_mm: p.y_mm,
            turn_deg: p.turn_deg,
            face: p.face,
        }
    }

    /// A new placement there.
    pub fn placement(&self, id: Id, piece: String, article: String) -> Placement {
        Placement {
            id: Some(id),
            piece,
            article,
            panel: self.panel.clone(),
            x_mm: self.x_mm,
            y_mm: self.y_mm,
            turn_deg: self.turn_deg,
            face: self.face,
            locked: false,
        }
    }

    /// Puts a placement there.
    pub fn put(&self, p: &mut Placement) {
        p.panel.clone_from(&self.panel);
        p.x_mm = self.x_mm;
        p.y_mm = self.y_mm;
        p.turn_deg = self.turn_deg;
        p.face = self.face;
    }
}

/// One change.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "op", rename_all = "snake_case")]
pub enum Op {
    /// A piece is laid.
    Lay { id: Id, placed: Placement },
    /// A piece is taken off the cloth.
    TakeAway { id: Id, placed: Placement },
    /// A piece is moved, turned or turned over.
    Move { id: Id, from: Spot, to: Spot },
    /// A piece is locked or freed.
    Lock { id: Id, from: bool, to: bool },
    /// A panel lies elsewhere on the table.
    Lie {
        panel: String,
        from: OnTable,
        to: OnTable,
    },
    /// The names of the marks by which a panel was last carried.
    CarriedBy {
        panel: String,
        from: Vec<String>,
        to: Vec<String>,
    },
    /// A panel is spread on the table, or put away.
    Spread { panel: String, from: bool, to: bool },
    /// A panel is slipped under another, or drawn out.
    Under {
        panel: String,
        from: Option<String>,
        to: Option<String>,
    },
    /// In how many layers a panel lies, and which side is up.
    Stack {
        panel: String,
        from: Stack,
        to: Stack,
    },
    /// A panel's outline.
    Outline {
        panel: String,
        from: Vec<[f64; 2]>,
        to: Vec<[f64; 2]>,
    },
    /// A place to keep out of: the `at`th of the panel comes, goes or changes.
    KeepOut {
        panel: String,
        at: usize,
        from: Option<KeepOut>,
        to: Option<KeepOut>,
    },
    /// A cloth mark, likewise.
    Mark {
        panel: String,
        at: usize,
        from: Option<ClothMark>,
        to: Option<ClothMark>,
    },
    /// A panel's warp direction, degrees.
    Grain { panel: String, from: f64, to: f64 },
    /// What a photo told of a panel.
    Looks {
        panel: String,
        from: Option<Looks>,
        to: Option<Looks>,
    },
    /// The `at`th panel comes or goes.
    Panel {
        at: usize,
        from: Option<Box<Panel>>,
        to: Option<Box<Panel>>,
    },
    /// How the lay is lit.
    Light { from: Ways, to: Ways },
    /// A placement is cut, all plies at once.
    Cut { parts: Vec<CutPart> },
    /// That was not so.
    Uncut { parts: Vec<CutPart> },
    /// A part is marked, clipped late, spoilt.
    Part { from: CutPart, to: CutPart },
    /// The panels that are roughly cut apart.
    Apart { from: Vec<String>, to: Vec<String> },
    /// The pieces that the person wants to cut first.
    First { from: Vec<Id>, to: Vec<Id> },
    /// What the person signals with.
    Switches { from: Switches, to: Switches },
    /// What a cut test found comes, goes, or is lit or no longer.
    Wish {
        at: usize,
        from: Option<Wished>,
        to: Option<Wished>,
    },
    Trim {
        at: usize,
        from: Option<Trim>,
        to: Option<Trim>,
    },
    /// A notch for the next time comes or goes.
    NextNotch {
        at: usize,
        from: Option<AddedNotch>,
        to: Option<AddedNotch>,
    },
}

impl Op {
    /// The change back.
    #[must_use]
    pub fn inverse(&self) -> Op {
        use std::mem::swap;
        let mut back = self.clone();
        match &mut back {
            Op::Lay { id, placed } => {
                return Op::TakeAway {
                    id: *id,
                    placed: placed.clone(),
                };
            }
            Op::TakeAway { id, placed } => {
                return Op::Lay {
                    id: *id,
                    placed: placed.clone(),
                };
            }
            Op::Cut { parts } => {
                return Op::Uncut {
                    parts: parts.clone(),
                };
            }
            Op::Uncut { parts } => {
                return Op::Cut {
                    parts: parts.clone(),
                };
            }
            Op::Move { from, to, .. } => swap(from, to),
            Op::Lock { from, to, .. } | Op::Spread { from, to, .. } => swap(from, to),
            Op::Lie { from, to, .. } => swap(from, to),
            Op::CarriedBy { from, to, .. } => swap(from, to),
            Op::Under { from, to, .. } => swap(from, to),
            Op::Stack { from, to, .. } => swap(from, to),
            Op::Outline { from, to, .. } => swap(from, to),
            Op::KeepOut { from, to, .. } => swap(from, to),
            Op::Mark { from, to, .. } => swap(from, to),
            Op::Grain { from, to, .. } => swap(from, to),
            Op::Looks { from, to, .. } => swap(from, to),
            Op::Panel { from, to, .. } => swap(from, to),
            Op::Light { from, to } => swap(from, to),
            Op::Part { from, to } => swap(from, to),
            Op::Apart { from, to } => swap(from, to),
            Op::First { from, to } => swap(from, to),
            Op::Switches { from, to } => swap(from, to),
            Op::NextNotch { from, to, .. } => swap(from, to),
            Op::Trim { from, to, .. } => swap(from, to),
            Op::Wish { from, to, .. } => swap(from, to),
        }
        back
    }

    /// Whether what it leads to can be written in a job and read again: places
    /// within [`FURTHEST`], turns within one, outlines that enclose something.
    pub(super) fn is_sound(&self) -> bool {
        let place = |x: f64, y: f64, turn: f64| {
            x.abs() < FURTHEST && y.abs() < FURTHEST && turn.abs() <= 360.0
        };
        let encloses = |corners: &[[f64; 2]]| {
            let ring: Vec<Point<Cloth>> = corners.iter().map(|&c| Point::from(c)).collect();
            ring.iter().all(|p| place(p.x, p.y, 0.0)) && signed_area(&ring) != 0.0
        };
        match self {
            Op::Lay { placed: p, .. } => place(p.x_mm, p.y_mm, p.turn_deg),
            Op::Move { to, .. } => place(to.x_mm, to.y_mm, to.turn_deg),
            Op::Lie { to, .. } => place(to.x_mm, to.y_mm, to.turn_deg),
            Op::Outline { to, .. } => encloses(to),
            Op::KeepOut { to, .. } => to.as_ref().is_none_or(|k| encloses(&k.outline_mm)),
            Op::Mark { to, .. } => to.as_ref().is_none_or(|m| place(m.x_mm, m.y_mm, 0.0)),
            Op::Grain { to, .. } => place(0.0, 0.0, *to),
            Op::Stack { to, .. } => (1..=MOST_LAYERS).contains(&to.layers),
            Op::Panel { to, .. } => to.as_ref().is_none_or(|p| {
                encloses(&p.outline_mm) && (1..=MOST_LAYERS).contains(&p.stack.layers)
            }),
            Op::Looks { to, .. } => {
                let stripes = to.as_ref().and_then(|l| l.stripes);
                stripes.is_none_or(|s| s.check().is_ok())
            }
            Op::TakeAway { .. }
            | Op::Lock { .. }
            | Op::CarriedBy { .. }
            | Op::Spread { .. }
            | Op::Under { .. }
            | Op::Light { .. }
            | Op::Cut { .. }
            | Op::Uncut { .. }
            | Op::Part { .. }
            | Op::Apart { .. }
            | Op::First { .. }
            | Op::Switches { .. } => true,
            Op::Trim { to, .. } => to.as_ref().is_none_or(Trim::is_sound),
            Op::Wish { to, .. } => to.as_ref().is_none_or(Wished::is_sound),
            Op::NextNotch { to, .. } => to.as_ref().is_none_or(|n| place(n.x_mm, n.y_mm, 0.0)),
        }
    }

    /// This change followed by `next` as one, where both are about the same
    /// thing and `next` begins where this ends.
    pub fn merged(&self, next: &Op) -> Option<Op> {
        match (self, next) {
            (
                Op::Move { id, from, to },
                Op::Move {
                    id: other,
                    from: then,
                    to: last,
                },
            ) if id == other && to == then => Some(Op::Move {
                id: *id,
                from: from.clone(),
                to: last.clone(),
            }),
            (
                Op::Lie { panel, from, to },
                Op::Lie {
                    panel: other,
                    from: then,
                    to: last,
                },
            ) if panel == other && to == then => Some(Op::Lie {
                panel: panel.clone(),
                from: *from,
                to: *last,
            }),
            (
                Op::Light { from, to },
                Op::Light {
                    from: then,
                    to: last,
                },
            ) if to == then => Some(Op::Light {
                from: *from,
                to: *last,
            }),
            _ => None,
        }
    }
}

impl fmt::Display for Op {
    /// What was done, to be read after "undone: ".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Op::Lay { placed, .. } => write!(f, "{} {} laid", placed.piece, placed.article),
            Op::TakeAway { placed, .. } => {
                write!(f, "{} {} taken away", placed.piece, placed.article)
            }
            Op::Move { from, to, .. } if from.face != to.face => f.write_str("a piece turned over"),
            Op::Move { from, to, .. } if from.turn_deg != to.turn_deg => {
                f.write_str("a piece turned")
            }
            Op::Move { .. } => f.write_str("a piece moved"),
            Op::Lock { to: true, .. } => f.write_str("a piece locked"),
            Op::Lock { to: false, .. } => f.write_str("a piece freed"),
            Op::Lie { panel, .. } => write!(f, "{panel} moved on the table"),
            Op::CarriedBy { panel, .. } => write!(f, "the marks of {panel} kept"),
            Op::Spread {
                panel, to: true, ..
            } => write!(f, "{panel} spread"),
            Op::Spread { panel, .. } => write!(f, "{panel} put away"),
            Op::Under { panel, to, .. } => match to {
                Some(top) => write!(f, "{panel} slipped under {top}"),
                None => write!(f, "{panel} drawn out"),
            },
            Op::Stack { panel, to, .. } => match to.words() {
                Some(words) if to.layers > 1 => write!(f, "{panel} lies in {words}"),
                Some(words) => write!(f, "{panel} lies {words}"),
                None => write!(f, "{panel} lies single"),
            },
            Op::Outline { panel, .. } => write!(f, "the outline of {panel} drawn"),
            Op::KeepOut { panel, to, .. } => match to {
                Some(k) => write!(f, "{} on {panel} marked as bad", k.name),
                None => write!(f, "a bad place of {panel} taken away"),
            },
            Op::Mark { panel, to, .. } => match to {
                Some(m) => write!(f, "mark {} of {panel} given", m.name),
                None => write!(f, "a mark of {panel} taken away"),
            },
            Op::Grain { panel, .. } => write!(f, "the warp of {panel} set"),
            Op::Looks {
                panel, to: None, ..
            } => write!(f, "the look of {panel} taken away"),
            Op::Looks { panel, .. } => write!(f, "the look of {panel} kept"),
            Op::Panel { to: Some(p), .. } => write!(f, "{} taken into the job", p.name),
            Op::Panel { from, .. } => {
                let name = from.as_ref().map_or("no panel", |p| p.name.as_str());
                write!(f, "{name} taken out of the job")
            }
            Op::Light { .. } => f.write_str("the light changed"),
            Op::Cut { parts } => match parts.as_slice() {
                [one] => write!(f, "{} cut", one.name()),
                [first, ..] => write!(f, "{} {} cut, both plies", first.piece, first.article),
                [] => f.write_str("nothing cut"),
            },
            Op::Uncut { parts } => match parts.first() {
                Some(p) => write!(f, "{} {} not cut after all", p.piece, p.article),
                None => f.write_str("nothing uncut"),
            },
            Op::Part { from, to } => match (from, to) {
                (a, b) if !a.spoilt && b.spoilt => write!(f, "{} spoilt", b.name()),
                (a, b) if a.marking != b.marking => match b.marking {
                    Marking::Done => write!(f, "{} marked", b.name()),
                    Marking::Waived => write!(f, "{} done without its marks", b.name()),
                    _ => write!(f, "{} to be marked", b.name()),
                },
                (_, b) => write!(f, "the notches of {}", b.name()),
            },
            Op::Apart { to, .. } => match to.last() {
                Some(panel) => write!(f, "{panel} cut apart"),
                None => f.write_str("no panel cut apart"),
            },
            Op::First { .. } => f.write_str("the order of cutting changed"),
            Op::Switches { .. } => f.write_str("a switch taught"),
            Op::Trim { from, to, .. } => match (from, to) {
                (_, Some(t)) if t.on => write!(f, "the trim for {} on", t.of()),
                (Some(_), Some(t)) => write!(f, "the trim for {} off", t.of()),
                (_, Some(t)) => write!(f, "a cut test of {} noted", t.of()),
                (Some(t), None) => write!(f, "the cut test of {} taken away", t.of()),
                (None, None) => f.write_str("no cut test"),
            },
            Op::Wish { to: Some(w), .. } => write!(f, "a wish for {}", w.piece),
            Op::Wish { from, .. } => match from {
                Some(w) => write!(f, "a wish for {} taken away", w.piece),
                None => f.write_str("no wish"),
            },
            Op::NextNotch { to: Some(n), .. } => write!(f, "a notch for {} next time", n.piece),
            Op::NextNotch { .. } => f.write_str("a notch for next time taken away"),
        }
    }
}
