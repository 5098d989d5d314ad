//! The report as a person reads it in a terminal.

use super::Proof;
use crate::measure::Unit;
use crate::pattern::{Finding, Severity};
use crate::prove::grain::mostly_on_bias;
use crate::prove::walk::{RingVerdict, Verdict};
use std::fmt::Write;

/// The report as plain text, lengths in `unit`.
pub fn text(proof: &Proof, unit: Unit) -> String {
    let mut out = String::new();
    // Writing to a string can't fail.
    let _ = write_all(&mut out, proof, unit);
    out
}

fn write_all(out: &mut String, proof: &Proof, unit: Unit) -> std::fmt::Result {
    if let Some(l) = &proof.largest {
        writeln!(
            out,
            "The longest piece is \"{}\": {} wide, {} high. Is that its true size?",
            l.piece,
            unit.show(l.width_mm),
            unit.show(l.height_mm)
        )?;
    }
    for (severity, head) in [
        (Severity::Spoils, "Would spoil the work"),
        (Severity::Check, "To be looked at"),
        (Severity::Advice, "Advice"),
    ] {
        let own: Vec<&Finding> = proof
            .findings
            .iter()
            .filter(|f| f.severity == severity)
            .collect();
        if own.is_empty() {
            continue;
        }
        writeln!(out, "\n{head}:")?;
        for f in own {
            writeln!(
                out,
                "  {}{}; {}.",
                place(f),
                unit.in_sentence(&f.what),
                unit.in_sentence(&f.remedy)
            )?;
        }
    }
    seams(out, proof, unit)?;
    rings(out, proof, unit)?;
    pieces(out, proof, unit)?;
    if !proof.tapes.is_empty() {
        writeln!(out, "\nStay tapes:")?;
        for t in &proof.tapes {
            writeln!(
                out,
                "  {}: cut {}, {} between its end marks ({})",
                t.stays,
                unit.show(t.cut_mm),
                unit.show(t.net_mm),
                unit.in_sentence(&t.why)
            )?;
        }
    }
    if !proof.proposals.is_empty() {
        writeln!(
            out,
            "\nCould be seams, though nothing says so (how much speaks for each):"
        )?;
        for p in &proof.proposals {
            writeln!(
                out,
                "  {:>3.0} %  {}",
                p.score * 100.0,
                unit.in_sentence(&p.reason)
            )?;
        }
    }
    if !proof.findings.iter().any(|f| f.severity < Severity::Advice) {
        writeln!(out, "\nNothing found that would spoil the work.")?;
    }
    Ok(())
}

/// `seam "heel", upper: side: `, as far as it applies.
fn place(f: &Finding) -> String {
    let mut parts = Vec::new();
    if let Some(seam) = &f.spot.seam {
        parts.push(format!("\"{seam}\""));
    }
    match (&f.spot.piece, &f.spot.edge) {
        (Some(piece), Some(edge)) => parts.push(format!("{piece}: {edge}")),
        (Some(piece), None) => parts.push(piece.clone()),
        _ => {}
    }
    if parts.is_empty() {
        return String::new();
    }
    format!("[{}] ", parts.join(", "))
}

fn seams(out: &mut String, proof: &Proof, unit: Unit) -> std::fmt::Result {
    if proof.seams.is_empty() {
        return Ok(());
    }
    let mut rows = vec![["seam", "one", "other", "ease", "off by", ""].map(str::to_owned)];
    for s in &proof.seams {
        let says = match s.verdict {
            Verdict::Agrees => "agrees".to_owned(),
            Verdict::OneLong => format!("{} is long", s.one.join(" + ")),
            Verdict::OtherLong => format!("{} is long", s.other.join(" + ")),
        };
        rows.push([
            s.seam.clone(),
            unit.show(s.one_mm),
            unit.show(s.other_mm),
            unit.show(s.ease_mm),
            unit.show(s.difference_mm),
            says,
        ]);
    }
    writeln!(out, "\nSeams, along the net lines, darts closed:")?;
    table(out, &rows)
}

fn rings(out: &mut String, proof: &Proof, unit: Unit) -> std::fmt::Result {
    if proof.rings.is_empty() {
        return Ok(());
    }
    let mut rows = vec![
        [
            "ring",
            "drawn",
            "girth",
            "ease",
            "thickness",
            "wanted",
            "off by",
            "",
        ]
        .map(str::to_owned),
    ];
    for r in &proof.rings {
        let says = match r.verdict {
            RingVerdict::Fits => "fits",
            RingVerdict::EaseIn => "ease in",
            RingVerdict::Long => "long",
            RingVerdict::Short => "short",
        };
        rows.push([
            r.ring.clone(),
            unit.show(r.drawn_mm),
            unit.show(r.girth_mm),
            unit.show(r.ease_mm),
            unit.show(r.thickness_mm),
            unit.show(r.wanted_mm),
            unit.show(r.difference_mm),
            says.to_owned(),
        ]);
    }
    writeln!(
        out,
        "\nRings (for the cloth's thickness the rule of thumb is {} to {}):",
        unit.show(proof.rings[0].rule_of_thumb_mm[0]),
        unit.show(proof.rings[0].rule_of_thumb_mm[1])
    )?;
    table(out, &rows)
}

fn pieces(out: &mut String, proof: &Proof, unit: Unit) -> std::fmt::Result {
    let mut rows = vec![
        [
            "piece",
            "edge",
            "length",
            "allowance",
            "to the grain",
            "on the bias",
        ]
        .map(str::to_owned),
    ];
    for p in &proof.pieces {
        for e in &p.edges {
            let a = p.allowance.iter().find(|a| a.edge == e.edge);
            let g = proof
                .grain
                .iter()
                .find(|g| g.piece == p.piece && g.edge == e.edge);
            rows.push([
                p.piece.clone(),
                e.edge.clone(),
                unit.show(e.length_mm),
                match a {
                    Some(a) if a.most_mm - a.least_mm < unit.step() => unit.show(a.least_mm),
                    Some(a) => format!("{} to {}", unit.show(a.least_mm), unit.show(a.most_mm)),
                    None if e.on_fold => "fold".to_owned(),
                    None => "–".to_owned(),
                },
                g.map_or("–".to_owned(), |g| format!("{:.0}°", g.mean_deg)),
                g.map_or("–".to_owned(), |g| {
                    let much = if mostly_on_bias(g.bias_mm, g.length_mm) {
                        ", stretches"
                    } else {
                        ""
                    };
                    format!("{}{much}", unit.show(g.bias_mm))
                }),
            ]);
        }
    }
    if rows.len() > 1 {
        writeln!(out, "\nEdges:")?;
        table(out, &rows)?;
    }
    Ok(())
}

/// Columns as wide as they must be, those of numbers to the right. The first row heads.
fn table<const N: usize>(out: &mut String, rows: &[[String; N]]) -> std::fmt::Result {
    let wide = |c: usize| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0);
    let number = |cell: &String| cell.starts_with(|c: char| c.is_ascii_digit() || "-–".contains(c));
    let columns: Vec<(usize, bool)> = (0..N)
        .map(|c| (wide(c), rows.iter().skip(1).all(|r| number(&r[c]))))
        .collect();
    for row in rows {
        let mut line = String::from(" ");
        for (cell, (width, right)) in row.iter().zip(&columns) {
            let pad = " ".repeat(width.saturating_sub(cell.chars().count()));
            match right {
                true => write!(line, " {pad}{cell} ")?,
                false => write!(line, " {cell}{pad} ")?,
            }
        }
        writeln!(out, "{}", line.trim_end())?;
    }
    Ok(())
}
