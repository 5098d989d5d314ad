//! `order`: what all the orders come to: parts, lengths, things bought, sheets.

use super::output;
use super::papers::{Printed, known, shaded, write_pdf};
use crate::fault::Outcome;
use crate::job::Job;
use crate::lay::{Placement, sheets};
use crate::measure::Unit;
use crate::order::Tape;
use crate::papers::Papers;
use crate::pattern::{Finding, Severity};
use crate::sheet::pdf;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk order demo-data --list cut-list.pdf\n\nExit code 1 when something that is \
    ordered or laid would spoil the work, such as two lefts where a pair is meant, or more laid than \
    is ordered."
)]
pub struct Words {
    /// The job's folder
    job: PathBuf,
    /// Write the cut list, to be printed
    #[arg(long, value_name = "FILE.pdf")]
    list: Option<PathBuf>,
    #[command(flatten)]
    printed: Printed,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

/// Whether something would spoil the work.
pub fn run(words: &Words) -> Outcome<bool> {
    let (job, state) = output::open_state(&words.job)?;
    if let Some(file) = &words.list {
        output::guard_job(file, &words.job, &job)?;
    }
    let stock = job.stock();
    let shaded = shaded(&stock, &state, &known(&job, &state)?);
    let papers = Papers::of(&job, &stock, &state, &shaded)?;
    if let Some(file) = &words.list {
        let pages = papers.cut_list(words.printed.paper, words.printed.unit);
        write_pdf(file, &pdf(&pages))?;
    }
    let faults = job.miscounts(&job.pieces, &state);
    let faults: Vec<_> = faults
        .iter()
        .filter(|f| f.severity != Severity::Advice)
        .collect();
    let spoilt = faults.iter().any(|f| f.severity == Severity::Spoils);
    if words.json {
        let placed: Vec<&Placement> = state.placed.values().collect();
        let plan = sheets(&stock, &state.panels, &placed, &state.cuts.parts);
        let plan = plan.iter().map(|s| {
            serde_json::json!({
                "panel": s.panel.name,
                "plies": s.plies,
                "lies": s.lies(),
                "gives": s.gives.iter().map(|(piece, article, places, hands)| serde_json::json!({
                    "piece": piece, "article": article, "places": places,
                    "as_drawn": hands.up, "mirrored": hands.down,
                })).collect::<Vec<_>>(),
            })
        });
        let plan: Vec<_> = plan.collect();
        let articles: Vec<_> = papers
            .tickets
            .iter()
            .map(|t| article_json(&job, t))
            .collect();
        let faults: Vec<_> = faults.into_iter().map(fault_json).collect();
        output::json(&serde_json::json!({
            "articles": articles, "sheets": plan, "faults": faults,
        }))?;
        return Ok(spoilt);
    }
    say(&papers, words.printed.unit)?;
    for f in faults {
        output::say(&fault_words(f))?;
    }
    Ok(spoilt)
}

/// What is wrong with an order or its lay, a sentence.
pub fn fault_words(f: &Finding) -> String {
    let sure = match f.severity {
        Severity::Spoils => "this would spoil the work",
        _ => "check",
    };
    format!("{sure}: {}; {}.", f.what, f.remedy)
}

/// The same for scripts.
pub fn fault_json(f: &Finding) -> serde_json::Value {
    serde_json::json!({ "severity": f.severity, "what": f.what, "remedy": f.remedy })
}

fn say(papers: &Papers, unit: Unit) -> Outcome<()> {
    for t in &papers.tickets {
        let note = t.note.map_or(String::new(), |n| format!(" ({n})"));
        let spare = if t.spare { ", spare" } else { "" };
        output::say(&format!("{}{spare}{note}", t.article))?;
        for p in &t.parts {
            let hands = if p.pair {
                format!(", {}", p.hands())
            } else {
                String::new()
            };
            let cut = match p.cut.sum() {
                0 => String::new(),
                n => format!("; {n} cut"),
            };
            output::say(&format!(
                "  {} x {} in {}{hands}{cut}",
                p.count, p.piece.name, p.cloth
            ))?;
        }
        for tape in &t.tapes {
            output::say(&format!("  {}", tape_words(tape, unit)))?;
        }
        for b in t.bought {
            let long = b
                .length
                .as_ref()
                .map_or(String::new(), |l| format!(", {l}"));
            output::say(&format!("  {} x {}{long}, bought", b.count, b.name))?;
        }
    }
    if !papers.plan.is_empty() {
        output::say("sheets, in the order in which they are cut:")?;
    }
    for line in &papers.plan {
        output::say(&format!("  {line}"))?;
    }
    Ok(())
}

fn tape_words(tape: &Tape, unit: Unit) -> String {
    let from = tape
        .cloth
        .as_deref()
        .map_or(String::new(), |c| format!(" of {c}"));
    format!(
        "{} x {}{from}: {} ({})",
        tape.count,
        tape.name,
        unit.show(tape.total),
        tape.words(unit)
    )
}

fn article_json(job: &Job, t: &crate::ticket::Ticket) -> serde_json::Value {
    let article = job.articles.iter().find(|a| a.name == t.article);
    serde_json::json!({
        "article": t.article,
        "note": t.note,
        "spare": t.spare,
        "parts": t.parts.iter().map(|p| serde_json::json!({
            "piece": p.piece.name, "cloth": p.cloth, "count": p.count, "pair": p.pair,
            "cut": p.cut.sum(), "shade": p.shade,
        })).collect::<Vec<_>>(),
        "lengths": t.tapes.iter().map(tape_json).collect::<Vec<_>>(),
        "bought": article.map(|a| &a.bought),
        "sew": t.sew,
    })
}

fn tape_json(tape: &Tape) -> serde_json::Value {
    serde_json::json!({
        "name": tape.name, "cloth": tape.cloth, "count": tape.count, "total_mm": tape.total,
        "net_mm": tape.net, "ease_mm": tape.ease, "round_mm": tape.round, "ends_mm": tape.ends,
        "joins": tape.joins, "join_mm": tape.join, "width_mm": tape.width, "bias": tape.bias,
        "marks": tape.marks.iter().map(|m| serde_json::json!({
            "at_mm": m.at, "is": m.is.words(),
        })).collect::<Vec<_>>(),
    })
}
