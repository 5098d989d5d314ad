//! Which ways round a part may lie.

use super::Part;
use crate::lay::Face;
use rand::{Rng, RngExt};
use std::f32::consts::TAU;

/// Turns that are allowed.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Turns {
    Any,
    /// Within `slack` of one of these, radians.
    Near {
        middles: Vec<f32>,
        slack: f32,
    },
}

impl Turns {
    /// Those that bring a part's grain along the warp, `warp` degrees from the cloth's x,
    /// within `tolerance` degrees.
    pub fn of(part: &Part, warp: f64, one_way: bool, tolerance: f64) -> Self {
        let Some([tail, head]) = part.grain.filter(|[a, b]| (*b - *a).length() > 0.0) else {
            return Turns::Any;
        };
        let along = head - tail;
        let flip = if part.face == Face::Down { -1.0 } else { 1.0 };
        let lies = along.y.atan2(flip * along.x);
        let middle = |off: &f64| (warp + off).to_radians() - lies;
        Turns::Near {
            middles: part
                .along
                .angles(one_way)
                .iter()
                .map(|off| (middle(off) as f32).rem_euclid(TAU))
                .collect(),
            slack: tolerance.to_radians() as f32,
        }
    }

    /// One of them: as often as not just along the grain.
    pub fn pick(&self, rng: &mut impl Rng) -> f32 {
        match self {
            Turns::Any => rng.random_range(0.0..TAU),
            Turns::Near { middles, slack } => {
                let middle = middles[rng.random_range(0..middles.len())];
                if *slack == 0.0 || rng.random_bool(0.5) {
                    middle
                } else {
                    middle + rng.random_range(-slack..*slack)
                }
            }
        }
    }

    /// The way round nearest to `turn` that is allowed.
    pub fn nearest(&self, turn: f32) -> f32 {
        let Turns::Near { middles, slack } = self else {
            return turn;
        };
        let off = |middle: &f32| {
            let off = (turn - middle).rem_euclid(TAU);
            if off > TAU / 2.0 { off - TAU } else { off }
        };
        let nearest = middles
            .iter()
            .min_by(|a, b| off(a).abs().total_cmp(&off(b).abs()));
        nearest.map_or(turn, |m| m + off(m).clamp(-slack, *slack))
    }

    /// How far a part may be turned from one of them: nothing, if they are single turns.
    pub fn slack(&self) -> f32 {
        match self {
            Turns::Any => TAU / 2.0,
            Turns::Near { slack, .. } => *slack,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lay::Along;
    use crate::lay::off_grain;
    use crate::shape::Region;
    use crate::space::{Piece, Point};
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    fn part(grain: [[f64; 2]; 2], face: Face, along: Along) -> Part {
        Part {
            outline: Region::<Piece>::disc(Point::zero(), 10.0),
            cloth: 0,
            grain: Some(grain.map(|[x, y]| Point::new(x, y))),
            along,
            face,
        }
    }

    #[test]
    fn every_turn_picked_is_along_the_grain_as_the_lay_measures_it() {
        let mut rng = ChaCha8Rng::seed_from_u64(1);
        for _ in 0..2000 {
            let grain = [[0.0; 2]; 2].map(|_| [0; 2].map(|_| rng.random_range(-9.0..9.0)));
            let face = [Face::Up, Face::Down][rng.random_range(0..2)];
            let along = [Along::Warp, Along::Bias, Along::Cross][rng.random_range(0..3)];
            let (warp, one_way) = (rng.random_range(-200.0..200.0), rng.random_bool(0.5));
            let part = part(grain, face, along);
            let turns = Turns::of(&part, warp, one_way, 2.0);
            for turn in [
                turns.pick(&mut rng),
                turns.nearest(rng.random_range(-9.0..9.0)),
            ] {
                let turn = f64::from(turn).to_degrees();
                let off = off_grain(part.grain.unwrap(), face, turn, warp, one_way).unwrap();
                let wanted: &[f64] = match along {
                    Along::Warp => &[0.0],
                    Along::Cross => &[90.0],
                    Along::Bias => &[45.0],
                };
                let least = wanted.iter().map(|w| (off - w).abs()).fold(90.0, f64::min);
                assert!(least < 2.001, "{along:?}, one way {one_way}: {off}");
            }
        }
    }

    #[test]
    fn no_grain_no_rule_and_no_slack_no_turning() {
        let mut free = part([[0.0, 0.0], [0.0, 0.0]], Face::Up, Along::Warp);
        assert_eq!(Turns::of(&free, 90.0, false, 2.0), Turns::Any);
        free.grain = Some([Point::new(0.0, 0.0), Point::new(0.0, 1.0)]);
        let turns = Turns::of(&free, 90.0, false, 0.0);
        assert_eq!(turns.slack(), 0.0);
        let near = turns.nearest(2.9);
        assert!((near - TAU / 2.0).abs() < 1e-5, "{near}");
        assert!(turns.nearest(TAU - 0.1).rem_euclid(TAU) < 1e-5);
    }
}
