//! One table of a draft's file: its keys asked for one by one, the rest refused, each
//! with the line on which it stands.

use std::cell::RefCell;

use toml_edit::{Item, TableLike, Value};

use super::decl::Where;
use super::formula::{Formula, Wanted};
use super::names::Scope;
use crate::fault::{Fault, Outcome};

/// The line, from 1, of a byte of the text.
pub fn line_of(text: &str, at: usize) -> usize {
    text.bytes().take(at).filter(|&b| b == b'\n').count() + 1
}

pub struct Keys<'a> {
    text: &'a str,
    table: &'a dyn TableLike,
    pub at: Where,
    asked: RefCell<Vec<&'static str>>,
}

impl<'a> Keys<'a> {
    pub fn new(text: &'a str, table: &'a dyn TableLike, from: Option<usize>, what: &str) -> Self {
        // A table without a header of its own stands where its first key does.
        let first = || {
            let mut spans = table.iter().filter_map(|(_, i)| i.span());
            spans.next().map(|s| s.start)
        };
        let line = from.or_else(first).map_or(1, |at| line_of(text, at));
        let what = what.to_owned();
        let at = Where { line, what };
        Self {
            text,
            table,
            at,
            asked: RefCell::new(Vec::new()),
        }
    }

    pub fn what(&mut self, what: String) {
        self.at.what = what;
    }

    /// The place of a key, for faults about it.
    pub fn place(&self, key: &str) -> Where {
        let span = self.table.get(key).and_then(Item::span);
        Where {
            line: span.map_or(self.at.line, |s| line_of(self.text, s.start)),
            what: self.at.what.clone(),
        }
    }

    pub fn has(&self, key: &str) -> bool {
        self.table.contains_key(key)
    }

    pub fn item(&self, key: &'static str) -> Option<&'a Item> {
        self.asked.borrow_mut().push(key);
        self.table.get(key)
    }

    fn wrong(&self, key: &str, is_not: &str) -> Fault {
        self.place(key)
            .fault(format!("\"{key}\" is not {is_not}"), "write it so")
    }

    pub fn text(&self, key: &'static str) -> Outcome<Option<&'a str>> {
        match self.item(key) {
            None => Ok(None),
            Some(item) => match item.as_str() {
                Some(text) => Ok(Some(text.trim())),
                None => Err(self.wrong(key, "a text in quotes")),
            },
        }
    }

    /// A text that must be there.
    pub fn need(&self, key: &'static str) -> Outcome<&'a str> {
        self.text(key)?.ok_or_else(|| {
            self.at
                .fault(format!("\"{key}\" is missing"), format!("add {key} = …"))
        })
    }

    /// A name of its own: 1 to 60 characters, none that formulas and lists need.
    pub fn name(&self, key: &'static str) -> Outcome<String> {
        let name = self.need(key)?;
        check_name(name).map_err(|f| self.place(key).put(f))?;
        Ok(name.to_owned())
    }

    pub fn flag(&self, key: &'static str) -> Outcome<bool> {
        match self.item(key) {
            None => Ok(false),
            Some(item) => item
                .as_bool()
                .ok_or_else(|| self.wrong(key, "true or false")),
        }
    }

    pub fn count(&self, key: &'static str, most: u32) -> Outcome<Option<u32>> {
        let Some(item) = self.item(key) else {
            return Ok(None);
        };
        let number = item.as_integer().and_then(|n| u32::try_from(n).ok());
        match number.filter(|n| (1..=most).contains(n)) {
            Some(n) => Ok(Some(n)),
            None => Err(self.wrong(key, &format!("a whole number from 1 to {most}"))),
        }
    }

    /// A formula, or a plain number.
    pub fn formula(&self, key: &'static str, scope: Scope) -> Outcome<Option<Formula>> {
        let Some(item) = self.item(key) else {
            return Ok(None);
        };
        let Some(text) = formula_text(item) else {
            return Err(self.wrong(key, "a formula in quotes, or a number"));
        };
        let read = Formula::read(&text, scope);
        read.map(Some).map_err(|f| self.place(key).put(f))
    }

    pub fn need_formula(&self, key: &'static str, scope: Scope) -> Outcome<Formula> {
        self.formula(key, scope)?.ok_or_else(|| {
            self.at
                .fault(format!("\"{key}\" is missing"), format!("add {key} = …"))
        })
    }

    /// A length without names in it, mm.
    pub fn length(&self, key: &'static str, scope: Scope) -> Outcome<Option<f64>> {
        let Some(formula) = self.formula(key, scope)? else {
            return Ok(None);
        };
        let value = formula
            .value(|_| {
                Err(Fault::input(
                    format!("\"{key}\" must be a length by itself, without other names"),
                    "write a length with its unit",
                ))
            })
            .and_then(|q| formula.expect(q, Wanted::Length));
        value.map(Some).map_err(|f| self.place(key).put(f))
    }

    /// A list of texts.
    pub fn list(&self, key: &'static str) -> Outcome<Option<Vec<&'a str>>> {
        let Some(item) = self.item(key) else {
            return Ok(None);
        };
        let texts = item
            .as_array()
            .map(|a| a.iter().map(|v| v.as_str().map(str::trim)).collect());
        match texts {
            Some(Some(texts)) => Ok(Some(texts)),
            _ => Err(self.wrong(key, "a list of names: [\"a\", \"b\"]")),
        }
    }

    /// The rows of a list of tables, written either way.
    pub fn rows(&self, key: &'static str, most: usize) -> Outcome<Vec<Keys<'a>>> {
        let Some(item) = self.item(key) else {
            return Ok(Vec::new());
        };
        let rows: Option<Vec<Keys>> = match item {
            Item::ArrayOfTables(all) => Some(
                all.iter()
                    .map(|t| Keys::new(self.text, t, t.span().map(|s| s.start), key))
                    .collect(),
            ),
            Item::Value(Value::Array(all)) => all
                .iter()
                .map(|v| {
                    let t = v.as_inline_table()?;
                    Some(Keys::new(self.text, t, v.span().map(|s| s.start), key))
                })
                .collect(),
            _ => None,
        };
        let rows = rows.ok_or_else(|| self.wrong(key, "a list of rows: [ { … }, { … } ]"))?;
        if rows.len() > most {
            return Err(self.place(key).fault(
                format!("there are {} {key}, more than {most}", rows.len()),
                "leave some out",
            ));
        }
        Ok(rows)
    }

    pub fn table(&self, key: &'static str) -> Outcome<Option<&'a dyn TableLike>> {
        match self.item(key) {
            None => Ok(None),
            Some(item) => match item.as_table_like() {
                Some(table) => Ok(Some(table)),
                None => Err(self.wrong(key, "a table")),
            },
        }
    }

    /// Refuses what was not asked for.
    pub fn done(&self) -> Outcome<()> {
        let asked = self.asked.borrow();
        match self.table.iter().find(|(k, _)| !asked.contains(k)) {
            None => Ok(()),
            Some((key, _)) => {
                let mut known: Vec<_> = asked.clone();
                known.sort_unstable();
                known.dedup();
                Err(self.place(key).fault(
                    format!("\"{key}\" is not known here"),
                    format!("known are {}", known.join(", ")),
                ))
            }
        }
    }
}

/// What a formula's cell holds, as text.
pub fn formula_text(item: &Item) -> Option<String> {
    match item.as_value()? {
        Value::String(text) => Some(text.value().clone()),
        Value::Integer(n) => Some(n.value().to_string()),
        Value::Float(n) => Some(n.value().to_string()),
        _ => None,
    }
}

/// Whether a name can be used in lists and formulas.
pub fn check_name(name: &str) -> Outcome<()> {
    let bad = |c: char| matches!(c, ',' | ':' | '(' | ')') || c.is_control();
    if name.is_empty() || name.chars().count() > 60 || name.chars().any(bad) {
        return Err(Fault::input(
            format!(
                "\"{}\" can't be a name",
                name.chars().take(60).collect::<String>()
            ),
            "use 1 to 60 letters and digits, without , : ( )",
        ));
    }
    Ok(())
}

/// Whether a text can be a seam's or ring's name, which nothing else refers to.
pub fn check_title(name: &str) -> Outcome<()> {
    if name.is_empty() || name.chars().count() > 60 || name.chars().any(char::is_control) {
        return Err(Fault::input(
            "the name is empty, or longer than 60 characters",
            "write a shorter one",
        ));
    }
    Ok(())
}

/// Whether a name can be used within a formula as well.
pub fn check_word(name: &str) -> Outcome<()> {
    check_name(name)?;
    let fits = |w: &str| {
        w.chars()
            .all(|c| c.is_alphanumeric() || c == '_' || c == '\'')
    };
    let letter = name
        .chars()
        .next()
        .is_some_and(|c| c.is_alphabetic() || c == '_');
    let single = name.split(' ').all(|w| !w.is_empty() && fits(w));
    if letter && single && !matches!(name, "length" | "distance") {
        return Ok(());
    }
    Err(Fault::input(
        format!("\"{name}\" can't be used in a formula"),
        "begin with a letter; use letters, digits and single spaces",
    ))
}
