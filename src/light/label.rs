//! Labels: what a piece's label says, how it is broken into lines, and where
//! it stands: upright for the operator, inside the piece where there is room,
//! and never over a line.

use super::room::Room;
use super::text::{Block, Letters};
use crate::lay::{Face, Laid};
use crate::shape::{Caps, Region, along, dashes, near, nearest, offset_roughly, stroke};
use crate::space::{Bounds, Point, Rigid, Table};

/// Clear dark round a label, mm.
const CLEAR: f64 = 2.5;
/// Grid in which room for a label is sought, mm: inside a piece, on the table.
const FINE: f64 = 1.0;
const COARSE: f64 = 2.0;
/// How roughly areas are grown and shrunk for that grid, mm: always to the safe side.
const ROUGH: f64 = 0.05;
/// A line that leads from a label keeps this far off all other light, mm.
const BESIDE_LEADER: f64 = 0.5;
/// Line counts to try, in order: two or three lines are read at a glance.
const LINE_COUNTS: [usize; 7] = [3, 2, 4, 1, 5, 6, 7];
/// Beside a piece no more lines than this, or the label is taken for a list.
const MOST_BESIDE: usize = 3;
/// Width of the line that leads from a label to its piece, and the shortest
/// that is worth drawing, mm.
const LEADER: f64 = 1.5;
const LEAST_LEADER: f64 = 12.0;
/// Its dashes and gaps, mm: a plain bar would be taken for a notch's sign.
const LEADER_DASH: (f64, f64) = (3.0, 2.5);
/// What it costs to begin a line after a comma, or between any two words,
/// as a factor on its width.
const TORN: [f64; 2] = [1.15, 2.5];
/// The same where there is no room otherwise: the narrowest block counts.
const TORN_AT_NEED: [f64; 2] = [1.0, 1.0];

/// What the label of a piece says.
pub fn words(laid: &Laid) -> Vec<String> {
    let mut phrases = vec![
        format!("{} {}", laid.piece.name, laid.article),
        laid.cloth.to_owned(),
        laid.cut_note.clone(),
    ];
    if !laid.piece.folds.is_empty() {
        phrases.push("on the fold".to_owned());
    }
    if laid.face == Face::Down {
        phrases.push("mirrored".to_owned());
    }
    if laid.trim != 0.0 {
        let way = if laid.trim > 0.0 { "in" } else { "out" };
        phrases.push(format!("trim {:.1} mm {way}", laid.trim.abs()));
    }
    phrases
}

/// Breaks phrases into `count` lines, the widest as short as can be. Breaks
/// between phrases where that costs nothing, within one where it must be.
/// `None` if there are fewer words.
fn broken(
    phrases: &[String],
    count: usize,
    torn: [f64; 2],
    letters: &mut Letters,
) -> Option<Vec<String>> {
    // A word, and whether it opens a phrase.
    let words: Vec<(&str, bool)> = phrases
        .iter()
        .flat_map(|p| p.split(' ').enumerate().map(|(k, w)| (w, k == 0)))
        .collect();
    let n = words.len();
    if count > n {
        return None;
    }
    let line = |from: usize, to: usize| {
        let mut text = String::new();
        for (k, (word, opens)) in words[from..to].iter().enumerate() {
            if k > 0 {
                text.push_str(if *opens { " · " } else { " " });
            }
            text.push_str(word);
        }
        text
    };
    // best[k][j]: least widest line when the first j words fill k lines.
    let mut best = vec![vec![(f64::INFINITY, 0); n + 1]; count + 1];
    best[0][0].0 = 0.0;
    for k in 1..=count {
        for to in k..=n {
            for from in k - 1..to {
                let tear = match from
                    .checked_sub(1)
                    .map(|before| words[before].0.ends_with(','))
                {
                    _ if words.get(from).is_none_or(|w| w.1) => 1.0,
                    Some(true) => torn[0],
                    _ => torn[1],
                };
                let width = letters.width(&line(from, to)) * tear;
                let cost = best[k - 1][from].0.max(width);
                if cost < best[k][to].0 {
                    best[k][to] = (cost, from);
                }
            }
        }
    }
    let mut lines = Vec::new();
    let mut to = n;
    for k in (1..=count).rev() {
        let from = best[k][to].1;
        lines.push(line(from, to));
        to = from;
    }
    lines.reverse();
    Some(lines)
}

/// A label's text, set in every number of lines that it can be broken into,
/// best first, as they are asked for.
pub fn settings<'a>(
    phrases: &'a [String],
    letters: &'a mut Letters,
) -> impl Iterator<Item = Block> + 'a {
    let ways = [TORN, TORN_AT_NEED].into_iter();
    let all = ways.flat_map(|torn| LINE_COUNTS.iter().map(move |&count| (torn, count)));
    all.filter_map(|(torn, count)| {
        let lines = broken(phrases, count, torn, letters)?;
        Some(letters.block(&lines))
    })
}

fn set_at(block: &Block, middle: Point<Table>) -> Region<Table> {
    let to: Rigid<Table, Table> = Rigid::new(false, 0.0, middle.to_vector());
    block.lit.moved(&to)
}

/// Where in a piece a label's ink may be, clear of its edge, and where not,
/// for its marks. A rigid motion changes neither, and growing is slow.
pub fn clear<S>(inside: &Region<S>, marks: &Region<S>) -> (Region<S>, Region<S>) {
    let clear = CLEAR + Room::slack(FINE);
    (
        offset_roughly(inside, -clear, ROUGH),
        offset_roughly(marks, clear, ROUGH),
    )
}

/// What labels beside a piece keep off: its band of `width` mm, its notches' signs, and clear
/// dark round both. As [`clear`], it goes with the piece.
pub fn keep_off<S>(inside: &Region<S>, signs: &[Region<S>], width: f64) -> Region<S> {
    let clear = CLEAR + Room::slack(COARSE);
    // The grid takes what lies in any of the rings.
    let mut all = offset_roughly(inside, width + clear, ROUGH);
    for sign in signs {
        all.append(offset_roughly(sign, clear, ROUGH));
    }
    all
}

/// A label inside a piece near `wish`, in `free` and not in `barred`, as
/// [`clear`] has them, on the table; `None` if there is no room.
pub fn within(
    blocks: impl Iterator<Item = Block>,
    free: &Region<Table>,
    barred: &Region<Table>,
    wish: Point<Table>,
) -> Option<Region<Table>> {
    let mut room = Room::new(free.bounds()?, FINE);
    room.mark(free, true);
    room.mark(barred, false);
    let mut blocks = blocks;
    blocks.find_map(|block| {
        let at = room.place(&block.lines, wish)?;
        Some(set_at(&block, at))
    })
}

/// Labels that found no room inside: each as near to its piece as there is
/// room in `reach`, clear of all pieces, bands and other labels.
pub struct Outside {
    room: Room,
}

impl Outside {
    /// `taken` are areas to keep off, as [`keep_off`] has them.
    pub fn new(reach: &Region<Table>, taken: impl IntoIterator<Item = Region<Table>>) -> Self {
        let nowhere = Bounds::new(Point::origin(), Point::new(1.0, 1.0));
        let mut room = Room::new(reach.bounds().unwrap_or(nowhere), COARSE);
        let clear = CLEAR + Room::slack(COARSE);
        room.mark(&offset_roughly(reach, -clear, ROUGH), true);
        for region in taken {
            room.mark(&region, false);
        }
        Self { room }
    }

    /// Finds a place for a label near `wish` and takes it. If it stands off
    /// from `piece`, a line leads from it to within `gap` mm of the cut line,
    /// where no light is in the way: none of `lit`, each grown by so many mm.
    pub fn put(
        &mut self,
        blocks: impl Iterator<Item = Block>,
        wish: Point<Table>,
        piece: &Region<Table>,
        gap: f64,
        lit: &[(Region<Table>, f64)],
    ) -> Option<Region<Table>> {
        let (block, at) = blocks
            .filter(|b| b.lines.len() <= MOST_BESIDE)
            .filter_map(|b| {
                let at = self.room.place(&b.lines, wish)?;
                Some((b, at))
            })
            .min_by(|a, b| (a.1 - wish).length().total_cmp(&(b.1 - wish).length()))?;
        let clear = CLEAR + Room::slack(COARSE);
        for line in &block.lines {
            let taken = line.translate(at.to_vector()).inflate(clear, clear);
            let (low, high) = (taken.min, taken.max);
            let ring = vec![
                low,
                Point::new(high.x, low.y),
                high,
                Point::new(low.x, high.y),
            ];
            self.room.mark(&Region::ring(ring), false);
        }
        let mut label = set_at(&block, at);
        let ink = block.lines.iter().map(|l| l.translate(at.to_vector()));
        let line = ink
            .reduce(|a, b| a.union(&b))
            .and_then(|ink| leader(ink, piece, gap))
            .filter(|line| {
                let crosses =
                    |(area, by): &(Region<Table>, f64)| near(area, line, by + BESIDE_LEADER);
                !lit.iter().any(crosses)
            });
        if let Some(line) = line {
            self.room.mark(&offset_roughly(&line, clear, ROUGH), false);
            label.append(line);
        }
        Some(label)
    }
}

/// A line from a label's box to a piece, if they stand apart: from a little
/// outside the box to `gap` mm short of the cut line.
fn leader(ink: Bounds<Table>, piece: &Region<Table>, gap: f64) -> Option<Region<Table>> {
    let middle = ink.center();
    let closed = |r: &Vec<Point<Table>>| r.iter().chain(r.first()).copied().collect::<Vec<_>>();
    let (foot, _) = piece
        .rings
        .iter()
        .filter_map(|r| {
            let line = closed(r);
            let (s, far) = nearest(&line, middle)?;
            Some((along(&line, s)?.at, far))
        })
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    let start = foot.clamp(ink.min, ink.max);
    let way = foot - start;
    let dir = way.try_normalize()?;
    let (from, to) = (start + dir * CLEAR, foot - dir * gap);
    ((to - from).dot(dir) > LEAST_LEADER).then(|| {
        let parts = dashes(&[from, to], LEADER_DASH.0, LEADER_DASH.1);
        let rings = parts
            .iter()
            .flat_map(|d| stroke(d, LEADER / 2.0, Caps::Flat).rings);
        Region::new(rings.collect())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_phrases_first() {
        let mut letters = Letters::new(12.0).unwrap();
        let phrases = [
            "upper 1".to_owned(),
            "canvas".to_owned(),
            "cut 2, a pair".to_owned(),
        ];
        assert_eq!(
            broken(&phrases, 3, TORN, &mut letters).unwrap(),
            ["upper 1", "canvas", "cut 2, a pair"]
        );
        assert_eq!(
            broken(&phrases, 2, TORN, &mut letters).unwrap(),
            ["upper 1 · canvas", "cut 2, a pair"]
        );
        let narrow = broken(&phrases, 4, TORN, &mut letters).unwrap();
        assert_eq!(narrow, ["upper 1", "canvas", "cut 2,", "a pair"]);
        assert!(broken(&phrases, 12, TORN, &mut letters).is_none());
    }

    #[test]
    fn labels_beside_pieces_keep_clear_of_each_other() {
        let reach = Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(300.0, 0.0),
            Point::new(300.0, 200.0),
            Point::new(0.0, 200.0),
        ]);
        // Heights that the grid's cells do not divide.
        for step in 0..16 {
            let height = 12.0 + 0.25 * f64::from(step);
            let mut letters = Letters::new(height).unwrap();
            let phrases = ["HH".to_owned()];
            let mut outside = Outside::new(&reach, []);
            let (wish, piece) = (Point::new(150.0, 100.0), Region::default());
            let mut put = || outside.put(settings(&phrases, &mut letters), wish, &piece, 4.0, &[]);
            let (first, second) = (put().unwrap(), put().unwrap());
            assert!(!near(&first, &second, CLEAR - 1e-6), "{height}");
            // And yet stand together.
            assert!(near(&first, &second, CLEAR + 3.0 * COARSE), "{height}");
        }
    }

    #[test]
    fn a_label_keeps_off_the_marks() {
        let mut letters = Letters::new(12.0).unwrap();
        let phrases = ["sole 1".to_owned(), "canvas".to_owned()];
        let piece = Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(100.0, 0.0),
            Point::new(100.0, 250.0),
            Point::new(0.0, 250.0),
        ]);
        let marks = Region::disc(Point::new(50.0, 125.0), 20.0);
        let (free, barred) = clear(&piece, &marks);
        let lit = within(
            settings(&phrases, &mut letters),
            &free,
            &barred,
            Point::new(50.0, 125.0),
        )
        .unwrap();
        let about = crate::shape::offset(&marks, CLEAR - 0.01);
        assert!(crate::shape::intersection(&lit, &about).area() < 1e-9);
        let narrow = Region::ring(vec![
            Point::new(0.0, 0.0),
            Point::new(20.0, 0.0),
            Point::new(20.0, 250.0),
            Point::new(0.0, 250.0),
        ]);
        let (free, barred) = clear(&narrow, &Region::default());
        assert!(
            within(
                settings(&phrases, &mut letters),
                &free,
                &barred,
                Point::new(10.0, 9.0)
            )
            .is_none()
        );
    }
}
