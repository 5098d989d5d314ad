//! What lies on the table for longer than a moment: outlines while they are
//! asked for, keep-outs, and the ply beneath, dotted through the top one.

use super::guides;
use super::pen::{DASHED, DOTTED, Pen};
use crate::cloth::Panel;
use crate::scene::{Figure, Level};
use crate::shape::Region;
use crate::space::Table;
use crate::work::{Bench, Doing, Way, outline_on_table};

/// Width of these lines, mm.
const WIDTH: f64 = 1.6;

pub fn ground(bench: &Bench) -> Vec<Figure> {
    let ways = bench.ways();
    if !matches!(ways.way, Way::Guides | Way::Hand) {
        return Vec::new();
    }
    let full = guides(ways);
    let dim = Level((f64::from(full.0) * 0.5).round() as i16);
    let about = bench.doing().panel();
    let places = shows_places(bench);
    let lines = |panel: &Panel| {
        let mut pen = Pen::default();
        let height = height_of(bench, panel);
        let asked = about == Some(panel.name.as_str());
        let outline = outline_on_table(panel).filter(|_| asked || panel.under.is_some());
        let line = if panel.under.is_some() {
            DOTTED
        } else {
            DASHED
        };
        if let Some(outline) = outline {
            pen.outline(&outline, line, WIDTH, if asked { full } else { dim });
        }
        for place in keep_outs(panel).filter(|_| places) {
            pen.outline(&place, line, WIDTH, dim);
        }
        pen.finish(height)
    };
    let spread = bench.panels().iter().filter(|p| p.spread);
    spread.filter_map(lines).collect()
}

/// Places to keep out of are lit while a piece is moved about or cloth is worked
/// on, and no longer: light that is not asked for only hides the cloth.
pub fn shows_places(bench: &Bench) -> bool {
    let moved = bench.held().is_some() && bench.doing().is_laying();
    moved || bench.doing().panel().is_some()
}

fn keep_outs(panel: &Panel) -> impl Iterator<Item = Region<Table>> {
    let pose = panel.on_table.pose();
    let outline = |k: &crate::cloth::KeepOut| k.outline().ok();
    panel
        .keep_out
        .iter()
        .filter_map(outline)
        .map(move |o| o.moved(&pose))
}

/// Where light meant for a panel must land: on its own top, or on the top of
/// the ply over it.
pub fn height_of(bench: &Bench, panel: &Panel) -> f64 {
    let top = panel.under.as_ref().unwrap_or(&panel.name);
    bench.goods.stock().height(top, bench.panels())
}

/// Whether the marks of a panel are what the person looks for.
pub fn marks_matter(doing: &Doing) -> bool {
    matches!(doing, Doing::Marking { .. } | Doing::Carrying { .. })
}
