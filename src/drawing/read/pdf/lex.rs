//! How names, comments, strings and dictionaries are spelt, as the parser reads them.

use std::borrow::Cow;

fn is_space(b: u8) -> bool {
    matches!(b, 0 | b'\t' | b'\n' | 0x0c | b'\r' | b' ')
}

/// How many bytes at the beginning go on a word (ISO 32000-1, 7.2.2).
pub fn regular(data: &[u8]) -> usize {
    let stops = |&b: &u8| is_space(b) || b"()<>[]{}/%".contains(&b);
    data.iter().position(stops).unwrap_or(data.len())
}

/// A name as it is meant (ISO 32000-1, 7.3.5).
pub fn plain(raw: &[u8]) -> Cow<'_, [u8]> {
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
pub fn skip(mut data: &[u8]) -> &[u8] {
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

/// What follows the end of the dictionary that `data` is in; none if that is not in it.
pub fn past_dictionary(mut data: &[u8]) -> Option<&[u8]> {
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
