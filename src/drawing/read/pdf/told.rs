//! What a file's dictionaries say of how streams are packed, looked at before the parser
//! does as they say: it unpacks again what it has unpacked, and believes every number.

use std::borrow::Cow;

use crate::fault::{Fault, Outcome};

/// How far is looked after a name, bytes.
const AHEAD: usize = 4096;
/// Longest name that can be one of these, each letter by its number: `#46`.
const LONGEST: usize = 3 * 16;
/// Most bytes of a file that is encrypted: what its streams hold can't be counted.
const MAX_ENCRYPTED: usize = 16 << 20;
/// Most columns of a table that was packed row by row.
const MAX_COLUMNS: f64 = 1e6;

/// Ways of packing that are not counted unless a file names them.
#[derive(Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Told {
    /// Bytes stand as letters.
    pub letters: bool,
    pub lzw: bool,
    pub runs: bool,
}

/// What the names in `file` say, be they in dictionaries or not.
///
/// # Errors
///
/// When something is packed twice, how it is packed is said at another place or by
/// numbers that can't be, or the file is encrypted and larger than 16 MiB.
pub fn told(file: &[u8]) -> Outcome<Told> {
    let mut told = Told::default();
    let mut at = 0;
    while let Some(next) = file[at..].iter().position(|&b| b == b'/') {
        at += next + 1;
        let ahead = &file[at..file.len().min(at + AHEAD)];
        let (raw, after) = ahead.split_at(regular(ahead));
        if raw.len() > LONGEST {
            continue;
        }
        match &*plain(raw) {
            b"ASCIIHexDecode" | b"AHx" | b"ASCII85Decode" | b"A85" => told.letters = true,
            b"FlateDecode" | b"Fl" => once(after)?,
            b"LZWDecode" | b"LZW" => {
                told.lzw = true;
                once(after)?;
            }
            b"RunLengthDecode" | b"RL" => {
                told.runs = true;
                once(after)?;
            }
            b"Filter" | b"DecodeParms" | b"DP" if elsewhere(after) => return Err(strange()),
            // It is a usual name of a font, too.
            b"F" if elsewhere(after) && is_of_stream(after) => return Err(strange()),
            b"Columns" => number(after, MAX_COLUMNS)?,
            // Their product is kept in a byte.
            b"Colors" => number(after, 15.0)?,
            b"BitsPerComponent" => number(after, 16.0)?,
            b"Encrypt" if file.len() > MAX_ENCRYPTED => {
                return Err(Fault::input(
                    "the PDF is encrypted and larger than 16 MB: what is in it can't be told \
                     before it is opened",
                    "open it in a viewer and save it unencrypted",
                ));
            }
            _ => {}
        }
    }
    Ok(told)
}

fn strange() -> Fault {
    Fault::input(
        "the PDF is not opened: it says in an unusual way how it is packed",
        "print it to PDF again",
    )
}

fn is_space(b: u8) -> bool {
    matches!(b, 0 | b'\t' | b'\n' | 0x0c | b'\r' | b' ')
}

/// How many bytes at the beginning go on a word (ISO 32000-1, 7.2.2).
fn regular(data: &[u8]) -> usize {
    let stops = |&b: &u8| is_space(b) || b"()<>[]{}/%".contains(&b);
    data.iter().position(stops).unwrap_or(data.len())
}

/// A name as it is meant (ISO 32000-1, 7.3.5).
fn plain(raw: &[u8]) -> Cow<'_, [u8]> {
    if !raw.contains(&b'#') {
        return Cow::Borrowed(raw);
    }
    let digit = |k: usize| char::from(*raw.get(k)?).to_digit(16);
    let (mut name, mut k) = (Vec::new(), 0);
    while let Some(&b) = raw.get(k) {
        if let (b'#', Some(high), Some(low)) = (b, digit(k + 1), digit(k + 2)) {
            name.push((high << 4 | low) as u8);
            k += 3;
        } else {
            name.push(b);
            k += 1;
        }
    }
    Cow::Owned(name)
}

/// What follows spaces and comments.
fn skip(mut data: &[u8]) -> &[u8] {
    loop {
        let spaces = data.iter().take_while(|&&b| is_space(b)).count();
        data = &data[spaces..];
        if data.first() != Some(&b'%') {
            return data;
        }
        let line = data.iter().position(|b| matches!(b, b'\r' | b'\n'));
        data = &data[line.unwrap_or(data.len())..];
    }
}

/// Whether a reference (`12 0 R`) is at the beginning, or may be where the rest is cut off.
fn refers(data: &[u8], cut: bool) -> bool {
    let signs = data.iter().take_while(|b| b"+-".contains(b)).count();
    let digits = data[signs..].iter().take_while(|b| b.is_ascii_digit());
    let digits = digits.count();
    let next = skip(&data[signs + digits..]);
    digits > 0
        && next
            .first()
            .map_or(cut, |b| b.is_ascii_digit() || b"+-".contains(b))
}

/// Whether of what follows a name only a part is looked at.
fn is_cut(after: &[u8]) -> bool {
    after.len() + LONGEST >= AHEAD
}

/// Whether what a name stands for, or a part of its list, is at another place of the
/// file, or begins beyond what is looked at.
fn elsewhere(after: &[u8]) -> bool {
    let cut = is_cut(after);
    let far = |rest: &[u8]| cut && rest.len() < 8 || refers(rest, cut);
    let mut rest = skip(after);
    let Some(list) = rest.strip_prefix(b"[") else {
        return far(rest);
    };
    rest = skip(list);
    loop {
        if far(rest) {
            return true;
        }
        rest = match rest {
            [b'/', name @ ..] => &name[regular(name)..],
            [b'<', b'<', inner @ ..] => match past_dictionary(inner) {
                Some(past) => past,
                None => return true,
            },
            _ => match rest.strip_prefix(b"null") {
                Some(past) => past,
                // Its end, or something at which the parser ends it.
                None => return false,
            },
        };
        rest = skip(rest);
    }
}

/// What follows the end of the dictionary that `data` is in; none if that is not in it.
fn past_dictionary(mut data: &[u8]) -> Option<&[u8]> {
    let mut depth = 0_usize;
    loop {
        data = skip(data);
        data = match data {
            [] => return None,
            [b'<', b'<', rest @ ..] => {
                depth += 1;
                rest
            }
            [b'>', b'>', rest @ ..] if depth == 0 => return Some(rest),
            [b'>', b'>', rest @ ..] => {
                depth -= 1;
                rest
            }
            [b'<', rest @ ..] => &rest[rest.iter().position(|&b| b == b'>')? + 1..],
            [b'(', rest @ ..] => past_string(rest)?,
            [_, rest @ ..] => rest,
        };
    }
}

/// What follows the string that `data` is in (ISO 32000-1, 7.3.4.2).
fn past_string(data: &[u8]) -> Option<&[u8]> {
    let (mut depth, mut k) = (0_usize, 0);
    loop {
        match data.get(k)? {
            b'\\' => k += 1,
            b'(' => depth += 1,
            b')' if depth == 0 => return Some(&data[k + 1..]),
            b')' => depth -= 1,
            _ => {}
        }
        k += 1;
    }
}

/// Whether the dictionary that `after` is in is a stream's, or may be.
fn is_of_stream(after: &[u8]) -> bool {
    past_dictionary(after).is_none_or(|past| skip(past).starts_with(b"stream"))
}

/// Whether no other way of packing follows the one that was named.
fn once(after: &[u8]) -> Outcome<()> {
    const PACKS: [&[u8]; 6] = [
        b"FlateDecode",
        b"Fl",
        b"LZWDecode",
        b"LZW",
        b"RunLengthDecode",
        b"RL",
    ];
    let mut rest = skip(after);
    while let Some(name) = rest.strip_prefix(b"/") {
        let (raw, past) = name.split_at(regular(name));
        if raw.len() <= LONGEST && PACKS.contains(&&*plain(raw)) {
            return Err(Fault::input(
                "the PDF is not opened: something in it is packed twice, and may be of any size",
                "print it to PDF again",
            ));
        }
        rest = skip(past);
    }
    if rest.is_empty() && is_cut(after) {
        return Err(strange());
    }
    Ok(())
}

/// Whether a number that follows is from 1 to `most`, and follows here.
fn number(after: &[u8], most: f64) -> Outcome<()> {
    let value = skip(after);
    let word = &value[..regular(value)];
    let begins = word
        .first()
        .is_some_and(|b| b.is_ascii_digit() || b"+-.".contains(b));
    let read = std::str::from_utf8(word)
        .ok()
        .and_then(|w| w.parse::<f64>().ok());
    let fits = read.is_some_and(|n| (1.0..=most).contains(&n));
    if begins && (!fits || refers(value, is_cut(after))) {
        return Err(strange());
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(file: &str) -> String {
        told(file.as_bytes()).unwrap_err().to_string()
    }

    #[test]
    fn what_is_packed_twice_is_refused_however_it_is_written() {
        for twice in [
            "<</Filter[/FlateDecode/FlateDecode]>>stream",
            "<</Filter [ /Fl % again\n /AHx /L#5aW ]>>stream",
            "5 0 obj [/A85 /RL /Fl#61teDecode] endobj",
            "<</F [/Fl /Unknown /Fl] /X (>>)>>stream",
        ] {
            assert!(refused(twice).contains("packed twice"), "{twice}");
        }
        for once in [
            "<</Filter/FlateDecode/DecodeParms<</Columns 5/Predictor 12>>/Length 3 0 R>>stream",
            "<</Filter [/ASCII85Decode /FlateDecode] /DecodeParms [null <</Colors 3>>]>>stream",
            "<</Type/XObject/BitsPerComponent 16/Filter/DCTDecode>>stream",
            "/Flate/Fl",
        ] {
            assert!(told(once.as_bytes()).is_ok(), "{once}");
        }
        assert_eq!(
            told(b"[/A85 /Fl] /LZW"),
            Ok(Told {
                letters: true,
                lzw: true,
                runs: false
            })
        );
    }

    #[test]
    fn how_a_stream_is_packed_is_said_in_its_dictionary() {
        for far in [
            "<</Filter 5 0 R>>stream",
            "<</#46ilter[5 % five\n 0 R]>>stream",
            "<</F 5 0 R /X (\\)>>) /Y <3e3e> /Z <</A 1>> >> stream",
            "<</Filter/Fl/DecodeParms 7 0 R>>stream",
            "<</DP [<</Columns (])>> 7 0 R]>>stream",
        ] {
            assert!(refused(far).contains("unusual way"), "{far}");
        }
        let font = "<</Resources<</Font<</F 5 0 R/G 6 0 R>>>>/Filter/Fl>>stream";
        assert!(told(font.as_bytes()).is_ok());
        assert!(told(b"/F (name) /Filter").is_ok());
        // Beyond what is looked at.
        let comment = format!("<</Filter %{}\n 5 0 R>>stream", " ".repeat(AHEAD));
        assert!(refused(&comment).contains("unusual way"));
    }

    /// The parser divides by some of these, and makes room for others.
    #[test]
    fn rows_are_of_a_length_that_can_be() {
        for bad in [
            "/Columns 0",
            "/Columns 99999999999",
            "/Columns -1",
            "/Col#75mns 8 0 R",
            "/Colors 0",
            "/Colors 255",
            "/BitsPerComponent 32",
        ] {
            assert!(refused(bad).contains("unusual way"), "{bad}");
        }
        for fine in ["/Columns 4", "/Colors[1 2]", "/Columns/X", "/Colors 4/Y"] {
            assert!(told(fine.as_bytes()).is_ok(), "{fine}");
        }
    }

    #[test]
    fn what_is_encrypted_is_no_larger_than_can_be_unpacked() {
        let mut file = b"<</Encrypt 9 0 R>>".to_vec();
        assert!(told(&file).is_ok());
        file.resize(MAX_ENCRYPTED + 1, b' ');
        let fault = told(&file).unwrap_err().to_string();
        assert!(fault.contains("encrypted and larger than 16 MB"), "{fault}");
    }
}
