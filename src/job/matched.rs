//! Which entry of a changed list was which before, so that each keeps its
//! comments. A wrong guess costs a comment its place, never a value.

use toml::Value as Plain;

/// For each entry of `now` the entry of `was` that it comes from, each used
/// once.
pub fn matched(was: &[Plain], now: &[Plain]) -> Vec<Option<usize>> {
    let tables = |list: &[Plain]| list.iter().all(Plain::is_table);
    if !(tables(was) && tables(now)) {
        return in_order(was, now);
    }
    let mut plan = vec![None; now.len()];
    let mut used = vec![false; was.len()];
    // From the surest sign to the weakest.
    let signs: [fn(&Plain, &Plain) -> bool; 5] = [
        |o, n| same(o, n, "id") || same(o, n, "name") || same(o, n, "file"),
        |o, n| o == n,
        |o, n| may(o, n) && like(o, n, &["x_mm", "y_mm", "turn_deg"]),
        |o, n| may(o, n) && like(o, n, &["panel", "face"]),
        |o, n| may(o, n) && like(o, n, &["cloth"]),
    ];
    for sign in signs {
        for (at, new) in now.iter().enumerate() {
            if plan[at].is_some() {
                continue;
            }
            let fits = |k: &usize| !used[*k] && sign(&was[*k], new);
            // Most entries stay where they are.
            let beside = (at < was.len()).then_some(at);
            if let Some(k) = beside.into_iter().chain(0..was.len()).find(fits) {
                plan[at] = Some(k);
                used[k] = true;
            }
        }
    }
    plan
}

/// Entries without a name, such as corners: what is alike at both ends stays,
/// and between them one takes the place of the other.
fn in_order(was: &[Plain], now: &[Plain]) -> Vec<Option<usize>> {
    let least = was.len().min(now.len());
    let front = was.iter().zip(now).take_while(|(a, b)| a == b).count();
    let back = was.iter().rev().zip(now.iter().rev());
    let back = back.take(least - front).take_while(|(a, b)| a == b).count();
    let middle = least - back;
    (0..now.len())
        .map(|at| {
            if at < middle {
                Some(at)
            } else if at >= now.len() - back {
                Some(at + was.len() - now.len())
            } else {
                None
            }
        })
        .collect()
}

fn same(a: &Plain, b: &Plain, key: &str) -> bool {
    a.get(key).is_some() && a.get(key) == b.get(key)
}

/// Whether neither has a sign of its own, or only one has: two numbers or two
/// names are two things.
fn may(a: &Plain, b: &Plain) -> bool {
    let apart = |key| a.get(key).is_some() && b.get(key).is_some();
    !["id", "name", "file"].into_iter().any(apart)
}

/// Whether piece and article are the same, and `keys`.
fn like(a: &Plain, b: &Plain, keys: &[&str]) -> bool {
    let same = |key: &&str| a.get(*key) == b.get(*key);
    ["piece", "article"].iter().all(same) && keys.iter().all(same)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list(text: &str) -> Vec<Plain> {
        let table: toml::Table = toml::from_str(text).unwrap();
        table["l"].as_array().unwrap().clone()
    }

    #[test]
    fn corners_are_matched_from_both_ends() {
        let was = list("l = [[0, 0], [1, 0], [1, 1], [0, 1]]");
        let more = list("l = [[0, 0], [1, 0], [1, 0.5], [1, 1], [0, 1]]");
        assert_eq!(
            matched(&was, &more),
            [Some(0), Some(1), None, Some(2), Some(3)]
        );
        let fewer = list("l = [[0, 0], [0, 1]]");
        assert_eq!(matched(&was, &fewer), [Some(0), Some(3)]);
        let other = list("l = [[0, 0], [1, 0], [2, 1], [0, 1]]");
        assert_eq!(matched(&was, &other), [Some(0), Some(1), Some(2), Some(3)]);
        // The same corner twice is not counted for both ends.
        let twice = list("l = [[5, 5], [5, 5]]");
        assert_eq!(matched(&twice, &twice[..1]), [Some(0)]);
        assert_eq!(matched(&twice[..1], &twice), [Some(0), None]);
        assert_eq!(matched(&[], &twice), [None, None]);
    }

    #[test]
    fn pieces_are_known_by_number_then_by_looks() {
        let was = list(
            "l = [{piece = 'a', article = '1', x_mm = 1}, {piece = 'a', article = '1', x_mm = 2},
            {piece = 'b', article = '1', x_mm = 3}]",
        );
        // The first was taken away, all got numbers, the last was moved.
        let now = list(
            "l = [{piece = 'a', article = '1', x_mm = 2, id = 2},
            {piece = 'b', article = '1', x_mm = 9, id = 3}]",
        );
        assert_eq!(matched(&was, &now), [Some(1), Some(2)]);
        // Two numbers are two pieces, however alike.
        let next = list("l = [{piece = 'a', article = '1', x_mm = 2, id = 4}]");
        assert_eq!(matched(&now, &next), [None]);
    }
}
