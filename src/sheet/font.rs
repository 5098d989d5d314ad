//! How wide text is in the one font that pages are written in.

use crate::measure::fitted;

/// Widths of Helvetica's letters from space to tilde, thousandths of the size (Adobe Core 14
/// font metrics, Helvetica.afm).
const WIDTHS: [u16; 95] = [
    278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, 556, 556, 556,
    556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, 1015, 667, 667, 722, 722, 667,
    611, 778, 722, 278, 500, 667, 556, 833, 722, 778, 667, 778, 722, 667, 611, 722, 667, 944, 667,
    667, 611, 278, 278, 278, 469, 556, 333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500,
    222, 833, 556, 556, 556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
];

/// What is not in that table is mostly an accented letter: as wide as most small ones.
const OTHERS: u16 = 556;

/// How wide a line of text is, in the unit of its size.
pub fn width(text: &str, size: f64) -> f64 {
    let of = |c: char| {
        let at = u32::from(c).checked_sub(32).map(|k| k as usize);
        f64::from(at.and_then(|k| WIDTHS.get(k)).copied().unwrap_or(OTHERS))
    };
    text.chars().map(of).sum::<f64>() / 1000.0 * size
}

/// Text broken at blanks into lines that are no wider than `most`; a word that is wider by
/// itself is cut.
pub fn broken(text: &str, size: f64, most: f64) -> Vec<String> {
    fitted(text, |line| width(line, size) <= most)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against reportlab's metrics: `tests/reference/helvetica.py`.
    #[test]
    fn text_is_as_wide_as_the_font_says() {
        let text = include_str!("../../tests/reference/helvetica.json");
        let all: Vec<(String, f64)> = serde_json::from_str(text).unwrap();
        assert!(all.len() > 5);
        for (text, wide) in all {
            assert!((width(&text, 10.0) - wide).abs() < 1e-6, "{text}: {wide}");
        }
    }

    #[test]
    fn lines_are_broken_at_blanks() {
        let text = "heel band lining, cut 2 on the fold";
        let lines = broken(text, 3.0, 25.0);
        assert!(lines.len() > 1 && lines.join(" ") == text, "{lines:?}");
        assert!(lines.iter().all(|l| width(l, 3.0) <= 25.0));
        let long = broken("a mmmmmmmmmmmmmmmmmmmm b", 3.0, 20.0);
        assert!(long.iter().all(|l| width(l, 3.0) <= 20.0), "{long:?}");
        assert_eq!(broken("é", 10.0, 0.1), ["é"]);
        assert_eq!(broken("", 3.0, 20.0), [""]);
    }
}
