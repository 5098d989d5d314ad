//! From a font's codes to letters, by its ToUnicode map (ISO 32000-1, 9.10.3).

use std::collections::HashMap;

/// Most codes in a map.
const MAX_CODES: usize = 70_000;

/// A ToUnicode map.
#[derive(Debug, Default)]
pub struct CMap {
    letters: HashMap<u32, String>,
}

impl CMap {
    pub fn get(&self, code: u32) -> Option<&str> {
        self.letters.get(&code).map(String::as_str)
    }

    /// Reads what is between `beginbfchar` or `beginbfrange` and their ends.
    pub fn parse(data: &[u8]) -> Self {
        let mut map = Self::default();
        let mut tokens = Tokens { data, at: 0 };
        while let Some(token) = tokens.next() {
            match token {
                Token::Word(b"beginbfchar") => map.chars(&mut tokens),
                Token::Word(b"beginbfrange") => map.ranges(&mut tokens),
                _ => {}
            }
        }
        map
    }

    fn insert(&mut self, code: u32, letters: String) {
        if self.letters.len() < MAX_CODES {
            self.letters.insert(code, letters);
        }
    }

    fn chars(&mut self, tokens: &mut Tokens) {
        while let Some(Token::Hex(code)) = tokens.next() {
            match tokens.next() {
                Some(Token::Hex(letters)) => self.insert(number(&code), utf16(&letters)),
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
                        self.insert(from + step, utf16(&units));
                        // The last byte runs on.
                        if let Some(last) = units.last_mut() {
                            *last = last.wrapping_add(1);
                        }
                    }
                }
                Some(Token::Open) => {
                    let mut step = 0;
                    while let Some(Token::Hex(letters)) = tokens.next() {
                        self.insert(from.saturating_add(step), utf16(&letters));
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
}
