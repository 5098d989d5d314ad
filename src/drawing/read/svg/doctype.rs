//! The document type declaration that older editors write: taken out before
//! the XML parser sees it, with its plain text entities filled in.
//!
//! Entities that hold others are refused, for that is how a small file is
//! made to fill the memory; entities in other files are never followed.

use std::borrow::Cow;
use std::collections::HashMap;

use super::place::excerpt;
use crate::fault::{Fault, Outcome};

/// Most entities declared, longest text of one, and most text that all their
/// uses may add: far above what editors write.
const MAX_ENTITIES: usize = 256;
const MAX_LENGTH: usize = 1024;
const MAX_ADDED: usize = 1 << 20;

enum Entity<'a> {
    Text(&'a str),
    Elsewhere,
}

type Entities<'a> = HashMap<&'a str, Entity<'a>>;

/// `text` without its document type declaration; line numbers stay true.
///
/// # Errors
///
/// When the declaration is cut short or malformed, declares nested or
/// parameter entities, or its entities are used beyond the limits.
pub fn settle(text: &str) -> Outcome<Cow<'_, str>> {
    let start = prolog_length(text);
    let Some(declaration) = text[start..].strip_prefix("<!DOCTYPE") else {
        return Ok(Cow::Borrowed(text));
    };
    let mut cursor = Cursor(declaration);
    let entities = cursor.declaration().map_err(|fault| {
        let line = text[..start].matches('\n').count() + 1;
        fault.at(format!("line {line}, DOCTYPE"))
    })?;
    let after = cursor.0;
    let end = text.len() - after.len();
    let blank = "\n".repeat(text[start..end].matches('\n').count());
    let filled = if entities.is_empty() {
        Cow::Borrowed(after)
    } else {
        Cow::Owned(fill(after, &entities)?)
    };
    Ok(Cow::Owned(text[..start].to_owned() + &blank + &filled))
}

/// The bytes of white space, comments and instructions at the start.
fn prolog_length(text: &str) -> usize {
    let mut rest = text;
    loop {
        rest = rest.trim_start();
        let end = if rest.starts_with("<?") {
            "?>"
        } else if rest.starts_with("<!--") {
            "-->"
        } else {
            return text.len() - rest.len();
        };
        match rest.split_once(end) {
            Some((_, after)) => rest = after,
            None => return text.len(),
        }
    }
}

fn malformed() -> Fault {
    Fault::input(
        "the lines that declare the kind of file (DOCTYPE) are damaged or cut short",
        "save the drawing again as SVG, without what the editor adds of its own",
    )
}

/// What is left of the declaration to read.
struct Cursor<'a>(&'a str);

impl<'a> Cursor<'a> {
    fn skip(&mut self, token: &str) -> bool {
        match self.0.strip_prefix(token) {
            Some(rest) => {
                self.0 = rest;
                true
            }
            None => false,
        }
    }

    fn until(&mut self, end: &str) -> Outcome<&'a str> {
        let (before, after) = self.0.split_once(end).ok_or_else(malformed)?;
        self.0 = after;
        Ok(before)
    }

    /// A quoted text, if one begins here.
    fn quoted(&mut self) -> Outcome<Option<&'a str>> {
        for quote in ["\"", "'"] {
            if self.skip(quote) {
                return self.until(quote).map(Some);
            }
        }
        Ok(None)
    }

    /// Skips past the next `end` that is not within quotes.
    fn past(&mut self, end: char) -> Outcome<()> {
        loop {
            let stop = |c: char| c == end || c == '"' || c == '\'';
            let at = self.0.find(stop).ok_or_else(malformed)?;
            self.0 = &self.0[at..];
            if self.quoted()?.is_none() {
                self.0 = &self.0[end.len_utf8()..];
                return Ok(());
            }
        }
    }

    /// The declaration after `<!DOCTYPE`, up to and with its `>`.
    fn declaration(&mut self) -> Outcome<Entities<'a>> {
        let mut entities = Entities::new();
        loop {
            let at = self.0.find(['"', '\'', '[', '>']).ok_or_else(malformed)?;
            self.0 = &self.0[at..];
            if self.skip(">") {
                return Ok(entities);
            } else if self.skip("[") {
                self.subset(&mut entities)?;
            } else {
                self.quoted()?;
            }
        }
    }

    /// The internal subset, up to and with its `]`.
    fn subset(&mut self, entities: &mut Entities<'a>) -> Outcome<()> {
        loop {
            self.0 = self.0.trim_start();
            if self.skip("]") {
                return Ok(());
            } else if self.skip("<!--") {
                self.until("-->")?;
            } else if self.skip("<?") {
                self.until("?>")?;
            } else if self.skip("<!ENTITY") {
                self.entity(entities)?;
            } else if self.skip("<!") {
                self.past('>')?;
            } else if self.0.starts_with('%') {
                return Err(nested());
            } else {
                return Err(malformed());
            }
        }
    }

    fn entity(&mut self, entities: &mut Entities<'a>) -> Outcome<()> {
        self.0 = self.0.trim_start();
        if self.0.starts_with('%') {
            return Err(nested());
        }
        let end = self.0.find(char::is_whitespace).ok_or_else(malformed)?;
        let (name, rest) = self.0.split_at(end);
        self.0 = rest.trim_start();
        let entity = match self.quoted()? {
            Some(text) if text.contains(['&', '<']) => return Err(nested()),
            Some(text) if text.len() > MAX_LENGTH => return Err(too_much()),
            Some(text) => Entity::Text(text),
            None => Entity::Elsewhere,
        };
        // XML's rule: the first declaration of a name is the one that counts.
        entities.entry(name).or_insert(entity);
        if entities.len() > MAX_ENTITIES {
            return Err(too_much());
        }
        self.past('>')
    }
}

fn nested() -> Fault {
    Fault::input(
        "the lines that declare the kind of file (DOCTYPE) use one abbreviation within another, which is not read",
        "save the drawing again as SVG, without what the editor adds of its own",
    )
}

fn too_much() -> Fault {
    Fault::input(
        "the abbreviations in the file (its entities) stand for too much text",
        "save the drawing again as SVG, without what the editor adds of its own",
    )
}

/// `text` with every use of a declared entity replaced.
fn fill(text: &str, entities: &Entities) -> Outcome<String> {
    let mut out = String::with_capacity(text.len());
    let mut added = 0;
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('&') {
        out.push_str(before);
        rest = after;
        let end = after.find(|c: char| c == '&' || c == ';' || c.is_whitespace());
        let named = end.and_then(|end| Some((entities.get(&after[..end])?, end)));
        let named = named.filter(|&(_, end)| after[end..].starts_with(';'));
        match named {
            Some((Entity::Text(text), end)) => {
                added += text.len();
                if added > MAX_ADDED {
                    return Err(too_much());
                }
                for letter in text.chars() {
                    match letter {
                        '"' => out.push_str("&quot;"),
                        '\'' => out.push_str("&apos;"),
                        // Would shift the line numbers of what follows.
                        '\n' | '\r' => out.push(' '),
                        plain => out.push(plain),
                    }
                }
                rest = &after[end + 1..];
            }
            Some((Entity::Elsewhere, end)) => {
                let name = excerpt(&after[..end]);
                return Err(Fault::input(
                    format!("the text \"&{name};\" stands in another file, which is not followed"),
                    "save the drawing again as SVG, without what the editor adds of its own",
                ));
            }
            None => out.push('&'),
        }
    }
    out.push_str(rest);
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn what(text: &str) -> String {
        settle(text).unwrap_err().what
    }

    #[test]
    fn a_plain_declaration_leaves_only_its_lines() {
        let text = "<?xml version='1.0'?>\n<!-- <!DOCTYPE no> -->\n\
            <!DOCTYPE svg PUBLIC \"-//W3C//DTD SVG 1.1//EN\"\n \"http://x/svg11.dtd\">\n<svg/>";
        let settled = settle(text).unwrap();
        let kept = "<?xml version='1.0'?>\n<!-- <!DOCTYPE no> -->\n\n\n<svg/>";
        assert_eq!(settled, kept);
    }

    #[test]
    fn plain_entities_are_filled_in_and_others_left_alone() {
        let text = "<!DOCTYPE svg [\n<!-- ']>' -->\n<!ENTITY ns 'http://\"a\"'>\n\
            <!ATTLIST svg a CDATA '>'>\n]>\n<svg a=\"&ns;\" b='&amp;&#65;&other;'/>";
        let settled = settle(text).unwrap();
        let kept = "<svg a=\"http://&quot;a&quot;\" b='&amp;&#65;&other;'/>";
        assert_eq!(settled.trim_start(), kept);
        assert_eq!(settled.matches('\n').count(), text.matches('\n').count());
    }

    #[test]
    fn nested_and_parameter_entities_are_refused() {
        let bomb = "<!DOCTYPE s [<!ENTITY a 'ha'><!ENTITY b '&a;&a;'>]><svg>&b;</svg>";
        assert!(what(bomb).contains("one abbreviation within another"));
        assert!(what("<!DOCTYPE s [<!ENTITY % p 'x'>]><svg/>").contains("within"));
        assert!(what("<!DOCTYPE s [<!ENTITY a '<g/>'>]><svg/>").contains("within"));
    }

    #[test]
    fn one_long_entity_used_often_runs_out_of_budget() {
        let declared = format!("<!DOCTYPE s [<!ENTITY a '{}'>]>", "x".repeat(1000));
        assert!(settle(&(declared.clone() + &"&a;".repeat(1000))).is_ok());
        assert!(what(&(declared + &"&a;".repeat(2000))).contains("too much text"));
    }

    #[test]
    fn another_file_is_never_followed() {
        let text = "<!DOCTYPE s [<!ENTITY f SYSTEM 'file:///etc/passwd'>]><svg>&f;</svg>";
        assert!(what(text).contains("another file"));
        assert!(settle(&text.replace("&f;", "")).is_ok());
    }

    #[test]
    fn a_declaration_cut_short_is_a_fault() {
        for text in ["<!DOCTYPE", "<!DOCTYPE s [", "<!DOCTYPE s [<!ENTITY a 'b"] {
            assert!(what(text).contains("cut short"), "{text}");
        }
    }
}
