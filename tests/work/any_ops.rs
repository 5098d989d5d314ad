//! Random ops straight on the state: each makes exactly its change or none,
//! and its inverse takes it back.

use crate::jobs::{coat, demo, placed};
use ghostchalk::cloth::{ClothMark, KeepOut, Looks, OnTable, Panel, Stack, Stripes};
use ghostchalk::colour::Tint;
use ghostchalk::lay::wish::{Wish, Wished};
use ghostchalk::lay::{CutPart, Face, Marking, Trim};
use ghostchalk::work::{AddedNotch, Op, Record, Spot, State, Switches, Ways, apply_all, replay};
use proptest::prelude::*;

/// What an op is made from, on whatever state it meets.
#[derive(Debug, Clone)]
struct Seed {
    kind: usize,
    which: usize,
    other: usize,
    at: usize,
    n: f64,
    flag: bool,
    /// What is wrong with it: nothing at 0.
    wrong: u8,
}

fn seed() -> impl Strategy<Value = Seed> {
    (
        0..25usize,
        0..40usize,
        0..40usize,
        0..5usize,
        -800.0..800.0f64,
        any::<bool>(),
        prop_oneof![4 => Just(0u8), 1 => 1..4u8],
    )
        .prop_map(|(kind, which, other, at, n, flag, wrong)| Seed {
            kind,
            which,
            other,
            at,
            n,
            flag,
            wrong,
        })
}

/// Numbers that a decimal fraction doesn't hold exactly.
fn odd(n: f64) -> f64 {
    n / 3.0
}

impl Seed {
    fn op(&self, state: &State) -> Op {
        let ids: Vec<u32> = state.placed.keys().copied().collect();
        let id = match ids.len() {
            0 => 1,
            n => ids[self.which % n],
        };
        let panel = &state.panels[self.which % state.panels.len()];
        let other = &state.panels[self.other % state.panels.len()];
        let wrong_name = || "nowhere".to_owned();
        let name = match self.wrong {
            1 => wrong_name(),
            _ => panel.name.clone(),
        };
        let off = if self.wrong == 2 { 1.0 } else { 0.0 };
        let n = odd(self.n);
        match self.kind {
            0 => {
                let id = if self.wrong == 2 {
                    id
                } else {
                    state.free_id(0)
                };
                let mut p = placed("tongue", "1", &name, (n, odd(n), n), Face::Down);
                p.id = Some(if self.wrong == 3 { id + 1 } else { id });
                Op::Lay { id, placed: p }
            }
            1 => {
                let there = state.placed.get(&id).cloned();
                let mut placed =
                    there.unwrap_or_else(|| placed("tongue", "1", &name, (n, n, 0.0), Face::Up));
                placed.x_mm += off;
                let id = if self.wrong == 3 { id + 500 } else { id };
                Op::TakeAway { id, placed }
            }
            2 => {
                let mut from = state
                    .placed
                    .get(&id)
                    .map_or_else(|| spot(&name, n), Spot::of);
                from.y_mm += off;
                let to = spot(if self.wrong == 1 { &name } else { &other.name }, n);
                let id = if self.wrong == 3 { id + 500 } else { id };
                Op::Move { id, from, to }
            }
            3 => {
                let locked = state.placed.get(&id).is_some_and(|p| p.locked);
                let from = locked != (self.wrong == 2);
                Op::Lock {
                    id,
                    from,
                    to: self.flag,
                }
            }
            4 => {
                let mut from = panel.on_table;
                from.turn_deg += off;
                let to = OnTable {
                    x_mm: n,
                    y_mm: -n,
                    turn_deg: odd(n),
                };
                Op::Lie {
                    panel: name,
                    from,
                    to,
                }
            }
            5 => Op::Spread {
                panel: name,
                from: panel.spread != (self.wrong == 2),
                to: self.flag,
            },
            6 => Op::Under {
                panel: name,
                from: if self.wrong == 2 {
                    Some(wrong_name())
                } else {
                    panel.under.clone()
                },
                to: match (self.wrong, self.flag) {
                    (3, _) => Some(wrong_name()),
                    (_, true) => Some(other.name.clone()),
                    (_, false) => None,
                },
            },
            7 => {
                let mut from = panel.outline_mm.clone();
                from[0][0] += off;
                let to = vec![[n, 0.0], [n + 10.0, 0.0], [n, 7.0]];
                Op::Outline {
                    panel: name,
                    from,
                    to,
                }
            }
            8 => {
                let from = self
                    .flag
                    .then(|| panel.keep_out.get(self.at).cloned())
                    .flatten();
                let mut to = (self.n > -300.0).then(|| KeepOut {
                    name: "hole".into(),
                    outline_mm: vec![[n, 0.0], [n + 10.0, 0.0], [n, 7.0]],
                });
                if self.wrong == 2 {
                    to = None;
                }
                let from = if self.wrong == 3 { to.clone() } else { from };
                Op::KeepOut {
                    panel: name,
                    at: self.at,
                    from,
                    to,
                }
            }
            9 => {
                let from = self
                    .flag
                    .then(|| panel.marks.get(self.at).cloned())
                    .flatten();
                let to = (self.n > -300.0).then(|| ClothMark {
                    name: "M".into(),
                    x_mm: n,
                    y_mm: odd(n),
                });
                let from = if self.wrong == 2 { to.clone() } else { from };
                Op::Mark {
                    panel: name,
                    at: self.at,
                    from,
                    to,
                }
            }
            10 => Op::Grain {
                panel: name,
                from: panel.grain_deg + off,
                to: n,
            },
            11 => {
                let mut from = panel.carried_by.clone();
                if self.wrong == 2 {
                    from.push(wrong_name());
                }
                let to = panel.marks.iter().map(|m| m.name.clone());
                Op::CarriedBy {
                    panel: name,
                    from,
                    to: to.collect(),
                }
            }
            12 => {
                let there = state.placed.get(&id).cloned();
                let p =
                    there.unwrap_or_else(|| placed("tongue", "1", &name, (n, n, 0.0), Face::Up));
                let last = state.cuts.last();
                let part = |k: u32, face| CutPart {
                    id: last + k + if self.wrong == 2 { 1 } else { 0 },
                    placed: if self.wrong == 3 { id + 500 } else { id },
                    piece: p.piece.clone(),
                    article: p.article.clone(),
                    cloth: panel.cloth.clone(),
                    panel: panel.name.clone(),
                    face,
                    plies: 1,
                    clipped_late: Vec::new(),
                    marking: Marking::ToDo,
                    spoilt: false,
                    by: None,
                };
                let mut parts = vec![part(1, Face::Up)];
                if self.flag {
                    parts.push(part(2, Face::Down));
                }
                Op::Cut { parts }
            }
            13 => {
                let all = &state.cuts.parts;
                let tail = all.len().saturating_sub(self.at);
                let mut parts = all[tail..].to_vec();
                if self.wrong == 2 {
                    parts.extend(all.first().cloned());
                }
                Op::Uncut { parts }
            }
            14 => {
                let all = &state.cuts.parts;
                let Some(part) = all.get(self.which % all.len().max(1)).cloned() else {
                    return Op::Switches {
                        from: state.cuts.switches.clone(),
                        to: Switches::default(),
                    };
                };
                let mut from = part.clone();
                let mut to = part;
                from.spoilt ^= self.wrong == 2;
                to.spoilt = self.flag;
                to.clipped_late.push(self.at as u32);
                to.id += u32::from(self.wrong == 3);
                Op::Part { from, to }
            }
            15 => {
                let mut from = state.cuts.apart.clone();
                if self.wrong == 2 {
                    from.push(wrong_name());
                }
                Op::Apart {
                    from,
                    to: vec![panel.name.clone()],
                }
            }
            16 => {
                let mut from = state.cuts.first.clone();
                if self.wrong == 2 {
                    from.push(9999);
                }
                Op::First { from, to: vec![id] }
            }
            17 => {
                let mut from = state.cuts.switches.clone();
                if self.wrong == 2 {
                    from.back = Some(wrong_name());
                }
                let to = Switches {
                    go_on: self.flag.then(|| "key F13".to_owned()),
                    back: None,
                };
                Op::Switches { from, to }
            }
            18 => {
                let from = self
                    .flag
                    .then(|| state.cuts.notches.get(self.at).cloned())
                    .flatten();
                let to = (self.n > -300.0).then(|| AddedNotch {
                    piece: "tongue".into(),
                    x_mm: n,
                    y_mm: odd(n),
                });
                let from = if self.wrong == 2 { to.clone() } else { from };
                Op::NextNotch {
                    at: self.at,
                    from,
                    to,
                }
            }
            20 => Op::Looks {
                panel: name,
                from: match self.wrong {
                    2 => Some(looks(1.0, false)),
                    _ => panel.looks.clone(),
                },
                to: (self.at > 0).then(|| looks(n, self.flag)),
            },
            21 => {
                let at = self.which % (state.panels.len() + usize::from(self.flag));
                let new = || {
                    Box::new(Panel {
                        name: format!("offcut {}", self.at),
                        under: (self.wrong == 3).then(wrong_name),
                        ..panel.clone()
                    })
                };
                let there = state.panels.get(at).cloned().map(Box::new);
                let (from, to) = match (self.flag, self.wrong == 2) {
                    (true, false) => (None, Some(new())),
                    // Other ops want a panel to be there.
                    (false, false) if state.panels.len() > 1 => (there, None),
                    (false, false) => (None, None),
                    (true, true) => (there, Some(new())),
                    (false, true) => (Some(new()), None),
                };
                Op::Panel { at, from, to }
            }
            22 => {
                let from = self
                    .flag
                    .then(|| state.wishes.get(self.at).cloned())
                    .flatten();
                let to = (self.n > -300.0).then(|| Wished {
                    weight: 1.0 + f64::from(self.at as u8),
                    ..Wished::new("tongue", Wish::StripeCentred { at_mm: [n, odd(n)] })
                });
                let from = if self.wrong == 2 { to.clone() } else { from };
                Op::Wish {
                    at: self.at,
                    from,
                    to,
                }
            }
            19 => {
                let from = self
                    .flag
                    .then(|| state.trims.get(self.at).cloned())
                    .flatten();
                let to = (self.n > -300.0).then(|| Trim {
                    tool: "wheel".into(),
                    cloth: "canvas".into(),
                    plies: 1 + u32::from(self.flag),
                    edge_mm: n / 1000.0,
                    error_mm: 0.1,
                    on: self.flag,
                });
                let from = if self.wrong == 2 { to.clone() } else { from };
                Op::Trim {
                    at: self.at,
                    from,
                    to,
                }
            }
            24 => {
                let mut from = panel.stack;
                if self.wrong == 2 {
                    from.layers += 1;
                }
                let to = Stack {
                    layers: 1 + self.at as u32,
                    turned: self.flag,
                    wrong_side_up: self.n > 0.0,
                };
                Op::Stack {
                    panel: name,
                    from,
                    to,
                }
            }
            _ => {
                let mut from = state.ways;
                from.band_mm += off;
                let to = Ways {
                    work_light: self.at as u8,
                    waste: self.flag,
                    watch: self.flag,
                    creep: self.flag,
                    colour: Tint::ALL[self.at % Tint::ALL.len()],
                    ..state.ways
                };
                Op::Light { from, to }
            }
        }
    }
}

fn looks(n: f64, flag: bool) -> Looks {
    Looks {
        shade: flag.then(|| "sling.shade.toml".to_owned()),
        stripes: (n > 0.0).then(|| Stripes {
            period_mm: 2.0 + odd(n),
            runs_deg: odd(n),
            at_mm: [odd(n), n],
            same_both_ways: flag,
        }),
    }
}

fn spot(panel: &str, n: f64) -> Spot {
    Spot {
        panel: panel.to_owned(),
        x_mm: n,
        y_mm: odd(n),
        turn_deg: -n,
        face: if n > 0.0 { Face::Up } else { Face::Down },
    }
}

/// What an op would make of a state, written from what ops mean and not from
/// how they are applied; `None` where it may not be.
fn meant(state: &State, op: &Op) -> Option<State> {
    let mut s = state.clone();
    let known = |name: &str| state.panels.iter().position(|p| p.name == name);
    let mut holds = true;
    match op {
        Op::Lay { id, placed } => {
            holds &= placed.id == Some(*id) && known(&placed.panel).is_some();
            holds &= s.placed.insert(*id, placed.clone()).is_none();
        }
        Op::TakeAway { id, placed } => {
            holds &= s.placed.remove(id).as_ref() == Some(placed);
            holds &= s.cuts.parts.iter().all(|p| p.placed != *id);
        }
        Op::Move { id, from, to } => {
            holds &= s.cuts.parts.iter().all(|p| p.placed != *id);
            let p = s.placed.get_mut(id)?;
            holds &= Spot::of(p) == *from && known(&to.panel).is_some();
            to.put(p);
        }
        Op::Lock { id, from, to } => {
            let p = s.placed.get_mut(id)?;
            holds &= std::mem::replace(&mut p.locked, *to) == *from;
        }
        Op::Lie { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.on_table, *to) == *from;
        }
        Op::Cut { parts } => {
            let first = parts.first()?;
            let p = s.placed.get(&first.placed)?;
            for (k, part) in parts.iter().enumerate() {
                holds &= part.id as usize == s.cuts.parts.len() + 1 + k;
                holds &= part.placed == first.placed;
                holds &= (&part.piece, &part.article) == (&p.piece, &p.article);
            }
            holds &= s.cuts.parts.iter().all(|q| q.placed != first.placed);
            s.cuts.parts.extend(parts.iter().cloned());
        }
        Op::Uncut { parts } => {
            let first = parts.first()?;
            for part in parts.iter().rev() {
                holds &= s.cuts.parts.pop().as_ref() == Some(part);
                holds &= part.placed == first.placed;
            }
            holds &= s.cuts.parts.iter().all(|p| p.placed != first.placed);
        }
        Op::Part { from, to } => {
            let p = s.cuts.parts.iter_mut().find(|p| p.id == from.id)?;
            holds &= p == from && (from.id, from.placed) == (to.id, to.placed);
            *p = to.clone();
        }
        Op::Apart { from, to } => {
            holds &= std::mem::replace(&mut s.cuts.apart, to.clone()) == *from;
        }
        Op::First { from, to } => {
            holds &= std::mem::replace(&mut s.cuts.first, to.clone()) == *from;
        }
        Op::Switches { from, to } => {
            holds &= std::mem::replace(&mut s.cuts.switches, to.clone()) == *from;
        }
        Op::NextNotch { at, from, to } => {
            let all = &mut s.cuts.notches;
            match (from, to) {
                (None, None) => holds &= *at <= all.len(),
                (None, Some(new)) if *at <= all.len() => all.insert(*at, new.clone()),
                (Some(old), None) if all.get(*at) == Some(old) => {
                    all.remove(*at);
                }
                (Some(old), Some(new)) if all.get(*at) == Some(old) => all[*at] = new.clone(),
                _ => return None,
            }
        }
        Op::Trim { at, from, to } => s.trims = entry(&s.trims, *at, from, to)?,
        Op::Wish { at, from, to } => s.wishes = entry(&s.wishes, *at, from, to)?,
        Op::CarriedBy { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.carried_by, to.clone()) == *from;
        }
        Op::Spread { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.spread, *to) == *from;
        }
        Op::Under { panel, from, to } => {
            holds &= to.as_ref().is_none_or(|t| known(t).is_some());
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.under, to.clone()) == *from;
        }
        Op::Stack { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.stack, *to) == *from;
        }
        Op::Outline { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.outline_mm, to.clone()) == *from;
        }
        Op::KeepOut {
            panel,
            at,
            from,
            to,
        } => {
            let list = &mut s.panels[known(panel)?].keep_out;
            *list = entry(list, *at, from, to)?;
        }
        Op::Mark {
            panel,
            at,
            from,
            to,
        } => {
            let list = &mut s.panels[known(panel)?].marks;
            *list = entry(list, *at, from, to)?;
        }
        Op::Grain { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.grain_deg, *to) == *from;
        }
        Op::Looks { panel, from, to } => {
            let p = &mut s.panels[known(panel)?];
            holds &= std::mem::replace(&mut p.looks, to.clone()) == *from;
        }
        Op::Panel { at, from, to } => match (from, to) {
            (None, Some(new)) => {
                holds &= known(&new.name).is_none();
                holds &= new.under.as_ref().is_none_or(|u| known(u).is_some());
                s.panels = entry(&s.panels, *at, &None, &Some(*new.clone()))?;
            }
            (Some(old), None) => {
                let name = &old.name;
                holds &= s.placed.values().all(|p| p.panel != *name);
                holds &= s.cuts.parts.iter().all(|p| p.panel != *name);
                holds &= s.panels.iter().all(|p| p.under.as_ref() != Some(name));
                s.panels = entry(&s.panels, *at, &Some(*old.clone()), &None)?;
            }
            _ => return None,
        },
        Op::Light { from, to } => holds &= std::mem::replace(&mut s.ways, *to) == *from,
    }
    holds.then_some(s)
}

/// A list with `from`, which is its `at`th entry (or the gap before it),
/// replaced by `to`.
fn entry<T: Clone + PartialEq>(
    list: &[T],
    at: usize,
    from: &Option<T>,
    to: &Option<T>,
) -> Option<Vec<T>> {
    let head = list.get(..at)?;
    let rest = &list[at..];
    let tail = match from {
        None => rest,
        Some(old) => {
            let (first, tail) = rest.split_first()?;
            (first == old).then_some(tail)?
        }
    };
    Some([head, to.as_slice(), tail].concat())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..Default::default() })]

    #[test]
    fn an_op_makes_its_change_or_none(
        seeds in prop::collection::vec(seed(), 1..40), on_demo in any::<bool>(),
    ) {
        let mut state = if on_demo { demo() } else { coat() }.state().clone();
        let begun = state.clone();
        let (mut made, mut refused) = (Vec::new(), 0);
        for seed in &seeds {
            let op = seed.op(&state);
            let before = state.clone();
            let meant = meant(&before, &op);
            prop_assert_eq!(state.apply(&op).is_ok(), meant.is_some(), "{:?}", op);
            prop_assert_eq!(&state, meant.as_ref().unwrap_or(&before), "{:?}", op);
            let line = serde_json::to_string(&op).unwrap();
            prop_assert_eq!(&serde_json::from_str::<Op>(&line).unwrap(), &op);
            prop_assert_eq!(&op.inverse().inverse(), &op);
            prop_assert!(!op.to_string().is_empty());
            if meant.is_none() {
                refused += 1;
                continue;
            }
            let mut back = state.clone();
            back.apply(&op.inverse()).unwrap();
            prop_assert_eq!(&back, &before, "{:?}", op);
            if let Some(both) = made.last().and_then(|last: &Op| last.merged(&op)) {
                let mut back = state.clone();
                back.apply(&both.inverse()).unwrap();
                back.apply(&both).unwrap();
                prop_assert_eq!(&back, &state, "{:?}", both);
            }
            made.push(op);
        }
        // All of it back at once.
        let back: Vec<Op> = made.iter().rev().map(Op::inverse).collect();
        let mut other = state.clone();
        apply_all(&mut other, &back).unwrap();
        prop_assert_eq!(&other, &begun);
        // And as one step of the journal, undone and done again.
        let step = Record::Do { ops: made.clone(), gesture: None };
        let records = [step, Record::Undo, Record::Redo];
        for (n, want) in [(1, &state), (2, &begun), (3, &state)] {
            let mut read = begun.clone();
            prop_assert!(replay(&mut read, &records[..n], 0).1.is_none());
            prop_assert_eq!(&read, want);
        }
        // One op that doesn't fit undoes those before it.
        let mut spoilt = made.clone();
        spoilt.push(Op::Lock { id: 9999, from: false, to: true });
        prop_assert!(apply_all(&mut other, &spoilt).is_err());
        prop_assert_eq!(&other, &begun);
        prop_assert!(made.len() + refused == seeds.len());
    }
}
