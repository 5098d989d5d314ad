//! The sheet of tags: laid whole, its tags' distances are known; cut apart, each marks a place
//! of the table. A photo that shows them is placed by them.

use super::check_lines::check_lines;
use crate::photo::tags::{ACROSS, ALONG, CELLS, PITCH, SIZE, black};
use crate::sheet::{Page, Paper, TextAt};

/// What is said above the tags takes this much, mm.
const HEAD: f64 = 11.0;

/// White about the black square that nothing is printed in: a cell's width, as the family asks,
/// and half a mm.
const WHITE: f64 = 7.5;

/// Height of the words' type, mm.
const WORDS: f64 = 2.4;

/// Draws the sheet: tags 0 to 5, where [`crate::photo::tags::Board::sheet`] has them.
pub fn tag_sheet(paper: Paper) -> Page {
    let (width, height) = paper.size_mm();
    let mut page = Page::new(paper);
    let (across, along) = (f64::from(ACROSS), f64::from(ALONG));
    let left = (width - PITCH * across) / 2.0;
    let right = left + PITCH * across;
    let foot = (height - HEAD - PITCH * along) / 2.0;
    let top = foot + PITCH * along;
    for column in 0..=ACROSS {
        let x = left + PITCH * f64::from(column);
        page.line((x, foot), (x, top), 0.1);
    }
    for row in 0..=ALONG {
        let y = foot + PITCH * f64::from(row);
        page.line((left, y), (right, y), 0.1);
    }
    for id in 0..ACROSS * ALONG {
        let x = left + PITCH * (f64::from(id % ACROSS) + 0.5);
        let y = top - PITCH * (f64::from(id / ACROSS) + 0.5);
        tag(&mut page, (x, y), id);
    }
    check_lines(&mut page, left, top);
    let say = [
        "Ghostchalk tags: a photo that shows them knows where the table is. The two long lines are \
         100 mm each: measure both; if they are not, print at 100 %, \"actual size\".",
        "Lay the sheet whole, taped flat, nothing on it; or cut it apart at the lines, keep the white, \
         tape each tag flat, and measure to corner 1 of its black square.",
    ];
    for (text, up) in say.into_iter().zip([8.6, 5.4]) {
        words(&mut page, (left, top + up), 2.3, text);
    }
    page
}

/// One tag about its middle.
fn tag(page: &mut Page, middle: (f64, f64), id: u16) {
    let at = |x: f64, y: f64| (middle.0 + x, middle.1 + y);
    let half = SIZE / 2.0;
    let rings = outlines(id);
    let cell = SIZE / CELLS as f64;
    let to_mm =
        |[column, row]: [usize; 2]| at(cell * column as f64 - half, half - cell * row as f64);
    let rings = rings
        .into_iter()
        .map(|r| r.into_iter().map(to_mm).collect());
    page.area(rings.collect());
    // Each corner's two lines, beyond the white: a ruler laid on two of them finds the side.
    let [near, far] = [half + WHITE, half + WHITE + 3.0];
    for (x, y, name) in [
        (-1.0, -1.0, "1"),
        (1.0, -1.0, "2"),
        (1.0, 1.0, "3"),
        (-1.0, 1.0, "4"),
    ] {
        page.line(at(x * half, y * near), at(x * half, y * far), 0.2);
        page.line(at(x * near, y * half), at(x * far, y * half), 0.2);
        let (a, b) = at(x * (half + 8.0) - 0.8, y * (half + 8.0) - 1.0);
        words(page, (a, b), 3.0, name);
    }
    let up = half + WHITE;
    page.line(at(0.0, up), at(0.0, up + 5.5), 0.35);
    page.line(at(-1.8, up + 2.8), at(0.0, up + 5.5), 0.35);
    page.line(at(1.8, up + 2.8), at(0.0, up + 5.5), 0.35);
    words(page, at(3.0, up + 1.8), WORDS, "away from you");
    words(page, at(-22.0, up + 1.8), WORDS, "flat, uncovered");
    let text = format!("tag {id}: its place is that of corner 1");
    page.text_centred(middle.0, middle.1 - half - WHITE - 3.6, WORDS, &text);
}

/// Rings round a tag's black, corners as column and row of cells from the upper left: black
/// lies on the same side of every ring, and where black cells meet only in a corner they are
/// parted there.
fn outlines(id: u16) -> Vec<Vec<[usize; 2]>> {
    let Some(cells) = black(id) else {
        return Vec::new();
    };
    let is = |column: usize, row: usize| {
        // The cell beyond the first wraps to a number that no row has.
        cells.get(row).and_then(|r| r.get(column)).copied() == Some(true)
    };
    // Steps from corner to corner with black on the right, as one looks along them, y down.
    let mut steps: Vec<([usize; 2], [usize; 2])> = Vec::new();
    for row in 0..CELLS {
        for column in (0..CELLS).filter(|&c| is(c, row)) {
            let [(a, b), (c, d)] = [(column, row), (column + 1, row + 1)];
            if !is(a, b.wrapping_sub(1)) {
                steps.push(([a, b], [c, b]));
            }
            if !is(c, b) {
                steps.push(([c, b], [c, d]));
            }
            if !is(a, d) {
                steps.push(([c, d], [a, d]));
            }
            if !is(a.wrapping_sub(1), b) {
                steps.push(([a, d], [a, b]));
            }
        }
    }
    let mut rings = Vec::new();
    while let Some((start, mut end)) = steps.pop() {
        let (mut ring, mut last) = (vec![start], start);
        while end != start {
            // At a corner where two rings meet, the one that turns towards the black it has.
            let turn = |next: &[usize; 2]| {
                let v = |p: [usize; 2]| p.map(|k| k as i32);
                let ([a, b], [c, d], [e, f]) = (v(last), v(end), v(*next));
                (c - a) * (f - d) - (d - b) * (e - c)
            };
            let ways = (0..steps.len()).filter(|&k| steps[k].0 == end);
            let Some(k) = ways.max_by_key(|&k| turn(&steps[k].1)) else {
                break;
            };
            let (_, next) = steps.swap_remove(k);
            if turn(&next) != 0 {
                ring.push(end);
            }
            (last, end) = (end, next);
        }
        rings.push(ring);
    }
    rings
}

fn words(page: &mut Page, (x, y): (f64, f64), size: f64, text: &str) {
    let text = text.to_owned();
    page.text(&TextAt { x, y, size, text });
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether an odd number of rings go round a place.
    fn odd(rings: &[Vec<[usize; 2]>], x: f64, y: f64) -> bool {
        let mut odd = false;
        for ring in rings {
            for (k, a) in ring.iter().enumerate() {
                let (a, b) = (
                    a.map(|v| v as f64),
                    ring[(k + 1) % ring.len()].map(|v| v as f64),
                );
                if (a[1] > y) != (b[1] > y) && x < a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
                {
                    odd = !odd;
                }
            }
        }
        odd
    }

    #[test]
    fn rings_go_round_what_is_black() {
        for id in 0..587 {
            let (rings, cells) = (outlines(id), black(id).unwrap());
            for (row, cells) in cells.iter().enumerate() {
                for (column, black) in cells.iter().enumerate() {
                    let at = [column, row].map(|v| v as f64 + 0.5);
                    assert_eq!(odd(&rings, at[0], at[1]), *black, "{id}: {column} {row}");
                }
            }
            let outer = [[0, 0], [8, 0], [8, 8], [0, 8]];
            let is_outer =
                |r: &&Vec<[usize; 2]>| r.len() == 4 && outer.iter().all(|c| r.contains(c));
            assert_eq!(rings.iter().filter(is_outer).count(), 1);
        }
    }
}
