//! In which way do lines run on from page to page? Columns, order and overlap by trial.

use kurbo::{Rect, Vec2};

use super::clip;
use super::interpret::Drawn;
use super::tiles::{Layout, Order, cells, label};
use crate::drawing::read::drawn::flatten::{self, Budget, Ground};
use crate::pattern::Polyline;

/// Widest overlap that is looked for, mm.
const WIDEST: f64 = 60.0;
/// Steps in which it is looked for at first, mm; a line at 45° is off by as much.
const STEP: f64 = 0.5;
/// How far about the best, and in which steps, it is then looked for more closely, mm.
const FINER: [(f64, f64); 2] = [(STEP, 0.02), (0.02, 0.001)];
/// Two overlaps fit as well if ends are off by no more than this on the whole, mm.
const AS_WELL: f64 = 0.005;
/// A line goes on where another crosses the edge as near as this, mm.
const MEETS: f64 = 0.6;
/// And as near as this once the overlap is known.
const CLOSE: f64 = 0.25;
/// The part of all ends at edges that must go on.
pub const ENOUGH: f64 = 0.8;
/// Fewest ends that tell anything.
const FEWEST: usize = 2;
/// How near an edge of the page a line ends that was cut there, mm.
const AT_EDGE: f64 = 0.05;
/// Most steps spent on trials: then the pages are taken to be no sheet.
const MAX_WORK: usize = 400_000_000;

/// A way that fits.
pub struct Match {
    pub layout: Layout,
    /// Of this many ends at edges, so many go on.
    pub met: usize,
    pub ends: usize,
}

/// One page's lines, flattened, and where they end at the edges of what shows.
struct Edges {
    lines: Vec<Polyline>,
    /// Along left, right, top, bottom edge.
    ends: [Vec<f64>; 4],
}

const LEFT: usize = 0;
const RIGHT: usize = 1;
const TOP: usize = 2;
const BOTTOM: usize = 3;

/// The first of `trims` (what counts of each page) in which there is a way that fits.
pub fn find(pages: &[Drawn], trims: impl Iterator<Item = Rect>) -> Option<(Rect, Match)> {
    let mut work = 0;
    for trim in trims {
        let edges = pages
            .iter()
            .map(|page| Some(Edges::of(lines(page, trim)?, trim)));
        let edges = edges.collect::<Option<Vec<Edges>>>()?;
        let ways = ways(pages);
        let tried = ways
            .into_iter()
            .filter_map(|cells| try_cells(&edges, trim, cells, &mut work));
        let share = |m: &Match| m.met as f64 / m.ends as f64;
        let best = tried.reduce(|a, b| if share(&b) > share(&a) { b } else { a });
        if let Some(best) = best.filter(|m| share(m) >= ENOUGH) {
            return Some((trim, best));
        }
        if work > MAX_WORK {
            return None;
        }
    }
    None
}

/// The page's lines as far as they lie in `trim`. None if there are too many.
pub fn lines(page: &Drawn, trim: Rect) -> Option<Vec<Polyline>> {
    // y down, as on paper, so that edges are where they are said to be.
    let ground = Ground {
        origin: kurbo::Point::ORIGIN,
    };
    let mut budget = Budget::new();
    let mut all = Vec::new();
    for stroke in &page.strokes {
        for mut run in flatten::runs(&clip::cut(&stroke.path, trim), ground, &mut budget).ok()? {
            for p in &mut run.points {
                p.y = -p.y;
            }
            let first = run.points.first().copied().filter(|_| run.closed);
            run.points.extend(first);
            all.push(run.points);
        }
    }
    Some(all)
}

/// Cells of the pages to be tried: by their labels, then every number of columns.
fn ways(pages: &[Drawn]) -> Vec<Vec<(usize, usize)>> {
    let mut ways = Vec::new();
    let labels: Option<Vec<(usize, usize)>> = pages
        .iter()
        .map(|p| p.texts.iter().find_map(|t| label(&t.words)))
        .collect();
    if let Some(labels) = labels {
        let mut once = labels.clone();
        once.sort_unstable();
        once.dedup();
        if once.len() == pages.len() {
            ways.push(
                labels
                    .iter()
                    .map(|&(letter, number)| (number - 1, letter))
                    .collect(),
            );
            ways.push(
                labels
                    .iter()
                    .map(|&(letter, number)| (letter, number - 1))
                    .collect(),
            );
        }
    }
    for columns in (1..=pages.len()).filter(|c| pages.len().is_multiple_of(*c)) {
        ways.push(cells(pages.len(), columns, Order::Rows));
        if columns > 1 && columns < pages.len() {
            ways.push(cells(pages.len(), columns, Order::Columns));
        }
    }
    ways
}

fn try_cells(
    edges: &[Edges],
    trim: Rect,
    cells: Vec<(usize, usize)>,
    work: &mut usize,
) -> Option<Match> {
    let at = |cell: (usize, usize)| cells.iter().position(|c| *c == cell);
    let (mut across, mut down) = (Vec::new(), Vec::new());
    for (k, &(column, row)) in cells.iter().enumerate() {
        across.extend(at((column + 1, row)).map(|other| (k, other)));
        down.extend(at((column, row + 1)).map(|other| (k, other)));
    }
    // Every end counts, also those at the sheet's rim, where none should be.
    let ends: usize = edges.iter().flat_map(|e| &e.ends).map(Vec::len).sum();
    if ends < FEWEST {
        return None;
    }
    let (x, met_x) = best_overlap(edges, &across, trim, true, work);
    let (y, met_y) = best_overlap(edges, &down, trim, false, work);
    Some(Match {
        layout: Layout {
            cells,
            overlap: Vec2::new(x, y),
        },
        met: met_x + met_y,
        ends,
    })
}

/// The overlap of neighbours in which most ends go on, and how many do.
fn best_overlap(
    edges: &[Edges],
    pairs: &[(usize, usize)],
    trim: Rect,
    across: bool,
    work: &mut usize,
) -> (f64, usize) {
    let side = if across { trim.width() } else { trim.height() };
    let widest = WIDEST.min(side / 3.0);
    let mut score = |overlap: f64, within: f64| -> (usize, f64) {
        let (mut met, mut off) = (0, 0.0);
        for &(a, b) in pairs {
            let (a, b) = (&edges[a], &edges[b]);
            let (near, far) = if across { (RIGHT, LEFT) } else { (BOTTOM, TOP) };
            let (low, high) = if across {
                (trim.x0, trim.x1)
            } else {
                (trim.y0, trim.y1)
            };
            for (ends, lines, place) in [
                (&a.ends[near], &b.lines, low + overlap),
                (&b.ends[far], &a.lines, high - overlap),
            ] {
                if ends.is_empty() {
                    continue;
                }
                *work += lines.iter().map(Vec::len).sum::<usize>();
                if *work > MAX_WORK {
                    return (0, f64::INFINITY);
                }
                let crossed = crossings(lines, place, across);
                for end in ends {
                    let at = crossed.partition_point(|c| c < end);
                    let around = [at.checked_sub(1), Some(at)].into_iter().flatten();
                    let gaps = around
                        .filter_map(|k| crossed.get(k))
                        .map(|c| (c - end).abs());
                    let gap = gaps.fold(f64::INFINITY, f64::min);
                    if gap <= within {
                        met += 1;
                        off += gap;
                    }
                }
            }
        }
        (met, off)
    };
    let better = |a: &(f64, (usize, f64)), b: &(f64, (usize, f64))| {
        b.1.0 > a.1.0 || (b.1.0 == a.1.0 && b.1.1 < a.1.1 - 1e-9)
    };
    if pairs.is_empty() {
        return (0.0, 0);
    }
    let mut best = (0.0, score(0.0, MEETS));
    for k in 1..=(widest / STEP) as usize {
        let overlap = k as f64 * STEP;
        let this = (overlap, score(overlap, MEETS));
        if better(&best, &this) {
            best = this;
        }
    }
    for (reach, step) in FINER {
        let middle = best.0;
        best = (middle, score(middle, CLOSE));
        for k in -((reach / step) as i32)..=(reach / step) as i32 {
            let overlap = (middle + f64::from(k) * step).max(0.0);
            let this = (overlap, score(overlap, CLOSE));
            if better(&best, &this) {
                best = this;
            }
        }
    }
    // People choose round numbers: one that fits as well is meant.
    let round = (best.0 * 10.0).round() / 10.0;
    let (met, off) = score(round, CLOSE);
    if met >= best.1.0 && off <= best.1.1 + AS_WELL * met as f64 {
        best.0 = round;
    }
    (best.0, best.1.0)
}

/// Where lines cross x = `place` (`across`) or y = `place`, sorted. What ends there
/// crosses.
pub fn crossings(lines: &[Polyline], place: f64, across: bool) -> Vec<f64> {
    let split = |p: &crate::space::Point<_>| if across { (p.x, p.y) } else { (p.y, p.x) };
    let mut found = Vec::new();
    for line in lines {
        for pair in line.windows(2) {
            let ((a, u), (b, v)) = (split(&pair[0]), split(&pair[1]));
            let (low, high) = (a.min(b) - AT_EDGE, a.max(b) + AT_EDGE);
            if low <= place && place <= high && a != b {
                let part = ((place - a) / (b - a)).clamp(0.0, 1.0);
                found.push(u + (v - u) * part);
            }
        }
    }
    found.sort_by(f64::total_cmp);
    found
}

impl Edges {
    fn of(lines: Vec<Polyline>, trim: Rect) -> Self {
        let mut ends: [Vec<f64>; 4] = Default::default();
        for line in &lines {
            let (Some(&first), Some(&last)) = (line.first(), line.last()) else {
                continue;
            };
            // A closed line has no end; one that merely touches is not cut.
            if (first - last).length() < 1e-6 {
                continue;
            }
            for p in [first, last] {
                let near = |a: f64, b: f64| (a - b).abs() <= AT_EDGE;
                if near(p.x, trim.x0) {
                    ends[LEFT].push(p.y);
                } else if near(p.x, trim.x1) {
                    ends[RIGHT].push(p.y);
                } else if near(p.y, trim.y0) {
                    ends[TOP].push(p.x);
                } else if near(p.y, trim.y1) {
                    ends[BOTTOM].push(p.x);
                }
            }
        }
        Self { lines, ends }
    }
}
