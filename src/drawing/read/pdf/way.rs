//! Ways of packing, as filters name them (ISO 32000-1, 7.4).

use super::lex::{plain, regular, skip};
use super::told::{LONGEST, is_cut, strange};
use crate::fault::Outcome;

/// How bytes stand as letters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Letters {
    Hex,
    Base85,
}

/// What makes few bytes of many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pack {
    Flate,
    Lzw,
    Runs,
}

/// A way of packing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Way {
    pub letters: Option<Letters>,
    pub pack: Pack,
}

/// How a stream is packed of which a filter, or a list of them, follows; none if by deflate
/// alone or not at all.
///
/// # Errors
///
/// When letters stand for letters, or the list goes on beyond what is looked at.
pub fn way(after: &[u8]) -> Outcome<Option<Way>> {
    let mut rest = skip(after);
    let list = rest.strip_prefix(b"[");
    rest = list.map_or(rest, skip);
    let (mut letters, mut again) = (None, false);
    while let Some(name) = rest.strip_prefix(b"/") {
        if is_cut(after) && name.len() <= LONGEST {
            return Err(strange());
        }
        let (raw, past) = name.split_at(regular(name));
        let known: &[u8] = if raw.len() > LONGEST { &[] } else { raw };
        let (stands, pack) = match &*plain(known) {
            b"ASCIIHexDecode" | b"AHx" => (Some(Letters::Hex), None),
            b"ASCII85Decode" | b"A85" => (Some(Letters::Base85), None),
            b"FlateDecode" | b"Fl" => (None, Some(Pack::Flate)),
            b"LZWDecode" | b"LZW" => (None, Some(Pack::Lzw)),
            b"RunLengthDecode" | b"RL" => (None, Some(Pack::Runs)),
            _ => (None, None),
        };
        if let Some(pack) = pack {
            // Letters of letters: nobody does that.
            if again {
                return Err(strange());
            }
            let way = Way { letters, pack };
            let usual = letters.is_none() && pack == Pack::Flate;
            return Ok((!usual).then_some(way));
        }
        again |= stands.is_some() && letters.is_some();
        letters = letters.or(stands);
        if list.is_none() {
            break;
        }
        rest = skip(past);
    }
    Ok(None)
}

/// ISO 32000-1, 7.4.3.
pub fn ascii85(bytes: impl Iterator<Item = u8>) -> impl Iterator<Item = u8> {
    let mut letters = bytes.take_while(|b| *b != b'~');
    let group = move || {
        let (mut digits, mut count) = ([84_u32; 5], 0);
        while count < 5
            && let Some(b) = letters.next()
        {
            match b {
                b'z' if count == 0 => return Some([0; 4].into_iter().take(4)),
                b'!'..=b'u' => {
                    digits[count] = u32::from(b - b'!');
                    count += 1;
                }
                _ => {}
            }
        }
        let value = digits
            .iter()
            .fold(0_u32, |sum, &d| sum.wrapping_mul(85).wrapping_add(d));
        (count > 0).then(|| value.to_be_bytes().into_iter().take(count - 1))
    };
    std::iter::from_fn(group).flatten()
}

/// ISO 32000-1, 7.4.2.
pub fn hex(bytes: impl Iterator<Item = u8>) -> impl Iterator<Item = u8> {
    let mut digits = bytes
        .take_while(|b| *b != b'>')
        .filter_map(|b| char::from(b).to_digit(16));
    std::iter::from_fn(move || {
        let high = digits.next()?;
        Some((high << 4 | digits.next().unwrap_or(0)) as u8)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first by Python's base64.a85encode.
    #[test]
    fn letters_stand_for_bytes() {
        let ascii85 = |text: &[u8]| ascii85(text.iter().copied()).collect::<Vec<_>>();
        let hex = |text: &[u8]| hex(text.iter().copied()).collect::<Vec<_>>();
        assert_eq!(ascii85(b"D..<\n)F*2M7/c~>zz"), b"man sure.");
        assert_eq!(ascii85(b"z~>"), [0; 4]);
        assert_eq!(hex(b"6D 61\n6e7>61"), b"manp");
    }
}
