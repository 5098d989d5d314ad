//! A sentence of ours told in the unit that a person asks for.
//!
//! Sentences are made where things are found, and there all is millimetres: a length in one
//! is a decimal number, a space and `mm`; a place is two in brackets, `(12, 34.5) mm`. What
//! stands in double quotes is a name that somebody chose, and is left as it is.

use super::Unit;

impl Unit {
    /// `text` with each length of it as [`Unit::show`] shows it; in millimetres as it is. A
    /// length that is not none and yet shorter than can be shown is `under` the unit's step.
    pub fn in_sentence(self, text: &str) -> String {
        if self == Unit::Mm {
            return text.to_owned();
        }
        let parts = text.split('"').enumerate().map(|(k, part)| {
            // Every other part is between quotes.
            if k % 2 == 0 {
                self.retold(part)
            } else {
                part.to_owned()
            }
        });
        parts.collect::<Vec<_>>().join("\"")
    }

    fn retold(self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut rest = text;
        while let Some(at) = rest.find(" mm") {
            let (before, after) = (&rest[..at], &rest[at + 3..]);
            match self.length(before).filter(|_| ends_word(after)) {
                Some((kept, told)) => {
                    out.push_str(kept);
                    out.push_str(&told);
                }
                None => out.push_str(&rest[..at + 3]),
            }
            rest = after;
        }
        out + rest
    }

    /// What stands before the length at the end of `text`, and that length told anew.
    fn length(self, text: &str) -> Option<(&str, String)> {
        if let Some(open) = text.strip_suffix(')').and_then(|t| t.rfind('(')) {
            let inner = &text[open + 1..text.len() - 1];
            let both: Option<Vec<f64>> = inner.split(", ").map(|n| n.parse().ok()).collect();
            let told: Vec<String> = both?.iter().map(|&mm| self.one(mm)).collect();
            return Some((&text[..open], format!("({})", told.join(", "))));
        }
        let from = text
            .rfind(|c: char| !(c.is_ascii_digit() || c == '.'))
            .map_or(0, |k| {
                k + text[k..].chars().next().map_or(1, char::len_utf8)
            });
        let number = &text[from..];
        let mm: f64 = number.parse().ok()?;
        // A sign is part of it; a letter before it makes it a name, `A4`.
        let sign = text[..from].ends_with('-');
        let kept = &text[..from - usize::from(sign)];
        if kept.ends_with(|c: char| c.is_alphanumeric() || c == '.' || c == '-') {
            return None;
        }
        Some((kept, self.one(if sign { -mm } else { mm })))
    }

    fn one(self, mm: f64) -> String {
        if mm != 0.0 && mm.abs() < self.step() / 2.0 {
            return format!("under {}", self.show(self.step()));
        }
        self.show(mm)
    }
}

/// Whether `mm` ends before this: not in `mm²`, nor in a file's name.
fn ends_word(after: &str) -> bool {
    let mut next = after.chars();
    match next.next() {
        Some('.') => !next.next().is_some_and(char::is_alphanumeric),
        Some(c) => !c.is_alphanumeric() && c != '²' && c != '/',
        None => true,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lengths_are_told_anew_and_nothing_else_is() {
        for (text, inches) in [
            (
                "the slit lies 12.7 mm from the end at \"tape 12 mm\"",
                "the slit lies 1/2 in from the end at \"tape 12 mm\"",
            ),
            ("take 6.35 mm out of it.", "take 1/4 in out of it."),
            ("it is -25.4 mm off", "it is -1 in off"),
            ("at (25.4, -50.8) mm, a crumb", "at (1 in, -2 in), a crumb"),
            ("they are 0.5 mm apart", "they are under 1/16 in apart"),
            ("they are 0.0 mm apart", "they are 0 in apart"),
            ("25.4 mm", "1 in"),
            // Areas, files, names, counts.
            ("a crumb of 12 mm² is left", "a crumb of 12 mm² is left"),
            (
                "band 25 mm.svg: it is 25.4 mm.",
                "band 25 mm.svg: it is 1 in.",
            ),
            ("page A4 mm", "page A4 mm"),
            ("2 of 4 lines, no mm here", "2 of 4 lines, no mm here"),
            ("Größe 25.4 mm", "Größe 1 in"),
        ] {
            assert_eq!(Unit::Inch.in_sentence(text), inches);
            assert_eq!(Unit::Mm.in_sentence(text), text);
        }
        assert_eq!(Unit::Cm.in_sentence("12.5 mm long"), "1.25 cm long");
    }

    proptest::proptest! {
        #[test]
        fn no_sentence_makes_it_stumble(text in "[ (),.0-9a-zé\"²-]{0,12}( mm[ .²a)]?){0,2}") {
            let _ = Unit::Inch.in_sentence(&text);
        }
    }
}
