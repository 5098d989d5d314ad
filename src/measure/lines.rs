//! A sentence in lines: so many letters long, or as long as there is room.

/// Breaks a text at its blanks into lines of at most `most` letters; a longer word has a line of
/// its own. Of nothing, one empty line.
pub fn lines(text: &str, most: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let line = lines.last().map_or(0, |l| l.chars().count());
        if line > 0 && line + 1 + word.chars().count() > most {
            lines.push(String::new());
        }
        if let Some(line) = lines.last_mut() {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
    }
    lines
}

/// Breaks a text at its blanks into lines that fit, as told of each; within a word only where
/// it does not fit by itself, and then a letter at least stands in a line. Of nothing, one
/// empty line.
pub fn fitted(text: &str, mut fits: impl FnMut(&str) -> bool) -> Vec<String> {
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() {
            word.to_owned()
        } else {
            format!("{line} {word}")
        };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if line.chars().count() > 1 && !fits(&line) {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() || lines.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_filled_and_no_word_is_broken() {
        assert_eq!(
            lines("lay it where it was", 9),
            ["lay it", "where it", "was"]
        );
        assert_eq!(lines("a longestword b", 5), ["a", "longestword", "b"]);
        assert_eq!(lines("müßig so", 8), ["müßig so"]);
        assert_eq!(lines(" ", 8), [""]);
    }

    #[test]
    fn a_word_is_broken_only_where_it_does_not_fit_by_itself() {
        let five = |text: &str| fitted(text, |line| line.chars().count() <= 5);
        assert_eq!(five("lay it down"), ["lay", "it", "down"]);
        assert_eq!(five("a longestword b"), ["a", "longe", "stwor", "d b"]);
        assert_eq!(fitted("äö", |_| false), ["ä", "ö"]);
        assert_eq!(five(" "), [""]);
    }
}
