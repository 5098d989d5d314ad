//! A sentence in lines.

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
}
