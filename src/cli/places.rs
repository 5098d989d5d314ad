//! `places`: where a piece would find what is wished for it; `lay`: a lay for all that is not
//! laid yet. Both suggest; nothing is placed unless it is taken.

use super::order::{fault_json, fault_words};
use super::output;
use crate::fault::{Fault, Outcome, counted};
use crate::job::{Standing, read_shade};
use crate::lay::fit::{Effort, Progress};
use crate::lay::place::Found;
use crate::lay::{Face, Placement, Stock};
use crate::look::{Shades, Wanted, WholeLay, fit_all, lab_of, long_enough, places};
use crate::pattern::Finding;
use crate::work::{Id, Op, Spot, State};
use clap::Args;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// The guide's width if the job says nothing else, mm.
const BAND: f64 = 3.0;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk places demo-data upper --article 1 --panel sling \
    --moves 1\n\nWishes \
    stand in the job, such as\n\n  [[wish]]\n  piece = \"upper\"\n  wish = { is = \"fade\", lighter = { \
    edge = \"throat\" } }\n\nThe best places come first. `--take 2` puts the piece at the second. \
    Exit code 1 when there is no room for it."
)]
pub struct Words {
    /// The job's folder
    job: PathBuf,
    /// The piece
    piece: String,
    /// The article that it is for
    #[arg(long, value_name = "NAME")]
    article: String,
    /// The panel that it shall lie on
    #[arg(long, value_name = "NAME")]
    panel: String,
    /// Mirrored: the other hand
    #[arg(long = "mirrored", alias = "face-down")]
    face_down: bool,
    /// The laid piece that moves, by its number in the job (id); else one is laid anew
    #[arg(long, value_name = "NUMBER", value_parser = output::whole::<Id>)]
    moves: Option<Id>,
    /// Put it at this one of the places
    #[arg(long, value_name = "N", value_parser = output::whole::<usize>)]
    take: Option<usize>,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

/// Whether there is no room.
pub fn run(words: &Words) -> Outcome<bool> {
    let (job, state) = output::open_state(&words.job)?;
    let shades = shades(&job.folder, &state)?;
    let wanted = Wanted {
        piece: words.piece.clone(),
        article: words.article.clone(),
        panel: words.panel.clone(),
        face: if words.face_down {
            Face::Down
        } else {
            Face::Up
        },
        moves: words.moves,
    };
    known(&state, words.moves)?;
    let band = band(&state);
    let found = places(&job.stock(), &state, &shades, &wanted, band, &|_| true)?;
    let offers = match found {
        Found::Places(offers) => offers,
        Found::None(why) => {
            let said = format!(
                "{} on {}: {why}; make room, or spread another panel.",
                words.piece, words.panel
            );
            if words.json {
                output::tell(&said);
                output::json(&serde_json::json!([]))?;
            } else {
                output::say(&said)?;
            }
            return Ok(true);
        }
        Found::Stopped => return Err(Fault::mistake("the search was left off")),
    };
    if words.json {
        let all = offers.iter().map(|o| {
            serde_json::json!({
                "x_mm": o.place.x_mm, "y_mm": o.place.y_mm, "turn_deg": o.place.turn_deg,
                "score": o.score, "why": o.why(), "wishes_met": o.met(),
            })
        });
        output::json(&all.collect())?;
    } else {
        for (k, o) in offers.iter().enumerate() {
            output::say(&format!(
                "{}. at {:.1}, {:.1} mm, turned {:.1}°: {}",
                k + 1,
                o.place.x_mm,
                o.place.y_mm,
                o.place.turn_deg,
                o.why()
            ))?;
        }
    }
    let Some(n) = words.take else {
        return Ok(false);
    };
    let offer = n
        .checked_sub(1)
        .and_then(|k| offers.get(k))
        .ok_or_else(|| {
            Fault::input(
                format!("there is no place {n}"),
                format!("take one of 1 to {}", offers.len()),
            )
        })?;
    let to = Spot {
        panel: words.panel.clone(),
        x_mm: offer.place.x_mm,
        y_mm: offer.place.y_mm,
        turn_deg: offer.place.turn_deg,
        face: offer.place.face,
    };
    output::note(&words.job, |at| {
        is_as_it_was(at, &state)?;
        let op = match words.moves {
            Some(id) => {
                let was = known(at.state, Some(id))?.ok_or_else(|| gone(id))?;
                let from = Spot::of(was);
                let there = to.placement(id, was.piece.clone(), was.article.clone());
                // What gives the same hands of the same cloth is no more than it was.
                let gives = |p: &Placement| {
                    let cloth = at.state.panel(&p.panel).map(|panel| &panel.cloth);
                    (cloth, at.job.stock().hands(p, &at.state.panels))
                };
                if gives(was) != gives(&there) {
                    is_wanted(at, &there, Some(id))?;
                }
                Op::Move { id, from, to }
            }
            None => {
                let op = laid(at, 0, &wanted.piece, &wanted.article, &to);
                if let Op::Lay { placed, .. } = &op {
                    is_wanted(at, placed, None)?;
                }
                op
            }
        };
        Ok((vec![op], ()))
    })?;
    output::tell(&format!("{} lies at place {n}.", words.piece));
    Ok(false)
}

/// The placement of a number that was given.
fn known(state: &State, id: Option<Id>) -> Outcome<Option<&crate::lay::Placement>> {
    let Some(id) = id else { return Ok(None) };
    match state.placed.get(&id) {
        Some(p) if !state.cuts.has(id) && !p.locked => Ok(Some(p)),
        Some(_) => Err(Fault::input(
            format!("the piece with the number {id} is locked or cut"),
            "free it at the table, or name another",
        )),
        None => Err(gone(id)),
    }
}

fn gone(id: Id) -> Fault {
    Fault::input(
        format!("no piece is laid under the number {id}"),
        "see the numbers (id) in the job; a job that was never opened at the table has none",
    )
}

/// Refuses to lay what was found for another lay than there is now: a search takes long, and
/// nobody waits for it at the table.
fn is_as_it_was(at: &Standing, state: &State) -> Outcome<()> {
    if at.state == state {
        return Ok(());
    }
    Err(Fault::input(
        "the lay was changed while places were sought",
        "run the same command again",
    ))
}

/// Refuses what the order does not take besides what lies there.
fn is_wanted(at: &Standing, placed: &Placement, instead: Option<Id>) -> Outcome<()> {
    let others = at.state.placed.iter();
    let others = others.filter(|(id, _)| Some(**id) != instead);
    let took = at.job.stock().takes(
        placed,
        &at.state.panels,
        others.map(|(_, p)| p),
        &at.state.cuts.parts,
    );
    took.map_err(|why| match why.split_once("; ") {
        Some((what, remedy)) => Fault::input(what, remedy),
        None => Fault::input(
            why,
            match instead {
                None => "move one that lies there with --moves, or order more",
                Some(_) => "take one of them away at the table first, or order more",
            },
        ),
    })
}

fn laid(at: &Standing, more: u32, piece: &str, article: &str, to: &Spot) -> Op {
    let id = at.next.saturating_add(more);
    let placed = to.placement(id, piece.to_owned(), article.to_owned());
    Op::Lay { id, placed }
}

fn band(state: &State) -> f64 {
    state.ways.band_mm.max(BAND)
}

fn shades(folder: &Path, state: &State) -> Outcome<Shades> {
    let mut all = Shades::new();
    for panel in &state.panels {
        if let Some(file) = panel.looks.as_ref().and_then(|l| l.shade.as_ref()) {
            let map = read_shade(&folder.join(file))?;
            all.insert(panel.name.clone(), lab_of(&map));
        }
    }
    Ok(all)
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk lay slippers --seconds 20 --take\n\nSuggests places for all \
    that is ordered and not laid yet, on what the table has of each cloth; what lies already stays. \
    Nothing is laid without --take. Exit code 1 when a part finds no place, or when more lies there than \
    is ordered, or two lefts."
)]
pub struct LayWords {
    /// The job's folder
    job: PathBuf,
    /// How long to look at most, seconds; less if all has a place
    #[arg(long, value_name = "N", default_value_t = 20, value_parser = output::seconds)]
    seconds: u64,
    /// A number for the search: another number tries other places, the same one tries the same
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = output::whole::<u64>)]
    seed: u64,
    /// Lay what was found
    #[arg(long)]
    take: bool,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

/// Why a part of which some are open is not sought a place.
const ONE_TOO_MANY: &str =
    "all the cloth for it lies in several plies, and one more place would cut one too many";

/// Whether a part found no place, or more is laid than the order wants.
pub fn lay(words: &LayWords) -> Outcome<bool> {
    let (job, state) = output::open_state(&words.job)?;
    let shades = shades(&job.folder, &state)?;
    let whole = searched(words, (&job.stock(), &state), &shades)?;
    let found = &whole.suggestion;
    let (all, placed) = (whole.parts.len(), found.places.len());
    let wrong = job.laid_too_much(&state);
    let left = !(found.left.is_empty() && whole.over.is_empty() && wrong.is_empty());
    if words.json {
        output::json(&json(&whole, &wrong))?;
    } else if all == 0 && !left {
        output::say("All that is ordered is laid.")?;
    } else {
        if all > 0 {
            output::say(&format!(
                "Of {}, {placed} found a place.",
                counted(all, "part", "parts")
            ))?;
            for (panel, used) in whole.panels.iter().zip(&found.yields) {
                output::say(&format!("{panel}: {used:.0} % of it is used."))?;
            }
        }
        for (k, why) in &found.left {
            let part = &whole.parts[*k];
            output::say(&format!(
                "{} {} in {}: {why}.",
                part.piece, part.article, part.cloth
            ))?;
        }
        for over in &whole.over {
            output::say(&format!(
                "{} {} in {}: {}, and {ONE_TOO_MANY}: lay a panel single.",
                over.piece,
                over.article,
                over.cloth,
                counted(over.count as usize, "is not laid", "are not laid")
            ))?;
        }
        for fault in &wrong {
            output::say(&fault_words(fault))?;
        }
    }
    if all == 0 {
        return Ok(left);
    }
    if !words.take {
        output::tell("Nothing is laid; say --take to lay it.");
        return Ok(left);
    }
    output::note(&words.job, |at| {
        is_as_it_was(at, &state)?;
        let ops = found.places.iter().enumerate().map(|(k, place)| {
            let part = &whole.parts[place.part];
            let to = Spot {
                panel: whole.panels[place.spread].clone(),
                x_mm: place.pose.shift.x,
                y_mm: place.pose.shift.y,
                turn_deg: within(place.pose.turn.to_degrees()),
                face: part.face,
            };
            laid(at, k as u32, &part.piece, &part.article, &to)
        });
        Ok((ops.collect(), ()))
    })?;
    output::tell(&format!(
        "{} laid; the table can undo it in one step.",
        counted(placed, "part is", "parts are")
    ));
    Ok(left)
}

/// Degrees, −180 to 180.
fn within(turn: f64) -> f64 {
    turn - 360.0 * (turn / 360.0).round()
}

fn searched(
    words: &LayWords,
    (stock, state): (&Stock, &State),
    shades: &Shades,
) -> Outcome<WholeLay> {
    let begun = Instant::now();
    let limit = Duration::from_secs(words.seconds);
    let effort = Effort {
        seed: words.seed,
        passes: u64::MAX,
        workers: std::thread::available_parallelism().map_or(1, |n| n.get().min(8)),
    };
    let (mut told, mut all) = (0, None);
    let mut going = |p: &Progress| {
        let gone = begun.elapsed();
        if gone.as_secs() / 5 > told && !words.json {
            told = gone.as_secs() / 5;
            output::tell(&format!(
                "{} s: {} of {} placed so far",
                gone.as_secs(),
                p.placed,
                counted(p.of, "part", "parts")
            ));
        }
        gone < limit && !long_enough(gone, &mut all, p)
    };
    fit_all(stock, state, shades, band(state), &effort, &mut going)
}

fn json(whole: &WholeLay, wrong: &[Finding]) -> serde_json::Value {
    let places = whole.suggestion.places.iter().map(|p| {
        let part = &whole.parts[p.part];
        serde_json::json!({
            "piece": part.piece, "article": part.article, "panel": whole.panels[p.spread],
            "x_mm": p.pose.shift.x, "y_mm": p.pose.shift.y,
            "turn_deg": within(p.pose.turn.to_degrees()),
            "face_down": p.pose.mirrored,
        })
    });
    let left = whole.suggestion.left.iter().map(|(k, why)| {
        let part = &whole.parts[*k];
        serde_json::json!({
            "piece": part.piece, "article": part.article, "cloth": part.cloth,
            "why": why.to_string(),
        })
    });
    let over = whole.over.iter().map(|over| {
        serde_json::json!({
            "piece": over.piece, "article": over.article, "cloth": over.cloth,
            "count": over.count, "why": ONE_TOO_MANY,
        })
    });
    let used = whole.panels.iter().zip(&whole.suggestion.yields);
    let used = used.map(|(panel, y)| serde_json::json!({ "panel": panel, "used_percent": y }));
    serde_json::json!({
        "places": places.collect::<Vec<_>>(),
        "left": left.chain(over).collect::<Vec<_>>(),
        "faults": wrong.iter().map(fault_json).collect::<Vec<_>>(),
        "panels": used.collect::<Vec<_>>(),
        "passes": whole.suggestion.passes,
    })
}
