//! `budget`: what each laid piece may be cut wrong by, term by term.

use super::output;
use crate::calibration::budget::{Budget, Stack, Tool, budget};
use crate::calibration::fit::{Fit, Sighted};
use crate::calibration::raised::{LensFound, from_plumb};
use crate::fault::{Fault, Outcome};
use crate::frame::{Lit, light};
use crate::job::{Job, read_profile};
use crate::lay::Face;
use crate::measure::{Unit, parse_length};
use crate::space::{Point, Rigid, Table, Vector};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk budget demo-data --profile table.toml --tool wheel\n\nEach \
    error is a standard error across a cut line: two in three edges are better. Place counts for \
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
    /// The hand along a sharp line: standard deviation
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    hand: Option<f64>,
    /// How high the blade lifts the cloth, steadily
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    lift: Option<f64>,
    /// How uneven that is: standard deviation
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    uneven_lift: Option<f64>,
    /// How far the lower ply slides: standard deviation
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    ply_slip: Option<f64>,
    /// How far light spills inward out of focus: standard deviation
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    spill: Option<f64>,
    /// Name pieces whose shape may be wrong by more than this (two standard errors)
    #[arg(long, value_name = "LENGTH", default_value = "3mm", value_parser = length)]
    tolerance: f64,
    /// Print it as JSON, with all terms
    #[arg(long)]
    json: bool,
}

/// Tools of which something is known.
#[derive(Debug, Clone, Copy, ValueEnum)]
enum With {
    Shears,
    Wheel,
}

/// A lens' place in a profile, mm: standard errors of its foot and height where the
/// profile does not say (estimate: a plumb line and a tape).
const PLACED: [f64; 2] = [25.0, 25.0];

/// A step of places that are tried for a piece, mm.
const NEARER: f64 = 40.0;

struct One {
    name: String,
    budget: Budget,
    length: f64,
    width: f64,
    /// Where it would meet its tolerance: how far towards the lens foot, mm.
    nearer: Option<f64>,
}

pub fn run(words: &Words) -> Outcome<()> {
    let job = Job::open(&words.job)?;
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
        .map(|p| from_plumb(Point::from(p.foot_mm), p.height_mm, PLACED))
        .transpose()?;
    let tool = tool(words);
    let all = pieces(words, &lit, &job, &fit, &marks, lens.as_ref(), &tool)?;
    if words.json {
        let each: Vec<serde_json::Value> = all
            .iter()
            .map(|o| {
                serde_json::json!({
                    "piece": o.name,
                    "place_mm": o.budget.place(),
                    "shape_mm": o.budget.shape(),
                    "length_by_light_mm": o.length,
                    "width_by_light_mm": o.width,
                    "terms": o.budget.terms,
                    "meets_tolerance": o.meets(words.tolerance),
                    "nearer_mm": o.nearer,
                })
            })
            .collect();
        return output::json(&serde_json::json!({
            "tool": tool,
            "tolerance_mm": words.tolerance,
            "pieces": each,
        }));
    }
    output::say(
        "standard errors in mm           place   shape  most from          by the light alone: length  width",
    )?;
    for o in &all {
        let most = o.budget.largest().map_or("", |t| t.what);
        output::say(&format!(
            "{:<28}{:>9.2}{:>8.2}  {most:<25}{:>20.2}{:>7.2}",
            o.name,
            o.budget.place(),
            o.budget.shape(),
            o.length,
            o.width
        ))?;
    }
    if fit.mapping.lens.is_none() {
        output::tell(
            "note: these marks say nothing of what the lens bends, and 1 to 4 mm are common: set more \
             marks",
        );
    }
    for o in all.iter().filter(|o| !o.meets(words.tolerance)) {
        let remedy = match o.nearer {
            Some(mm) => format!("{mm:.0} mm nearer to the lens foot it would meet it"),
            None => format!(
                "no place nearer to it would do; most comes from: {}",
                o.budget.largest().map_or("nothing known", |t| t.what)
            ),
        };
        output::say(&format!(
            "{} may miss its tolerance of {} by shape; {remedy}.",
            o.name,
            Unit::Mm.show(words.tolerance)
        ))?;
    }
    Ok(())
}

impl One {
    fn meets(&self, tolerance: f64) -> bool {
        2.0 * self.budget.shape() <= tolerance
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

fn pieces(
    words: &Words,
    lit: &Lit,
    job: &Job,
    fit: &Fit,
    marks: &[Sighted],
    lens: Option<&LensFound>,
    tool: &Tool,
) -> Outcome<Vec<One>> {
    let mut all = Vec::new();
    for l in &lit.laid {
        let stock = job.stock();
        let plies = 1 + u32::from(stock.ply_under(l.panel, &job.file.panels).is_some());
        let stack = Stack {
            thick: l.height,
            plies,
        };
        let over = match l.face {
            Face::Up => "",
            Face::Down => ", over",
        };
        let name = format!("{} {} {}{over}", l.piece.name, l.article, l.cloth);
        let Some(ring) = l.piece.cut.first() else {
            continue;
        };
        let outline: Vec<Point<Table>> = ring.iter().map(|&p| l.pose.point(p)).collect();
        let of = |outline: &[Point<Table>]| budget(fit, marks, outline, stack, lens, tool);
        let unlit = || {
            Fault::input(
                format!("some of {name} lies where there is no light"),
                "move it into the light",
            )
        };
        let own = of(&outline).ok_or_else(unlit)?;
        let field = fit.field(marks);
        let across = |from: [f64; 2], to: [f64; 2]| {
            let line = [from, to].map(|p| l.pose.point(Point::from(p)));
            field.length(&[&line]).unwrap_or(f64::INFINITY)
        };
        let [w, h] = super::frame::size_mm(l.piece).map(|v| v / 2.0);
        let mut one = One {
            width: across([-w, 0.0], [w, 0.0]),
            length: across([0.0, -h], [0.0, h]),
            name,
            budget: own,
            nearer: None,
        };
        if !one.meets(words.tolerance) {
            one.nearer = nearer(&outline, lens, marks, words.tolerance, &of);
        }
        all.push(one);
    }
    Ok(all)
}

/// How far towards the lens foot a piece meets its tolerance, mm, if anywhere.
fn nearer(
    outline: &[Point<Table>],
    lens: Option<&LensFound>,
    marks: &[Sighted],
    tolerance: f64,
    of: &impl Fn(&[Point<Table>]) -> Option<Budget>,
) -> Option<f64> {
    let mean = |points: &mut dyn Iterator<Item = Point<Table>>, n: usize| {
        (points.fold(Vector::zero(), |s, p| s + p.to_vector()) / n as f64).to_point()
    };
    let middle: Point<Table> = mean(&mut outline.iter().copied(), outline.len());
    let foot = lens.map_or_else(
        || mean(&mut marks.iter().map(|m| m.table), marks.len()),
        |l| l.place.foot,
    );
    let way = foot - middle;
    let steps = (way.length() / NEARER).floor() as usize;
    (1..=steps).map(|k| NEARER * k as f64).find(|far| {
        let by: Rigid<Table, Table> = Rigid::new(false, 0.0, way.normalize() * *far);
        let moved: Vec<Point<Table>> = outline.iter().map(|&p| by.point(p)).collect();
        of(&moved).is_some_and(|b| 2.0 * b.shape() <= tolerance)
    })
}

fn length(text: &str) -> Result<f64, String> {
    let mm = parse_length(text, Unit::Mm).map_err(|f| f.to_string())?;
    if !(0.0..=100.0).contains(&mm) {
        return Err("write a length from 0 to 100 mm".to_owned());
    }
    Ok(mm)
}
