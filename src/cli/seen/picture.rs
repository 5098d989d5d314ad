//! The table from above with its guides on it, each stretch drawn as it is seen: solid, dashed
//! or dotted, and in a colour of its own.

use crate::cloth::seen::Sight;
use crate::colour::encode_srgb;
use crate::disk;
use crate::fault::Outcome;
use crate::look::SeenLay;
use crate::raster::Raster;
use crate::space::{Point, Table};
use image::ExtendedColorType;

/// The photo is shown at this share of its light and without colour, so that all lines stand
/// out.
const DIMMED: f64 = 0.25;

/// Half the width of a line, and of a dot; from one brush to the next; mm.
const LINE: f64 = 1.5;
const DOT: f64 = 2.5;
const STEP: f64 = 0.5;

/// Places further apart than this, mm, have no line between them.
const APART: f64 = 12.0;

/// Colour, and how long is lit and dark by turns along the line, mm. The colours are told
/// apart with any kind of colour vision (Okabe & Ito's sky blue, orange and vermilion).
fn pen(sight: Option<Sight>) -> ([u8; 3], f64, f64) {
    match sight {
        Some(Sight::Seen) => ([86, 180, 233], 1.0, 0.0),
        Some(Sight::Hard) => ([230, 159, 0], 10.0, 6.0),
        Some(Sight::Lost) => ([213, 94, 0], 0.5, 9.5),
        // Not measured: thin and grey.
        None => ([150, 150, 150], 1.0, 5.0),
    }
}

struct Sheet {
    width: usize,
    height: usize,
    pixels: Vec<u8>,
}

/// The picture, far side up, a pixel a cell.
pub fn png(found: &SeenLay) -> Outcome<Vec<u8>> {
    let above = &found.above;
    let mut sheet = ground(above);
    for ring in found.pieces.iter().flat_map(|p| &p.rings) {
        let mut gone = 0.0;
        for (k, &(from, seen)) in ring.iter().enumerate() {
            let (to, _) = ring[(k + 1) % ring.len()];
            let way = to - from;
            if way.length() > APART {
                continue;
            }
            let sight = seen.map(|s| s.sight());
            let (colour, lit, dark) = pen(sight);
            let radius = match sight {
                Some(Sight::Lost) => DOT,
                None => LINE / 2.0,
                _ => LINE,
            };
            let steps = (way.length() / STEP).ceil().max(1.0);
            for n in 0..steps as usize {
                let share = n as f64 / steps;
                if (gone + share * way.length()) % (lit + dark) < lit {
                    sheet.dab(above, from + way * share, radius, colour);
                }
            }
            gone += way.length();
        }
    }
    let size = [sheet.width as u32, sheet.height as u32];
    disk::png(&sheet.pixels, size[0], size[1], ExtendedColorType::Rgb8)
}

fn ground(above: &Raster<[f32; 3], Table>) -> Sheet {
    let (width, height) = (above.width(), above.height());
    let mut pixels = Vec::with_capacity(3 * width * height);
    for row in (0..height).rev() {
        for column in 0..width {
            let light = above.get(column, row).copied().unwrap_or([0.0; 3]);
            let mean = light.iter().map(|v| f64::from(*v)).sum::<f64>() / 3.0;
            // Where the photo doesn't reach it is black.
            let mean = if mean.is_finite() { mean } else { 0.0 };
            let code = (255.0 * encode_srgb((DIMMED * mean).clamp(0.0, 1.0))).round() as u8;
            pixels.extend([code; 3]);
        }
    }
    Sheet {
        width,
        height,
        pixels,
    }
}

impl Sheet {
    /// A dab of colour, `radius` in mm.
    fn dab(
        &mut self,
        above: &Raster<[f32; 3], Table>,
        at: Point<Table>,
        radius: f64,
        colour: [u8; 3],
    ) {
        let cell = above.cell();
        let from = (at - above.bounds().min) / cell;
        let reach = radius / cell;
        let span = |v: f64, most: usize| {
            let low = (v - reach).floor().max(0.0) as usize;
            let high = ((v + reach).ceil().max(0.0) as usize).min(most);
            low..high
        };
        for row in span(from.y, self.height) {
            for column in span(from.x, self.width) {
                if (above.centre(column, row) - at).length() <= radius {
                    let first = 3 * ((self.height - 1 - row) * self.width + column);
                    self.pixels[first..first + 3].copy_from_slice(&colour);
                }
            }
        }
    }
}
