//! What a source file says to a person: the texts in its code, told from comments, tests and all else.

/// Calls and macros whose texts only a developer meets.
const SILENT: [&str; 10] = [
    "assert",
    "assert_eq",
    "assert_ne",
    "debug_assert",
    "debug_assert_eq",
    "debug_assert_ne",
    "panic",
    "unimplemented",
    "unreachable",
    "include_str",
];

/// Attributes of the command line that hold texts, and what makes a type one of its own.
const OF_CLI: [&str; 4] = ["arg", "command", "group", "value"];
const CLI_TYPES: [&str; 4] = ["Args", "Parser", "Subcommand", "ValueEnum"];

#[derive(Debug, PartialEq)]
pub enum Token {
    Text(String),
    Word(String),
    Mark(char),
    /// A line of `///`.
    Doc(String),
}

struct Source {
    chars: Vec<char>,
    at: usize,
}

impl Source {
    fn peek(&self, on: usize) -> Option<char> {
        self.chars.get(self.at + on).copied()
    }

    fn take(&mut self) -> Option<char> {
        let c = self.peek(0)?;
        self.at += 1;
        Some(c)
    }

    fn while_it(&mut self, holds: impl Fn(char) -> bool) -> String {
        let mut all = String::new();
        while let Some(c) = self.peek(0).filter(|c| holds(*c)) {
            all.push(c);
            self.at += 1;
        }
        all
    }

    /// Past `/* … */`, which may hold others.
    fn comment(&mut self) {
        let mut deep = 0_usize;
        while let Some(c) = self.take() {
            match (c, self.peek(0)) {
                ('/', Some('*')) => {
                    deep += 1;
                    self.at += 1;
                }
                ('*', Some('/')) => {
                    deep = deep.saturating_sub(1);
                    self.at += 1;
                    if deep == 0 {
                        return;
                    }
                }
                _ => {}
            }
        }
    }

    /// Past a character in quotes, or a lifetime's quote.
    fn quoted(&mut self) {
        if self.peek(1) == Some('\\') {
            self.at += 3;
            self.while_it(|c| c != '\'');
            self.at += 1;
        } else if self.peek(2) == Some('\'') {
            self.at += 3;
        } else {
            self.at += 1;
        }
    }

    /// A text after its opening quote, in one line.
    fn text(&mut self) -> String {
        let mut said = String::new();
        while let Some(c) = self.take() {
            match c {
                '"' => break,
                '\n' => said.push_str("\\n"),
                '\\' => self.escape(&mut said),
                c => said.push(c),
            }
        }
        said
    }

    fn escape(&mut self, said: &mut String) {
        match self.take() {
            Some('\n') => {
                self.while_it(char::is_whitespace);
            }
            Some('n') => said.push_str("\\n"),
            Some('u') => {
                let hex = self.while_it(|c| c != '}');
                self.at += 1;
                let code = u32::from_str_radix(hex.trim_start_matches('{'), 16);
                said.extend(code.ok().and_then(char::from_u32));
            }
            other => said.extend(other),
        }
    }

    /// A raw text at its first `#` or quote; `None` if it is none.
    fn raw(&mut self) -> Option<String> {
        let start = self.at;
        let hashes = self.while_it(|c| c == '#').len();
        if self.take() != Some('"') {
            self.at = start;
            return None;
        }
        let mut said = String::new();
        while let Some(c) = self.take() {
            if c == '"' && (0..hashes).all(|k| self.peek(k) == Some('#')) {
                self.at += hashes;
                break;
            }
            match c {
                '\n' => said.push_str("\\n"),
                c => said.push(c),
            }
        }
        Some(said)
    }
}

pub fn tokens(source: &str) -> Vec<Token> {
    let mut s = Source {
        chars: source.chars().collect(),
        at: 0,
    };
    let mut all = Vec::new();
    while let Some(c) = s.peek(0) {
        if c.is_whitespace() {
            s.at += 1;
        } else if c == '/' && s.peek(1) == Some('/') {
            let line = s.while_it(|c| c != '\n');
            let doc = line.strip_prefix("///").filter(|d| !d.starts_with('/'));
            all.extend(doc.map(|d| Token::Doc(d.trim().to_owned())));
        } else if c == '/' && s.peek(1) == Some('*') {
            s.comment();
        } else if c == '"' {
            s.at += 1;
            all.push(Token::Text(s.text()));
        } else if c == '\'' {
            s.quoted();
        } else if c.is_alphanumeric() || c == '_' {
            let word = s.while_it(|c| c.is_alphanumeric() || c == '_');
            let raw = match word.as_str() {
                "r" | "br" | "cr" => s.raw(),
                _ => None,
            };
            all.push(raw.map_or(Token::Word(word), Token::Text));
        } else {
            s.at += 1;
            all.push(Token::Mark(c));
        }
    }
    all
}

/// Where the bracket that opens at `open` closes.
fn close(all: &[Token], open: usize) -> usize {
    let mut deep = 0_usize;
    for (k, token) in all.iter().enumerate().skip(open) {
        match token {
            Token::Mark('(' | '[' | '{') => deep += 1,
            Token::Mark(')' | ']' | '}') => {
                deep = deep.saturating_sub(1);
                if deep == 0 {
                    return k;
                }
            }
            _ => {}
        }
    }
    all.len()
}

/// What a file says, and the modules of tests that it has in other files.
#[derive(Debug, Default)]
pub struct Found {
    pub said: Vec<String>,
    pub tests: Vec<String>,
}

impl Found {
    pub fn of(all: &[Token]) -> Self {
        let mut found = Self::default();
        let mark = |k: usize, is: char| all.get(k) == Some(&Token::Mark(is));
        let mut docs: Vec<&str> = Vec::new();
        // Whether a type of the command line is to come, and where the last one ends.
        let (mut comes, mut until) = (false, 0);
        let mut k = 0;
        while let Some(token) = all.get(k) {
            if let Token::Doc(line) = token {
                docs.push(line);
                k += 1;
                continue;
            }
            let inner = usize::from(mark(k + 1, '!'));
            if mark(k, '#') && mark(k + 1 + inner, '[') {
                let (open, end) = (k + 1 + inner, close(all, k + 1 + inner));
                let names: Vec<&str> = all[open..end].iter().filter_map(word).collect();
                let first = names.first().copied().unwrap_or_default();
                comes |= first == "derive" && names.iter().any(|n| CLI_TYPES.contains(n));
                if OF_CLI.contains(&first) {
                    found.said.extend(all[open..end].iter().filter_map(telling));
                }
                k = match names.as_slice() {
                    ["cfg", "test"] => found.past_test(all, end + 1),
                    _ => end + 1,
                };
                continue;
            }
            if !docs.is_empty() {
                if comes || k < until {
                    found.said.push(format!("/// {}", docs.join(" ")));
                }
                docs.clear();
            }
            if comes && (mark(k, '{') || mark(k, ';')) {
                (comes, until) = (false, close(all, k));
            }
            let silent = match word(token) {
                Some("expect") if mark(k + 1, '(') => Some(k + 1),
                Some("label") if mark(k + 1, ':') && mark(k + 3, '(') => Some(k + 3),
                Some(name) if SILENT.contains(&name) && mark(k + 1, '!') => Some(k + 2),
                _ => None,
            };
            found.said.extend(telling(token));
            k = silent.map_or(k, |open| close(all, open)) + 1;
        }
        found
    }

    /// Past an item that is there for tests only.
    fn past_test(&mut self, all: &[Token], from: usize) -> usize {
        let is = |k: usize, is: char| all.get(k) == Some(&Token::Mark(is));
        let mut k = from;
        while is(k, '#') {
            k = close(all, k + 1) + 1;
        }
        let start = k;
        while let Some(token) = all.get(k) {
            match token {
                Token::Mark('{') => {
                    k = close(all, k);
                    break;
                }
                Token::Mark('(' | '[') => k = close(all, k),
                Token::Mark(';' | ',') => break,
                _ => {}
            }
            k += 1;
        }
        let item = &all[start..k.min(all.len())];
        let mut named = item.iter().filter_map(word).skip_while(|w| *w != "mod");
        if let (Some(name), true) = (named.nth(1), is(k, ';')) {
            self.tests.push(name.to_owned());
        }
        k + 1
    }
}

fn word(token: &Token) -> Option<&str> {
    match token {
        Token::Word(w) => Some(w),
        _ => None,
    }
}

/// A text with a space and a letter outside its placeholders, and no markup.
fn telling(token: &Token) -> Option<String> {
    let Token::Text(text) = token else {
        return None;
    };
    let letters = bare(text).chars().any(char::is_alphabetic);
    let trimmed = text.trim();
    (letters && trimmed.contains(' ') && !trimmed.starts_with('<')).then(|| text.clone())
}

/// A text without what stands in braces.
pub fn bare(text: &str) -> String {
    let mut deep = 0_usize;
    let mut all = String::new();
    for c in text.chars() {
        match c {
            '{' => deep += 1,
            '}' => deep = deep.saturating_sub(1),
            c if deep == 0 => all.push(c),
            _ => {}
        }
    }
    all
}
