//! Where the marks lie roughly: one triangle, and one mark after another from it.

use super::Network;
use crate::fault::{Fault, Outcome, counted};
use crate::space::{Point, Rigid, Table, Vector};

/// Mark 1 at the origin, mark 2 on the x axis; none is further off than its readings.
pub(super) fn rough(net: &Network) -> Outcome<Vec<Point<Table>>> {
    let n = net.names.len();
    let first = largest_triangle(net).ok_or_else(|| loose(net))?;
    let mut at: Vec<Option<Point<Table>>> = vec![None; n];
    for (mark, place) in first {
        at[mark] = Some(place);
    }
    while at.iter().any(Option::is_none) {
        // The mark that is measured from the most known places, if that fixes it.
        let mut open: Vec<usize> = (0..n).filter(|k| at[*k].is_none()).collect();
        open.sort_by_key(|k| {
            let known = (0..n).filter(|o| at[*o].is_some() && net.between(*k, *o).is_some());
            std::cmp::Reverse(known.count())
        });
        let found = open
            .iter()
            .find_map(|k| Some((*k, by_distances(net, &at, *k)?)));
        let (k, place) = found.ok_or_else(|| not_fixed(net, open[0]))?;
        at[k] = Some(place);
    }
    let all: Vec<Point<Table>> = at.into_iter().flatten().collect();
    let along = all[1] - all[0];
    if along.length() < 1.0 {
        return Err(loose(net));
    }
    let turn: Rigid<Table, Table> = Rigid::new(false, -along.y.atan2(along.x), Vector::zero());
    let origin = all[0].to_vector();
    Ok(all.into_iter().map(|p| turn.point(p - origin)).collect())
}

/// Three marks and where they lie.
type Triangle = [(usize, Point<Table>); 3];

/// The triangle of the largest area among those whose three sides were read.
fn largest_triangle(net: &Network) -> Option<Triangle> {
    let n = net.names.len();
    let mut best: Option<(f64, Triangle)> = None;
    for a in 0..n {
        for b in a + 1..n {
            for c in b + 1..n {
                let Some([(_, ab), (_, bc), (_, ac)]) = net.sides([a, b, c]) else {
                    continue;
                };
                let x = (ab * ab + ac * ac - bc * bc) / (2.0 * ab);
                let y = (ac * ac - x * x).max(0.0).sqrt();
                if best.as_ref().is_none_or(|(area, _)| ab * y > *area) {
                    let places = [
                        (a, Point::zero()),
                        (b, Point::new(ab, 0.0)),
                        (c, Point::new(x, y)),
                    ];
                    best = Some((ab * y, places));
                }
            }
        }
    }
    best.filter(|(area, _)| *area > 100.0).map(|(_, p)| p)
}

/// A mark by three distances or more to places that are not in a line.
fn by_distances(net: &Network, at: &[Option<Point<Table>>], k: usize) -> Option<Point<Table>> {
    let known: Vec<(Point<Table>, f64)> = (0..at.len())
        .filter_map(|o| Some((at[o]?, net.between(k, o)?.1)))
        .collect();
    if known.len() < 3 {
        return None;
    }
    // Two circles meet in two places; the other distances say in which. The two
    // furthest apart meet best.
    let pairs = (0..known.len()).flat_map(|i| (i + 1..known.len()).map(move |j| (i, j)));
    let (i, j) = pairs.max_by(|a, b| {
        let apart = |(i, j): (usize, usize)| (known[i].0 - known[j].0).length();
        apart(*a).total_cmp(&apart(*b))
    })?;
    let ((p, r), (q, s)) = (known[i], known[j]);
    let along = q - p;
    let d = along.length();
    let way = along / d;
    let x = (r * r - s * s + d * d) / (2.0 * d);
    let y = (r * r - x * x).max(0.0).sqrt();
    let foot = p + way * x;
    let across = Vector::new(-way.y, way.x);
    let off = |place: Point<Table>| -> f64 {
        known
            .iter()
            .map(|(m, r)| ((place - *m).length() - r).powi(2))
            .sum()
    };
    let both = [foot + across * y, foot - across * y];
    let [one, other] = both.map(off);
    // As good on either side: all that it was measured from is in one line.
    let in_line = known.iter().all(|(m, _)| (*m - p).cross(way).abs() < 1.0);
    if in_line && y > 1.0 {
        return None;
    }
    Some(if one <= other { both[0] } else { both[1] })
}

fn not_fixed(net: &Network, k: usize) -> Fault {
    let fault = Fault::input(
        format!(
            "{} may lie on either side of a line: it is measured from too few marks",
            net.names[k]
        ),
        "measure from it to three marks or more that are not in a line",
    );
    let of_it = (0..net.readings.len()).filter(|r| {
        let reading = &net.readings[*r];
        [reading.from, reading.to].contains(&k)
    });
    net.on_lines(fault, of_it)
}

pub(super) fn loose(net: &Network) -> Fault {
    Fault::input(
        format!(
            "{} not enough to place {}",
            counted(net.readings.len(), "reading is", "readings are"),
            counted(net.names.len(), "mark", "marks")
        ),
        "measure between more of them: best each from every other",
    )
}
