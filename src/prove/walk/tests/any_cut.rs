//! Whatever is cut apart along a line walks to zero.

use super::*;

/// A gently waving line of at least 150 mm from the origin, and notches off its middle.
fn waving() -> impl Strategy<Value = (Vec<At>, Vec<(f64, NotchKind)>)> {
    let steps = prop::collection::vec((4.0..12.0f64, -2.5..2.5f64), 24..60);
    (
        steps,
        prop::collection::vec((0.06..0.94f64, 0usize..3), 1..5),
    )
        .prop_map(|(steps, marks)| {
            let mut p = Point::origin();
            let mut line = vec![p];
            for (dx, dy) in steps {
                p += Vector::new(dx, dy);
                line.push(p);
            }
            let whole = length(&line);
            let mut marks: Vec<_> = marks
                .into_iter()
                .map(|(s, k)| (s * whole, KINDS[k]))
                .collect();
            marks.sort_by(|a, b| a.0.total_cmp(&b.0));
            // Those within 25 mm of one another could be taken for each other, mirrored or not.
            marks.dedup_by(|b, a| b.0 - a.0 < 25.0);
            (line, marks)
        })
}

/// The piece on the other side of the line.
fn partner(line: &[At], marks: &[(f64, NotchKind)]) -> PatternPiece {
    let whole = length(line);
    let back: Vec<At> = line.iter().rev().copied().collect();
    let marks: Vec<_> = marks.iter().map(|&(s, k)| (whole - s, k)).collect();
    cloth("b", &back, 140.0, &marks)
}

fn moved(piece: &PatternPiece, by: &Rigid<PieceSpace, PieceSpace>) -> PatternPiece {
    let mut out = piece.clone();
    let line = |l: &mut Polyline| l.iter_mut().for_each(|p| *p = by.point(*p));
    out.net.iter_mut().for_each(|l| line(&mut l.points));
    out.edges.iter_mut().for_each(|e| e.at = by.point(e.at));
    if by.mirrored {
        // An edge begins where it ended.
        let ends: Vec<_> = (0..out.edges.len())
            .map(|k| out.edges[(k + 1) % out.edges.len()].at)
            .collect();
        out.edges.iter_mut().zip(ends).for_each(|(e, at)| e.at = at);
    }
    for n in &mut out.notches {
        n.at = by.point(n.at);
        n.inward = by.vector(n.inward);
    }
    out
}

/// More vertices on the same line.
fn divided(piece: &PatternPiece, at: f64) -> PatternPiece {
    let mut out = piece.clone();
    let ring = &piece.net[0].points;
    let next = |k: usize| ring[(k + 1) % ring.len()];
    out.net[0].points = (0..ring.len())
        .flat_map(|k| [ring[k], ring[k] + (next(k) - ring[k]) * at])
        .collect();
    out
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// Two pieces cut apart along a line walk to zero, however they are turned, mirrored
    /// or re-parametrised, and every notch meets its own.
    #[test]
    fn two_sides_of_one_cut_walk_to_zero(
        (line, marks) in waving(),
        (turn, mirrored, at) in (-7.0..7.0f64, any::<bool>(), 0.1..0.9f64),
        (x, y) in (-500.0..500.0f64, -500.0..500.0f64),
    ) {
        let by = Rigid::new(mirrored, turn, Vector::new(x, y));
        let pieces = [cloth("a", &line, 120.0, &marks), divided(&moved(&partner(&line, &marks), &by), at)];
        let (r, found) = walked(&pieces, &seam(&["a: e"], &["b: e"], 0.0));
        prop_assert!(r.difference_mm.abs() < 1e-9, "{}", r.difference_mm);
        prop_assert_eq!(&found, &[]);
        prop_assert_eq!(r.landings.len(), 2 * marks.len());
        for l in &r.landings {
            prop_assert!(l.off_mm.abs() < 1e-6 && (l.along_mm - l.lands_mm).abs() < 1e-6);
        }
        // Where the notches tell which way round, mirroring is found out.
        if !r.either_way {
            prop_assert_eq!(r.same_way, mirrored);
        }
    }

    /// One side cut into three pieces: the walk of one to many is the same.
    #[test]
    fn one_to_many_walks_to_zero((line, marks) in waving(), cuts in (0.2..0.45f64, 0.55..0.8f64)) {
        let n = line.len() as f64;
        let (i, j) = ((cuts.0 * n) as usize, (cuts.1 * n) as usize);
        let whole = length(&line);
        let mut pieces = vec![cloth("a", &line, 120.0, &marks)];
        for (name, part) in ["b", "c", "d"].into_iter().zip([&line[..=i], &line[i..=j], &line[j..]]) {
            let begin = match name { "b" => 0.0, "c" => length(&line[..=i]), _ => length(&line[..=j]) };
            let len = length(part);
            let own: Vec<_> = marks
                .iter()
                .filter(|(s, _)| *s > begin && *s < begin + len)
                .map(|&(s, k)| (s - begin, k))
                .collect();
            let mut p = partner(part, &own);
            p.name = name.into();
            pieces.push(p);
        }
        let (r, found) = walked(&pieces, &seam(&["a: e"], &["b: e", "c: e", "d: e"], 0.0));
        prop_assert!(r.difference_mm.abs() < 1e-9 && (r.one_mm - whole).abs() < 1e-9);
        prop_assert_eq!(&found, &[]);
    }

    /// A notch put out of place is told by that much, and moved back by that much.
    #[test]
    fn a_notch_out_of_place_is_told_by_how_much(
        (line, _) in waving(), s in 0.2..0.45f64, by in 1.5..6.0f64, on in any::<bool>(),
    ) {
        let whole = length(&line);
        let by = if on { by } else { -by };
        let marks = [(s * whole, S), (0.7 * whole, V)];
        let off = [(s * whole + by, S), (0.7 * whole, V)];
        let pieces = [cloth("a", &line, 120.0, &marks), partner(&line, &off)];
        let (r, found) = walked(&pieces, &seam(&["a: e"], &["b: e"], 0.0));
        let slit = r.landings.iter().find(|l| l.kind == "slit").unwrap();
        prop_assert!((slit.off_mm + by).abs() < 1e-6, "{} {by}", slit.off_mm);
        prop_assert_eq!(found.len(), 1);
        // b runs against the seam: its start is the seam's end.
        let end = if on { "after" } else { "before" };
        prop_assert_eq!(&found[0].remedy, &format!("move the slit on \"b: e\" {:.1} mm towards the end at \"{end}\"", by.abs()));
    }
}
