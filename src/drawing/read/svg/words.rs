//! The words by which an element is called: its label and its id.

use std::borrow::Cow;

use roxmltree::Node;

const INKSCAPE: &str = "http://www.inkscape.org/namespaces/inkscape";

/// What `node` is called, the strongest first: the label, the `data-name` that
/// editors write beside an id that they had to mangle, and the id as it was
/// before it was mangled.
pub fn names<'a>(node: Node<'a, '_>) -> impl Iterator<Item = Cow<'a, str>> {
    let label = node.attribute((INKSCAPE, "label"));
    let data = node.attribute("data-name");
    let id = node.attribute("id").map(decoded);
    let said = [label, data].map(|name| name.map(Cow::Borrowed));
    said.into_iter().chain([id]).flatten()
}

/// The words of `text`, cut at white space, digits and `-_.,:`. Where it does
/// not begin with a letter, the first is empty.
pub fn words(text: &str) -> impl Iterator<Item = &str> {
    let cut = |c: char| c.is_whitespace() || c.is_ascii_digit() || "-_.,:".contains(c);
    text.trim_start().split(cut)
}

/// `id` with each `_xHH_` (hexadecimal) back to the letter that an editor
/// wrote it for.
pub fn decoded(id: &str) -> Cow<'_, str> {
    let mut out = String::new();
    let mut rest = id;
    let mut begun = rest;
    while let Some(at) = begun.find("_x") {
        let code = &begun[at + 2..];
        let letter = code.split_once('_').and_then(|(hex, after)| {
            let is_code =
                (2..=6).contains(&hex.len()) && hex.bytes().all(|b| b.is_ascii_hexdigit());
            let number = is_code
                .then(|| u32::from_str_radix(hex, 16).ok())
                .flatten()?;
            let letter = char::from_u32(number).filter(|c| !c.is_control())?;
            Some((letter, after))
        });
        match letter {
            Some((letter, after)) => {
                out.push_str(&rest[..rest.len() - begun.len() + at]);
                out.push(letter);
                rest = after;
                begun = after;
            }
            None => begun = code,
        }
    }
    if out.is_empty() {
        return Cow::Borrowed(id);
    }
    out.push_str(rest);
    Cow::Owned(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mangled_ids_are_read_as_they_were_written() {
        for (id, read) in [
            ("piece_x20_upper", "piece upper"),
            ("notch_x20_double_1_", "notch double_1_"),
            ("_x31_ _x5F_x20_", "1 _x20_"),
            ("k_xE4__xe4_", "kää"),
            ("front_x_back", "front_x_back"),
            ("_x0A_x7_x110000_x", "_x0A_x7_x110000_x"),
            ("a_xé_x20_b", "a_xé b"),
            ("plain", "plain"),
        ] {
            assert_eq!(decoded(id), read);
        }
    }

    #[test]
    fn words_end_at_every_mark_that_names_are_cut_by() {
        let list = |text: &'static str| words(text).filter(|w| !w.is_empty()).collect::<Vec<_>>();
        assert_eq!(
            list(" a-b_c.d,e:f g1h"),
            ["a", "b", "c", "d", "e", "f", "g", "h"]
        );
        assert_eq!(words("-cut").next(), Some(""));
    }
}
