//! How long one unit of the drawing is.

use super::file::File;
use crate::fault::{Fault, Outcome};
use crate::measure::Unit;

/// Millimetres in one unit of the drawing, and what the person should know of it. What
/// the person says goes before what the file says; `$INSUNITS` before a text.
///
/// # Errors
///
/// When nothing says it, or it is none for a pattern.
pub fn mm(file: &File, said: Option<Unit>) -> Outcome<(f64, Vec<String>)> {
    let header = file
        .header
        .get("$INSUNITS")
        .map(|p| p.whole())
        .transpose()?;
    // Codes of the DXF reference, $INSUNITS: 0 is none.
    let by_header = match header {
        Some(1) => Some(Unit::Inch.mm()),
        Some(2) => Some(12.0 * Unit::Inch.mm()),
        Some(4) => Some(Unit::Mm.mm()),
        Some(5) => Some(Unit::Cm.mm()),
        Some(6) => Some(Unit::Metre.mm()),
        None | Some(0) => None,
        Some(other) => {
            if said.is_none() {
                return Err(Fault::input(
                    format!(
                        "the drawing's unit ($INSUNITS {other}) is none that patterns are drawn in"
                    ),
                    "say its unit: mm, cm or in",
                ));
            }
            None
        }
    };
    let by_text = by_text(file);
    let mut notes = Vec::new();
    if let Some(unit) = said {
        let other = by_header.or(by_text).filter(|mm| *mm != unit.mm());
        if let Some(other) = other {
            notes.push(format!(
                "the file says that one unit is {other} mm; it was read as {} mm, as you said.",
                unit.mm()
            ));
        }
        return Ok((unit.mm(), notes));
    }
    if let (Some(header), Some(text)) = (by_header, by_text)
        && header != text
    {
        return Err(Fault::input(
            format!(
                "the header says that one unit is {header} mm, and a text that it is {text} mm"
            ),
            "say its unit: mm, cm or in",
        ));
    }
    by_header.or(by_text).map(|mm| (mm, notes)).ok_or_else(|| {
        Fault::input(
            "nothing in the file says whether it is drawn in millimetres or in inches",
            "say its unit: mm, cm or in",
        )
    })
}

/// The unit by a text `Units: METRIC` or `Units: ENGLISH`, as sewn-products files have
/// it (ASTM D6673, from memory): millimetres or inches. Plain `Units: mm` too.
fn by_text(file: &File) -> Option<f64> {
    let inner = file.blocks.iter().flat_map(|b| &b.entities);
    let texts = file
        .entities
        .iter()
        .chain(inner)
        .filter(|e| matches!(e.kind, "TEXT" | "MTEXT"));
    texts.filter_map(|e| e.words(1)).find_map(|words| {
        let lower = words.to_lowercase();
        let unit = lower
            .strip_prefix("units")?
            .trim_start()
            .strip_prefix(':')?
            .trim();
        match unit {
            "metric" | "mm" | "millimetres" | "millimeters" => Some(Unit::Mm.mm()),
            "english" | "imperial" | "in" | "inch" | "inches" => Some(Unit::Inch.mm()),
            "cm" | "centimetres" | "centimeters" => Some(Unit::Cm.mm()),
            _ => None,
        }
    })
}
