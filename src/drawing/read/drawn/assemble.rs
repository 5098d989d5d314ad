//! Pieces from what is drawn.

use std::collections::HashMap;
use std::slice::from_ref;

use super::drawing::{Drawing, Drawn, Group};
use super::flatten::{self, Budget, Run, SIMPLIFYING};
use super::left_out::{LeftOut, Why};
use super::outline::{self, Outlines};
use super::place::{Place, excerpt};
use super::roles::{Role, Told};
use super::simplify::simplify;
use super::{fold, inside, marks, plain};
use crate::fault::{Fault, Outcome};
use crate::pattern::{Line, Pattern, PatternPiece, Polyline};

/// The pieces of `drawing`, in its order, and what a person should check; what
/// can't be told is listed in `left_out`.
///
/// # Errors
///
/// When there is no piece, two share a name, or one is not sound.
pub fn pattern(drawing: Drawing, mut left_out: LeftOut) -> Outcome<Pattern> {
    let mut notes = drawing.notes;
    let left = &mut left_out;
    let found = if drawing.grouped {
        for drawn in drawing.loose {
            left.add(drawn.place, Why::OutsidePieces);
        }
        from_groups(drawing.groups, left)?
    } else {
        from_outlines(drawing.loose, left)?
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
    for (_, piece) in found.iter().filter(|(_, piece)| piece.cut.len() > 1) {
        let (name, count) = (excerpt(&piece.name), piece.cut.len());
        notes.push(format!(
            "piece \"{name}\" has {count} separate outlines; they are kept together as one piece."
        ));
    }
    Ok(Pattern {
        pieces: found.into_iter().map(|(_, piece)| piece).collect(),
        left_out: left_out.finish(),
        notes,
    })
}

type Found<'a> = Vec<(Place<'a>, PatternPiece)>;

/// The pieces of a drawing that says which they are.
fn from_groups<'a>(groups: Vec<Group<'a>>, left_out: &mut LeftOut) -> Outcome<Found<'a>> {
    let mut budget = Budget::new();
    let mut found = Found::new();
    let mut unsound = None;
    for group in groups {
        let (place, name, lenient) = (group.place, excerpt(&group.name), group.lenient);
        if group.hides && group.drawn.is_empty() {
            left_out.add(place, Why::PieceHidden(name));
            continue;
        }
        match piece(group, &mut budget, left_out) {
            Ok(piece) => found.push((place, piece)),
            Err(fault) if lenient => {
                let what = format!("it would make no piece: {}", fault.what);
                left_out.add(place, Why::Unsound(what));
                unsound.get_or_insert(fault);
            }
            Err(fault) => return Err(fault.at(format!("piece \"{name}\""))),
        }
    }
    if let (true, Some(fault)) = (found.is_empty(), unsound) {
        return Err(fault);
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
            left_out.add(drawn.place, Why::Untold);
            continue;
        }
        let called = drawn.called.as_deref().unwrap_or_default();
        let mut piece = PatternPiece::named(match called.trim() {
            "" => {
                unnamed += 1;
                format!("piece {unnamed}")
            }
            name => name.to_owned(),
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
                _ if drawn.is_text => left_out.add(drawn.place, Why::Text),
                Told::Unknown(word) => {
                    left_out.add(drawn.place, Why::UnknownRole(excerpt(word)));
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
    let lenient = group.lenient;
    piece.cut_count = group.cut_count;
    piece.pair = group.pair;
    for (role, drawn) in &sorted.strokes {
        let runs = strokes(drawn, &outlines, budget)?;
        // A net line belongs to the edge, and a fold says itself if it is off.
        if matches!(role, Role::Line | Role::Dart)
            && beside(drawn, &runs, &outlines, budget, left_out)?
        {
            continue;
        }
        for run in runs {
            match role {
                Role::Net => piece.net.push(line(run)),
                Role::Fold => {
                    let fold = fold::along_cut(&run, &outlines.cut, budget);
                    piece.folds.extend(sound(fold, drawn, lenient, left_out)?);
                }
                Role::Dart => piece.darts.push(trace(run)),
                _ => piece.lines.push(line(run)),
            }
        }
    }
    let edges: usize = outlines.all().map(Vec::len).sum();
    for drawn in &sorted.notches {
        let placed = |fault: Fault| fault.at(drawn.place);
        for run in flatten::runs(&drawn.path, ground, budget).map_err(placed)? {
            budget.look(2 * edges).map_err(placed)?;
            let notch = marks::notch(&run, drawn.notch, &outlines);
            piece
                .notches
                .extend(sound(notch, drawn, lenient, left_out)?);
        }
    }
    let mut grains = Vec::new();
    let mut grain_at = None;
    for drawn in &sorted.grain {
        let runs = strokes(drawn, &outlines, budget)?;
        if !beside(drawn, &runs, &outlines, budget, left_out)? {
            grains.extend(runs);
            grain_at.get_or_insert(drawn);
        }
    }
    if let Some(drawn) = grain_at {
        piece.grain = sound(marks::grain(&grains), drawn, lenient, left_out)?;
    }
    for drawn in &sorted.drills {
        let Some(centre) = marks::centre(drawn, ground) else {
            continue;
        };
        let point = Run {
            points: vec![centre],
            closed: false,
        };
        if !beside(drawn, &[point], &outlines, budget, left_out)? {
            piece.drills.push(centre);
        }
    }
    let label = sorted.labels.first();
    piece.label_at = label.and_then(|drawn| marks::centre(drawn, ground));
    for drawn in sorted.labels.iter().skip(1) {
        left_out.add(drawn.place, Why::SecondLabel);
    }
    for drawn in &sorted.untold {
        left_out.add(drawn.place, Why::Untold);
    }
    piece.cut = outlines.cut;
    piece.cutouts = outlines.cutouts;
    Ok(piece)
}

/// What was made of `drawn`. A fault of it is listed where the drawing is read
/// leniently.
fn sound<T>(
    made: Outcome<T>,
    drawn: &Drawn,
    lenient: bool,
    left_out: &mut LeftOut,
) -> Outcome<Option<T>> {
    match made {
        Ok(made) => Ok(Some(made)),
        Err(fault) if lenient => {
            left_out.add(drawn.place, Why::Unsound(fault.what));
            Ok(None)
        }
        Err(fault) => Err(fault.at(drawn.place)),
    }
}

/// Whether all of `runs`, drawn as `drawn`, lies beside the cloth, where no
/// light falls; then it is listed.
fn beside(
    drawn: &Drawn,
    runs: &[Run],
    outlines: &Outlines,
    budget: &mut Budget,
    left_out: &mut LeftOut,
) -> Outcome<bool> {
    let outside = !runs.is_empty()
        && inside::all_outside(runs, outlines, budget).map_err(|fault| fault.at(drawn.place))?;
    if outside {
        left_out.add(drawn.place, Why::OutsideItsPiece);
    }
    Ok(outside)
}

/// The sub-paths of `drawn` that draw something, with as few points as do.
fn strokes(drawn: &Drawn, outlines: &Outlines, budget: &mut Budget) -> Outcome<Vec<Run>> {
    let mut runs = flatten::runs(&drawn.path, outlines.ground, budget)
        .map_err(|fault| fault.at(drawn.place))?;
    runs.retain(|run| run.points.len() > 1);
    for run in &mut runs {
        run.points = simplify(&run.points, run.closed, SIMPLIFYING);
    }
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
