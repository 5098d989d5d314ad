//! `read`: a pattern from elsewhere, looked at, and written as one of ours.

use super::drawn::Drawn;
use super::frame::{size_mm, sizes};
use super::output;
use super::unit::unit;
use crate::disk;
use crate::drawing::read::{Format, ReadOptions, format, parse, pdf};
use crate::drawing::write;
use crate::fault::{Fault, Outcome};
use crate::job::Patterns;
use crate::measure::Unit;
use crate::pattern::{NotchKind, PatternPiece};
use crate::prove::SeamsFile;
use crate::prove::{Proof, svg as picture};
use clap::Args;
use std::path::{Path, PathBuf};

/// The largest file that is looked into for its layers, bytes.
const LARGEST: u64 = 64 << 20;

#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  ghostchalk read slippers.pdf --layers\n  ghostchalk read slippers.pdf \
    --layer \"size 39\" --picture seen.svg -o slippers.svg\n  ghostchalk read slippers.draft.toml \
    --measure \"foot length=255mm\" -o slippers.dxf\n\nReads SVG, PDF, DXF and drafts, at true size. \
    What was guessed and what was left out is listed. A file at the wrong scale is the costliest \
    mistake: measure the largest piece before cutting."
)]
pub struct Words {
    /// The pattern file
    pattern: PathBuf,
    #[command(flatten)]
    drawn: Drawn,
    /// Only list a PDF's layers
    #[arg(long = "layers")]
    list: bool,
    /// Draw what was understood
    #[arg(long, value_name = "SEEN.svg")]
    picture: Option<PathBuf>,
    /// Write the pieces, as SVG or as DXF with the layers of ASTM D6673
    #[arg(short, long, value_name = "PIECES.svg|dxf")]
    output: Option<PathBuf>,
    /// The unit that lengths are told in: mm, cm or in; JSON is always in mm
    #[arg(long, value_name = "UNIT", default_value = "mm", value_parser = unit)]
    unit: Unit,
    /// Print what was understood as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(words: &Words) -> Outcome<()> {
    if words.list {
        return layers(&words.pattern, words.json);
    }
    let to = words.output.as_deref().map(kind).transpose()?;
    words.picture.as_deref().map_or(Ok(()), output::is_svg)?;
    let files = [&words.picture, &words.output].into_iter().flatten();
    let files: Vec<&Path> = files.map(PathBuf::as_path).collect();
    output::apart(&files, &[&words.pattern])?;
    let file = words.drawn.of(words.pattern.display().to_string())?;
    let patterns = Patterns::read(Path::new(""), &[file])?;
    if let Some((path, is_dxf)) = to {
        written(&words.pattern, &patterns, path, is_dxf)?;
    }
    if let Some(path) = &words.picture {
        output::guard_ours(path, &words.pattern)?;
        let seen = picture(&Proof::default(), &patterns.pieces, words.unit);
        disk::write_atomic(path, seen.as_bytes())?;
    }
    if words.json {
        let pieces = patterns.pieces.iter().map(|p| {
            let [width, height] = size_mm(p);
            serde_json::json!({
                "piece": p.name,
                "width_mm": width,
                "height_mm": height,
                "notches": p.notches.len(),
                "has_net_line": !p.net.is_empty(),
                "has_grain": p.grain.is_some(),
                "cut": p.cut_count,
                "pair": p.pair,
            })
        });
        return output::json(&serde_json::json!({
            "pieces": pieces.collect::<Vec<_>>(),
            "notes": patterns.notes,
            "left_out": patterns.left_out,
        }));
    }
    let told = |text: String| words.unit.in_sentence(&text);
    output::say(&sizes(&patterns.pieces, words.unit))?;
    for note in &patterns.notes {
        output::say(&told(format!("note: {note}")))?;
    }
    for left in &patterns.left_out {
        output::say(&told(format!("left out: {left}")))?;
    }
    Ok(())
}

/// Writes the pieces, and beside an SVG what is sewn to what, if that is declared.
fn written(from: &Path, patterns: &Patterns, to: &Path, is_dxf: bool) -> Outcome<()> {
    let tell = |note: &str| output::tell(&format!("note: {}: {note}", to.display()));
    output::guard_ours(to, from)?;
    let sewing = &patterns.sewing;
    let sewn = !sewing.seams.is_empty() || !sewing.rings.is_empty();
    if is_dxf || !sewn {
        let text = if is_dxf {
            write::dxf(&patterns.pieces)
        } else {
            write::svg(&patterns.pieces)
        };
        disk::write_atomic(to, text.as_bytes())?;
        if sewn || patterns.pieces.iter().any(|p| !p.edges.is_empty()) {
            tell(
                "names of edges, allowances and seams are not in it; curves are many short lines.",
            );
        }
    } else {
        let text = write::svg(&patterns.pieces);
        let seams = to.with_extension("seams.toml");
        output::guard_ours(&seams, from)?;
        let back = parse(text.as_bytes(), &ReadOptions::default())?;
        let beside = SeamsFile::written(&patterns.pieces, &back.pieces, sewing)?;
        let told = beside.file.to_text()?;
        let head = format!(
            "# {}: what is sewn to what in the drawing beside it.\n",
            output::STAMP
        );
        disk::write_atomic(to, text.as_bytes())?;
        disk::write_atomic(&seams, (head + &told).as_bytes())?;
        tell(&format!(
            "names of edges, allowances and what is sewn to what are in {}: give it with --seams; \
             curves are many short lines.",
            seams.display()
        ));
        for left in &beside.left_out {
            output::tell(&format!("note: {}: {left}", seams.display()));
        }
    }
    for note in not_written(patterns, is_dxf) {
        tell(note);
    }
    Ok(())
}

/// What a drawing has no words for.
fn not_written(patterns: &Patterns, is_dxf: bool) -> Vec<&'static str> {
    let any = |is: fn(&PatternPiece) -> bool| patterns.pieces.iter().any(is);
    let mut all = Vec::new();
    if is_dxf && any(|p| !p.darts.is_empty()) {
        all.push("darts are inner lines in it: walked from it, seams are longer by them.");
    }
    if is_dxf && any(|p| p.notches.iter().any(|n| n.kind == NotchKind::Double)) {
        all.push("a double notch is two slits in it.");
    }
    all
}

/// Where to write, and whether it is a DXF, by the name.
fn kind(path: &Path) -> Outcome<(&Path, bool)> {
    match output::ending(path).as_deref() {
        Some("svg") => Ok((path, false)),
        Some("dxf") => Ok((path, true)),
        _ => Err(Fault::input(
            "the name does not say what to write",
            "let it end in .svg or .dxf",
        )
        .in_file(path)),
    }
}

fn layers(path: &Path, json: bool) -> Outcome<()> {
    let bytes = disk::read(path, "reading", LARGEST)?;
    if format(&bytes).map_err(|f| f.in_file(path))? != Format::Pdf {
        return Err(Fault::input(
            "only a PDF has layers that are on or off",
            "read it without --layers",
        )
        .in_file(path));
    }
    let all = pdf::layers(&bytes).map_err(|f| f.in_file(path))?;
    if json {
        let all = all
            .iter()
            .map(|l| serde_json::json!({ "layer": l.name, "on": l.on }));
        return output::json(&serde_json::Value::from_iter(all));
    }
    if all.is_empty() {
        return output::say("It has no layers.");
    }
    for l in all {
        output::say(&format!(
            "  {} {}",
            if l.on { "on " } else { "off" },
            l.name
        ))?;
    }
    Ok(())
}
