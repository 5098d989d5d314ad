//! Pieces from what is drawn.

use std::collections::HashMap;
use std::slice::from_ref;

use super::drawing::{Drawing, Drawn, Group};
use super::flatten::{self, Budget, Run};
use super::marks;
use super::outline::{self, Outlines};
use super::place::{LeftOut, Place, excerpt};
use super::plain;
use super::roles::{Role, Told};
use crate::fault::{Fault, Outcome};
use crate::pattern::piece::{Line, PatternPiece, Polyline};

/// Most edges looked at for the notches of one piece.
const MAX_NOTCH_WORK: usize = 1_000_000_000;

/// The pieces of `drawing`, in its order; what can't be told is listed in
/// `left_out`.
///
/// # Errors
///
/// When there is none, two share a name, or one is not sound.
pub fn pieces(drawing: Drawing, left_out: &mut LeftOut) -> Outcome<Vec<PatternPiece>> {
    let found = if drawing.grouped {
        for drawn in drawing.loose {
            left_out.add(drawn.place, "it lies outside every piece");
        }
        from_groups(drawing.groups, left_out)?
    } else {
        from_outlines(drawing.loose, left_out)?
    };
    let mut places: HashMap<&str, Place> = HashMap::new();
    for (place, piece) in &found {
        if let Some(first) = places.insert(&piece.name, *place) {
            let name = excerpt(&piece.name);
            return Err(Fault::input(
                format!("two pieces are named \"{name}\", the first at {first}"),
                "give each piece a name of its own",
            )
            .at(place));
        }
    }
    Ok(found.into_iter().map(|(_, piece)| piece).collect())
}

type Found<'a> = Vec<(Place<'a>, PatternPiece)>;

/// The pieces of a drawing that says which they are.
fn from_groups<'a>(groups: Vec<Group<'a>>, left_out: &mut LeftOut) -> Outcome<Found<'a>> {
    let mut budget = Budget::new();
    let mut found = Found::new();
    for group in groups {
        let (place, name) = (group.place, group.name);
        if group.hides && group.drawn.is_empty() {
            let why = format!("all of the piece \"{}\" is hidden", excerpt(name));
            left_out.add(place, why);
            continue;
        }
        let piece = piece(group, &mut budget, left_out)
            .map_err(|fault| fault.at(format!("piece \"{}\"", excerpt(name))))?;
        found.push((place, piece));
    }
    if found.is_empty() {
        return Err(Fault::input(
            "every piece in the drawing is hidden",
            "show the layers that hold the pieces",
        ));
    }
    Ok(found)
}

/// The pieces of a drawing that says nothing: its outermost closed shapes.
fn from_outlines<'a>(shapes: Vec<Drawn<'a>>, left_out: &mut LeftOut) -> Outcome<Found<'a>> {
    let mut budget = Budget::new();
    let chosen = plain::outermost(&shapes)?;
    let mut found = Found::new();
    let mut unnamed = 0;
    for (index, drawn) in shapes.iter().enumerate() {
        if chosen.binary_search(&index).is_err() {
            left_out.add(drawn.place, "nothing says what it is");
            continue;
        }
        let mut piece = PatternPiece::named(match drawn.place.id {
            Some(id) => id.trim().to_owned(),
            None => {
                unnamed += 1;
                format!("piece {unnamed}")
            }
        });
        let outlines = outline::outlines(from_ref(drawn), &[], &mut budget)?;
        piece.cut = outlines.cut;
        piece.cutouts = outlines.cutouts;
        found.push((drawn.place, piece));
    }
    if found.is_empty() {
        // A closed one was too small to be chosen, and can say so itself.
        for drawn in shapes.iter().filter(|drawn| !drawn.is_text) {
            if plain::is_closed(drawn)? {
                outline::outlines(from_ref(drawn), &[], &mut budget)?;
            }
        }
        return Err(Fault::input(
            "there is no closed outline in the drawing",
            "close the outlines of the pieces",
        ));
    }
    Ok(found)
}

/// What is drawn in a piece group, by what it is.
#[derive(Default)]
struct Sorted<'a> {
    cut: Vec<Drawn<'a>>,
    cutouts: Vec<Drawn<'a>>,
    notches: Vec<Drawn<'a>>,
    grain: Vec<Drawn<'a>>,
    labels: Vec<Drawn<'a>>,
    drills: Vec<Drawn<'a>>,
    /// Nets, folds, lines and darts.
    strokes: Vec<(Role, Drawn<'a>)>,
    untold: Vec<Drawn<'a>>,
}

impl<'a> Sorted<'a> {
    fn of(drawn: Vec<Drawn<'a>>, left_out: &mut LeftOut) -> Self {
        let mut sorted = Self::default();
        for drawn in drawn {
            match drawn.told {
                Told::Role(Role::Label) => sorted.labels.push(drawn),
                _ if drawn.is_text => left_out.add(drawn.place, "it is text, and no label"),
                Told::Unknown(word) => {
                    let why = format!("its role \"{}\" is not known", excerpt(word));
                    left_out.add(drawn.place, why);
                }
                Told::Nothing => sorted.untold.push(drawn),
                Told::Role(role) => match role {
                    Role::Cut => sorted.cut.push(drawn),
                    Role::Cutout => sorted.cutouts.push(drawn),
                    Role::Notch => sorted.notches.push(drawn),
                    Role::Grain => sorted.grain.push(drawn),
                    Role::Drill => sorted.drills.push(drawn),
                    role => sorted.strokes.push((role, drawn)),
                },
            }
        }
        sorted
    }

    /// Without a cut line, the one outermost closed shape that has no role
    /// is it.
    fn find_cut(&mut self) -> Outcome<()> {
        if !self.cut.is_empty() {
            return Ok(());
        }
        match plain::outermost(&self.untold)?.as_slice() {
            &[only] => {
                self.cut.push(self.untold.remove(only));
                Ok(())
            }
            [] => Err(Fault::input(
                "the piece has no cut line",
                "give its closed outline the role cut",
            )),
            many => Err(Fault::input(
                format!("any of {} shapes could be the cut line", many.len()),
                "give the right one the role cut, and the others theirs",
            )),
        }
    }
}

fn piece(group: Group, budget: &mut Budget, left_out: &mut LeftOut) -> Outcome<PatternPiece> {
    let mut sorted = Sorted::of(group.drawn, left_out);
    sorted.find_cut().map_err(|fault| fault.at(group.place))?;
    let outlines = outline::outlines(&sorted.cut, &sorted.cutouts, budget)?;
    let ground = outlines.ground;

    let mut piece = PatternPiece::named(group.name);
    piece.cut_count = group.cut_count;
    piece.pair = group.pair;
    for (role, drawn) in &sorted.strokes {
        for run in strokes(drawn, &outlines, budget)? {
            match role {
                Role::Net => piece.net.push(line(run)),
                Role::Fold => piece.folds.push(trace(run)),
                Role::Dart => piece.darts.push(trace(run)),
                _ => piece.lines.push(line(run)),
            }
        }
    }
    let edges: usize = outlines
        .cut
        .iter()
        .chain(&outlines.cutouts)
        .map(Vec::len)
        .sum();
    for drawn in &sorted.notches {
        let placed = |fault: Fault| fault.at(drawn.place);
        for run in flatten::runs(&drawn.path, ground, budget).map_err(placed)? {
            if (piece.notches.len() + 1).saturating_mul(edges) > MAX_NOTCH_WORK {
                return Err(placed(Fault::input(
                    "the piece has too many notches for its points",
                    "draw its cut line with fewer points",
                )));
            }
            let notch = marks::notch(&run, drawn.notch, &outlines).map_err(placed)?;
            piece.notches.push(notch);
        }
    }
    let mut grains = Vec::new();
    for drawn in &sorted.grain {
        grains.extend(strokes(drawn, &outlines, budget)?);
    }
    if let Some(first) = sorted.grain.first() {
        let grain = marks::grain(&grains).map_err(|fault| fault.at(first.place))?;
        piece.grain = Some(grain);
    }
    let centre = |drawn| marks::centre(drawn, ground);
    piece.drills = sorted.drills.iter().filter_map(centre).collect();
    piece.label_at = sorted.labels.first().and_then(centre);
    for drawn in sorted.labels.iter().skip(1) {
        left_out.add(drawn.place, "the piece has a label already");
    }
    for drawn in &sorted.untold {
        left_out.add(drawn.place, "nothing says what it is");
    }
    piece.cut = outlines.cut;
    piece.cutouts = outlines.cutouts;
    Ok(piece)
}

/// The sub-paths of `drawn` that draw something.
fn strokes(drawn: &Drawn, outlines: &Outlines, budget: &mut Budget) -> Outcome<Vec<Run>> {
    let mut runs = flatten::runs(&drawn.path, outlines.ground, budget)
        .map_err(|fault| fault.at(drawn.place))?;
    runs.retain(|run| run.points.len() > 1);
    Ok(runs)
}

fn line(run: Run) -> Line {
    Line {
        points: run.points,
        closed: run.closed,
    }
}

/// The run as an open polyline, back to its start if it is closed.
fn trace(run: Run) -> Polyline {
    let mut points = run.points;
    let back = points.first().copied().filter(|_| run.closed);
    points.extend(back);
    points
}
