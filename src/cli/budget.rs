//! `budget`: what each laid piece may be cut wrong by, term by term.

use super::output;
mod nearer;
mod rings;

use crate::calibration::budget::{Budget, Setup, Stack, Tool};
use crate::calibration::raised::{PLUMBED, from_plumb};
use crate::fault::{Fault, Outcome};
use crate::frame::{Lit, light};
use crate::job::{Job, read_profile};
use crate::lay::Face;
use crate::measure::{Unit, parse_length};
use crate::space::{Piece, Point, Table};
use clap::{Args, ValueEnum};
use nearer::Remedy;
use std::collections::HashMap;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk budget demo-data --profile table.toml --tool wheel\n\nEach \
    error is a typical miss across a cut line: two in three edges are better. Place counts for \
    where the fade falls, shape for the fit. Terms of tool and plies are common practice, not \
    measured here; --hand and the others put in what you know of your own."
)]
pub struct Words {
    /// The job folder, or its job.toml
    job: PathBuf,
    /// The table's profile [default: the one that the job names]
    #[arg(long, value_name = "PROFILE")]
    profile: Option<PathBuf>,
    /// What is cut with
    #[arg(long, value_enum, default_value_t = With::Shears)]
    tool: With,
    /// How far the hand strays from a sharp line, typically
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    hand: Option<f64>,
    /// How high the blade lifts the cloth, steadily
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    lift: Option<f64>,
    /// How uneven that is, typically
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    uneven_lift: Option<f64>,
    /// How far the lower ply slides, typically
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    ply_slip: Option<f64>,
    /// How far light spills inward out of focus, typically
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    spill: Option<f64>,
    /// Name edges that may be wrong by more than this (twice the typical miss)
    #[arg(long, value_name = "LENGTH", default_value = "3mm", value_parser = length)]
    tolerance: f64,
    /// Print it as JSON, with all terms and edges
    #[arg(long)]
    json: bool,
}

/// Tools of which something is known.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum With {
    Shears,
    Wheel,
}

/// Beside each error, what it says of edges: of a normal distribution 68 % lie within one
/// standard deviation, and 95 % within two.
const MEANS: &str = "A typical miss: about two in three are nearer than this, and nineteen in \
                     twenty nearer than twice this.";

struct One {
    /// Told apart from all others.
    name: String,
    panel: String,
    /// Where its middle lies on the table, mm.
    at: [f64; 2],
    budget: Budget,
    length: f64,
    width: f64,
    edges: Vec<OneEdge>,
}

struct OneEdge {
    name: String,
    budget: Budget,
    /// What would bring it within its tolerance, if it may miss it.
    remedy: Option<Remedy>,
}

pub fn run(words: &Words) -> Outcome<()> {
    let (job, _) = output::open_state(&words.job)?;
    let profile = match &words.profile {
        Some(path) => read_profile(path)?,
        None => job.profile()?.ok_or_else(|| {
            Fault::input(
                "the job names no profile",
                "give one with --profile; `ghostchalk calibrate` makes it",
            )
            .in_file(&words.job)
        })?,
    };
    let mapping = profile.mapping()?;
    let lit = light(&job, &profile, &mapping)?;
    let (marks, _, fit) = profile.refit().ok_or_else(|| {
        Fault::input(
            "the profile does not keep the marks that it was made from",
            "make it again with `ghostchalk calibrate`, or set the table anew",
        )
    })?;
    let lens = profile
        .lens_place
        .map(|p| from_plumb(Point::from(p.foot_mm), p.height_mm, PLUMBED))
        .transpose()?;
    let setup = Setup {
        fit: &fit,
        marks: &marks,
        lens: lens.as_ref(),
        tool: tool(words),
    };
    let all = pieces(words, &lit, &job, &setup)?;
    let rings = rings::of(&lit, &job, &setup);
    if words.json {
        let each: Vec<serde_json::Value> = all
            .iter()
            .map(|o| {
                serde_json::json!({
                    "piece": o.name,
                    "panel": o.panel,
                    "at_mm": o.at,
                    "place_mm": o.budget.place(),
                    "shape_mm": o.budget.shape(),
                    "length_by_light_mm": o.length,
                    "width_by_light_mm": o.width,
                    "terms": o.budget.terms,
                    "edges": o.edges.iter().map(OneEdge::json).collect::<Vec<_>>(),
                })
            })
            .collect();
        return output::json(&serde_json::json!({
            "tool": setup.tool,
            "tolerance_mm": words.tolerance,
            "pieces": each,
            "rings": rings.iter().map(rings::OneRing::json).collect::<Vec<_>>(),
        }));
    }
    output::say(MEANS)?;
    let longest = all.iter().map(|o| o.name.chars().count()).max();
    let wide = longest.unwrap_or(0).max("typical miss, mm".len()) + 2;
    output::say(&format!(
        "{:<wide$}    place   shape  most from          by the light alone: length  width",
        "typical miss, mm",
    ))?;
    for o in &all {
        let most = o.budget.largest().map_or("", |t| t.what);
        output::say(&format!(
            "{:<wide$}{:>9.2}{:>8.2}  {most:<25}{:>20.2}{:>7.2}",
            o.name,
            o.budget.place(),
            o.budget.shape(),
            o.length,
            o.width
        ))?;
    }
    rings::say(&rings)?;
    if fit.mapping.lens.is_none() {
        output::tell(
            "note: these marks say nothing of what the lens bends, and 1 to 4 mm are common: set more \
             marks",
        );
    }
    for o in &all {
        for e in &o.edges {
            if let Some(remedy) = &e.remedy {
                output::say(&format!(
                    "{}: its edge {} may miss its tolerance of {}, typical miss {:.2} mm (one in three is \
                     farther off); {}.",
                    o.name,
                    e.name,
                    Unit::Mm.show(words.tolerance),
                    e.budget.shape(),
                    remedy.words(&e.budget)
                ))?;
            }
        }
    }
    Ok(())
}

impl OneEdge {
    fn json(&self) -> serde_json::Value {
        let remedy = self.remedy.as_ref();
        serde_json::json!({
            "edge": self.name,
            "place_mm": self.budget.place(),
            "shape_mm": self.budget.shape(),
            "meets_tolerance": remedy.is_none(),
            "nearer_mm": remedy.and_then(|r| r.nearer),
            "turned_deg": remedy.and_then(|r| r.turned),
        })
    }
}

fn tool(words: &Words) -> Tool {
    let own = match words.tool {
        With::Shears => Tool::SHEARS,
        With::Wheel => Tool::WHEEL,
    };
    Tool {
        hand: words.hand.unwrap_or(own.hand),
        lift: words.lift.unwrap_or(own.lift),
        uneven_lift: words.uneven_lift.unwrap_or(own.uneven_lift),
        ply_slip: words.ply_slip.unwrap_or(own.ply_slip),
        spill: words.spill.unwrap_or(own.spill),
    }
}

fn pieces(words: &Words, lit: &Lit, job: &Job, setup: &Setup) -> Outcome<Vec<One>> {
    let mut all = Vec::new();
    let field = setup.fit.field(setup.marks);
    for l in &lit.laid {
        let stock = job.stock();
        let plies = stock.plies(l.panel, &job.file.panels);
        let stack = Stack {
            thick: l.height,
            plies,
        };
        let hand = match l.face {
            Face::Up => "",
            Face::Down => ", mirrored",
        };
        let name = format!("{} {} {}{hand}", l.piece.name, l.article, l.cloth);
        let Some(ring) = l.piece.cut.first() else {
            continue;
        };
        let on_table = |line: &[Point<Piece>]| -> Vec<Point<Table>> {
            line.iter().map(|&p| l.pose.point(p)).collect()
        };
        let outline = on_table(ring);
        let unlit = || {
            Fault::input(
                format!("some of {name} lies where there is no light"),
                "move it into the light",
            )
        };
        let budget = setup.piece(&outline, stack).ok_or_else(unlit)?;
        let mut edges = Vec::new();
        for e in crate::pattern::edges(l.piece) {
            let line = on_table(&e.line);
            let budget = setup.edge(&outline, &line, stack).ok_or_else(unlit)?;
            let misses = 2.0 * budget.shape() > words.tolerance;
            let remedy =
                misses.then(|| Remedy::find(setup, &outline, &line, stack, words.tolerance));
            edges.push(OneEdge {
                name: e.name,
                budget,
                remedy,
            });
        }
        let across = |from: [f64; 2], to: [f64; 2]| {
            let line = [from, to].map(|p| l.pose.point(Point::from(p)));
            field.length(&[&line]).unwrap_or(f64::INFINITY)
        };
        let [w, h] = super::frame::size_mm(l.piece).map(|v| v / 2.0);
        all.push(One {
            panel: l.panel.to_owned(),
            at: l.pose.point(Point::origin()).to_array(),
            width: across([-w, 0.0], [w, 0.0]),
            length: across([0.0, -h], [0.0, h]),
            name,
            budget,
            edges,
        });
    }
    tell_apart(&mut all);
    Ok(all)
}

/// Gives what is called alike the place where it lies, by which a person at the table finds it.
fn tell_apart(all: &mut [One]) {
    let mut seen: HashMap<String, usize> = HashMap::new();
    for o in all.iter() {
        *seen.entry(o.name.clone()).or_default() += 1;
    }
    for o in all.iter_mut().filter(|o| seen[&o.name] > 1) {
        let [x, y] = o.at;
        o.name = format!("{}, at x {x:.0}, y {y:.0} mm on {}", o.name, o.panel);
    }
}

fn length(text: &str) -> Result<f64, String> {
    let mm = parse_length(text, Unit::Mm).map_err(|f| f.to_string())?;
    if !(0.0..=100.0).contains(&mm) {
        return Err("write a length from 0 to 100 mm".to_owned());
    }
    Ok(mm)
}
