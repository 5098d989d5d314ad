//! Closed lines from strokes that meet end to end.
//!
//! Strokes are the edges of a plane graph, their ends its nodes. What leads to a loose
//! end is no part of a closed line; of what is left, the outer face of every connected
//! part is its outline, and what lies within (a line from side to side) stays a stroke.

use std::collections::HashMap;

use kurbo::{BezPath, PathEl, Point as Page};

use super::cells::Cells;
use super::single::{PAGE, Single};
use crate::space::{Piece, Point, Vector, mean};

/// Ends this near are one place, mm.
const SAME: f64 = 0.01;

/// Places are looked up by square cells of this side, mm: wide enough that few lie near two,
/// and narrow enough that a crowd of places fills many.
const CELL: f64 = 16.0 * SAME;

/// One end of a stroke: its index, and whether it is the last point.
type End = (usize, bool);

/// Where a list of all ends has this one.
fn slot((edge, last): End) -> usize {
    2 * edge + usize::from(last)
}

/// A closed line and the strokes that it is joined from, in order: index, reversed.
pub struct Loop {
    pub path: BezPath,
    pub chain: Vec<(usize, bool)>,
}

/// What came of joining.
pub struct Joined {
    pub loops: Vec<Loop>,
    /// Open lines, of one or more strokes that run on into one another.
    pub open: Vec<Loop>,
    /// The widest gap that was closed, mm.
    pub gap: f64,
}

/// Joins the open strokes `members` (indices into `all`).
pub fn join(all: &[Single], members: &[usize], within: f64) -> Joined {
    let graph = Graph::of(all, members, within);
    let kept = graph.without_loose_ends();
    let mut loops = Vec::new();
    let mut used = vec![false; members.len()];
    for walk in graph.outer_faces(&kept) {
        for chain in simple_loops(&graph, &walk) {
            for &(edge, _) in &chain {
                used[edge] = true;
            }
            loops.push(graph.line(&chain, true));
        }
    }
    let open = graph.open_lines(&used);
    Joined {
        loops,
        open,
        gap: graph.gap,
    }
}

struct Graph<'g, 's> {
    all: &'g [Single<'s>],
    members: &'g [usize],
    /// Node of each end, by [`slot`].
    node: Vec<usize>,
    /// Ends at each node.
    ends: Vec<Vec<End>>,
    /// Where each node is on the page: halfway, where two meet with a gap.
    places: Vec<Page>,
    gap: f64,
}

impl<'g, 's> Graph<'g, 's> {
    fn of(all: &'g [Single<'s>], members: &'g [usize], within: f64) -> Self {
        let mut graph = Graph {
            all,
            members,
            node: vec![0; 2 * members.len()],
            ends: Vec::new(),
            places: Vec::new(),
            gap: 0.0,
        };
        let ends: Vec<End> = (0..members.len())
            .flat_map(|k| [(k, false), (k, true)])
            .collect();
        graph.gather(&ends);
        graph.bridge(within);
        let place =
            |met: &Vec<End>| PAGE.page(mean(met.iter().map(|&e| graph.at(e))).unwrap_or_default());
        graph.places = graph.ends.iter().map(place).collect();
        graph
    }

    fn single(&self, edge: usize) -> &'g Single<'s> {
        &self.all[self.members[edge]]
    }

    fn at(&self, (edge, last): End) -> Point<Piece> {
        let single = self.single(edge);
        if last { single.last() } else { single.first() }
    }

    fn node(&self, end: End) -> usize {
        self.node[slot(end)]
    }

    /// Puts ends at one place into one node.
    fn gather(&mut self, ends: &[End]) {
        let cell = |v: f64| (v / CELL).floor() as i64;
        let mut cells: HashMap<(i64, i64), Vec<usize>> = HashMap::new();
        for &end in ends {
            let p = self.at(end);
            let columns = cell(p.x - SAME)..=cell(p.x + SAME);
            let around =
                columns.flat_map(|x| (cell(p.y - SAME)..=cell(p.y + SAME)).map(move |y| (x, y)));
            let known = around
                .filter_map(|at| cells.get(&at))
                .flatten()
                .filter(|&&node| (self.at(self.ends[node][0]) - p).length() <= SAME)
                .min();
            let node = known.copied().unwrap_or_else(|| {
                self.ends.push(Vec::new());
                let node = self.ends.len() - 1;
                let own = (cell(p.x), cell(p.y));
                cells.entry(own).or_default().push(node);
                node
            });
            self.ends[node].push(end);
            self.node[slot(end)] = node;
        }
    }

    /// Joins loose ends up to `within` apart that are each other's nearest.
    fn bridge(&mut self, within: f64) {
        let loose: Vec<End> = self
            .ends
            .iter()
            .filter(|e| e.len() == 1)
            .map(|e| e[0])
            .collect();
        let mut cells = Cells::new(within);
        for (k, &end) in loose.iter().enumerate() {
            cells.add(k, self.at(end));
        }
        let nearest = |end: End| {
            let others = cells.near(self.at(end)).map(|(k, gap)| (loose[k], gap));
            // Both ends of a speck are no joint.
            let apart = others
                .filter(|&(o, _)| o != end && (o.0 != end.0 || self.single(o.0).points.len() > 3));
            apart.min_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
        };
        let mut joints = Vec::new();
        for &end in &loose {
            if let Some((other, gap)) = nearest(end)
                && end < other
                && nearest(other).is_some_and(|(back, _)| back == end)
            {
                joints.push((end, other, gap));
            }
        }
        for (end, other, gap) in joints {
            let (into, from) = (self.node(end), self.node(other));
            self.gap = self.gap.max(gap);
            self.ends[from].clear();
            self.ends[into].push(other);
            self.node[slot(other)] = into;
        }
    }

    /// Which edges are left once all that leads to a loose end is taken off.
    fn without_loose_ends(&self) -> Vec<bool> {
        let mut kept = vec![true; self.members.len()];
        let mut degree: Vec<usize> = self.ends.iter().map(Vec::len).collect();
        let mut loose: Vec<usize> = (0..degree.len()).filter(|&n| degree[n] == 1).collect();
        while let Some(node) = loose.pop() {
            let Some(&(edge, last)) = self.ends[node].iter().find(|e| kept[e.0]) else {
                continue;
            };
            kept[edge] = false;
            degree[node] -= 1;
            let far = self.node((edge, !last));
            degree[far] = degree[far].saturating_sub(1);
            if degree[far] == 1 {
                loose.push(far);
            }
        }
        kept
    }

    /// The direction in which the edge leaves its `end`.
    fn leaves(&self, end: End) -> Vector<Piece> {
        let points = &self.single(end.0).points;
        let from = self.at(end);
        let far = |p: &&Point<Piece>| (**p - from).length() > 5.0 * SAME;
        let to = if end.1 {
            points.iter().rev().find(far)
        } else {
            points.iter().find(far)
        };
        to.map_or(Vector::new(1.0, 0.0), |&p| p - from)
    }

    /// The outer face of every connected part, as a walk along edges by the ends
    /// that they are entered at.
    fn outer_faces(&self, kept: &[bool]) -> Vec<Vec<End>> {
        // At each node the ends by the angle at which they leave.
        let mut next: Vec<Option<End>> = vec![None; 2 * self.members.len()];
        for ends in &self.ends {
            let mut around: Vec<(f64, End)> = ends
                .iter()
                .filter(|end| kept[end.0])
                .map(|&end| {
                    let v = self.leaves(end);
                    (v.y.atan2(v.x), end)
                })
                .collect();
            around.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            // Arriving by an end, one leaves by the next clockwise.
            for (k, &(_, end)) in around.iter().enumerate() {
                let before = around[(k + around.len() - 1) % around.len()].1;
                next[slot(end)] = Some(before);
            }
        }
        let mut part = Parts::new(self.members.len());
        for ends in &self.ends {
            for pair in ends.windows(2) {
                part.unite(pair[0].0, pair[1].0);
            }
        }
        let mut seen = vec![false; 2 * self.members.len()];
        let mut outer: HashMap<usize, (f64, Vec<End>)> = HashMap::new();
        let mut order = Vec::new();
        for start in (0..self.members.len())
            .filter(|&k| kept[k])
            .flat_map(|k| [(k, false), (k, true)])
        {
            if seen[slot(start)] {
                continue;
            }
            let (mut walk, mut area, mut at) = (Vec::new(), 0.0, start);
            loop {
                if std::mem::replace(&mut seen[slot(at)], true) {
                    break;
                }
                walk.push(at);
                area += self.area_under(at);
                match next[slot((at.0, !at.1))] {
                    Some(on) => at = on,
                    None => break,
                }
            }
            let of = part.root(start.0);
            match outer.get_mut(&of) {
                // The outer face alone runs clockwise.
                Some(least) if area < least.0 => *least = (area, walk),
                Some(_) => {}
                None => {
                    order.push(of);
                    outer.insert(of, (area, walk));
                }
            }
        }
        order
            .into_iter()
            .filter_map(|of| outer.remove(&of))
            .map(|(_, walk)| walk)
            .collect()
    }

    /// Twice the area between the edge and the origin, walked from `from`.
    fn area_under(&self, from: End) -> f64 {
        let points = &self.single(from.0).points;
        let twice: f64 = points
            .windows(2)
            .map(|e| e[0].to_vector().cross(e[1].to_vector()))
            .sum();
        let next = if from.1 { -twice } else { twice };
        // Over the gap to the node's own place and on.
        let node = |end: End| self.at(self.ends[self.node(end)][0]).to_vector();
        let (a, b) = (
            self.at(from).to_vector(),
            self.at((from.0, !from.1)).to_vector(),
        );
        next + node(from).cross(a) + b.cross(node((from.0, !from.1)))
    }

    /// The line along `chain`, each edge by the end that it is entered at.
    fn line(&self, chain: &[End], closed: bool) -> Loop {
        let place = |end: End| self.places[self.node(end)];
        let mut path = BezPath::new();
        for (k, &(edge, last)) in chain.iter().enumerate() {
            let mut part = self.single(edge).path.clone();
            if last {
                part = part.reverse_subpaths();
            }
            let mut elements = part.elements().to_vec();
            if let Some(end) = elements.last_mut() {
                *end = ending_at(*end, place((edge, !last)));
            }
            if let Some(PathEl::MoveTo(start)) = elements.first_mut() {
                *start = place((edge, last));
            }
            path.extend(elements.into_iter().skip(usize::from(k > 0)));
        }
        if closed {
            path.close_path();
        }
        Loop {
            path,
            chain: chain
                .iter()
                .map(|&(edge, last)| (self.members[edge], last))
                .collect(),
        }
    }

    /// What is not `used`, those that meet at a place of two in one line.
    fn open_lines(&self, used: &[bool]) -> Vec<Loop> {
        let mut done = used.to_vec();
        let mut lines = Vec::new();
        for first in 0..self.members.len() {
            if done[first] {
                continue;
            }
            // Back to where the line begins, then along it.
            let mut start = (first, false);
            let mut steps = 0;
            while let Some(back) = self.runs_on(start, used) {
                start = (back.0, !back.1);
                steps += 1;
                if start.0 == first || steps > self.members.len() {
                    break;
                }
            }
            let mut chain = vec![start];
            done[start.0] = true;
            let mut at = start;
            while let Some(on) = self.runs_on((at.0, !at.1), used).filter(|on| !done[on.0]) {
                done[on.0] = true;
                chain.push(on);
                at = on;
            }
            lines.push(self.line(&chain, false));
        }
        lines
    }

    /// The end that meets `end`, where no other does.
    fn runs_on(&self, end: End, used: &[bool]) -> Option<End> {
        match self.ends[self.node(end)].as_slice() {
            &[a, b] => Some(if a == end { b } else { a }).filter(|o| !used[o.0] && o.0 != end.0),
            _ => None,
        }
    }
}

/// `element`, ending at `p`.
fn ending_at(element: PathEl, p: Page) -> PathEl {
    match element {
        PathEl::MoveTo(_) => PathEl::MoveTo(p),
        PathEl::LineTo(_) => PathEl::LineTo(p),
        PathEl::QuadTo(a, _) => PathEl::QuadTo(a, p),
        PathEl::CurveTo(a, b, _) => PathEl::CurveTo(a, b, p),
        PathEl::ClosePath => PathEl::ClosePath,
    }
}

/// The closed lines of a face: without edges that it goes along both ways, and parted
/// where it comes to a place again.
fn simple_loops(graph: &Graph, walk: &[End]) -> Vec<Vec<End>> {
    let both: HashMap<usize, usize> = walk.iter().fold(HashMap::new(), |mut count, end| {
        *count.entry(end.0).or_default() += 1;
        count
    });
    let mut loops = Vec::new();
    let mut stack: Vec<End> = Vec::new();
    let mut depth: HashMap<usize, usize> = HashMap::new();
    for &end in walk.iter().filter(|end| both[&end.0] == 1) {
        depth.insert(graph.node(end), stack.len());
        stack.push(end);
        let arrives = graph.node((end.0, !end.1));
        if let Some(&from) = depth.get(&arrives).filter(|&&from| from < stack.len()) {
            let mut closed: Vec<End> = stack.drain(from..).collect();
            for end in &closed {
                depth.remove(&graph.node(*end));
            }
            // Walked clockwise: turned to run counter-clockwise.
            closed.reverse();
            loops.push(
                closed
                    .into_iter()
                    .map(|(edge, last)| (edge, !last))
                    .collect(),
            );
        }
    }
    loops
}

/// Which edges hang together.
struct Parts(Vec<usize>);

impl Parts {
    fn new(count: usize) -> Self {
        Self((0..count).collect())
    }

    fn root(&mut self, mut k: usize) -> usize {
        while self.0[k] != k {
            self.0[k] = self.0[self.0[k]];
            k = self.0[k];
        }
        k
    }

    fn unite(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        self.0[a.max(b)] = a.min(b);
    }
}
