//! Guided local search: what keeps overlapping counts more each time, until the search
//! finds it worthwhile to part it and pay with something else.
//!
//! Voudouris & Tsang (1999), *Guided local search and its application to the traveling
//! salesman problem*; for overlap, Egeblad, Nielsen & Odgaard (2007), *Fast neighborhood
//! search for two- and three-dimensional nesting problems*, doi 10.1016/j.ejor.2005.11.063;
//! the growth by each overlap's own share is Gardeyn, Vanden Berghe & Wauters (2025).

/// Overlaps grow in weight by a factor from the first to the second, the worst most.
const GROWTH: [f32; 2] = [1.2, 2.0];

/// What does not overlap loses weight by this factor.
const FADE: f32 = 0.95;

/// A number for every two parts, and one for each part and the edge of what is free.
#[derive(Debug, Clone)]
pub(super) struct Table {
    count: usize,
    pairs: Vec<f32>,
    edges: Vec<f32>,
}

impl Table {
    pub fn new(count: usize, value: f32) -> Self {
        Self {
            count,
            pairs: vec![value; count * count],
            edges: vec![value; count],
        }
    }

    pub fn pair(&self, a: usize, b: usize) -> f32 {
        self.pairs[a * self.count + b]
    }

    pub fn edge(&self, part: usize) -> f32 {
        self.edges[part]
    }

    pub fn set_pair(&mut self, a: usize, b: usize, value: f32) {
        self.pairs[a * self.count + b] = value;
        self.pairs[b * self.count + a] = value;
    }

    pub fn set_edge(&mut self, part: usize, value: f32) {
        self.edges[part] = value;
    }

    /// All numbers of one part.
    fn row(&self, part: usize) -> &[f32] {
        &self.pairs[part * self.count..(part + 1) * self.count]
    }

    /// Forgets one part.
    pub fn clear(&mut self, part: usize) {
        for other in 0..self.count {
            self.set_pair(part, other, 0.0);
        }
        self.edges[part] = 0.0;
    }

    /// Of losses: what one part has of them.
    pub fn of(&self, part: usize) -> f32 {
        self.row(part).iter().sum::<f32>() + self.edges[part]
    }

    /// Of losses: all of them.
    pub fn total(&self) -> f32 {
        let rows = (0..self.count).map(|a| self.row(a)[a..].iter().sum::<f32>());
        rows.sum::<f32>() + self.edges.iter().sum::<f32>()
    }

    /// Of weights: grows those of what overlaps by these losses, and lets others fade to 1.
    pub fn learn(&mut self, losses: &Table) {
        let all = || losses.pairs.iter().chain(&losses.edges);
        let worst = all().copied().fold(0.0, f32::max);
        let weights = self.pairs.iter_mut().chain(&mut self.edges);
        for (w, &l) in weights.zip(all()) {
            *w = if l > 0.0 {
                *w * (GROWTH[0] + (GROWTH[1] - GROWTH[0]) * l / worst)
            } else {
                (*w * FADE).max(1.0)
            };
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_grows_most_and_what_is_parted_fades_to_one() {
        let mut losses = Table::new(3, 0.0);
        losses.set_pair(0, 1, 4.0);
        losses.set_edge(2, 2.0);
        assert_eq!(
            (losses.total(), losses.of(0), losses.of(2)),
            (6.0, 4.0, 2.0)
        );
        let mut weights = Table::new(3, 1.0);
        weights.learn(&losses);
        assert_eq!((weights.pair(1, 0), weights.pair(0, 1)), (2.0, 2.0));
        assert!((weights.edge(2) - 1.6).abs() < 1e-6);
        assert_eq!(weights.pair(1, 2), 1.0);
        losses.clear(0);
        weights.learn(&losses);
        assert!((weights.pair(0, 1) - 1.9).abs() < 1e-6);
        for _ in 0..50 {
            weights.learn(&losses);
        }
        assert_eq!(weights.pair(0, 1), 1.0);
    }
}
