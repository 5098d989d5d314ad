//! `shade`: what the cloth's shade is under each piece, and whether partners match.

mod picture;

use super::output;
use super::papers::{known, shaded};
use crate::cloth::shade::Verdict;
use crate::disk;
use crate::fault::Outcome;
use crate::look::Shaded;
use clap::Args;
use std::path::PathBuf;

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk shade demo-data --report shade.svg\n\nNeeds a map of the cloth's shade, which \
    `ghostchalk photo JOB PHOTO --keep` makes. Exit code 1 when partners are plainly apart."
)]
pub struct Words {
    /// The job's folder
    job: PathBuf,
    /// Draw it: each panel in its shade, with its pieces, as an SVG
    #[arg(long, value_name = "FILE.svg")]
    report: Option<PathBuf>,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

/// Whether partners are apart.
pub fn run(words: &Words) -> Outcome<bool> {
    if let Some(file) = &words.report {
        output::is_svg(file)?;
    }
    let (job, state) = output::open_state(&words.job)?;
    if let Some(file) = &words.report {
        output::guard_job(file, &words.job, &job)?;
        output::guard_own(file)?;
    }
    let known = known(&job, &state)?;
    let shaded = shaded(&job.stock(), &state, &known);
    if let Some(file) = &words.report {
        let svg = picture::svg(&picture::Drawn {
            stock: &job.stock(),
            state: &state,
            known: &known,
            shaded: &shaded,
        });
        disk::write_atomic(file, svg.as_bytes())?;
    }
    let apart =
        |p: &crate::look::Partnered| p.apart.as_ref().is_ok_and(|a| a.verdict == Verdict::Apart);
    let spoilt = shaded.pairs.iter().any(apart);
    if words.json {
        output::json(&json(&shaded))?;
    } else {
        say(&shaded)?;
    }
    Ok(spoilt)
}

fn say(shaded: &Shaded) -> Outcome<()> {
    for p in &shaded.pieces {
        match &p.under {
            Ok(under) => output::say(&format!("{}: {under}", p.name))?,
            Err(fault) => output::say(&format!("{}: {fault}", p.name))?,
        }
    }
    for p in &shaded.pairs {
        match &p.apart {
            Ok(apart) => output::say(&format!(
                "{} in {}, left and right: {apart}",
                p.name, p.cloth
            ))?,
            Err(fault) => output::say(&format!("{} in {}: {fault}", p.name, p.cloth))?,
        }
    }
    for (name, one) in &shaded.articles {
        output::say(&format!("article {name}: {one}"))?;
    }
    for panel in &shaded.unknown {
        output::say(&format!(
            "{panel}: its shade is not known; take a photo (`ghostchalk photo`)."
        ))?;
    }
    Ok(())
}

fn json(shaded: &Shaded) -> serde_json::Value {
    let pieces = shaded.pieces.iter().map(|p| match &p.under {
        Ok(u) => serde_json::json!({
            "name": p.name, "piece": p.piece, "article": p.article,
            "lab": [u.mean.l, u.mean.a, u.mean.b],
            "spread": u.spread.sd,
            "fade_per_100_mm": u.slope.as_ref().map(|s| s.per_100),
            "fade_error": u.slope.as_ref().map(|s| s.error),
            "lighter_towards": u.slope.as_ref().map(|s| [s.in_piece.x, s.in_piece.y]),
            "says": u.to_string(),
        }),
        Err(fault) => serde_json::json!({ "name": p.name, "fault": fault.to_string() }),
    });
    let pairs = shaded.pairs.iter().map(|p| match &p.apart {
        Ok(a) => serde_json::json!({
            "name": p.name, "cloth": p.cloth, "mean": a.mean, "of_100_95": a.most,
            "error": a.error, "says": a.to_string(),
        }),
        Err(fault) => serde_json::json!({
            "name": p.name, "cloth": p.cloth, "fault": fault.to_string(),
        }),
    });
    let articles = shaded.articles.iter().map(|(name, one)| {
        let off = one.off.iter().map(|o| serde_json::json!({ "name": o.name, "apart": o.apart }));
        serde_json::json!({ "article": name, "off": off.collect::<Vec<_>>(), "says": one.to_string() })
    });
    serde_json::json!({
        "pieces": pieces.collect::<Vec<_>>(),
        "pairs": pairs.collect::<Vec<_>>(),
        "articles": articles.collect::<Vec<_>>(),
        "unknown": shaded.unknown,
    })
}
