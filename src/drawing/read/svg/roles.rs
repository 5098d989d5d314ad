//! What the drawing says its groups and shapes are.
//!
//! Words are told from `data-` attributes first, then classes, then the
//! editor's label, then `data-name`, then the id; capitals do not matter.

use std::borrow::Cow;

use roxmltree::Node;

pub use super::drawn::roles::{Role, Told};
use super::place::excerpt;
use super::words::{names, words};
use crate::fault::{Fault, Outcome};
use crate::pattern::NotchKind;

/// Most pieces that one drawing may ask for of one kind.
const MAX_COUNT: u32 = 999;

/// What `node` says of itself.
pub fn told<'a>(node: Node<'a, '_>) -> Told<'a> {
    let data = node.attribute("data-role").map(str::trim);
    if let Some(word) = data.filter(|word| !word.is_empty()) {
        return Role::of(word).map_or(Told::Unknown(word), Told::Role);
    }
    let named = || names(node).find_map(|name| words(&name).next().and_then(Role::of));
    let role = classes(node).find_map(Role::of).or_else(named);
    role.map_or(Told::Nothing, Told::Role)
}

fn classes<'a>(node: Node<'a, '_>) -> impl Iterator<Item = &'a str> {
    let class = node.attribute("class").unwrap_or_default();
    class.split_ascii_whitespace()
}

/// How the notch is clipped, if `node` says: in `data-notch`, in a class, or
/// in a word after `notch` in what it is called.
///
/// # Errors
///
/// When its `data-notch` is no kind of notch.
pub fn notch_kind(node: Node) -> Outcome<Option<NotchKind>> {
    let kind = |word: &str| match word.to_ascii_lowercase().as_str() {
        "slit" => Some(NotchKind::Slit),
        "double" => Some(NotchKind::Double),
        "vee" => Some(NotchKind::Vee),
        _ => None,
    };
    let named = || {
        names(node).find_map(|name| {
            let mut words = words(&name);
            let role = words.next().and_then(Role::of);
            (role == Some(Role::Notch)).then(|| words.find_map(kind))?
        })
    };
    match node.attribute("data-notch").map(str::trim) {
        None | Some("") => Ok(classes(node).find_map(kind).or_else(named)),
        Some(word) => match kind(word) {
            None => Err(Fault::input(
                format!("\"{}\" is no kind of notch", excerpt(word)),
                "set data-notch to slit, double or vee",
            )),
            known => Ok(known),
        },
    }
}

/// The name of the piece that the group `node` is, if it is one.
///
/// # Errors
///
/// When it says that it is a piece, but not its name.
pub fn piece_name<'a>(node: Node<'a, '_>) -> Outcome<Option<Cow<'a, str>>> {
    let unnamed = || {
        Fault::input(
            "the group is a piece without a name",
            "give it a name in data-piece",
        )
    };
    let filled = |name: Cow<'a, str>| {
        let name = part(name, str::trim);
        Some(name).filter(|name| !name.is_empty())
    };
    let attribute = |name| node.attribute(name).map(Cow::Borrowed);
    if let Some(name) = attribute("data-piece") {
        return filled(name).map(Some).ok_or_else(unnamed);
    }
    if classes(node).any(|class| class.eq_ignore_ascii_case("piece")) {
        let name = attribute("data-name").and_then(filled);
        let name = name.or_else(|| names(node).find_map(filled));
        return name.map(Some).ok_or_else(unnamed);
    }
    for name in names(node) {
        if after_piece(&name).is_some() {
            let rest = part(name, |name| after_piece(name).unwrap_or_default());
            return filled(rest).map(Some).ok_or_else(unnamed);
        }
    }
    Ok(None)
}

/// The part of `text` that `cut` leaves.
fn part<'a>(text: Cow<'a, str>, cut: impl Fn(&str) -> &str) -> Cow<'a, str> {
    match text {
        Cow::Borrowed(text) => Cow::Borrowed(cut(text)),
        Cow::Owned(text) => Cow::Owned(cut(&text).to_owned()),
    }
}

/// What follows `piece ` at the start of a label or an id.
fn after_piece(text: &str) -> Option<&str> {
    let text = text.trim();
    let (word, rest) = (text.get(..5)?, text.get(5..)?);
    let parted = word.eq_ignore_ascii_case("piece");
    rest.strip_prefix([' ', '-', '_', ',', ':'])
        .filter(|_| parted)
}

/// How many of the piece the drawing asks for, and whether as left and right.
///
/// # Errors
///
/// When `data-cut` is not 1 to 999, `data-pair` neither yes nor no, or a pair
/// is asked for in an odd number.
pub fn count_and_pair(node: Node) -> Outcome<(u32, bool)> {
    let count = match node.attribute("data-cut").map(str::trim) {
        None => 1,
        Some(text) => match text.parse() {
            Ok(count @ 1..=MAX_COUNT) => count,
            _ => {
                return Err(Fault::input(
                    format!("data-cut is \"{}\", which is no count", excerpt(text)),
                    "set it to a whole number from 1 to 999",
                ));
            }
        },
    };
    let pair = match node.attribute("data-pair").map(str::trim) {
        None => false,
        Some(text) if ["yes", "true"].iter().any(|w| text.eq_ignore_ascii_case(w)) => true,
        Some(text) if ["no", "false"].iter().any(|w| text.eq_ignore_ascii_case(w)) => false,
        Some(text) => {
            return Err(Fault::input(
                format!("data-pair is \"{}\"", excerpt(text)),
                "set it to yes or no",
            ));
        }
    };
    if pair && count % 2 == 1 {
        let remedy = match count {
            1 => "say data-cut=\"2\"",
            _ => "set data-cut to an even number",
        };
        return Err(Fault::input("a pair is cut in even numbers", remedy));
    }
    Ok((count, pair))
}

#[cfg(test)]
mod tests {
    use super::*;

    const INKSCAPE: &str = "http://www.inkscape.org/namespaces/inkscape";

    fn with<T>(attributes: &str, ask: impl Fn(Node) -> T) -> T {
        let text = format!("<g xmlns:inkscape='{INKSCAPE}' {attributes}/>");
        ask(roxmltree::Document::parse(&text).unwrap().root_element())
    }

    fn role(attributes: &str) -> Option<Role> {
        with(attributes, |node| match told(node) {
            Told::Role(role) => Some(role),
            _ => None,
        })
    }

    #[test]
    fn a_role_comes_from_data_then_class_then_label_then_id() {
        let all = "data-role='cut' class='x net' inkscape:label='grain' id='fold'";
        assert_eq!(role(all), Some(Role::Cut));
        assert_eq!(role(&all.replace("'cut'", "''")), Some(Role::Net));
        assert_eq!(role(&all[16..].replace("net", "st0")), Some(Role::Grain));
        assert_eq!(role("inkscape:label='path 1' id='fold'"), Some(Role::Fold));
    }

    #[test]
    fn a_word_ends_at_a_space_a_dash_a_dot_an_underscore_or_a_digit() {
        for id in [
            "cutout", "cutout 1", "cutout-a", "Cutout_a", "cutout.a", "CUTOUT12",
        ] {
            assert_eq!(role(&format!("id='{id}'")), Some(Role::Cutout), "{id}");
        }
        assert_eq!(role("inkscape:label='cutout, round'"), Some(Role::Cutout));
        assert_eq!(role("id='cutout:a'"), Some(Role::Cutout));
        assert_eq!(role("id='cutout_x20_a'"), Some(Role::Cutout));
        assert_eq!(role("data-name='net' id='cut'"), Some(Role::Net));
        assert_eq!(
            role("inkscape:label='net' data-name='cut'"),
            Some(Role::Net)
        );
        for id in ["path12", "cuts", "grainline", "-cut", "", "a-cut"] {
            assert_eq!(role(&format!("id='{id}'")), None, "{id}");
        }
    }

    #[test]
    fn a_role_in_data_that_is_not_known_is_not_guessed_around() {
        let unknown = with("data-role='ntoch' class='cut'", |node| {
            matches!(told(node), Told::Unknown("ntoch"))
        });
        assert!(unknown);
    }

    fn name(attributes: &str) -> Result<Option<String>, Fault> {
        with(attributes, |node| {
            piece_name(node).map(|name| name.map(Cow::into_owned))
        })
    }

    #[test]
    fn a_piece_group_is_told_and_named_by_each_way() {
        let named = |attributes: &str| name(attributes).unwrap();
        assert_eq!(named("data-piece=' upper '"), Some("upper".into()));
        let class = "class='a piece' data-name='n' inkscape:label='l' id='i'";
        assert_eq!(named(class), Some("n".into()));
        assert_eq!(named(&class.replace("data-name='n'", "")), Some("l".into()));
        assert_eq!(named("class='piece' id='i'"), Some("i".into()));
        assert_eq!(
            named("inkscape:label='Piece back yoke' id='g1'"),
            Some("back yoke".into())
        );
        assert_eq!(named("id='piece_sleeve'"), Some("sleeve".into()));
        assert_eq!(named("id='piece-sleeve'"), Some("sleeve".into()));
        assert_eq!(
            named("data-name='piece upper' id='piece_x20_lower'"),
            Some("upper".into())
        );
        assert_eq!(
            named("id='piece_x20_back_x20_yoke'"),
            Some("back yoke".into())
        );
        assert_eq!(named("id='pieces' inkscape:label='layer 1'"), None);
        assert_eq!(named("id='piecé-x'"), None);
        assert!(name("data-piece=''").is_err());
        assert!(name("class='piece'").is_err());
        assert!(name("id='piece-'").is_err());
    }

    #[test]
    fn counts_pairs_and_notch_kinds_are_read_or_refused() {
        let count = |text: &str| with(text, count_and_pair);
        assert_eq!(count(""), Ok((1, false)));
        assert_eq!(count("data-cut=' 2 ' data-pair='Yes'"), Ok((2, true)));
        for bad in [
            "data-cut='0'",
            "data-cut='1.5'",
            "data-cut='1000'",
            "data-pair='2'",
            "data-pair='yes'",
            "data-pair='yes' data-cut='1'",
            "data-pair='yes' data-cut='3'",
        ] {
            assert!(count(bad).is_err(), "{bad}");
        }
        let kind = |text: &str| with(text, notch_kind);
        assert_eq!(
            kind("data-notch='vee' class='double'"),
            Ok(Some(NotchKind::Vee))
        );
        assert_eq!(kind("class='notch double'"), Ok(Some(NotchKind::Double)));
        assert_eq!(kind("class='notch'"), Ok(None));
        for (named, expected) in [
            ("inkscape:label='notch double'", NotchKind::Double),
            (
                "inkscape:label='Notch, Vee 2' id='notch-double'",
                NotchKind::Vee,
            ),
            ("data-name='notch: double' id='notch-2'", NotchKind::Double),
            (
                "inkscape:label='notch' data-name='notch vee'",
                NotchKind::Vee,
            ),
            ("id='notch_vee-3'", NotchKind::Vee),
            ("id='notch-double'", NotchKind::Double),
            ("id='notch_x20_double_1_'", NotchKind::Double),
            ("class='slit' inkscape:label='notch vee'", NotchKind::Slit),
        ] {
            assert_eq!(kind(named), Ok(Some(expected)), "{named}");
        }
        assert_eq!(kind("inkscape:label='double stitching' id='vee'"), Ok(None));
        assert!(kind("data-notch='round'").is_err());
    }
}
