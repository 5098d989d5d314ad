//! A formula's text told apart: names, lengths and what is measured become numbered slots.

use super::formula::{Quantity, Term};
use super::names::Scope;
use crate::fault::{Fault, Outcome};
use crate::measure::{Unit, parse_length};

fn is_word(c: char) -> bool {
    c.is_alphabetic() || c == '_' || c == '\''
}

fn is_digit(c: char) -> bool {
    c.is_ascii_digit() || matches!(c, '¼' | '½' | '¾' | '⅛' | '⅜' | '⅝' | '⅞')
}

fn is_mark(c: char) -> bool {
    matches!(c, '"' | '″' | '”' | '“')
}

/// The formula with every number, length, name and call put into a slot.
pub fn slots(text: &str, scope: Scope, terms: &mut Vec<Term>) -> Outcome<String> {
    let mut out = String::new();
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let taken = if c.is_whitespace() {
            out.push(' ');
            c.len_utf8()
        } else if is_digit(c) || c == '.' {
            let n = number(rest);
            push(&mut out, terms, Term::Is(literal(&rest[..n])?));
            n
        } else if is_word(c) {
            let (n, term) = name(rest, scope)?;
            push(&mut out, terms, term);
            n
        } else {
            out.push(match c {
                '×' | '·' => '*',
                '÷' => '/',
                '−' | '–' => '-',
                '+' | '-' | '*' | '/' | '(' | ')' => c,
                other => {
                    return Err(Fault::input(
                        format!("\"{other}\" in \"{text}\" means nothing here"),
                        "use + - * / ( ), lengths like 6mm, and names",
                    ));
                }
            });
            c.len_utf8()
        };
        rest = &rest[taken..];
    }
    Ok(out)
}

fn push(out: &mut String, terms: &mut Vec<Term>, term: Term) {
    // In the order of the alphabet too, as `exmex` sorts them.
    out.push_str(&format!("{{v{:03}}}", terms.len()));
    terms.push(term);
}

/// How many bytes of `text` are one number with its unit, if it has one. A fraction
/// belongs to it only if it is written tight and has a unit: `3/8in`, `1 1/4"`.
fn number(text: &str) -> usize {
    let run = |from: usize, is: fn(char) -> bool| {
        let end = text[from..].find(|c| !is(c));
        end.map_or(text.len(), |n| from + n)
    };
    let decimal = |c: char| is_digit(c) || c == '.' || c == ',';
    let unit = |from: usize| {
        let gap = run(from, |c| c == ' ');
        let mark = run(gap, is_mark);
        if mark > gap { mark } else { run(gap, is_word) }
    };
    let fraction = |from: usize| {
        let over = run(from, |c| c.is_ascii_digit());
        let under = text[over..].strip_prefix('/').map(|_| over + 1)?;
        let end = run(under, |c| c.is_ascii_digit());
        let whole = unit(end);
        (over > from && end > under && whole > end && named_unit(&text[end..whole]))
            .then_some(whole)
    };
    let first = run(0, decimal);
    let mixed = match text[first..].chars().next() {
        Some(' ' | '-') => fraction(first + 1),
        _ => None,
    };
    if let Some(end) = fraction(0).or(mixed) {
        return end;
    }
    match unit(first) {
        end if end > first && text[first..end].trim() != "" => end,
        _ => first,
    }
}

fn named_unit(text: &str) -> bool {
    parse_length(&format!("1{}", text.trim()), Unit::Mm).is_ok() && !text.trim().is_empty()
}

fn literal(text: &str) -> Outcome<Quantity> {
    if text.chars().all(|c| c.is_ascii_digit() || c == '.') {
        return text
            .parse()
            .map_err(|_| Fault::input(format!("\"{text}\" is not a number"), "write it like 3.1"));
    }
    if text.chars().all(|c| is_digit(c) || c == ',') {
        return Err(Fault::input(
            format!("\"{text}\" has no unit"),
            "write plain numbers with a point, like 3.1, and lengths with their unit",
        ));
    }
    parse_length(text, Unit::Mm).map(Quantity::length)
}

/// The name, or the call, that `text` begins with.
fn name(text: &str, scope: Scope) -> Outcome<(usize, Term)> {
    let mut end = 0;
    for (at, c) in text.char_indices() {
        if is_word(c) || c.is_ascii_digit() {
            end = at + c.len_utf8();
        } else if c != ' ' {
            break;
        }
    }
    let word = &text[..end];
    let bracket = text[end..].trim_start();
    if let (true, "length" | "distance") = (bracket.starts_with('('), word) {
        let open = text.len() - bracket.len() + 1;
        let Some(n) = text[open..].find(')') else {
            return Err(Fault::input(
                format!("the bracket after \"{word}\" is not closed"),
                "add )",
            ));
        };
        let inside = &text[open..open + n];
        let term = match (word, inside.split_once(',')) {
            ("distance", Some((a, b))) => Term::Distance(scope.point(a)?, scope.point(b)?),
            ("distance", None) => {
                return Err(Fault::input(
                    format!("\"distance({inside})\" names one point"),
                    "name two: distance(heel, toe)",
                ));
            }
            _ => Term::LengthOf(scope.path(inside)?),
        };
        return Ok((open + n + 1, term));
    }
    let key = word.split_whitespace().collect::<Vec<_>>().join(" ");
    let names = scope.names;
    if let Some(k) = names.lengths.iter().position(|n| *n == key) {
        return Ok((end, Term::Length(k)));
    }
    if let Some(k) = names.measures.iter().position(|n| *n == key) {
        return Ok((end, Term::Measure(k)));
    }
    let known: Vec<&str> = names.measures.iter().map(String::as_str).collect();
    Err(Fault::input(
        format!("there is no measure or length named \"{key}\""),
        if known.is_empty() {
            "declare it: [[measure]] with its name, or a line under [lengths]".to_owned()
        } else {
            format!(
                "the measures are {}; other names go under [lengths]",
                known.join(", ")
            )
        },
    ))
}
