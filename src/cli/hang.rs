//! `hang`: where to hang the lens, before anything is bought or drilled.

use super::output;
use super::papers::{Printed, write_pdf};
use crate::disk;
use crate::fault::{Fault, Outcome, short};
use crate::hang::{Hang, Side, Wanted, hang, hang_page, told, warnings};
use crate::light::setting::CAUTIONS;
use crate::measure::{Unit, parse_length, parse_sides};
use crate::sheet::Page;
use crate::space::{Point, Table};
use clap::Args;
use serde_json::json;
use std::path::{Path, PathBuf};

#[derive(Debug, Args)]
#[command(
    after_help = "Example:\n  ghostchalk hang --table 1200x800mm --picture 1920x1080 --throw 1.0 \
    --ceiling 2.5m -o hang.pdf\n\nWhere the lens' foot lies, how large a pixel is, what thick cloth \
    does to the light, and whether your own head takes the light from where your hands work. \
    Throw ratio and lens offset are on the projector's data sheet. Where it \
    can't hang so, it says why and ends with 1."
)]
pub struct Words {
    /// The table along its near edge, where you stand, and away from you
    #[arg(long, value_name = "LENGTHxLENGTH")]
    table: String,
    /// The projector's own picture, in pixels
    #[arg(long, value_name = "WxH", value_parser = output::size)]
    picture: [u32; 2],
    /// The throw ratio: distance divided by picture width
    #[arg(long, value_name = "NUMBER", value_parser = output::number)]
    throw: f64,
    /// The lens above the table [default: where the picture covers the table, with 5 % to spare]
    #[arg(long, value_name = "LENGTH")]
    height: Option<String>,
    /// How far the picture's middle lies from the lens' axis, in parts of the picture's height:
    /// at 50% the axis goes through the picture's edge
    #[arg(long, value_name = "PERCENT", default_value = "0%")]
    offset: String,
    /// Where an offset hangs the lens, seen from the picture's middle: near, far, left or right.
    /// The picture's height runs that way [default: far, or right if the lens may hang lower so]
    #[arg(long, value_name = "SIDE", value_parser = side_of)]
    side: Option<Side>,
    /// How tall you are
    #[arg(long, value_name = "LENGTH", default_value = "1.70m")]
    person: String,
    /// The table's top above the floor
    #[arg(long, value_name = "LENGTH", default_value = "900mm")]
    table_height: String,
    /// The thickest cloth or stack that you cut
    #[arg(long, value_name = "LENGTH", default_value = "5mm")]
    thick: String,
    /// The ceiling above the floor
    #[arg(long, value_name = "LENGTH")]
    ceiling: Option<String>,
    /// Draw it on a page, a PDF or an SVG
    #[arg(short, long, value_name = "HANG.pdf|svg")]
    output: Option<PathBuf>,
    #[command(flatten)]
    printed: Printed,
    /// Say it as JSON
    #[arg(long)]
    json: bool,
}

fn side_of(text: &str) -> Result<Side, String> {
    match text.to_lowercase().as_str() {
        "near" => Ok(Side::Near),
        "far" => Ok(Side::Far),
        "left" => Ok(Side::Left),
        "right" => Ok(Side::Right),
        _ => Err("write near, far, left or right".to_owned()),
    }
}

/// A share as people write it, `50%` or `50`.
fn percent(text: &str) -> Outcome<f64> {
    let number = text.trim().trim_end_matches('%').trim_end();
    let read = number.replace(',', ".").parse::<f64>().ok();
    read.map(|n| n / 100.0).ok_or_else(|| {
        Fault::input(
            format!("\"{text}\" is no lens offset"),
            "write it in percent, such as 50%",
        )
        .at("--offset")
    })
}

/// A small number without its sign is read as percent, and may have been meant as a share.
fn offset_note(text: &str) -> Option<String> {
    let number = percent(text).ok()? * 100.0;
    let asks = !text.contains('%') && number > 0.0 && number <= 1.0;
    asks.then(|| {
        format!(
            "the lens offset was taken as {} % of the picture's height; if the data sheet gives it as a share, write {}%",
            short(number),
            short(number * 100.0)
        )
    })
}

fn length(flag: &str, text: &str) -> Outcome<f64> {
    parse_length(text, Unit::Mm).map_err(|f| f.at(flag))
}

impl Words {
    fn wanted(&self) -> Outcome<Wanted> {
        let maybe = |flag: &str, text: &Option<String>| {
            let text = text.as_deref();
            text.map(|t| length(flag, t)).transpose()
        };
        Ok(Wanted {
            table: parse_sides(&self.table).map_err(|f| f.at("--table"))?,
            picture: self.picture,
            throw: self.throw,
            height: maybe("--height", &self.height)?,
            offset: percent(&self.offset)?,
            side: self.side,
            person: length("--person", &self.person)?,
            table_height: length("--table-height", &self.table_height)?,
            thick: length("--thick", &self.thick)?,
            ceiling: maybe("--ceiling", &self.ceiling)?,
        })
    }
}

/// What must not be overlooked where a projector is hung: of mount, light, and these numbers.
fn cautions() -> [&'static str; 3] {
    [CAUTIONS[0], CAUTIONS[1], CAUTIONS[4]]
}

/// Writes the page as its file's name says.
fn write(file: &Path, page: Page) -> Outcome<()> {
    match output::ending(file).as_deref() {
        Some("pdf") => write_pdf(file, &page.into_pdf()),
        Some("svg") => {
            output::guard(file, "an SVG", |b| b.starts_with(b"<svg "))?;
            disk::write_atomic(file, page.into_svg().as_bytes())
        }
        _ => Err(Fault::input(
            "the page is a PDF or an SVG, and its name says neither",
            "give a name that ends in .pdf or .svg",
        )
        .in_file(file)),
    }
}

/// Whether something speaks against hanging it so.
pub fn run(words: &Words) -> Outcome<bool> {
    let found = hang(&words.wanted()?)?;
    let unit = words.printed.unit;
    if let Some(file) = &words.output {
        let page = hang_page(&found, words.printed.paper, unit, &cautions());
        write(file, page)?;
    }
    let against = warnings(&found, unit);
    let note = offset_note(&words.offset);
    if words.json {
        let written = words.output.as_deref();
        output::json(&as_json(&found, note.as_deref(), written))?;
        return Ok(!against.is_empty());
    }
    if let Some(note) = note {
        output::tell(&format!("note: {note}"));
    }
    for text in &against {
        output::tell(&format!("warning: {text}"));
    }
    for text in told(&found, unit) {
        output::say(&text)?;
    }
    for text in cautions() {
        output::say(text)?;
    }
    if let Some(file) = &words.output {
        output::say(&format!("drawn: {}", file.display()))?;
    }
    Ok(!against.is_empty())
}

fn as_json(h: &Hang, note: Option<&str>, written: Option<&Path>) -> serde_json::Value {
    let place = |p: Point<Table>| [p.x, p.y];
    let [left, right, near, far] = h.beyond();
    let [x, y] = h.pixel();
    let shadow = h.head.oval(&h.lens).map(|o| {
        json!({
            "middle_mm": place(o.middle),
            "half_mm": o.half,
            "turn_deg": o.along.y.atan2(o.along.x).to_degrees(),
        })
    });
    let freed = h.hidden().and_then(|_| h.freed()).map(|f| {
        json!({
            "shift_mm": f.shift,
            "foot_mm": place(f.foot),
            "offset_percent": f.offset.map(|share| share * 100.0),
            "tilt_deg": f.tilt.to_degrees(),
        })
    });
    let (corner, away) = h.corner();
    let thick = h.wanted.thick;
    let degree = h.one_degree();
    json!({
        "height_mm": h.lens.height,
        "proposed": h.proposed,
        "above_floor_mm": h.above_floor(),
        "foot_mm": place(h.lens.foot),
        "side": h.side.word(),
        "picture_mm": h.size,
        "lit_mm": [place(h.lit.min), place(h.lit.max)],
        "pixel_mm": [x, y],
        "half_pixel_mm": x.max(y) / 2.0,
        "beyond_mm": { "left": left, "right": right, "near": near, "far": far },
        "head": {
            "at_mm": place(h.head.at),
            "height_mm": h.head.height,
            "radius_mm": h.head.radius,
            "shadow": shadow,
        },
        "work_mm": h.work(),
        "work_in_shadow_mm": h.hidden(),
        "freed_by": freed,
        "corner": {
            "at_mm": place(corner),
            "from_foot_mm": away,
            "thick_mm": thick,
            "short_1_mm": h.lands_short(away, 1.0),
            "short_mm": h.lands_short(away, thick),
            "left_mm": h.left(away, thick),
        },
        "one_degree": degree.map(|[moved, differs]| json!({
            "moves_mm": moved, "edges_differ_mm": differs,
        })),
        "warnings": warnings(h, Unit::Mm),
        "notes": note.into_iter().collect::<Vec<_>>(),
        "written": written.map(Path::to_string_lossy),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn offsets_are_read_as_they_are_typed() {
        assert_eq!(percent("50%"), Ok(0.5));
        assert_eq!(percent(" 12,5 %"), Ok(0.125));
        assert!(percent("half").is_err() && percent("").is_err());
        for asked in ["0.5", "1", "0,5"] {
            assert!(offset_note(asked).is_some(), "{asked}");
        }
        for plain in ["0", "0%", "0.5%", "50", "50%", "1.5"] {
            assert_eq!(offset_note(plain), None, "{plain}");
        }
    }
}
