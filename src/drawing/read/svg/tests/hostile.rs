//! Files made, or broken, so as to cost too much.

use proptest::prelude::*;

use super::{page, parse, refused, sample};

#[test]
fn deep_nesting_ends_in_a_fault_and_not_in_the_stack() {
    let deep = page(&("<g>".repeat(100_000) + &"</g>".repeat(100_000)));
    assert!(
        parse(deep.as_bytes())
            .unwrap_err()
            .what
            .contains("256 deep")
    );
    let cut_short = "<g>".repeat(100_000);
    assert!(
        parse(cut_short.as_bytes())
            .unwrap_err()
            .what
            .contains("256 deep")
    );
}

#[test]
fn the_deepest_nesting_that_is_let_in_is_walked() {
    let levels = 254;
    let body = "<g>".repeat(levels) + "<circle r='9'/>" + &"</g>".repeat(levels);
    assert!(parse(page(&body).as_bytes()).is_ok());
}

#[test]
fn a_flood_of_attributes_ends_in_a_fault() {
    let many: String = (0..100_000).map(|i| format!(" a{i}=''")).collect();
    assert!(
        refused(&format!("<g{many}/>"))
            .what
            .contains("512 settings")
    );
}

#[test]
fn a_flood_of_points_or_things_left_out_is_survived() {
    let data = "h1v1".repeat(2_100_000);
    assert!(
        refused(&format!("<path d='M0 0{data}'/>"))
            .what
            .contains("4 million")
    );
    let curves = "<path d='M0 0Q5e4 9e4 9e4 0'/>".repeat(9_000);
    assert!(refused(&curves).what.contains("4 million"));
    let images = "<image/>".repeat(50_000) + "<circle r='9'/>";
    let pattern = parse(page(&images).as_bytes()).unwrap();
    assert_eq!(
        pattern.left_out,
        ["line 2 and 49999 more: they are no shapes that can be read."]
    );
}

/// A path of 10 MB: a closed ripple of 560 000 points, each second one `tooth`
/// mm farther out.
fn long_path(tooth: f64) -> String {
    let count = 560_000;
    let points = (0..count).map(|i| {
        let angle = f64::from(i) / f64::from(count) * std::f64::consts::TAU;
        let radius = 2000.0 + 40.0 * (angle * 50.0).sin() + tooth * f64::from(i % 2);
        format!("L{:.4},{:.4}\n", radius * angle.cos(), radius * angle.sin())
    });
    format!("<path d='M{}Z'/>", &points.collect::<String>()[1..])
}

#[test]
fn a_path_of_ten_megabytes_is_read() {
    let path = long_path(0.0);
    assert!(path.len() > 10_000_000, "{}", path.len());
    let begun = std::time::Instant::now();
    let pattern = parse(page(&path).as_bytes()).unwrap();
    let points = pattern.pieces[0].cut[0].len();
    println!("10 MB path: {points} points in {:?}", begun.elapsed());
    assert!((1000..10_000).contains(&points), "{points}");
}

#[test]
fn an_outline_too_ragged_to_follow_is_refused() {
    let fault = refused(&long_path(0.05));
    assert_eq!(
        fault.to_string(),
        "line 2, path: the cut line has 560000 points, more than 20 000: \
         it is too fine or too ragged to follow; draw it with fewer points."
    );
}

/// What a tracer of pictures or a long export makes of a circle.
#[test]
fn a_circle_of_400_000_points_becomes_one_of_hundreds() {
    let points = (0..400_000).map(|i| {
        let angle = f64::from(i) / 400_000.0 * std::f64::consts::TAU;
        format!(
            " {:.5},{:.5}",
            90.0 * angle.cos() + 250.0,
            90.0 * angle.sin() + 250.0
        )
    });
    let body = format!("<polygon points='{}'/>", points.collect::<String>());
    let begun = std::time::Instant::now();
    let pattern = parse(page(&body).as_bytes()).unwrap();
    let cut = &pattern.pieces[0].cut[0];
    println!("400 000 points to {} in {:?}", cut.len(), begun.elapsed());
    assert!(cut.len() < 2000, "{}", cut.len());
    for (&a, &b) in cut.iter().zip(cut.iter().cycle().skip(1)) {
        for p in [a, a.lerp(b, 0.5)] {
            let off = (p.to_vector().length() - 90.0).abs();
            assert!(off <= 0.02, "{off}");
        }
    }
}

/// Two sides of a slit nearer than the tolerance, which simplified on its own
/// each could cross the other.
#[test]
fn simplifying_never_makes_a_sound_outline_cross_itself() {
    let side = |down: f64| {
        let point = move |i: i32| {
            let x = f64::from(i) / 2.0;
            (x, 50.0 + 0.004 * (x * 0.3).sin() + down)
        };
        (0..=100).map(point)
    };
    // The slit runs from the left edge inwards and back.
    let mut points: Vec<(f64, f64)> = side(0.0005).collect();
    points.extend(side(0.0).rev());
    let slit: String = points.iter().map(|(x, y)| format!("L{x} {y}")).collect();
    let body = format!("<path d='M0 0H100V100H0{slit}z'/>");
    let cut = &parse(page(&body).as_bytes()).unwrap().pieces[0].cut[0];
    let all: f64 = super::area(cut);
    assert!((all - (1e4 - 50.0 * 0.0005)).abs() < 0.6, "{all}");
}

fn samples() -> Vec<Vec<u8>> {
    [
        "every_role.svg",
        "layers.svg",
        "old_editor.svg",
        "plain.svg",
    ]
    .map(|name| std::fs::read(sample(name)).unwrap())
    .to_vec()
}

fn same_or_fault(bytes: &[u8]) {
    // Whatever it is, it must be an answer, and a sound one.
    if let Ok(pattern) = parse(bytes) {
        assert!(!pattern.pieces.is_empty());
        for line in pattern.pieces.iter().flat_map(|p| &p.cut) {
            assert!(line.len() > 2 && super::area(line) > 0.0);
            assert!(line.iter().all(|p| p.x.is_finite() && p.y.is_finite()));
        }
    }
}

#[test]
fn a_file_cut_short_anywhere_never_passes() {
    for whole in samples() {
        let end = whole.iter().rposition(|&b| b == b'<').unwrap();
        for length in (0..end + 1).step_by(7) {
            assert!(parse(&whole[..length]).is_err(), "{length}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn noise_never_panics(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        same_or_fault(&bytes);
        let text = String::from_utf8_lossy(&bytes);
        same_or_fault(format!("<svg>{text}</svg>").as_bytes());
        same_or_fault(page(&format!("<path d=\"{text}\"/>")).as_bytes());
        same_or_fault(page(&format!("<style><![CDATA[{text}]]></style>")).as_bytes());
    }

    #[test]
    fn a_style_sheet_of_noise_never_panics(text in "[a-z.#*>+:,{}\\[\\]~|='\"/@! \u{e4}\u{d7}-]{0,80}") {
        let sheet = format!("{text}{{display:none}} .x{{display:none}}");
        let body = format!("<style><![CDATA[{sheet}]]></style><g class='a x'><rect width='9' height='9'/></g>");
        same_or_fault(page(&body).as_bytes());
    }

    #[test]
    fn path_data_of_noise_never_panics(data in "[MmLlHhVvCcSsQqTtAaZz0-9., eE+-]{0,120}") {
        same_or_fault(page(&format!("<path d='M0 0{data}'/>")).as_bytes());
    }

    #[test]
    fn a_file_with_bytes_changed_never_panics(
        which in 0..4usize,
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..3u8), 1..6),
    ) {
        let mut bytes = samples().swap_remove(which);
        for (index, byte, kind) in changes {
            let at = index.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => drop(bytes.remove(at)),
            }
        }
        same_or_fault(&bytes);
    }
}
