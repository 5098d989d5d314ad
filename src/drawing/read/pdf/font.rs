//! The letters of a text, as far as they can be told.

use std::collections::HashMap;

use hayro_syntax::object::{Array, Dict, Name, Object, Stream};

use super::cmap::{CMap, utf16};
use super::glyphs::letter;
use super::unpack::Unpacked;
use crate::drawing::read::letters::windows_1252;
use crate::fault::Outcome;

/// What a code of a map takes in memory, bytes: a few letters may stand for 65 536 codes.
const CODE: usize = 100;
/// How wide a letter is of which that is not said, in ems.
const WIDTH: f64 = 0.5;

/// A font, as far as it is needed to know what is written and how far it runs.
pub struct Font {
    to_unicode: Option<CMap>,
    /// Codes of two bytes.
    wide: bool,
    /// Letters by code, where the font's own encoding says.
    differences: HashMap<u8, Option<char>>,
    /// The encoding is one of letters, not of the font's own symbols.
    latin: bool,
    first: u32,
    /// In ems, from the code `first` on.
    widths: Vec<f64>,
    default_width: f64,
}

impl Font {
    /// # Errors
    ///
    /// When its map to letters unpacks to more than the limits let in.
    pub fn of(dict: &Dict, unpacked: &mut Unpacked) -> Outcome<Self> {
        let subtype = dict.get::<Name>("Subtype");
        let wide = subtype.as_ref().is_some_and(|s| s.as_str() == "Type0");
        let map = match dict.get::<Stream>("ToUnicode") {
            Some(stream) => unpacked.stream(&stream)?,
            None => None,
        };
        let to_unicode = map.map(|data| CMap::parse(&data));
        unpacked.spend(CODE * to_unicode.as_ref().map_or(0, CMap::told))?;
        let mut font = Font {
            to_unicode,
            wide,
            differences: HashMap::new(),
            latin: !wide,
            first: dict
                .get::<f64>("FirstChar")
                .unwrap_or(0.0)
                .clamp(0.0, 255.0) as u32,
            widths: Vec::new(),
            default_width: if wide { 2.0 * WIDTH } else { WIDTH },
        };
        // Type 3 measures in its own units; a guess serves to join words.
        if subtype.as_ref().is_none_or(|s| s.as_str() != "Type3")
            && let Some(widths) = dict.get::<Array>("Widths")
        {
            font.widths = widths.iter::<f64>().take(256).map(|w| w / 1000.0).collect();
        }
        let encoding = dict.get::<Dict>("Encoding");
        if let Some(list) = encoding.and_then(|e| e.get::<Array>("Differences")) {
            let mut code = 0_u32;
            for object in list.iter::<Object>().take(1024) {
                match object {
                    Object::Number(n) => code = n.as_f64().clamp(0.0, 255.0) as u32,
                    Object::Name(name) => {
                        if let Ok(code) = u8::try_from(code) {
                            font.differences.insert(code, letter(name.as_str()));
                        }
                        code += 1;
                    }
                    _ => {}
                }
            }
        }
        let base = dict.get::<Name>("BaseFont");
        let symbols = ["Symbol", "ZapfDingbats"];
        if base.is_some_and(|b| symbols.iter().any(|s| b.as_str().ends_with(s))) {
            font.latin = false;
        }
        Ok(font)
    }

    /// What `bytes` say, and how far they run in ems, number of letters and of spaces.
    /// None if a letter can't be told.
    pub fn read(&self, bytes: &[u8]) -> (Option<String>, f64, usize, usize) {
        let step = if self.wide { 2 } else { 1 };
        let mut words = Some(String::new());
        let (mut run, mut letters, mut spaces) = (0.0, 0, 0);
        for code in bytes.chunks(step) {
            let number = code.iter().fold(0_u32, |sum, &b| sum << 8 | u32::from(b));
            run += self.width(number);
            letters += 1;
            spaces += usize::from(step == 1 && number == 32);
            match (self.letters(number), &mut words) {
                (Some(told), Some(words)) => words.push_str(&told),
                (None, _) => words = None,
                _ => {}
            }
        }
        (words, run, letters, spaces)
    }

    fn letters(&self, code: u32) -> Option<String> {
        if let Some(known) = self.to_unicode.as_ref().and_then(|map| map.get(code)) {
            return Some(known.to_owned());
        }
        let byte = u8::try_from(code).ok().filter(|_| !self.wide)?;
        match self.differences.get(&byte) {
            Some(letter) => letter.map(String::from),
            // MacRoman and Standard agree with this below 128 (ISO 32000-1, annex D).
            None => (self.latin && byte >= 32).then(|| windows_1252(byte).to_string()),
        }
    }

    fn width(&self, code: u32) -> f64 {
        let index = code.checked_sub(self.first).map(|k| k as usize);
        let known = index.and_then(|k| self.widths.get(k)).copied();
        known
            .filter(|w| w.is_finite() && *w > 0.0)
            .unwrap_or(self.default_width)
    }
}

/// A text string outside content: UTF-16 with its mark, UTF-8 with its, else one byte a
/// letter (ISO 32000-1, 7.9.2.2).
pub fn text_string(bytes: &[u8]) -> String {
    match bytes {
        [0xfe, 0xff, rest @ ..] => utf16(rest),
        [0xef, 0xbb, 0xbf, rest @ ..] => String::from_utf8_lossy(rest).into_owned(),
        _ => bytes.iter().map(|&b| windows_1252(b)).collect(),
    }
}
