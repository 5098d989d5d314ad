//! Streams are counted before they are unpacked: a few kilobytes may hold gigabytes.

use std::borrow::Cow;

use flate2::{Decompress, FlushDecompress, Status};
use hayro_syntax::object::Stream;

use super::inflate::{deflated, lzw, runs};
use super::told::{Told, told};
use crate::fault::{Fault, Outcome};

/// Most bytes that one stream may hold.
const MAX_STREAM: usize = 256 << 20;
/// Most bytes, packed and unpacked, that all streams of a file may come to: each time
/// one is unpacked.
const MAX_ALL: usize = 1 << 30;

/// What each stream counts for at least, however little it holds.
const STREAM: usize = 1 << 10;

/// What unpacking has cost so far.
#[derive(Debug)]
pub struct Unpacked {
    all: usize,
    inflate: Decompress,
    sink: Vec<u8>,
}

impl Default for Unpacked {
    fn default() -> Self {
        Self {
            all: 0,
            inflate: Decompress::new(false),
            sink: vec![0; 64 << 10],
        }
    }
}

impl Unpacked {
    /// Counts `by` bytes more.
    ///
    /// # Errors
    ///
    /// When all together are more than the limit lets in.
    pub fn spend(&mut self, by: usize) -> Outcome<()> {
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
        let bare = if headed { &packed[2..] } else { packed };
        self.inflate.reset(false);
        loop {
            let (read, wrote) = (self.inflate.total_in(), self.inflate.total_out());
            let rest = &bare[read as usize..];
            // In parts, so that what is charged is what was looked at.
            let some = &rest[..rest.len().min(self.sink.len())];
            let state = self
                .inflate
                .decompress(some, &mut self.sink, FlushDecompress::None);
            let took = self.inflate.total_in() - read;
            let gave = self.inflate.total_out() - wrote;
            self.spend((took + gave) as usize)?;
            let held = self.inflate.total_out() as usize;
            within(held)?;
            // The parser goes on where it is damaged.
            if state.is_err() {
                return self.counted(|spend| deflated(packed.iter().copied(), spend));
            }
            if took + gave == 0 || matches!(state, Ok(Status::StreamEnd)) {
                return Ok(held);
            }
        }
    }

    /// What a count comes to, which is stopped at the limits.
    fn counted(
        &mut self,
        count: impl FnOnce(&mut dyn FnMut(usize) -> Outcome<()>) -> Outcome<usize>,
    ) -> Outcome<usize> {
        let mut held = 0;
        count(&mut |by: usize| {
            held += by;
            within(held)?;
            self.spend(by)
        })
    }

    /// Counts what `data` holds in ways of packing that are not usual.
    fn count_told(&mut self, data: &[u8], told: Told) -> Outcome<()> {
        self.ways(|| data.iter().copied(), told)?;
        if told.letters {
            self.counted(|spend| deflated(ascii85(data.iter().copied()), spend))?;
            self.counted(|spend| deflated(hex(data.iter().copied()), spend))?;
            self.ways(|| ascii85(data.iter().copied()), told)?;
            self.ways(|| hex(data.iter().copied()), told)?;
        }
        Ok(())
    }

    /// By runs and by LZW, where they are named.
    fn ways<I: Iterator<Item = u8>>(&mut self, data: impl Fn() -> I, told: Told) -> Outcome<()> {
        if told.runs {
            self.counted(|spend| runs(data(), spend))?;
        }
        if told.lzw {
            self.counted(|spend| lzw(data(), true, spend))?;
            self.counted(|spend| lzw(data(), false, spend))?;
        }
        Ok(())
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
                        "Ascii85Decode" => {
                            Some(Cow::Owned(ascii85(data.iter().copied()).collect()))
                        }
                        "AsciiHexDecode" => Some(Cow::Owned(hex(data.iter().copied()).collect())),
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

fn within(held: usize) -> Outcome<()> {
    if held > MAX_STREAM {
        return Err(too_long("a stream in it unpacks to more than 256 MiB"));
    }
    Ok(())
}

fn too_long(what: &str) -> Fault {
    Fault::input(
        format!("the PDF is not opened: {what}"),
        "take what is not pattern (pictures, hatching, pages of text) out of it",
    )
}

/// Counts what every stream in the file holds before anything is unpacked: the parser
/// does so without a limit. Of an encrypted file nothing can be counted.
///
/// # Errors
///
/// When one stream, or all together, is more than the limits let in, or what the file
/// says of them is not to be believed (see [`told`]).
pub fn guard(file: &[u8]) -> Outcome<()> {
    const WORD: &[u8] = b"stream";
    let told = told(file)?;
    let mut unpacked = Unpacked::default();
    let mut at = 0;
    while let Some(next) = file[at..].iter().position(|&b| b == b's') {
        at += next + 1;
        let Some(data) = file[at - 1..].strip_prefix(WORD) else {
            continue;
        };
        if file[..at - 1].ends_with(b"end") {
            continue;
        }
        // The line's end after the word (ISO 32000-1, 7.3.8.1).
        let data = match data {
            [b'\r', b'\n', data @ ..] | [b'\r' | b'\n', data @ ..] => data,
            _ => continue,
        };
        // Whatever its dictionary says: what is not packed so ends at once.
        unpacked.spend(STREAM)?;
        unpacked.count(data)?;
        unpacked.count_told(data, told)?;
    }
    Ok(())
}

/// ISO 32000-1, 7.4.3.
fn ascii85(bytes: impl Iterator<Item = u8>) -> impl Iterator<Item = u8> {
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
fn hex(bytes: impl Iterator<Item = u8>) -> impl Iterator<Item = u8> {
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
        let fault = crate::drawing::read::pdf::layers(&bomb).unwrap_err();
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

    /// One stream that is packed as `filter` says, and holds `data`.
    fn named(filter: &str, data: &[u8]) -> Vec<u8> {
        let head = format!("%PDF-1.7\n1 0 obj<</Filter {filter}>>stream\n");
        let mut file = head.into_bytes();
        file.extend_from_slice(data);
        file.extend(b"\nendstream endobj\n");
        file
    }

    #[test]
    fn bombs_in_other_clothes_are_refused() {
        let bomb = packed(MAX_STREAM + 1);
        let hex: String = bomb.iter().map(|b| format!("{b:02x}")).collect();
        let runs = [129_u8, 7].repeat(3 << 20);
        for (filter, data) in [
            ("[/AHx /Fl]", hex.as_bytes()),
            ("[/FlateDecode]", damaged(&bomb).as_slice()),
            ("/RunLengthDecode", runs.as_slice()),
        ] {
            let fault = guard(&named(filter, data)).unwrap_err().to_string();
            assert!(fault.contains("more than 256 MiB"), "{filter}: {fault}");
        }
        // Not named, letters are letters.
        assert!(guard(&named("/Fl", hex.as_bytes())).is_ok());
        let fault = guard(&named("[/Fl /Fl]", &[])).unwrap_err().to_string();
        assert!(fault.contains("packed twice"), "{fault}");
    }

    /// `packed` after a byte that stands as it is, whose count is told wrongly.
    fn damaged(packed: &[u8]) -> Vec<u8> {
        let mut data = packed[..2].to_vec();
        data.extend([0, 1, 0, 7, 7, b' ']);
        data.extend_from_slice(&packed[2..]);
        data
    }

    #[test]
    fn what_a_stream_holds_is_counted_with_and_without_a_head() {
        let data = packed(300_000);
        let count = |bytes: &[u8]| Unpacked::default().count(bytes).unwrap();
        assert_eq!(count(&data), 300_000);
        assert_eq!(count(&data[2..]), 300_000);
        assert_eq!(count(b"\xff\xd8\xff\xe0 a photo"), 0);
        // As stored bytes of a length that does not fit, which the parser takes.
        assert_eq!(count(b"0 0 m 9 9 l S"), 8);
        assert_eq!(count(&[]), 0);
    }

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
