//! `tickets`, `paper`, `ledger`, `strips`: what goes with the work on paper.

use super::offcut::BORDER;
use super::{output, unit};
use crate::cloth::shade::Shading;
use crate::disk;
use crate::fault::{Fault, Outcome, counted};
use crate::job::{Job, offcuts, read_shade};
use crate::lay::{Placement, Stock};
use crate::look::{Shaded, shades};
use crate::measure::{Unit, parse_length, parse_sides};
use crate::order::strips;
use crate::papers::Papers;
use crate::sheet::{Paper, pdf};
use crate::space::Cloth;
use crate::ticket::{csv, ledger, tiled, yields};
use crate::work::State;
use clap::Args;
use std::collections::BTreeMap;
use std::f64::consts::SQRT_2;
use std::path::{Path, PathBuf};

/// How it is printed.
#[derive(Debug, Clone, Copy, Args)]
pub struct Printed {
    /// The paper: a4 or letter
    #[arg(long, default_value = "a4", value_parser = paper_of)]
    pub paper: Paper,
    /// Lengths in mm, cm or in
    #[arg(long, default_value = "mm", value_parser = unit::unit)]
    pub unit: Unit,
}

fn paper_of(text: &str) -> Result<Paper, String> {
    match text.to_lowercase().as_str() {
        "a4" => Ok(Paper::A4),
        "letter" => Ok(Paper::Letter),
        _ => Err("write a4 or letter".to_owned()),
    }
}

/// The maps of shade that a job's panels name.
pub fn known(job: &Job, state: &State) -> Outcome<BTreeMap<String, Shading<Cloth>>> {
    let mut known = BTreeMap::new();
    for panel in &state.panels {
        let Some(looks) = &panel.looks else { continue };
        if let Some(file) = &looks.shade {
            let map = read_shade(&job.folder.join(file))?;
            let repeat = looks.stripes.map(|s| s.period_mm);
            known.insert(panel.name.clone(), Shading::new(map, repeat));
        }
    }
    Ok(known)
}

/// What is read under all that lies there.
pub fn shaded(stock: &Stock, state: &State, known: &BTreeMap<String, Shading<Cloth>>) -> Shaded {
    let placed: Vec<&Placement> = state.placed.values().collect();
    shades(stock, &placed, &state.panels, known)
}

/// Writes a PDF, over nothing but a PDF, and not under the name of another kind.
pub fn write_pdf(file: &Path, bytes: &[u8]) -> Outcome<()> {
    output::guard_ending(file, "a PDF", "pdf")?;
    output::guard(file, "a PDF", |b| b.starts_with(b"%PDF-"))?;
    disk::write_atomic(file, bytes)
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk tickets demo-data -o tickets.pdf\n\nOne for each article's bundle, several a \
    sheet: its parts with their marks, what is cut by length, boxes to tick."
)]
pub struct TicketWords {
    /// The job's folder
    job: PathBuf,
    /// The file to write
    #[arg(short, long, value_name = "FILE.pdf")]
    output: PathBuf,
    #[command(flatten)]
    printed: Printed,
    /// Say what was written, as JSON
    #[arg(long)]
    json: bool,
}

pub fn tickets(words: &TicketWords) -> Outcome<()> {
    let (job, state) = output::open_state(&words.job)?;
    output::guard_job(&words.output, &words.job, &job)?;
    let stock = job.stock();
    let known = known(&job, &state)?;
    let papers = Papers::of(&job, &stock, &state, &shaded(&stock, &state, &known))?;
    if papers.tickets.is_empty() {
        return Err(Fault::input(
            "nothing is ordered",
            "write an [[order]] or an [[article]] into the job",
        )
        .in_file(&words.job));
    }
    let pages = papers.ticket_pages(words.printed.paper, words.printed.unit);
    write_pdf(&words.output, &pdf(&pages))?;
    told(
        words.json,
        &words.output,
        papers.tickets.len(),
        pages.len(),
        "ticket",
    )
}

fn told(json: bool, file: &Path, count: usize, pages: usize, what: &str) -> Outcome<()> {
    if json {
        return output::json(
            &serde_json::json!({ "written": file.to_string_lossy(), "pages": pages }),
        );
    }
    output::say(&format!(
        "{} on {}: {}",
        counted(count, what, &format!("{what}s")),
        counted(pages, "page", "pages"),
        file.display()
    ))
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk paper demo-data upper -o upper.pdf\n\nPrint at 100 %, \"actual size\", and \
    measure the 100 mm line of each page before anything is cut."
)]
pub struct PaperWords {
    /// The job's folder
    job: PathBuf,
    /// The piece
    piece: String,
    /// The file to write
    #[arg(short, long, value_name = "FILE.pdf")]
    output: PathBuf,
    /// Mirrored: the other hand
    #[arg(long)]
    mirrored: bool,
    #[command(flatten)]
    printed: Printed,
    /// Say what was written, as JSON
    #[arg(long)]
    json: bool,
}

pub fn paper(words: &PaperWords) -> Outcome<()> {
    let (job, _) = output::open_state(&words.job)?;
    output::guard_job(&words.output, &words.job, &job)?;
    let Some(piece) = job.pieces.iter().find(|p| p.name == words.piece) else {
        let names: Vec<&str> = job.pieces.iter().map(|p| p.name.as_str()).collect();
        return Err(Fault::input(
            format!("there is no piece \"{}\"", words.piece),
            format!("name one of {}", names.join(", ")),
        )
        .in_file(&words.job));
    };
    let made = tiled(
        piece,
        words.mirrored,
        words.printed.paper,
        words.printed.unit,
    )?;
    write_pdf(&words.output, &pdf(&made.pages))?;
    told(words.json, &words.output, 1, made.pages.len(), "piece")
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk ledger demo-data --csv cut.csv\n\nWhat was cut, when, from which cloth, by \
    which table; what was spoilt and cut again; how much of each panel became parts."
)]
pub struct LedgerWords {
    /// The job's folder
    job: PathBuf,
    /// Write the rows as CSV
    #[arg(long, value_name = "FILE.csv")]
    csv: Option<PathBuf>,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

pub fn ledger_of(words: &LedgerWords) -> Outcome<()> {
    let (job, state) = output::open_state(&words.job)?;
    let rows = ledger(&job.stock(), &state.cuts.parts);
    let yields = yields(&job.stock(), &state.panels, &state.cuts.parts);
    if let Some(file) = &words.csv {
        output::guard_job(file, &words.job, &job)?;
        output::guard_ending(file, "a CSV", "csv")?;
        output::guard(file, "a ledger of ours", |b| b.starts_with(b"part,when,"))?;
        disk::write_atomic(file, csv(&rows).as_bytes())?;
    }
    // What is left of each, as `offcut` would keep it.
    let mut left = Vec::new();
    for y in &yields {
        let sheets = offcuts(&job.file.name, &job.stock(), &state, &y.panel, BORDER)?;
        left.extend(sheets.into_iter().map(|o| (y.panel.clone(), o.area_cm2)));
    }
    if words.json {
        let left = left
            .iter()
            .map(|(panel, area)| serde_json::json!({ "panel": panel, "area_cm2": area }));
        return output::json(&serde_json::json!({
            "job": job.file.name, "parts": rows, "yields": yields,
            "left": left.collect::<Vec<_>>(),
        }));
    }
    if rows.is_empty() {
        return output::say("Nothing has been cut.");
    }
    for r in &rows {
        let when = r.when.as_deref().unwrap_or("(time not noted)");
        let mut line = format!(
            "{:>4}  {when}  {} {} in {} from {}, {}",
            r.part, r.piece, r.article, r.cloth, r.panel, r.hand
        );
        if let Some(mm) = r.error_mm {
            line += &format!(", true to {mm:.2} mm (typical miss of its shape)");
        }
        if r.spoilt {
            line += "; spoilt";
        }
        if let Some(n) = r.recut_of {
            line += &format!("; in place of {n}");
        }
        output::say(&line)?;
    }
    for y in &yields {
        output::say(&format!(
            "{}: {:.0} of {:.0} cm² became parts ({:.0} %), {:.0} cm² were spoilt",
            y.panel,
            y.parts_mm2 / 100.0,
            y.area_mm2 / 100.0,
            y.percent,
            y.spoilt_mm2 / 100.0
        ))?;
    }
    for (panel, area) in &left {
        output::say(&format!(
            "{panel}: a sheet of {area:.0} cm² is left; `ghostchalk offcut` keeps it"
        ))?;
    }
    Ok(())
}

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk strips 1000x500 --width 30mm --length 2m\n\nStrips at 45 degrees to the grain \
    from a rectangle of cloth, joined end on end along the grain. Exit code 1 when the cloth is not enough."
)]
pub struct StripWords {
    /// The cloth's sides, such as 1000x500 (mm) or 40inx20in
    cloth: String,
    /// How wide the strips are
    #[arg(long, value_name = "LENGTH")]
    width: String,
    /// The allowance of either end in a join
    #[arg(long, value_name = "LENGTH", default_value = "6mm")]
    join: String,
    /// How long a strip is wanted, cut square
    #[arg(long, value_name = "LENGTH")]
    length: Option<String>,
    /// Lengths in mm, cm or in
    #[arg(long, default_value = "mm", value_parser = unit::unit)]
    unit: Unit,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

/// Whether it can't be had from the cloth.
pub fn strips_of(words: &StripWords) -> Outcome<bool> {
    let mm = |text: &str| parse_length(text, Unit::Mm);
    let sides = parse_sides(&words.cloth)?;
    let (width, join) = (mm(&words.width)?, mm(&words.join)?);
    let found = strips(sides, width, join)?;
    let length = words.length.as_deref().map(mm).transpose()?;
    if let Some(l) = length.filter(|l| *l <= 0.0) {
        return Err(Fault::input(
            format!("a strip of {} is wanted", Unit::Mm.show(l)),
            "give a length that is more than nothing",
        ));
    }
    let enough = length.map(|l| found.for_length(l, width, join));
    let short = found.count == 0 || enough == Some(None);
    if words.json {
        output::json(&serde_json::json!({
            "count": found.count, "each_mm": found.each, "joins": found.joins,
            "joined_mm": found.joined, "square_mm": found.square, "for_length": enough.flatten(),
        }))?;
        return Ok(short);
    }
    let show = |mm: f64| words.unit.show(mm);
    if found.count == 0 {
        output::say(&format!(
            "No strip of full length comes out of it: the cloth's long side must be at least {} \
             longer than its short one; take a longer cloth, or narrower strips.",
            show(width * SQRT_2)
        ))?;
        return Ok(short);
    }
    output::say(&format!(
        "{}, each {} long; joined ({}) {}, cut square {}",
        counted(found.count as usize, "strip", "strips"),
        show(found.each),
        counted(found.joins as usize, "join", "joins"),
        show(found.joined),
        show(found.square)
    ))?;
    match (length, enough) {
        (Some(l), Some(Some(n))) => output::say(&format!("for {}: {n} of them", show(l)))?,
        (Some(l), _) => output::say(&format!("for {} it is not enough", show(l)))?,
        _ => {}
    }
    Ok(short)
}
