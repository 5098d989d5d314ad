//! How much packed bytes hold, counted as the parser would unpack them, and nothing kept:
//! it goes on where others see damage and stop.

use std::iter::Peekable;

use crate::fault::Outcome;

/// What each part of the count is told to; it ends where that fails.
pub type Spend<'s> = &'s mut dyn FnMut(usize) -> Outcome<()>;

/// Bytes told to [`Spend`] at once.
const PART: usize = 64 << 10;

/// How many bytes DEFLATE data (RFC 1951) holds, with the head of RFC 1950 or without.
///
/// # Errors
///
/// Those of `spend`.
pub fn deflated(mut data: impl Iterator<Item = u8>, spend: Spend) -> Outcome<usize> {
    let first: [Option<u8>; 2] = std::array::from_fn(|_| data.next());
    // As the parser tells it.
    let headed = matches!(first, [Some(cmf), Some(flg)]
        if cmf & 15 == 8 && (u16::from(cmf) << 8 | u16::from(flg)) % 31 == 0 && flg & 32 == 0);
    let begin = first.into_iter().flatten().filter(|_| !headed);
    let mut inflate = Inflate {
        bytes: begin.collect::<Vec<_>>().into_iter().chain(data).peekable(),
        held: 0,
        bits: 0,
        count: 0,
        told: 0,
        spend,
    };
    let mut last = false;
    while !last && inflate.bytes.peek().is_some() {
        let Some(head) = inflate.take(3) else { break };
        last = head & 1 != 0;
        let goes_on = match head >> 1 {
            0 => inflate.stored()?,
            1 => {
                let long = |k| match k {
                    0..=143 => 8,
                    144..=255 => 9,
                    256..=279 => 7,
                    _ => 8,
                };
                let (letters, back) = (Code::of(&(0..288).map(long).collect::<Vec<_>>()), [5; 30]);
                inflate.block(&letters, &Code::of(&back))?
            }
            2 => match inflate.codes()? {
                Some((letters, back)) => inflate.block(&letters, &back)?,
                None => false,
            },
            _ => false,
        };
        if !goes_on {
            break;
        }
    }
    let rest = inflate.count - inflate.told;
    (inflate.spend)(rest)?;
    Ok(inflate.count)
}

struct Inflate<'s, I: Iterator<Item = u8>> {
    bytes: Peekable<I>,
    held: u32,
    bits: u8,
    count: usize,
    told: usize,
    spend: Spend<'s>,
}

impl<I: Iterator<Item = u8>> Inflate<'_, I> {
    fn take(&mut self, bits: u8) -> Option<u32> {
        while self.bits < bits {
            self.held |= u32::from(self.bytes.next()?) << self.bits;
            self.bits += 8;
        }
        let value = self.held & ((1 << bits) - 1);
        self.held >>= bits;
        self.bits -= bits;
        Some(value)
    }

    fn next(&mut self, code: &Code) -> Option<usize> {
        while self.bits < code.longest {
            let Some(byte) = self.bytes.next() else { break };
            self.held |= u32::from(byte) << self.bits;
            self.bits += 8;
        }
        let index = self.held & ((1 << code.longest) - 1);
        let &(bits, value) = code.table.get(index as usize)?;
        if bits < 1 || self.bits < bits {
            return None;
        }
        self.held >>= bits;
        self.bits -= bits;
        Some(usize::from(value))
    }

    fn add(&mut self, by: usize) -> Outcome<()> {
        self.count += by;
        if self.count - self.told >= PART {
            let some = self.count - self.told;
            self.told = self.count;
            (self.spend)(some)?;
        }
        Ok(())
    }

    /// Whether more can follow.
    fn stored(&mut self) -> Outcome<bool> {
        (self.held, self.bits) = (0, 0);
        let [low, high, _, check] = std::array::from_fn(|_| self.bytes.next());
        let (Some(low), Some(high), Some(_)) = (low, high, check) else {
            return Ok(false);
        };
        let length = usize::from(u16::from_le_bytes([low, high]));
        let there = self.bytes.by_ref().take(length).count();
        self.add(there)?;
        Ok(there == length)
    }

    fn block(&mut self, letters: &Code, back: &Code) -> Outcome<bool> {
        loop {
            let Some(value) = self.next(letters) else {
                return Ok(false);
            };
            match value {
                0..256 => self.add(1)?,
                256 => return Ok(true),
                _ => {
                    let Some(by) = self.repeated(value - 257, back) else {
                        return Ok(false);
                    };
                    self.add(by)?;
                }
            }
        }
    }

    /// How many bytes come again (RFC 1951, 3.2.5).
    fn repeated(&mut self, code: usize, back: &Code) -> Option<usize> {
        let (least, extra) = match code {
            0..8 => (3 + code, 0),
            8..28 => (3 + ((4 + code % 4) << (code / 4 - 1)), code / 4 - 1),
            28 => (258, 0),
            _ => (0, 0),
        };
        let length = least + self.take(extra as u8)? as usize;
        let (least, extra) = match self.next(back)? {
            code @ 0..4 => (1 + code, 0),
            code @ 4..30 => (1 + ((2 + code % 2) << (code / 2 - 1)), code / 2 - 1),
            _ => return None,
        };
        let distance = least + self.take(extra as u8)? as usize;
        Some(if distance <= self.count { length } else { 0 })
    }

    /// The codes of a block that brings its own (RFC 1951, 3.2.7).
    fn codes(&mut self) -> Outcome<Option<(Code, Code)>> {
        let codes = self.read_codes();
        // A table takes time, however little it unpacks.
        (self.spend)(4096)?;
        Ok(codes)
    }

    fn read_codes(&mut self) -> Option<(Code, Code)> {
        const ORDER: [usize; 19] = [
            16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15,
        ];
        let letters = self.take(5)? as usize + 257;
        let all = letters + self.take(5)? as usize + 1;
        let told = self.take(4)? as usize + 4;
        let mut own = [0; 19];
        for &at in &ORDER[..told] {
            own[at] = self.take(3)? as u8;
        }
        let own = Code::of(&own);
        let mut lengths: Vec<u8> = Vec::with_capacity(all);
        while lengths.len() < all {
            let (value, times) = match self.next(&own)? {
                length @ 0..16 => (length as u8, 1),
                16 => {
                    let before = lengths.last().copied().unwrap_or(0);
                    (before, self.take(2)? + 3)
                }
                17 => (0, self.take(3)? + 3),
                _ => (0, self.take(7)? + 11),
            };
            lengths.extend(std::iter::repeat_n(value, times as usize));
        }
        lengths.truncate(all);
        Some((Code::of(&lengths[..letters]), Code::of(&lengths[letters..])))
    }
}

/// A Huffman code, looked up by its bits, the first the lowest.
struct Code {
    /// How long, and what for; one that stands for nothing is 0 long.
    table: Vec<(u8, u16)>,
    longest: u8,
}

impl Code {
    /// By the length of each value's code; none: 0.
    fn of(lengths: &[u8]) -> Self {
        let longest = lengths.iter().copied().max().unwrap_or(0);
        if longest == 0 {
            return Self {
                table: vec![(0, 0)],
                longest: 1,
            };
        }
        let size = 1_usize << longest;
        let mut table = vec![(0, 0); size];
        let mut code = 0_u32;
        for bits in 1..=longest {
            let of = lengths.iter().enumerate().filter(|(_, l)| **l == bits);
            for (value, _) in of {
                let first = code.reverse_bits() >> (32 - u32::from(bits));
                for place in (first as usize..size).step_by(1 << bits) {
                    table[place] = (bits, value as u16);
                }
                code += 1;
            }
            code <<= 1;
        }
        Self { table, longest }
    }
}

/// How many bytes LZW data (ISO 32000-1, 7.4.4) holds; `early`: its codes grow one early.
///
/// # Errors
///
/// Those of `spend`.
pub fn lzw(data: impl Iterator<Item = u8>, early: bool, spend: Spend) -> Outcome<usize> {
    const CLEAR: usize = 256;
    const END: usize = 257;
    // How long what each code stands for is.
    let mut lengths: Vec<usize> = vec![1; 258];
    let (mut held, mut bits) = (0_u32, 0_u8);
    let (mut before, mut count): (Option<usize>, usize) = (None, 0);
    for byte in data {
        held = held << 8 | u32::from(byte);
        bits += 8;
        let width = match lengths.len() + usize::from(early) {
            0..512 => 9,
            512..1024 => 10,
            1024..2048 => 11,
            _ => 12,
        };
        if bits < width {
            continue;
        }
        bits -= width;
        let code = (held >> bits) as usize;
        held &= (1_u32 << bits) - 1;
        match code {
            END => break,
            CLEAR => {
                lengths.truncate(258);
                before = None;
                continue;
            }
            _ => {}
        }
        let longer = before.map(|b| lengths[b] + 1);
        let own = match (lengths.get(code), longer) {
            (Some(&own), _) => own,
            (None, Some(longer)) if code == lengths.len() => longer,
            _ => break,
        };
        if let Some(longer) = longer.filter(|_| lengths.len() < 4096) {
            lengths.push(longer);
        }
        count += own;
        spend(own)?;
        before = Some(code);
    }
    Ok(count)
}

/// How many bytes run-length data (ISO 32000-1, 7.4.5) holds.
///
/// # Errors
///
/// Those of `spend`.
pub fn runs(mut data: impl Iterator<Item = u8>, spend: Spend) -> Outcome<usize> {
    let mut count = 0;
    while let Some(length) = data.next() {
        let by = match length {
            128 => break,
            0..128 => data.by_ref().take(usize::from(length) + 1).count(),
            _ => data.next().map_or(0, |_| 257 - usize::from(length)),
        };
        count += by;
        spend(by)?;
    }
    Ok(count)
}

#[cfg(test)]
mod tests {
    use std::io::Write;

    use flate2::Compression;
    use flate2::write::{DeflateEncoder, ZlibEncoder};

    use super::*;
    use crate::fault::Fault;

    fn held(data: &[u8]) -> usize {
        deflated(data.iter().copied(), &mut |_| Ok(())).unwrap()
    }

    #[test]
    fn what_other_programs_pack_is_counted() {
        let words = "a b c d e f g h 0.5 12 l S ".repeat(9000);
        let noise: Vec<u8> = (0..200_000_u32)
            .map(|k| (k.wrapping_mul(2_654_435_761) >> 13) as u8)
            .collect();
        for data in [words.as_bytes(), &noise[..], &[], &[7; 300_000]] {
            for level in [0, 1, 6, 9] {
                let mut zlib = ZlibEncoder::new(Vec::new(), Compression::new(level));
                zlib.write_all(data).unwrap();
                assert_eq!(held(&zlib.finish().unwrap()), data.len(), "{level}");
                let mut bare = DeflateEncoder::new(Vec::new(), Compression::new(level));
                bare.write_all(data).unwrap();
                assert_eq!(held(&bare.finish().unwrap()), data.len(), "{level}");
            }
        }
    }

    /// A stored block whose length is told wrongly: others stop at it.
    #[test]
    fn what_follows_damage_is_counted() {
        let mut bare = DeflateEncoder::new(Vec::new(), Compression::new(9));
        bare.write_all(&[b' '; 1 << 20]).unwrap();
        let mut data = vec![0, 2, 0, 9, 9, b'a', b'b'];
        data.extend(bare.finish().unwrap());
        assert_eq!(held(&data), (1 << 20) + 2);
        let mut few = 100_usize;
        let mut spend = |by: usize| {
            few = few
                .checked_sub(by)
                .ok_or_else(|| Fault::input("too much", "less"))?;
            Ok(())
        };
        assert!(deflated(data.into_iter(), &mut spend).is_err());
    }

    /// The first is the example of the PDF standard; the second is made by hand.
    #[test]
    fn codes_and_runs_are_counted() {
        let data = [0x80, 0x0b, 0x60, 0x50, 0x22, 0x0c, 0x0c, 0x85, 0x01];
        for early in [true, false] {
            let held = lzw(data.into_iter(), early, &mut |_| Ok(()));
            assert_eq!(held, Ok(10));
        }
        // Each code is the one before and its first letter once more: 1 + 2 + … + n.
        let mut bits = vec![256_u16, 0];
        bits.extend(258..400);
        let mut packed = vec![0_u8; bits.len() * 9 / 8 + 1];
        for (k, code) in bits.iter().enumerate() {
            for b in (0..9_usize).filter(|b| code >> (8 - b) & 1 == 1) {
                packed[(k * 9 + b) / 8] |= 128 >> ((k * 9 + b) % 8);
            }
        }
        let held = lzw(packed.into_iter(), true, &mut |_| Ok(())).unwrap();
        assert_eq!(held, 143 * 144 / 2);
        let data = [4, 10, 11, 12, 13, 14, 253, 3, 128, 9];
        assert_eq!(runs(data.into_iter(), &mut |_| Ok(())), Ok(9));
    }
}
