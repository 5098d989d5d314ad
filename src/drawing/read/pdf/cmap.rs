//! From a font's codes to letters, by its ToUnicode map (ISO 32000-1, 9.10.3).

use std::collections::HashMap;

/// Most codes told in a map, be it again and again.
const MAX_CODES: usize = 70_000;
/// Most bytes of a map that are looked at: 70 000 codes need 3 MB.
const MAX_BYTES: usize = 4 << 20;
/// Most bytes of one code's letters.
const MAX_LETTERS: usize = 64;

/// A ToUnicode map.
#[derive(Debug, Default)]
pub struct CMap {
    letters: HashMap<u32, String>,
    /// How many codes were told.
    told: usize,
}

impl CMap {
    pub fn get(&self, code: u32) -> Option<&str> {
        self.letters.get(&code).map(String::as_str)
    }

    /// How many codes were told, be it again and again.
    pub fn told(&self) -> usize {
        self.told
    }

    /// Reads what is between `beginbfchar` or `beginbfrange` and their ends.
    pub fn parse(data: &[u8]) -> Self {
        let data = &data[..data.len().min(MAX_BYTES)];
        let mut map = Self::default();
        let mut tokens = Tokens { data, at: 0 };
        while map.told < MAX_CODES
            && let Some(token) = tokens.next()
        {
            match token {
                Token::Word(b"beginbfchar") => map.chars(&mut tokens),
                Token::Word(b"beginbfrange") => map.ranges(&mut tokens),
                _ => {}
            }
        }
        map
    }

    /// Whether there is room for more.
    fn insert(&mut self, code: u32, letters: &[u8]) -> bool {
        self.told += 1;
        if self.told <= MAX_CODES && letters.len() <= MAX_LETTERS {
            self.letters.insert(code, utf16(letters));
        }
        self.told < MAX_CODES
    }

    fn chars(&mut self, tokens: &mut Tokens) {
        while let Some(Token::Hex(code)) = tokens.next() {
            match tokens.next() {
                Some(Token::Hex(letters)) if self.insert(number(&code), &letters) => {}
                _ => return,
            }
        }
    }

    fn ranges(&mut self, tokens: &mut Tokens) {
        while let Some(Token::Hex(from)) = tokens.next() {
            let Some(Token::Hex(to)) = tokens.next() else {
                return;
            };
            let (from, to) = (number(&from), number(&to));
            let count = to.saturating_sub(from).min(0xffff);
            match tokens.next() {
                Some(Token::Hex(first)) => {
                    let mut units = first;
                    for step in 0..=count {
                        if !self.insert(from.saturating_add(step), &units) {
                            return;
                        }
                        // The last byte runs on.
                        if let Some(last) = units.last_mut() {
                            *last = last.wrapping_add(1);
                        }
                    }
                }
                Some(Token::Open) => {
                    let mut step = 0;
                    while let Some(Token::Hex(letters)) = tokens.next() {
                        if !self.insert(from.saturating_add(step), &letters) {
                            return;
                        }
                        step += 1;
                    }
                }
                _ => return,
            }
        }
    }
}

fn number(bytes: &[u8]) -> u32 {
    bytes
        .iter()
        .take(4)
        .fold(0, |sum, &b| sum << 8 | u32::from(b))
}

/// UTF-16, the high byte first.
pub fn utf16(bytes: &[u8]) -> String {
    let units = bytes
        .chunks_exact(2)
        .map(|b| u16::from_be_bytes([b[0], b[1]]));
    char::decode_utf16(units)
        .map(|c| c.unwrap_or('\u{fffd}'))
        .collect()
}

enum Token<'d> {
    Hex(Vec<u8>),
    Open,
    Word(&'d [u8]),
}

struct Tokens<'d> {
    data: &'d [u8],
    at: usize,
}

impl<'d> Tokens<'d> {
    fn next(&mut self) -> Option<Token<'d>> {
        let skip = |b: &u8| b.is_ascii_whitespace();
        self.at += self.data[self.at..].iter().take_while(|b| skip(b)).count();
        let first = *self.data.get(self.at)?;
        let rest = &self.data[self.at + 1..];
        match first {
            b'<' if rest.first() != Some(&b'<') => {
                let end = rest.iter().position(|&b| b == b'>').unwrap_or(rest.len());
                self.at += end + 2;
                self.at = self.at.min(self.data.len());
                let digit = |b: &u8| (*b as char).to_digit(16);
                let digits: Vec<u32> = rest[..end].iter().filter_map(digit).collect();
                let pair = |d: &[u32]| (d[0] << 4 | d.get(1).copied().unwrap_or(0)) as u8;
                Some(Token::Hex(digits.chunks(2).map(pair).collect()))
            }
            b'[' => {
                self.at += 1;
                Some(Token::Open)
            }
            _ => {
                let stops = |b: &u8| b.is_ascii_whitespace() || b"<>[]".contains(b);
                let length = rest.iter().take_while(|b| !stops(b)).count() + 1;
                let word = &self.data[self.at..self.at + length];
                self.at += length;
                Some(Token::Word(word))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn single_codes_ranges_and_lists_are_read() {
        let map = CMap::parse(
            b"1 begincodespacerange <00> <ff> endcodespacerange 2 beginbfchar <01> <0041> \
              <02> <D83D DC00> endbfchar 2 beginbfrange <10> <12> <0061> <0020> <0021> \
              [<0078> <00790079>] endbfrange",
        );
        let all: Vec<_> = [1, 2, 0x10, 0x12, 0x20, 0x21]
            .iter()
            .map(|&c| map.get(c))
            .collect();
        let wanted = ["A", "🐀", "a", "c", "x", "yy"].map(Some);
        assert_eq!(all, wanted);
        assert_eq!(map.get(3), None);
        assert!(CMap::parse(b"beginbfchar <01").get(1).is_none());
    }

    #[test]
    fn a_map_is_no_larger_than_any_font_needs() {
        let long = "0061".repeat(MAX_LETTERS / 2 + 1);
        let map = CMap::parse(format!("beginbfchar <01> <{long}> <02> <0061>").as_bytes());
        assert_eq!((map.get(1), map.get(2)), (None, Some("a")));
        // The same codes over and over.
        let ranges = "<0000> <ffff> <0061> ".repeat(1000);
        let map = CMap::parse(format!("beginbfrange {ranges}").as_bytes());
        assert_eq!((map.told, map.letters.len()), (MAX_CODES, 65_536));
        // What comes after as much as any font needs.
        let far = format!(
            "beginbfchar <01> <0061> {} <02> <0062>",
            " ".repeat(MAX_BYTES)
        );
        let map = CMap::parse(far.as_bytes());
        assert_eq!((map.get(1), map.get(2)), (Some("a"), None));
    }
}
