//! Streams are counted before they are unpacked: a few kilobytes may hold gigabytes.

use std::borrow::Cow;

use flate2::{Decompress, FlushDecompress, Status};
use hayro_syntax::object::Stream;

use crate::fault::{Fault, Outcome};

/// Most bytes that one stream may hold.
const MAX_STREAM: usize = 256 << 20;
/// Most bytes, packed and unpacked, that all streams of a file may come to: each time
/// one is unpacked.
const MAX_ALL: usize = 1 << 30;

/// What unpacking has cost so far.
#[derive(Debug, Default)]
pub struct Unpacked {
    all: usize,
}

impl Unpacked {
    fn spend(&mut self, by: usize) -> Outcome<()> {
        self.all = self.all.saturating_add(by);
        if self.all > MAX_ALL {
            return Err(too_long("its streams unpack to more than 1 GiB"));
        }
        Ok(())
    }

    /// Inflates `packed` and keeps nothing; how many bytes it holds, up to where it is
    /// damaged or ends.
    fn count(&mut self, packed: &[u8]) -> Outcome<usize> {
        // As the parser does: with a head (RFC 1950) or without (RFC 1951).
        let headed = matches!(packed, &[cmf, flg, ..]
            if cmf & 15 == 8 && (u16::from(cmf) << 8 | u16::from(flg)) % 31 == 0 && flg & 32 == 0);
        let packed = if headed { &packed[2..] } else { packed };
        let mut inflate = Decompress::new(false);
        let mut sink = vec![0; 64 << 10];
        loop {
            let (read, wrote) = (inflate.total_in(), inflate.total_out());
            let rest = &packed[read as usize..];
            // In parts, so that what is charged is what was looked at.
            let some = &rest[..rest.len().min(sink.len())];
            let state = inflate.decompress(some, &mut sink, FlushDecompress::None);
            let (took, gave) = (inflate.total_in() - read, inflate.total_out() - wrote);
            self.spend((took + gave) as usize)?;
            let held = inflate.total_out() as usize;
            if held > MAX_STREAM {
                return Err(too_long("a stream in it unpacks to more than 256 MiB"));
            }
            if took + gave == 0 || !matches!(state, Ok(Status::Ok | Status::BufError)) {
                return Ok(held);
            }
        }
    }

    /// What `stream` holds; none where it can't be unpacked.
    ///
    /// # Errors
    ///
    /// When it, or all that was unpacked, is more than the limits let in.
    pub fn stream<'a>(&mut self, stream: &Stream<'a>) -> Outcome<Option<Cow<'a, [u8]>>> {
        // The parser's own type of filters can't be named outside it.
        let filters: Vec<String> = stream.filters().iter().map(|f| format!("{f:?}")).collect();
        let packs = |f: &str| matches!(f, "FlateDecode" | "LzwDecode" | "RunLengthDecode");
        let raw = stream.raw_data();
        let first = filters.iter().position(|f| packs(f));
        match first.map(|k| (k, filters[k].as_str())) {
            None => self.spend(raw.len())?,
            // Packed twice, it can't be counted without being kept: nobody does that.
            Some(_) if filters.iter().filter(|f| packs(f)).count() > 1 => return Ok(None),
            Some((k, "FlateDecode")) => {
                let plain = filters[..k]
                    .iter()
                    .try_fold(raw, |data, f| match f.as_str() {
                        "Ascii85Decode" => Some(Cow::Owned(ascii85(&data))),
                        "AsciiHexDecode" => Some(Cow::Owned(hex(&data))),
                        "Crypt" => Some(data),
                        _ => None,
                    });
                let Some(plain) = plain else {
                    return Ok(None);
                };
                self.count(&plain)?;
            }
            // n codes of 9 bits or more stand for n² / 2 bytes at most, one for 4096.
            Some((_, "LzwDecode")) => {
                let codes = raw.len().saturating_mul(8) / 9;
                let most = codes
                    .saturating_mul(codes / 2)
                    .min(codes.saturating_mul(4096));
                if most > MAX_STREAM {
                    return Ok(None);
                }
                self.spend(most)?;
            }
            // Two bytes stand for 128 at most.
            Some(_) => self.spend(raw.len().saturating_mul(64))?,
        }
        Ok(stream.decoded_data().ok())
    }
}

fn too_long(what: &str) -> Fault {
    Fault::input(
        format!("the PDF is not opened: {what}"),
        "take what is not pattern (pictures, hatching, pages of text) out of it",
    )
}

/// Counts what every stream in the file holds, packed as they mostly are, before
/// anything is unpacked: the parser does so without a limit.
///
/// # Errors
///
/// When one stream, or all together, is more than the limits let in.
pub fn guard(file: &[u8]) -> Outcome<()> {
    const WORD: &[u8] = b"stream";
    let mut unpacked = Unpacked::default();
    let mut at = 0;
    while let Some(next) = file[at..].iter().position(|&b| b == b's') {
        at += next + 1;
        let Some(data) = file[at - 1..].strip_prefix(WORD) else {
            continue;
        };
        // The line's end after the word (ISO 32000-1, 7.3.8.1).
        let data = match data {
            [b'\r', b'\n', data @ ..] | [b'\r' | b'\n', data @ ..] => data,
            _ => continue,
        };
        // Whatever its dictionary says: what is not packed so ends at once.
        unpacked.count(data)?;
    }
    Ok(())
}

/// ISO 32000-1, 7.4.3.
fn ascii85(data: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut group: Vec<u32> = Vec::with_capacity(5);
    let mut flush = |group: &mut Vec<u32>| {
        let bytes = group.len().saturating_sub(1);
        group.resize(5, 84);
        let value = group
            .iter()
            .fold(0_u32, |sum, &d| sum.wrapping_mul(85).wrapping_add(d));
        out.extend(&value.to_be_bytes()[..bytes]);
        group.clear();
    };
    for &b in data {
        match b {
            b'~' => break,
            b'z' if group.is_empty() => {
                group.resize(5, 0);
                flush(&mut group);
            }
            b'!'..=b'u' => {
                group.push(u32::from(b - b'!'));
                if group.len() == 5 {
                    flush(&mut group);
                }
            }
            _ => {}
        }
    }
    if !group.is_empty() {
        flush(&mut group);
    }
    out
}

/// ISO 32000-1, 7.4.2.
fn hex(data: &[u8]) -> Vec<u8> {
    let end = data.iter().position(|&b| b == b'>').unwrap_or(data.len());
    let digits: Vec<u32> = data[..end]
        .iter()
        .filter_map(|&b| char::from(b).to_digit(16))
        .collect();
    let pair = |d: &[u32]| (d[0] << 4 | d.get(1).copied().unwrap_or(0)) as u8;
    digits.chunks(2).map(pair).collect()
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use flate2::Compression;
    use flate2::write::ZlibEncoder;

    use super::*;

    fn packed(size: usize) -> Vec<u8> {
        let mut encoder = ZlibEncoder::new(Vec::new(), Compression::new(6));
        let some = vec![b' '; 1 << 20];
        for _ in 0..size >> 20 {
            encoder.write_all(&some).unwrap();
        }
        encoder.write_all(&some[..size & 0xf_ffff]).unwrap();
        encoder.finish().unwrap()
    }

    fn file(streams: &[&[u8]]) -> Vec<u8> {
        let mut file = b"%PDF-1.7\n".to_vec();
        for (k, data) in streams.iter().enumerate() {
            let head = format!("{} 0 obj<</Length {}>>stream\r\n", k + 1, data.len());
            file.extend(head.as_bytes());
            file.extend_from_slice(data);
            file.extend(b"\nendstream endobj\n");
        }
        file
    }

    #[test]
    fn bombs_are_refused_before_they_are_unpacked() {
        let one = packed(MAX_STREAM + 1);
        let bomb = file(&[&one]);
        assert!(bomb.len() < 300_000, "{}", bomb.len());
        let begun = std::time::Instant::now();
        let fault = crate::pattern::read::pdf::layers(&bomb).unwrap_err();
        let took = begun.elapsed();
        assert!(
            fault
                .what
                .ends_with("a stream in it unpacks to more than 256 MiB"),
            "{fault}"
        );
        println!("refused in {took:?}");
        let some = packed(1 << 20);
        assert!(guard(&file(&[some.as_slice(); 1000])).is_ok());
        let fault = guard(&file(&[some.as_slice(); 1030])).unwrap_err();
        assert!(
            fault
                .what
                .ends_with("its streams unpack to more than 1 GiB"),
            "{fault}"
        );
    }

    #[test]
    fn what_a_stream_holds_is_counted_with_and_without_a_head() {
        let data = packed(300_000);
        let count = |bytes: &[u8]| Unpacked::default().count(bytes).unwrap();
        assert_eq!(count(&data), 300_000);
        assert_eq!(count(&data[2..]), 300_000);
        assert_eq!(count(b"0 0 m 9 9 l S"), 0);
        assert_eq!(count(&[]), 0);
    }

    /// The first by Python's base64.a85encode.
    #[test]
    fn letters_stand_for_bytes() {
        assert_eq!(ascii85(b"D..<\n)F*2M7/c~>"), b"man sure.");
        assert_eq!(ascii85(b"z~>"), [0; 4]);
        assert_eq!(hex(b"6D 61\n6e7>"), b"manp");
    }
}
