//! What a person does with cloth: begin something on it, point, finish; spread it,
//! slip it under another.

use super::act::{Act, Reply, Said, Task, Touched};
use super::bench::Bench;
use super::doing::Doing;
use super::op::Op;
use super::pieces::degrees;
use super::samples;
use crate::cloth::{ClothMark, KeepOut, MOST_LAYERS, Stack};
use crate::lay::{Along, Hands, edge_from, squared, warp_from};
use crate::space::{Point, Rigid, Table, Vector};

/// Where the pointer lies on no sample.
const NO_SAMPLE: &str = "no sample is here: put the pointer on the one you want, and press";

impl Bench {
    /// Answers what is about cloth; hands back what is not.
    pub(super) fn about_cloth(&mut self, act: Act) -> Result<Reply, Act> {
        Ok(match act {
            Act::Begin(task) => self.begin(task),
            Act::Press => self.press(),
            Act::Finish => self.finish(),
            Act::Leave => {
                // From cutting to laying; from an errand back to cutting.
                if self.doing.cutting().is_some() {
                    self.course.end();
                }
                self.hand.hold(None);
                self.doing = Doing::Laying;
                Reply::touching(Touched::All)
            }
            Act::BackUp => self.back_up(),
            Act::PassOver => self.pass_over(),
            Act::BeginCutting => self.begin_cutting(),
            Act::Signal(told) => self.signalled(told),
            Act::CutNext(id) => self.cut_next(id),
            Act::CutLater(id) => self.cut_later(id),
            Act::Take(item) => self.take_from_list(item),
            Act::Teach(signal) => {
                self.doing = Doing::Teaching { signal };
                Reply::touching(Touched::Over)
            }
            Act::Taught(name) => self.taught(name),
            Act::Spread { panel, spread } => self.spread(&panel, spread),
            Act::Under { panel, top } => self.slip_under(&panel, top),
            Act::Stack { panel, stack } => self.stack(&panel, stack),
            Act::DropKeepOut { panel, at } => self.change_keep_out(&panel, at, |_| None),
            Act::NameKeepOut { panel, at, name } => {
                self.change_keep_out(&panel, at, |k| Some(KeepOut { name, ..k }))
            }
            Act::DropMark { panel, at } => self.change_mark(&panel, at, |_| None),
            Act::NameMark { panel, at, name } => {
                self.change_mark(&panel, at, |m| Some(ClothMark { name, ..m }))
            }
            other => return Err(other),
        })
    }

    pub(super) fn begin(&mut self, task: Task) -> Reply {
        let mut marks = 0;
        if let Task::Outline(p)
        | Task::KeepOut(p)
        | Task::Marks(p)
        | Task::Moved(p)
        | Task::Warp(p) = &task
        {
            let Some(panel) = self.state.panel(p).filter(|q| q.spread) else {
                return Reply::refused(format!("{p} is not on the table: spread it first"));
            };
            marks = panel.marks.len();
        }
        if let Task::Moved(p) = &task
            && marks < 2
        {
            return Reply::refused(format!(
                "{p} can't be followed: that takes two marks of its own, and it has {}; slide it \
                 back into its light, then give it marks (M)",
                match marks {
                    0 => "none",
                    _ => "one",
                }
            ));
        }
        if task == Task::Check && self.bare_marks().is_empty() {
            return Reply::refused(self.bare_words());
        }
        if task != Task::Edge {
            self.hand.hold(None);
        }
        self.doing = match task {
            Task::Samples => {
                let side = self.state.ways.stands;
                let room = self.room_for_light();
                let at = samples::begins(self.pointer(), room.as_ref(), side);
                Doing::Samples { at }
            }
            Task::Strip => {
                let middle = || Some(self.room_for_light()?.bounds()?.center());
                let at = self.pointer().or_else(middle).unwrap_or_default();
                Doing::Strip { at }
            }
            task => Doing::begun(task, marks),
        };
        let reply = Reply::touching(Touched::All);
        match &self.doing {
            Doing::Checking { .. } => reply.saying(self.bare_words()),
            _ => reply,
        }
    }

    fn press(&mut self) -> Reply {
        let Some(at) = self.pointer() else {
            return match self.doing {
                Doing::Samples { .. } => Reply::refused(NO_SAMPLE),
                Doing::Strip { .. } => {
                    Reply::refused("the pointer is not on the table: put it where the scrap lies")
                }
                _ => Reply::default(),
            };
        };
        match self.doing.clone() {
            Doing::Laying | Doing::Teaching { .. } | Doing::Offering(_) | Doing::Lengths(_) => {
                return Reply::default();
            }
            Doing::Cutting(_) | Doing::Checking { .. } => return self.point_at_mark(at),
            Doing::Drawing {
                mut corners,
                panel,
                keep_out,
            } => {
                corners.push(at);
                self.doing = Doing::Drawing {
                    panel,
                    keep_out,
                    corners,
                };
            }
            Doing::Marking { panel } => return self.give_mark(&panel, at),
            Doing::Carrying {
                panel,
                mut now,
                at: mark,
                full_hands,
                ..
            } => {
                if let Some(slot) = now.get_mut(mark) {
                    *slot = Some(at);
                }
                let at = (mark + 1).min(now.len());
                let last = full_hands && at == now.len();
                self.doing = Doing::Carrying {
                    at,
                    panel,
                    now,
                    warned: false,
                    full_hands,
                };
                // With full hands there is no third key to say so.
                if last {
                    return self.finish();
                }
            }
            Doing::Warp { panel, from: None } => {
                self.doing = Doing::Warp {
                    panel,
                    from: Some(at),
                };
            }
            Doing::Warp {
                panel,
                from: Some(from),
            } => return self.set_warp(&panel, from, at),
            Doing::Edge { from: None } => self.doing = Doing::Edge { from: Some(at) },
            Doing::Edge { from: Some(from) } => return self.square_to_edge(from, at),
            Doing::Tape { from, to } => {
                self.doing = match (from, to) {
                    (Some(from), None) => Doing::Tape {
                        from: Some(from),
                        to: Some(at),
                    },
                    _ => Doing::Tape {
                        from: Some(at),
                        to: None,
                    },
                };
            }
            Doing::Strip { .. } => self.doing = Doing::Strip { at },
            Doing::Samples { at: where_ } => {
                let strength = samples::picked(where_, self.state.ways.stands, at);
                let Some(percent) = strength else {
                    return Reply::refused(NO_SAMPLE);
                };
                self.doing = Doing::Laying;
                let reply = self.answer_light(percent);
                return reply.saying(format!("guides at {percent} %"));
            }
        }
        Reply::touching(Touched::Over)
    }

    pub(super) fn back_up(&mut self) -> Reply {
        match &mut self.doing {
            Doing::Drawing { corners, .. } => {
                corners.pop();
            }
            Doing::Carrying {
                now, at, warned, ..
            } => {
                *at = at.saturating_sub(1);
                *warned = false;
                if let Some(slot) = now.get_mut(*at) {
                    *slot = None;
                }
            }
            Doing::Checking { seen } => {
                seen.pop();
            }
            Doing::Warp { from, .. } | Doing::Edge { from } => *from = None,
            Doing::Tape { from, to } => {
                if to.take().is_none() {
                    *from = None;
                }
            }
            _ => return Reply::default(),
        }
        Reply::touching(Touched::Over)
    }

    fn pass_over(&mut self) -> Reply {
        if let Doing::Carrying { now, at, .. } = &mut self.doing
            && *at < now.len()
        {
            now[*at] = None;
            *at += 1;
        }
        Reply::touching(Touched::Over)
    }

    pub(super) fn finish(&mut self) -> Reply {
        match self.doing.clone() {
            Doing::Laying | Doing::Cutting(_) => Reply::default(),
            Doing::Drawing {
                panel,
                keep_out,
                corners,
            } => self.finish_drawing(&panel, keep_out, &corners),
            Doing::Carrying { panel, warned, .. } => self.finish_carrying(&panel, warned),
            Doing::Checking { .. } => {
                self.note_check(false);
                let warning = self.is_seen_off();
                let said = self.check_so_far().map(|c| Said {
                    words: c.to_string(),
                    warning,
                });
                self.doing = Doing::Laying;
                Reply {
                    touched: Touched::All,
                    said,
                }
            }
            _ => {
                self.doing = Doing::Laying;
                Reply::touching(Touched::All)
            }
        }
    }

    fn set_warp(&mut self, name: &str, from: Point<Table>, to: Point<Table>) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::default();
        };
        let warp = match warp_from(from, to, &panel.on_table.pose()) {
            Ok(warp) => degrees(warp.to_radians()),
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        let before = panel.grain_deg;
        self.does(vec![Op::Grain {
            panel: name.to_owned(),
            from: before,
            to: warp,
        }]);
        self.doing = Doing::Laying;
        Reply::touching(Touched::All).saying(format!("the warp of {name} runs at {warp:.1}°"))
    }

    /// Squares the piece in hand to a mat's edge, or says how the edge runs.
    fn square_to_edge(&mut self, from: Point<Table>, to: Point<Table>) -> Reply {
        let edge = match edge_from(from, to) {
            Ok(edge) => edge,
            Err(fault) => return Reply::refused(fault.to_string()),
        };
        self.doing = Doing::Laying;
        let placed = self.held().and_then(|id| self.state.placed.get(&id));
        let found = placed.filter(|p| !p.locked).and_then(|p| {
            let grain = self.goods.stock().piece(&p.piece)?.grain?;
            let turn = self.state.panel(&p.panel)?.on_table.turn_deg;
            squared(grain, p.face, p.turn_deg, edge - turn, Along::Warp, false)
                .map(|t| t - p.turn_deg)
        });
        match (found, self.held().and_then(|id| self.pose(id))) {
            (Some(turn), Some(pose)) => {
                let turn = turn.to_radians();
                let turned: Rigid<Table, Table> = Rigid::new(false, turn, Vector::zero());
                let shift = pose.shift - turned.vector(pose.shift);
                let reply = self.moved(Rigid::new(false, turn, shift), None);
                reply.saying(format!("squared to the edge, which runs at {edge:.1}°"))
            }
            _ => Reply::touching(Touched::Over).saying(format!("the edge runs at {edge:.1}°")),
        }
    }

    fn spread(&mut self, name: &str, to: bool) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::refused(format!("there is no panel {name}"));
        };
        let from = panel.spread;
        if from == to {
            return Reply::default();
        }
        let ops = vec![Op::Spread {
            panel: name.to_owned(),
            from,
            to,
        }];
        if let Some(why) = self.too_many_after(&ops) {
            return Reply::refused(why);
        }
        self.does(ops);
        if self.held().is_some_and(|id| self.pose(id).is_none()) {
            self.hand.hold(None);
        }
        if self.doing.panel() == Some(name) {
            self.doing = Doing::Laying;
        }
        let said = if to { "is on the table" } else { "is put away" };
        Reply::touching(Touched::All).saying(format!("{name} {said}"))
    }

    fn slip_under(&mut self, name: &str, top: Option<String>) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::refused(format!("there is no panel {name}"));
        };
        if let Some(t) = &top {
            let known = self.state.panel(t).filter(|q| q.spread && q.name != name);
            let Some(above) = known else {
                return Reply::refused(format!("{t} is not on the table to lie over {name}"));
            };
            if above.under.is_some() {
                return Reply::refused(format!("{t} itself lies under another panel"));
            }
            let mut below = self.state.panels.iter();
            if let Some(third) = below.find(|q| q.under.as_deref() == Some(name)) {
                return Reply::refused(format!(
                    "{} lies under {name}: three plies can't be told apart",
                    third.name
                ));
            }
        }
        let from = panel.under.clone();
        if from == top {
            return Reply::default();
        }
        let op = Op::Under {
            panel: name.to_owned(),
            from,
            to: top,
        };
        let said = op.to_string();
        let ops = vec![op];
        if let Some(why) = self.too_many_after(&ops) {
            return Reply::refused(why);
        }
        self.does(ops);
        Reply::touching(Touched::All).saying(said)
    }

    fn stack(&mut self, name: &str, to: Stack) -> Reply {
        let Some(panel) = self.state.panel(name) else {
            return Reply::refused(format!("there is no panel {name}"));
        };
        if !(1..=MOST_LAYERS).contains(&to.layers) {
            return Reply::refused(format!("{name} can lie in 1 to {MOST_LAYERS} plies"));
        }
        let from = panel.stack;
        if from == to {
            return Reply::default();
        }
        let op = Op::Stack {
            panel: name.to_owned(),
            from,
            to,
        };
        let said = op.to_string();
        let ops = vec![op];
        if let Some(why) = self.too_many_after(&ops) {
            return Reply::refused(why);
        }
        self.does(ops);
        Reply::touching(Touched::All).saying(said)
    }

    /// Another ply under a lay may give more than was ordered: says of what.
    pub(super) fn too_many_after(&self, ops: &[Op]) -> Option<String> {
        let mut after = self.state.clone();
        super::history::apply_all(&mut after, ops).ok()?;
        let stock = self.goods.stock();
        let counts = |s: &super::state::State| {
            let counts = stock.counts(&s.panels, s.placed.values(), &s.cuts.parts);
            counts
                .iter()
                .map(|c| c.takes_all(Hands::default()))
                .collect::<Vec<_>>()
        };
        let (before, now) = (counts(&self.state), counts(&after));
        let worse = before.iter().zip(&now).position(|(b, n)| *b && !*n)?;
        let count = self.counts()[worse];
        Some(format!(
            "more {} {} in {} would be cut than are ordered: take one of them away first",
            count.part.piece, count.article, count.part.cloth
        ))
    }
}
