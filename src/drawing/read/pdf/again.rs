//! How pages were joined, in the words by which it is asked for again.

use kurbo::Rect;

use super::tiles::{Layout, Order, cells};
use crate::fault::short;

/// A page is cut where it is said to within this, mm: lengths are written to a thousandth.
const EXACT: f64 = 5e-4;

/// What to say on the command line, and in a job, to have the pages laid so again.
pub fn words(layout: &Layout, paper: Rect, trimmed: Rect) -> String {
    let columns = layout.columns();
    let order = [Order::Rows, Order::Columns]
        .into_iter()
        .find(|&order| cells(layout.cells.len(), columns, order) == layout.cells);
    let Some(order) = order else {
        return "the pages are not in the order of their labels, so no option can ask for them again".into();
    };
    let trim = [
        trimmed.x0 - paper.x0,
        trimmed.y0 - paper.y0,
        paper.x1 - trimmed.x1,
        paper.y1 - trimmed.y1,
    ];
    if trim.iter().any(|&mm| mm < -EXACT) {
        return "it is drawn beyond the pages, so no option can ask for them again".into();
    }
    let overlap = sides(&[layout.overlap.x, layout.overlap.y]);
    let trim = sides(&trim);
    let down = order == Order::Columns;
    let mut said = format!("--columns {columns}");
    let mut written = format!("columns = {columns}");
    if down {
        said += " --down";
        written += ", down = true";
    }
    for (name, lengths) in [("overlap", overlap), ("trim", trim)] {
        if lengths != "0mm" {
            said += &format!(" --{name} {lengths}");
            written += &format!(", {name} = \"{lengths}\"");
        }
    }
    format!("to have it so again: {said} (in a job: tiles = {{ {written} }})")
}

/// One length if all are the same, else each, with an x between them.
fn sides(all: &[f64]) -> String {
    let each: Vec<String> = all
        .iter()
        .map(|mm| {
            let thousandths = (mm.max(0.0) * 1000.0).round() / 1000.0;
            format!("{}mm", short(thousandths))
        })
        .collect();
    if each.iter().all(|one| *one == each[0]) {
        return each[0].clone();
    }
    each.join("x")
}
