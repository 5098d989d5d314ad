//! What the light says while cutting, and where it is said.

use super::{Cutting, Errand, Item, Of, Phase};
use crate::lay::{CutPart, Face};
use crate::pattern::NotchKind;
use crate::work::bench::Bench;
use crate::work::op::Id;

/// Parts named at the end, at most: the panel has them all.
const NAMED: usize = 4;

/// What the words are about, to stand beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Beside {
    /// At the person's edge.
    Nothing,
    /// A piece in the sheet.
    Piece(Id),
    /// A part that lies in its light.
    Part,
}

/// Words of light.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Prompt {
    pub lines: Vec<String>,
    /// Words that take as much room as these ever will: the list stays where it is.
    pub room: Vec<String>,
    pub beside: Beside,
}

impl Bench {
    /// What is asked for now, while cutting; `None` if nothing is cut.
    pub fn prompt(&self) -> Option<Prompt> {
        let cutting = self.doing.cutting()?;
        let beside = match cutting.phase {
            Phase::Piece { id }
            | Phase::Notches {
                of: Of::Piece(id), ..
            } => Beside::Piece(id),
            _ if cutting.lies_back().is_some() => Beside::Part,
            _ => Beside::Nothing,
        };
        let items = Item::of(&cutting.phase);
        let (lines, room) = match cutting.list {
            Some(at) => (list(&items, |k| k == at), list(&items, |_| true)),
            None => {
                let lines = self.asked_for(cutting);
                (lines.clone(), lines)
            }
        };
        Some(Prompt {
            lines,
            room,
            beside,
        })
    }

    fn asked_for(&self, cutting: &Cutting) -> Vec<String> {
        let mut lines = self.phase_words(cutting);
        // Where the words above don't say what back does, it takes back the last.
        if let Phase::Piece { .. } | Phase::Marks { .. } | Phase::Apart { .. } | Phase::Stack { .. } =
            cutting.phase
            && let Some(last) = self.can_be_taken_back()
        {
            lines.push(format!("back: undo: {last}"));
        }
        lines
    }

    fn phase_words(&self, cutting: &Cutting) -> Vec<String> {
        let said = |words: &[&str]| words.iter().map(|w| (*w).to_owned()).collect();
        match &cutting.phase {
            Phase::Returned => {
                let done = self.state.cuts.parts.iter().filter(|p| !p.spoilt).count();
                vec![
                    format!(
                        "{} cut, {} to go",
                        crate::fault::counted(done, "part is", "parts are"),
                        self.left_to_cut()
                    ),
                    "go on: the cloth lies as it did".to_owned(),
                    "back: it has moved".to_owned(),
                ]
            }
            Phase::Stack { panel } => self.stack_words(panel, &cutting.rough),
            Phase::Apart { panel } => vec![
                format!("{panel}: cut it apart roughly along the dashed lines"),
                "go on: it is cut apart".to_owned(),
            ],
            Phase::Piece { id } => self.piece_words(*id, cutting),
            Phase::Notches { of, at, over } => {
                let name = self.notch_words(*of, *at);
                match of {
                    Of::Piece(_) => vec![
                        name,
                        "go on: clipped".to_owned(),
                        "back: the one before".to_owned(),
                    ],
                    Of::Part(_) => vec![
                        name,
                        format!("cloth {}", side_up(*over)),
                        "go on: it is there".to_owned(),
                        "back: it was missing, clipped now".to_owned(),
                    ],
                }
            }
            Phase::Marks { part } => {
                let Some(part) = self.state.cuts.part(*part) else {
                    return Vec::new();
                };
                let mut lines = vec![
                    format!("{}: cloth wrong side up", hand_of(part)),
                    "transfer".to_owned(),
                ];
                if cutting.lies.is_empty() {
                    lines.push("(no room for it in the light: clear the table)".to_owned());
                }
                lines.extend_from_slice(&cutting.transfer);
                lines.push("go on: done".to_owned());
                lines.push(format!(
                    "then put it down at {} {}",
                    part.article, part.cloth
                ));
                lines
            }
            Phase::Walk { of, edge, to, .. } => self.walk_words(*of, *edge, *to),
            Phase::LaidBack { of, over } => {
                let Some(part) = self.part_of(*of) else {
                    return Vec::new();
                };
                let side = side_up(*over);
                let how = match cutting.lies.first() {
                    None => "there is no room for it in the light: clear the table".to_owned(),
                    Some(l) if l.over_cloth => {
                        "the table is full: put something plain between it and the cloth".to_owned()
                    }
                    Some(_) => "cloth in the light: too big; table inside it: too small".to_owned(),
                };
                vec![
                    format!("{}: cloth {side}", hand_of(&part)),
                    how,
                    match self.notch_at() {
                        Some(_) => "go on: a notch here next time",
                        None => "go on: back to cutting",
                    }
                    .to_owned(),
                    "back: turn it over".to_owned(),
                ]
            }
            Phase::Choose { to, at } => {
                let of = self.choices(*to).get(*at).copied();
                let Some((of, part)) = of.and_then(|of| Some((of, self.part_of(of)?))) else {
                    return said(&[
                        "none of these",
                        "go on: the first again",
                        "back: go on cutting",
                    ]);
                };
                let uncut = match of {
                    Of::Part(_) => "",
                    Of::Piece(_) => ", not cut yet",
                };
                let what = match to {
                    Errand::LayBack => "lay it back",
                    Errand::Spoilt => "it is spoilt",
                };
                vec![
                    format!("{}{uncut}", hand_of(&part)),
                    "go on: another part".to_owned(),
                    format!("back: {what}"),
                ]
            }
            Phase::Again { part, places, at } => {
                let Some(part) = self.state.cuts.part(*part) else {
                    return Vec::new();
                };
                let mut lines = vec![format!(
                    "{} again, from one ply, cloth face side up",
                    hand_of(part)
                )];
                if self.partner_of(part).is_some() {
                    lines.push("its partner lay or lies in the dotted outline".to_owned());
                }
                lines.extend([
                    "go on: lay it in the dashed outline".to_owned(),
                    if at + 1 < places.len() {
                        "back: another place"
                    } else {
                        "back: later"
                    }
                    .to_owned(),
                ]);
                lines
            }
            Phase::Check { .. } if self.bare_marks().is_empty() => {
                said(&["no mark of the table is bare", "go on: back to cutting"])
            }
            Phase::Check { off: false, .. } => {
                said(&["does each cross lie on its mark?", "go on: yes", "back: no"])
            }
            Phase::Check { off: true, seen } => {
                let mut lines = said(&["the light is off its marks: cut nothing"]);
                lines.push(match seen.len() {
                    0 => "press where each mark is, in any order".to_owned(),
                    n => format!("{n} of {} marks pointed at", self.bare_marks().len()),
                });
                if !seen.is_empty() {
                    lines.push("back: the last point".to_owned());
                }
                let on = match self.is_seen_off() {
                    true => "go on: cut all the same",
                    false => "go on: it lies on them after all",
                };
                lines.extend(said(&["set the table anew: F2", on]));
                lines
            }
            Phase::Over => {
                let open = self.still_wanted();
                if open.is_empty() {
                    return said(&["all that was ordered is cut"]);
                }
                let mut lines = vec!["still to be laid and cut:".to_owned()];
                lines.extend(open.iter().take(NAMED).cloned());
                if open.len() > NAMED {
                    lines.push(format!("and {} more", open.len() - NAMED));
                }
                lines
            }
        }
    }

    fn piece_words(&self, id: Id, cutting: &Cutting) -> Vec<String> {
        let Some(placed) = self.state.placed.get(&id) else {
            return Vec::new();
        };
        let stock = self.goods.stock();
        let piece = stock.piece(&placed.piece);
        // The hand that comes off the top.
        let gives = stock.gives(placed, &self.state.panels);
        let gives = gives.first().copied().unwrap_or(placed.face);
        let plies = match self.plies(&placed.panel) {
            1 => String::new(),
            n => format!(", {n} plies"),
        };
        let left = match cutting.order.len() {
            1 => "the last on this sheet".to_owned(),
            n => format!("{n} on this sheet"),
        };
        let clip = match piece.map_or(0, |p| p.notches.len()) {
            0 => String::new(),
            1 => " and its notch clipped".to_owned(),
            n => format!(" and all {n} notches clipped"),
        };
        let open = match piece.map_or(0, |p| p.cutouts.len()) {
            0 => "",
            _ => ", its opening too",
        };
        let mut lines = vec![
            format!(
                "{} {}, {}{plies}; {left}",
                placed.piece,
                placed.article,
                hand(gives)
            ),
            format!("go on: cut{open}{clip}"),
        ];
        if !cutting.transfer.is_empty() {
            lines.push("keep it at hand: it is marked next".to_owned());
        } else if let Some(panel) = self.state.panel(&placed.panel) {
            lines.push(format!("put it down at {} {}", placed.article, panel.cloth));
        }
        lines
    }

    /// A notch of a round, as it is spoken of.
    fn notch_words(&self, of: Of, at: usize) -> String {
        let part = self.part_of(of);
        let piece = part.and_then(|p| self.goods.stock().piece(&p.piece));
        let n = piece.map_or(0, |p| p.notches.len());
        let k = self.notch_in(of, at);
        let kind = piece.zip(k).and_then(|(p, k)| p.notches.get(k));
        let kind = match kind.map(|n| n.kind) {
            Some(NotchKind::Double) => ", double",
            Some(NotchKind::Vee) => ", a wedge",
            _ => "",
        };
        format!("notch {} of {n}{kind}", at + 1)
    }

    /// Parts that are not cut, laid or not.
    fn left_to_cut(&self) -> u32 {
        self.counts().iter().map(|c| c.to_cut().sum()).sum()
    }

    /// What is not cut yet, part by part and hand by hand.
    fn still_wanted(&self) -> Vec<String> {
        let mut all = Vec::new();
        for count in self.counts() {
            let left = count.to_cut();
            for (n, face) in [(left.up, Face::Up), (left.down, Face::Down)] {
                let hand = if count.part.pair {
                    format!(", {}", hand(face))
                } else {
                    String::new()
                };
                if n > 0 {
                    let (piece, cloth) = (&count.part.piece, &count.part.cloth);
                    all.push(format!("{n} {piece} {} {cloth}{hand}", count.article));
                }
            }
        }
        all
    }
}

/// A part as it is spoken of: by its face, for which of them is the left only
/// its maker knows.
fn hand_of(part: &CutPart) -> String {
    let hand = hand(part.face);
    format!("{} {} {}, {hand}", part.piece, part.article, part.cloth)
}

/// How the cloth lies.
pub fn side_up(over: bool) -> &'static str {
    if over {
        "wrong side up"
    } else {
        "face side up"
    }
}

/// A hand, in words that can't be taken for how the cloth lies.
pub fn hand(face: Face) -> &'static str {
    match face {
        Face::Up => "as drawn",
        Face::Down => "mirrored",
    }
}

fn list(items: &[Item], is_taken: impl Fn(usize) -> bool) -> Vec<String> {
    let line = |(k, item): (usize, &Item)| {
        // The block is centred, so the sign stands on both sides.
        if is_taken(k) {
            format!("> {} <", item.words())
        } else {
            item.words().to_owned()
        }
    };
    let mut lines: Vec<String> = items.iter().enumerate().map(line).collect();
    lines.push("go on: next; back: this".to_owned());
    lines
}
