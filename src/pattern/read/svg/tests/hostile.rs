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
            .contains("512 attributes")
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
    assert!(pattern.left_out.len() < 1000);
    assert!(pattern.left_out.last().unwrap().contains("more things"));
}

/// A path of 10 MB: a closed ripple of some 600,000 points.
pub(super) fn long_path() -> String {
    let count = 560_000;
    let points = (0..count).map(|i| {
        let angle = f64::from(i) / f64::from(count) * std::f64::consts::TAU;
        let radius = 2000.0 + 40.0 * (angle * 50.0).sin() + 0.02 * f64::from(i % 2);
        format!("L{:.4},{:.4}\n", radius * angle.cos(), radius * angle.sin())
    });
    format!("<path d='M{}Z'/>", &points.collect::<String>()[1..])
}

#[test]
fn a_path_of_ten_megabytes_is_read() {
    let path = long_path();
    assert!(path.len() > 10_000_000, "{}", path.len());
    let begun = std::time::Instant::now();
    let pattern = parse(page(&path).as_bytes()).unwrap();
    println!("10 MB path: {:?}", begun.elapsed());
    assert!(pattern.pieces[0].cut[0].len() > 500_000);
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
