//! Dark patches of a level that hang together, and the convex hull of each.

use super::grey::Grey;

/// Least width and height of a patch, px: cells of a tag under 3 px can't be told.
const LEAST: usize = 22;

/// A run of dark pixels in a row, `from` up to but without `to`.
struct Run {
    row: u32,
    from: u32,
    to: u32,
}

/// The hulls of all patches that are large enough and do not touch the level's sides, in this
/// level's px: outlines of the pixels, clockwise to the eye (y down), no three corners in a line.
pub(super) fn hulls(grey: &Grey) -> Vec<Vec<[f64; 2]>> {
    let (runs, roots) = joined(grey);
    // Runs of each patch, in order of rows.
    let mut order: Vec<(u32, u32)> = roots.into_iter().zip(0..).collect();
    order.sort_unstable();
    order
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|patch| {
            let runs = patch.iter().map(|(_, k)| &runs[*k as usize]);
            let sides = large_and_free(runs.clone(), grey)?;
            let mut corners = Vec::with_capacity(4 * sides.len());
            for (row, [from, to]) in sides {
                for y in [row, row + 1] {
                    corners.extend([[from, y], [to, y]].map(|p| p.map(f64::from)));
                }
            }
            let hull = hull(corners);
            (hull.len() >= 4).then_some(hull)
        })
        .collect()
}

/// Each row's outermost dark pixels of a patch.
fn large_and_free<'a>(
    runs: impl Iterator<Item = &'a Run>,
    grey: &Grey,
) -> Option<Vec<(u32, [u32; 2])>> {
    let mut rows: Vec<(u32, [u32; 2])> = Vec::new();
    let (mut left, mut right) = (u32::MAX, 0);
    for run in runs {
        (left, right) = (left.min(run.from), right.max(run.to));
        match rows.last_mut() {
            Some((row, [from, to])) if *row == run.row => {
                *from = run.from.min(*from);
                *to = run.to.max(*to);
            }
            _ => rows.push((run.row, [run.from, run.to])),
        }
    }
    let free = left > 0 && (right as usize) < grey.width;
    let free = free && rows.first()?.0 > 0 && (rows.last()?.0 as usize) < grey.height - 1;
    let large = (right - left) as usize >= LEAST && rows.len() >= LEAST;
    (free && large).then_some(rows)
}

/// All runs, and for each the first run of its patch: runs that touch, corners too, are of one.
fn joined(grey: &Grey) -> (Vec<Run>, Vec<u32>) {
    let mut runs: Vec<Run> = Vec::new();
    let mut parents: Vec<u32> = Vec::new();
    // Where the row above begins among the runs.
    let (mut above, mut end) = (0, 0);
    grey.dark_rows(|y, dark| {
        let first = runs.len();
        let mut from = None;
        for x in 0..=dark.len() {
            let is = dark.get(x).copied().unwrap_or(false);
            match (is, from) {
                (true, None) => from = Some(x as u32),
                (false, Some(start)) => {
                    let to = x as u32;
                    let k = runs.len() as u32;
                    runs.push(Run {
                        row: y as u32,
                        from: start,
                        to,
                    });
                    parents.push(k);
                    // What ends before this run can touch no later one either.
                    while above < end && runs[above].to < start {
                        above += 1;
                    }
                    let mut other = above;
                    while other < end && runs[other].from <= to {
                        let (a, b) = (root(&mut parents, k), root(&mut parents, other as u32));
                        parents[a.max(b) as usize] = a.min(b);
                        other += 1;
                    }
                    from = None;
                }
                _ => {}
            }
        }
        (above, end) = (first, runs.len());
    });
    // A parent comes before its children, so that its own is already a root.
    for k in 0..parents.len() {
        parents[k] = parents[parents[k] as usize];
    }
    (runs, parents)
}

/// Shortens the way there by half (Tarjan & van Leeuwen, *Worst-case analysis of set union
/// algorithms*, JACM 31, 1984).
fn root(parents: &mut [u32], mut k: u32) -> u32 {
    while parents[k as usize] != k {
        parents[k as usize] = parents[parents[k as usize] as usize];
        k = parents[k as usize];
    }
    k
}

/// Andrew's monotone chain (*Another efficient algorithm for convex hulls in two dimensions*,
/// Information Processing Letters 9, 1979).
fn hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    points.dedup();
    let half = |points: &mut dyn Iterator<Item = [f64; 2]>| {
        let mut chain: Vec<[f64; 2]> = Vec::new();
        for p in points {
            while let [.., a, b] = chain[..]
                && cross(a, b, p) <= 0.0
            {
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
        chain
    };
    let mut all = half(&mut points.iter().copied());
    all.extend(half(&mut points.iter().rev().copied()));
    all
}

/// Twice the area of a triangle; y down, so clockwise to the eye is above nought.
pub(super) fn cross(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn patches(rows: &[&str]) -> usize {
        // Painted so that the threshold is passed wherever a cross stands.
        let of = |x: usize, y: usize| match rows.get(y).and_then(|r| r.as_bytes().get(x)) {
            Some(b'x') => 0,
            _ => 255,
        };
        let (_, mut roots) = joined(&Grey::painted(200, 200, of));
        roots.sort_unstable();
        roots.dedup();
        roots.len()
    }

    #[test]
    fn patches_hang_together_over_corners_and_late_bridges() {
        assert_eq!(patches(&["x.x.x", "......", "x..xx"]), 5);
        assert_eq!(patches(&["x.x", ".x."]), 1);
        assert_eq!(patches(&["x..x", ".x..x"]), 2);
        // A comb that is one only at its foot; a spiral; two rings in each other.
        assert_eq!(patches(&["x.x.x.x", "x.x.x.x", "xxx.xxx", "...x..."]), 1);
        assert_eq!(
            patches(&["xxxxxxx", "......x", "xxxxx.x", "x.....x", "xxxxxxx"]),
            1
        );
        assert_eq!(
            patches(&[
                "xxxxxxx", "x.....x", "x.xxx.x", "x.x.x.x", "x.xxx.x", "x.....x", "xxxxxxx"
            ]),
            2
        );
    }

    #[test]
    fn a_hull_is_what_lies_outermost() {
        let square = [[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]];
        let mut points = square.to_vec();
        points.extend([[2.0, 0.0], [1.0, 3.0], [4.0, 2.0], [0.0, 0.0]]);
        assert_eq!(hull(points), square);
    }
}
