//! Parts that come from a finished piece: the same shape without allowance, carved, in
//! another cloth, or smaller or larger for the turn of cloth.

mod carry;

#[cfg(test)]
mod tests;

use super::allowance::{
    Allowed, FoldEdges, add, bites, centred, counted, mm, named, offset_line, on_edges, place,
    regrown, sided,
};
use super::edges::Edge;
use super::net::{Corner, EdgeMake, NetPiece};
use super::piece::{Line, PatternPiece};
use crate::fault::{Fault, Outcome, short};
use crate::shape::{Offset, Side, Sided, bounds, edgewise};
use crate::space::Piece;

/// Most that a part without allowance stays inside the net line so that the needle
/// clears, mm (common practice: 0.5 to 1).
pub const MOST_LESS: f64 = 1.0;

/// Most that is carved off an edge, from the cut edge of the cloth, mm (common practice: up
/// to 3/4 in, about 20).
pub const MOST_CARVED: f64 = 25.0;

/// Thickest cloth that goes round a bend, mm.
pub const THICKEST: f64 = 20.0;

/// A part with less than this in either direction, mm, is a crumb and is left out.
const CRUMB: f64 = 3.0;

/// A part that lies inside or outside a bend is smaller or larger.
#[derive(Debug, Clone, PartialEq)]
pub struct Turn {
    /// Outside the bend, and so larger.
    pub larger: bool,
    /// Between the middle of this part and that of the part it follows, mm, 0 to
    /// [`THICKEST`].
    pub thickness: f64,
    /// How far it goes round between its middle and each edge, radians, 0 to 2π: π/2 for
    /// an edge that is turned up at a right angle.
    pub round: f64,
    /// Which edges move; none named: all that are not carved.
    pub edges: Vec<String>,
}

impl Turn {
    /// By how much each edge moves outwards, mm (inwards if negative). Two layers that go
    /// round a bend by the angle φ with t between their middles are arcs of radii r and
    /// r + t: their lengths differ by φ·t whatever r is. So π/2·t at a right angle, 2πt all
    /// the way round.
    pub fn moves(&self) -> f64 {
        let by = self.round * self.thickness;
        if self.larger { by } else { -by }
    }
}

/// A part to be derived.
#[derive(Debug, Clone, PartialEq)]
pub struct Derived {
    pub name: String,
    /// The piece it comes from.
    pub of: String,
    /// How far inside the net line it ends, mm, 0 to [`MOST_LESS`].
    pub less: f64,
    /// Edges that end this far from the *cut* edge of the cloth instead, mm, 0 to
    /// [`MOST_CARVED`]. Of such an edge neither `less` nor `turn` counts: it ends where it is
    /// carved, and is noted if `turn` names it.
    pub carve: Vec<(String, f64)>,
    /// With allowance, as the original: a lining. Else it is cut where it ends.
    pub keep_allowance: bool,
    /// Only when asked for.
    pub turn: Option<Turn>,
    /// How many, and whether in pairs, where that differs from the original.
    pub count: Option<(u32, bool)>,
}

impl Derived {
    /// The same as `of`, allowance and all, for another cloth.
    pub fn same(name: impl Into<String>, of: impl Into<String>) -> Self {
        Self {
            name: name.into(),
            of: of.into(),
            less: 0.0,
            carve: Vec::new(),
            keep_allowance: true,
            turn: None,
            count: None,
        }
    }
}

/// The part. Its edges have the original's names where they are left; without allowance it
/// has no net line, and its edges' allowance is 0. Edges on the fold stay on it. Notches go
/// in along their normal as deep as they were, and what else is marked is carried, where it
/// lies on the part; what does not is noted, and so are lost necks, edges and parts. What is
/// carved off is counted from the cut edge and not from the net line, so an edge carved by
/// less than its allowance reaches beyond the net line.
///
/// # Errors
///
/// When the piece has no closed net line or an allowance that is needed is not told, an edge
/// is not one of it, a length is out of its range, or nothing is left.
pub fn derive(piece: &PatternPiece, derived: &Derived) -> Outcome<Allowed> {
    let at = |fault: Fault| fault.at(format!("part \"{}\" of \"{}\"", derived.name, piece.name));
    check(piece, derived).map_err(at)?;
    let (net, edges) = sided(piece);
    let folds = FoldEdges::of(piece, &edges).map_err(at)?;
    let by = moves(derived, &edges, &folds).map_err(at)?;
    let mut start = piece.clone();
    start.name.clone_from(&derived.name);
    if let Some((count, pair)) = derived.count {
        (start.cut_count, start.pair) = (count, pair);
    }
    if derived.keep_allowance && by.iter().all(|&mm| mm == 0.0) {
        return Ok(Allowed {
            piece: start,
            notes: Vec::new(),
        });
    }
    let sides = offset_line(&by, &folds);
    let mut moved = edgewise(&net, &sides);
    let mut notes = stays(derived);
    let name = |side: usize| edges.get(side).map_or("", |e| e.name.as_str());
    lost(&net, &mut moved, &sides, &name, &mut notes);
    if moved.outer.is_empty() {
        return Err(at(Fault::input(
            "nothing is left of the part",
            "carve off less, or cut it with its allowance",
        )));
    }
    if derived.keep_allowance {
        return lining(start, &moved, &edges, &folds, notes).map_err(at);
    }
    let mut part = start;
    part.net.clear();
    part.edges = named(&moved.outer[0], &name, &mut notes, &mut |_| 0.0);
    let runs = moved.outer.iter().flat_map(Sided::runs);
    part.folds = runs
        .filter(|(side, _)| folds.is(*side))
        .map(|(_, line)| line)
        .collect();
    part.cut = moved.outer.iter().map(|s| s.ring.clone()).collect();
    carry::onto(&mut part, piece, &moved, &net, &mut notes);
    centred(&mut part);
    Ok(Allowed { piece: part, notes })
}

/// # Errors
///
/// When something asked for is out of its range.
fn check(piece: &PatternPiece, derived: &Derived) -> Outcome<()> {
    if !piece.net.iter().any(|l| l.closed && l.points.len() > 2) {
        return Err(Fault::input(
            "the piece has no closed net line to derive a part from",
            "give its edges their allowances first",
        ));
    }
    let within = |what: &str, value: f64, most: f64, unit: &str| {
        if (0.0..=most).contains(&value) {
            return Ok(());
        }
        Err(Fault::input(
            format!("{what} of {}{unit} is not possible", short(value)),
            format!("give one from 0 to {}{unit}", short(most)),
        ))
    };
    within(
        "a distance inside the net line",
        derived.less,
        MOST_LESS,
        " mm",
    )?;
    for (edge, mm) in &derived.carve {
        within("carving", *mm, MOST_CARVED, " mm").map_err(|f| f.at(format!("edge \"{edge}\"")))?;
    }
    if let Some(turn) = &derived.turn {
        within("a thickness", turn.thickness, THICKEST, " mm")?;
        if !(0.0..=std::f64::consts::TAU).contains(&turn.round) {
            // In degrees, as it is written.
            within("a bend", turn.round.to_degrees(), 360.0, "°")?;
        }
    }
    Ok(())
}

/// Edges that are named for the turn of cloth and carved as well: a note each.
fn stays(derived: &Derived) -> Vec<String> {
    let turn = derived.turn.iter().filter(|t| t.moves() != 0.0);
    let named = turn.flat_map(|t| &t.edges);
    let carved = named.filter(|n| derived.carve.iter().any(|(edge, _)| edge == *n));
    carved
        .map(|edge| {
            format!("edge \"{edge}\" ends where it is carved: the turn of cloth does not move it.")
        })
        .collect()
}

/// By how much each edge of the net line moves outwards, mm.
///
/// # Errors
///
/// When an edge is not one of the piece, lies on the fold, or has no allowance to carve from.
fn moves(derived: &Derived, edges: &[Edge], folds: &FoldEdges) -> Outcome<Vec<f64>> {
    let find = |name: &str| {
        let found = edges.iter().position(|e| e.name == name);
        found.ok_or_else(|| {
            let names: Vec<&str> = edges.iter().map(|e| e.name.as_str()).collect();
            Fault::input(
                format!("there is no edge \"{name}\""),
                format!("name one of {}", counted(&names)),
            )
        })
    };
    let mut by = vec![-derived.less; edges.len()];
    if let Some(turn) = &derived.turn {
        let mut all: Vec<usize> = (0..edges.len()).collect();
        if !turn.edges.is_empty() {
            all = turn.edges.iter().map(|n| find(n)).collect::<Outcome<_>>()?;
            all.sort_unstable();
            all.dedup();
        }
        for k in all {
            by[k] += turn.moves();
        }
    }
    let mut seen: Vec<usize> = Vec::new();
    for (name, carved) in &derived.carve {
        let k = find(name)?;
        let named = |fault: Fault| fault.at(format!("edge \"{name}\""));
        if folds.is(k) || seen.contains(&k) {
            let what = if folds.is(k) {
                "the edge lies on the fold and can't be carved"
            } else {
                "the edge is carved twice"
            };
            return Err(named(Fault::input(what, "take it out of what is carved")));
        }
        seen.push(k);
        by[k] = match edges[k].allowance {
            // The net line moves as the cut edge does.
            _ if derived.keep_allowance => -carved,
            Some(allowance) => allowance - carved,
            None => {
                return Err(named(Fault::input(
                    "the edge has no allowance, so its cut edge is not known",
                    "give it one",
                )));
            }
        };
    }
    for (k, mm) in by.iter_mut().enumerate() {
        if folds.is(k) || *mm == 0.0 {
            *mm = 0.0;
        }
    }
    Ok(by)
}

/// Leaves out crumbs; notes them, necks that vanish, edges that are gone, and parts.
fn lost<'a>(
    net: &Sided<Piece>,
    moved: &mut Offset<Piece>,
    sides: &[Side],
    name: &dyn Fn(usize) -> &'a str,
    notes: &mut Vec<String>,
) {
    moved.outer.retain(|part| {
        let size = bounds(part.ring.iter().copied()).map(|b| b.size());
        let large = size.is_some_and(|s| s.width.min(s.height) >= CRUMB);
        if !large {
            notes.push(format!(
                "a crumb of {} mm² at {} is left out.",
                short(part.area()),
                place(&part.ring)
            ));
        }
        large
    });
    if moved.outer.is_empty() {
        return;
    }
    if moved.outer.len() > 1 {
        let areas: Vec<String> = moved
            .outer
            .iter()
            .map(|p| short(p.area() / 100.0))
            .collect();
        notes.push(format!(
            "the part falls into {}: {} cm².",
            moved.outer.len(),
            areas.join(", ")
        ));
    }
    for side in &moved.blunted {
        notes.push(format!(
            "the corner where edge \"{}\" begins is so sharp that it is cut off.",
            name(*side)
        ));
    }
    let left: Vec<usize> = moved
        .outer
        .iter()
        .flat_map(|p| p.side.iter().copied())
        .collect();
    for side in 0..sides.len() {
        if !left.contains(&side) {
            notes.push(format!("edge \"{}\" is carved away.", name(side)));
        }
    }
    // What is not there again when it is grown back had no room: a neck, or a narrow end.
    // Edges that go out do not count here.
    let inwards: Vec<Side> = sides
        .iter()
        .map(|s| Side {
            by: s.by.min(0.0),
            ..*s
        })
        .collect();
    let outwards = sides.iter().any(|s| s.by > 0.0);
    let again = outwards.then(|| edgewise(net, &inwards));
    let shrunk = again.as_ref().unwrap_or(&*moved);
    for bite in bites(std::slice::from_ref(net), &regrown(shrunk, &inwards)) {
        let size = bounds(bite.iter().copied()).map_or_else(String::new, |b| {
            format!("{} by {}", mm(b.width()), mm(b.height()))
        });
        notes.push(format!(
            "a place of {size} at {} is narrower than what is taken off {}, and is gone.",
            place(&bite),
            on_edges(&bite, net, name)
        ));
    }
}

/// The part with its allowance drawn anew, corners mitred.
fn lining(
    start: PatternPiece,
    moved: &Offset<Piece>,
    edges: &[Edge],
    folds: &FoldEdges,
    mut notes: Vec<String>,
) -> Outcome<Allowed> {
    let [net] = moved.outer.as_slice() else {
        return Err(Fault::input(
            "with its allowance, the part would fall into several",
            "carve off less",
        ));
    };
    let name = |side: usize| edges.get(side).map_or("", |e| e.name.as_str());
    let mut part = start.clone();
    let mut numbers = Vec::new();
    let mut untold = None;
    part.edges = named(net, &name, &mut notes, &mut |side| {
        numbers.push(side);
        if edges[side].allowance.is_none() && !folds.is(side) {
            untold = Some(side);
        }
        edges[side].allowance.unwrap_or(0.0)
    });
    if let Some(side) = untold {
        return Err(Fault::input(
            "the edge has no allowance",
            "give it one; 0 if it is cut on its net line",
        )
        .at(format!("edge \"{}\"", name(side))));
    }
    part.cut = vec![net.ring.clone()];
    part.folds.clear();
    carry::onto(&mut part, &start, moved, net, &mut notes);
    let others = start.net.iter().filter(|l| !l.closed).cloned();
    part.net = std::iter::once(Line {
        points: net.ring.clone(),
        closed: true,
    })
    .chain(others)
    .collect();
    part.cut.clear();
    let makes = numbers.iter().map(|&side| EdgeMake {
        corner: Corner::Mitred,
        on_fold: folds.is(side),
        stitched: 0.0,
    });
    let done = add(&NetPiece {
        makes: makes.collect(),
        piece: part,
    })?;
    notes.extend(done.notes);
    notes.push("its corners' allowances are mitred anew.".to_owned());
    Ok(Allowed {
        piece: done.piece,
        notes,
    })
}
