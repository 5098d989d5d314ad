//! What the person's work has come to, and how an [`Op`] changes it.

use super::cuts::Cuts;
use super::op::{Id, Op, Spot};
use super::ways::Ways;
use crate::cloth::Panel;
use crate::lay::wish::Wished;
use crate::lay::{CutPart, Placement, Trim};
use std::collections::BTreeMap;
use std::fmt;

/// All of a job that changes at the table.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// In the job's order; they come and go by being spread and put away.
    pub panels: Vec<Panel>,
    pub placed: BTreeMap<Id, Placement>,
    pub ways: Ways,
    pub cuts: Cuts,
    /// What cut tests found.
    pub trims: Vec<Trim>,
    /// What is wished of pieces' places.
    pub wishes: Vec<Wished>,
}

/// An [`Op`] that doesn't begin at the state it was given: a journal that
/// belongs to another job, or a fault of ours.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mismatch(pub String);

impl fmt::Display for Mismatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "\"{}\" does not follow from what was before", self.0)
    }
}

impl State {
    /// A job's lay. Placements without a number, or with one that an earlier
    /// one has, get one of their own, in order.
    pub fn new(
        panels: Vec<Panel>,
        placed: impl IntoIterator<Item = Placement>,
        ways: Ways,
    ) -> Self {
        let mut all: BTreeMap<Id, Placement> = BTreeMap::new();
        let mut others = Vec::new();
        for p in placed {
            match p.id {
                Some(id) if !all.contains_key(&id) => {
                    all.insert(id, p);
                }
                _ => others.push(p),
            }
        }
        let mut next = 1;
        for mut p in others {
            while all.contains_key(&next) {
                next += 1;
            }
            p.id = Some(next);
            all.insert(next, p);
        }
        Self {
            panels,
            placed: all,
            ways: ways.within_reach(),
            cuts: Cuts::default(),
            trims: Vec::new(),
            wishes: Vec::new(),
        }
    }

    /// The same, with what is wished of places.
    #[must_use]
    pub fn with_wishes(self, wishes: Vec<Wished>) -> Self {
        Self { wishes, ..self }
    }

    /// The same, with what cut tests found.
    #[must_use]
    pub fn with_trims(self, trims: Vec<Trim>) -> Self {
        Self { trims, ..self }
    }

    /// The same, with what has been cut of it.
    #[must_use]
    pub fn cut_so_far(self, cuts: Cuts) -> Self {
        Self { cuts, ..self }
    }

    /// Whether a placement lies there still to be cut.
    pub fn is_to_cut(&self, id: Id) -> bool {
        self.placed.contains_key(&id) && !self.cuts.has(id)
    }

    /// A panel by its name.
    pub fn panel(&self, name: &str) -> Option<&Panel> {
        self.panels.iter().find(|p| p.name == name)
    }

    /// A number that no placement has, greater than `used` if there is one.
    pub fn free_id(&self, used: Id) -> Id {
        let last = self.placed.keys().next_back().copied().unwrap_or(0);
        let next = last.max(used).checked_add(1);
        // With the greatest number taken, the first gap.
        next.or_else(|| (1..).find(|id| !self.placed.contains_key(id)))
            .unwrap_or_default()
    }

    /// Makes a change, or none at all.
    ///
    /// # Errors
    /// If it doesn't begin where the state is.
    pub fn apply(&mut self, op: &Op) -> Result<(), Mismatch> {
        self.try_apply(op).ok_or_else(|| Mismatch(op.to_string()))
    }

    fn try_apply(&mut self, op: &Op) -> Option<()> {
        match op {
            Op::Lay { id, placed } => {
                let free = !self.placed.contains_key(id) && placed.id == Some(*id);
                let there = self.panel(&placed.panel).is_some();
                (free && there).then(|| self.placed.insert(*id, placed.clone()))?;
            }
            Op::TakeAway { id, placed } => {
                let same = self.placed.get(id) == Some(placed) && !self.cuts.has(*id);
                same.then(|| self.placed.remove(id))?;
            }
            Op::Move { id, from, to } => {
                self.panel(&to.panel)?;
                // What is cut lies where it was cut.
                (!self.cuts.has(*id)).then_some(())?;
                let p = self.placed.get_mut(id)?;
                (Spot::of(p) == *from).then(|| to.put(p))?;
            }
            Op::Lock { id, from, to } => {
                swap(&mut self.placed.get_mut(id)?.locked, from, to)?;
            }
            Op::Lie { panel, from, to } => swap(&mut self.named(panel)?.on_table, from, to)?,
            Op::CarriedBy { panel, from, to } => {
                swap(&mut self.named(panel)?.carried_by, from, to)?;
            }
            Op::Spread { panel, from, to } => swap(&mut self.named(panel)?.spread, from, to)?,
            Op::Under { panel, from, to } => {
                let known = to.as_ref().is_none_or(|t| self.panel(t).is_some());
                known.then_some(())?;
                swap(&mut self.named(panel)?.under, from, to)?;
            }
            Op::Stack { panel, from, to } => swap(&mut self.named(panel)?.stack, from, to)?,
            Op::Outline { panel, from, to } => {
                swap(&mut self.named(panel)?.outline_mm, from, to)?;
            }
            Op::KeepOut {
                panel,
                at,
                from,
                to,
            } => list(&mut self.named(panel)?.keep_out, *at, from, to)?,
            Op::Mark {
                panel,
                at,
                from,
                to,
            } => list(&mut self.named(panel)?.marks, *at, from, to)?,
            Op::Grain { panel, from, to } => swap(&mut self.named(panel)?.grain_deg, from, to)?,
            Op::Looks { panel, from, to } => swap(&mut self.named(panel)?.looks, from, to)?,
            Op::Panel { at, from, to } => self.panel_comes(*at, from.as_deref(), to.as_deref())?,
            Op::Light { from, to } => swap(&mut self.ways, from, to)?,
            Op::Cut { parts } => self.cut(parts)?,
            Op::Uncut { parts } => {
                // All of the placement that was cut last.
                let placed = parts.first()?.placed;
                let all = &mut self.cuts.parts;
                let rest = all.len().checked_sub(parts.len())?;
                let other = |p: &CutPart| p.placed != placed;
                let whole = all[rest..] == parts[..]
                    && all[..rest].iter().all(other)
                    && !parts.iter().any(other);
                whole.then(|| all.truncate(rest))?;
            }
            Op::Part { from, to } => {
                let same = from.id == to.id && from.placed == to.placed;
                let part = self.cuts.parts.iter_mut().find(|p| p.id == from.id)?;
                same.then(|| swap(part, from, to))??;
            }
            Op::Apart { from, to } => swap(&mut self.cuts.apart, from, to)?,
            Op::First { from, to } => swap(&mut self.cuts.first, from, to)?,
            Op::Switches { from, to } => swap(&mut self.cuts.switches, from, to)?,
            Op::Trim { at, from, to } => list(&mut self.trims, *at, from, to)?,
            Op::Wish { at, from, to } => list(&mut self.wishes, *at, from, to)?,
            Op::NextNotch { at, from, to } => list(&mut self.cuts.notches, *at, from, to)?,
        }
        Some(())
    }

    /// A panel comes, under a name of its own, or goes, if nothing lies on it or under it
    /// and nothing was cut from it; nothing else.
    fn panel_comes(&mut self, at: usize, from: Option<&Panel>, to: Option<&Panel>) -> Option<()> {
        match (from, to) {
            (None, Some(new)) => {
                let free = at <= self.panels.len() && self.panel(&new.name).is_none();
                // A panel that was taken out comes back as it lay: under another too.
                let over = new.under.as_deref();
                let known = over.is_none_or(|over| self.panel(over).is_some());
                (free && known).then(|| self.panels.insert(at, new.clone()))
            }
            (Some(old), None) => {
                let name = &old.name;
                let used = self.placed.values().any(|p| p.panel == *name)
                    || self.panels.iter().any(|p| p.under.as_ref() == Some(name))
                    || self.cuts.parts.iter().any(|p| p.panel == *name);
                let same = self.panels.get(at)? == old;
                (same && !used).then(|| {
                    self.panels.remove(at);
                })
            }
            _ => None,
        }
    }

    /// Adds the parts of one placement that lies there uncut.
    fn cut(&mut self, parts: &[CutPart]) -> Option<()> {
        let first = parts.first()?;
        let placed = self.placed.get(&first.placed)?;
        let new = |k: usize, p: &CutPart| {
            p.id == self.cuts.last() + 1 + k as u32
                && p.placed == first.placed
                && p.piece == placed.piece
                && p.article == placed.article
        };
        let sound =
            self.is_to_cut(first.placed) && parts.iter().enumerate().all(|(k, p)| new(k, p));
        sound.then(|| self.cuts.parts.extend_from_slice(parts))
    }

    fn named(&mut self, name: &str) -> Option<&mut Panel> {
        self.panels.iter_mut().find(|p| p.name == name)
    }
}

/// Puts `to` where `from` is.
fn swap<T: PartialEq + Clone>(value: &mut T, from: &T, to: &T) -> Option<()> {
    (value == from).then(|| value.clone_from(to))
}

/// Puts `to` in a list where `from` is: `None` is a gap between two entries.
fn list<T: PartialEq + Clone>(
    all: &mut Vec<T>,
    at: usize,
    from: &Option<T>,
    to: &Option<T>,
) -> Option<()> {
    match (from, to) {
        (None, None) => (at <= all.len()).then_some(()),
        (None, Some(new)) => (at <= all.len()).then(|| all.insert(at, new.clone())),
        (Some(old), None) => (all.get(at)? == old).then(|| {
            all.remove(at);
        }),
        (Some(old), Some(new)) => swap(all.get_mut(at)?, old, new),
    }
}
