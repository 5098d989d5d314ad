//! Streams are counted before they are unpacked: a few kilobytes may hold gigabytes.

use std::borrow::Cow;
use std::cell::Cell;

use flate2::{Decompress, FlushDecompress, Status};
use hayro_syntax::object::Stream;

use super::inflate::{deflated, lzw, runs};
use super::rows;
use super::told::{VEILED, strange, told};
use super::way::{Letters, Pack, Way, ascii85, hex};
use crate::fault::{Fault, Outcome};

/// Most bytes that one stream may hold.
const MAX_STREAM: usize = 256 << 20;
/// Most bytes, packed and unpacked, that all streams of a file may come to: each time
/// one is unpacked.
const MAX_ALL: usize = 1 << 30;

/// What each stream counts for at least, however little it holds.
const STREAM: usize = 1 << 10;
/// How often each byte of a file, or of the first MiB, may be looked at for what is packed
/// in ways that are not usual: where it does not say that it ends, it may go on to the
/// file's end.
const LOOKS: usize = 64;

/// What unpacking has cost so far.
#[derive(Debug)]
pub struct Unpacked {
    all: usize,
    /// Bytes looked at in ways that are not usual.
    looked: usize,
    inflate: Decompress,
    sink: Vec<u8>,
}

impl Default for Unpacked {
    fn default() -> Self {
        Self {
            all: 0,
            looked: 0,
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
            return Err(too_long("what is packed in it comes to more than 1 GiB"));
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

    /// Counts what `data` holds if it is packed in this way.
    fn count_told(&mut self, data: &[u8], way: Way) -> Outcome<()> {
        let looked = Cell::new(0_usize);
        let seen = &looked;
        let looking = || {
            let look = move |_: &u8| seen.set(seen.get() + 1);
            data.iter().copied().inspect(look)
        };
        match way.letters {
            None => self.packed(looking, way.pack)?,
            Some(Letters::Base85) => self.packed(|| ascii85(looking()), way.pack)?,
            Some(Letters::Hex) => self.packed(|| hex(looking()), way.pack)?,
        }
        self.looked += looked.get();
        Ok(())
    }

    /// Counts what `data` holds.
    fn packed<I: Iterator<Item = u8>>(&mut self, data: impl Fn() -> I, pack: Pack) -> Outcome<()> {
        match pack {
            Pack::Flate => self.counted(|spend| deflated(data(), spend))?,
            Pack::Runs => self.counted(|spend| runs(data(), spend))?,
            // Both are in use, and which of them is said elsewhere.
            Pack::Lzw => {
                self.counted(|spend| lzw(data(), true, spend))?;
                self.counted(|spend| lzw(data(), false, spend))?
            }
        };
        Ok(())
    }

    /// What `stream` holds; none where it can't be unpacked.
    ///
    /// # Errors
    ///
    /// When it, or all that was unpacked, is more than the limits let in, or the parameters
    /// that it needs are veiled or can't be.
    pub fn stream<'a>(&mut self, stream: &Stream<'a>) -> Outcome<Option<Cow<'a, [u8]>>> {
        // The parser's own type of filters can't be named outside it.
        let filters: Vec<String> = stream.filters().iter().map(|f| format!("{f:?}")).collect();
        let packs = |f: &str| matches!(f, "FlateDecode" | "LzwDecode" | "RunLengthDecode");
        let takes = |f: &str| matches!(f, "FlateDecode" | "LzwDecode" | "Crypt");
        let dict = stream.dict();
        let veiled = VEILED.iter().any(|key| dict.contains_key(key));
        if filters.iter().any(|f| takes(f)) && (veiled || !rows::can_be(dict)) {
            return Err(strange());
        }
        let raw = stream.raw_data();
        let Some(first) = filters.iter().position(|f| packs(f)) else {
            self.spend(raw.len())?;
            return Ok(stream.decoded_data().ok());
        };
        // Packed twice, it can't be counted without being kept: nobody does that.
        if filters.iter().filter(|f| packs(f)).count() > 1 {
            return Ok(None);
        }
        let plain = filters[..first]
            .iter()
            .try_fold(raw, |data, f| match f.as_str() {
                "Ascii85Decode" => Some(Cow::Owned(ascii85(data.iter().copied()).collect())),
                "AsciiHexDecode" => Some(Cow::Owned(hex(data.iter().copied()).collect())),
                "Crypt" => Some(data),
                _ => None,
            });
        let Some(plain) = plain else {
            return Ok(None);
        };
        self.spend(plain.len())?;
        let data = || plain.iter().copied();
        match filters[first].as_str() {
            "FlateDecode" => {
                self.count(&plain)?;
            }
            "LzwDecode" => self.packed(data, Pack::Lzw)?,
            _ => self.packed(data, Pack::Runs)?,
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
/// does so without a limit. Of an encrypted file nothing can be counted. In `file`, what
/// the parser may not see is changed (see [`Told::veil`](super::told::Told::veil)).
///
/// # Errors
///
/// When one stream, or all together, is more than the limits let in, or what the file
/// says of them is not to be believed (see [`told`]).
pub fn guard(file: &mut [u8]) -> Outcome<()> {
    Unpacked::default().guard(file)
}

impl Unpacked {
    fn guard(&mut self, file: &mut [u8]) -> Outcome<()> {
        const WORD: &[u8] = b"stream";
        let told = told(file)?;
        told.veil(file);
        let file = &*file;
        let most = LOOKS * file.len().max(1 << 20);
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
            self.spend(STREAM)?;
            self.count(data)?;
            for way in told.ways(at - 1) {
                if self.looked > most {
                    return Err(strange());
                }
                self.count_told(data, way)?;
            }
        }
        Ok(())
    }
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
        assert!(guard(&mut file(&[some.as_slice(); 1000])).is_ok());
        let fault = guard(&mut file(&[some.as_slice(); 1030])).unwrap_err();
        assert!(
            fault
                .what
                .ends_with("what is packed in it comes to more than 1 GiB"),
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
            let fault = guard(&mut named(filter, data)).unwrap_err().to_string();
            assert!(fault.contains("more than 256 MiB"), "{filter}: {fault}");
        }
        // Not named, letters are letters.
        assert!(guard(&mut named("/Fl", hex.as_bytes())).is_ok());
        let fault = guard(&mut named("[/Fl /Fl]", &[])).unwrap_err().to_string();
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

    /// Each would go on to the file's end.
    #[test]
    fn letters_that_say_they_are_runs_are_not_counted_again_and_again() {
        let letters = "no letter is a length, and what follows it are letters ".repeat(4);
        let files = |size: usize, one: &str| format!("%PDF-1.7\n{}", one.repeat(size / one.len()));
        let named = format!("1 0 obj<</Filter/RL>>stream\n{letters}\nendstream endobj\n");
        let mut file = files(2 << 20, &named).into_bytes();
        let mut unpacked = Unpacked::default();
        let fault = unpacked.guard(&mut file).unwrap_err().to_string();
        assert!(fault.contains("unusual way"), "{fault}");
        assert!(unpacked.looked <= (LOOKS + 2) * file.len());
        // A name of something else.
        let font = "2 0 obj<</Font<</RL 3 0 R>>/X[/RL]>>endobj\n";
        let plain = format!("{font}1 0 obj<</Length 9>>stream\n{letters}\nendstream endobj\n");
        let mut unpacked = Unpacked::default();
        let mut file = files(64 << 10, &plain).into_bytes();
        assert_eq!(unpacked.guard(&mut file), Ok(()));
        assert_eq!(unpacked.looked, 0);
        // Pictures in letters, which end where they say.
        let honest = "1 0 obj<</Filter[/A85/RL]>>stream\ns8W-!s8W-!~>\nendstream endobj\n";
        let mut file = files(64 << 10, honest).into_bytes();
        assert_eq!(unpacked.guard(&mut file), Ok(()));
        assert!((1..file.len()).contains(&unpacked.looked));
    }
}
