//! A PNG put together by hand, so that what is within a chunk reaches its reader whatever the
//! bytes: checksums are right, and nothing is packed.

/// A picture of rows that stand as in the file, each with its filter's byte first.
pub fn png(width: u32, height: u32, depth: u8, colour: u8, rows: &[u8]) -> Vec<u8> {
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut head = Vec::new();
    head.extend(width.to_be_bytes());
    head.extend(height.to_be_bytes());
    head.extend([depth, colour, 0, 0, 0]);
    out.extend(chunk(b"IHDR", &head));
    out.extend(chunk(b"IDAT", &stored(rows)));
    out.extend(chunk(b"IEND", &[]));
    out
}

/// `png` with a chunk more, right after its head.
pub fn with(png: &[u8], more: &[u8]) -> Vec<u8> {
    // Eight bytes, then a head of 13 in its frame of 12.
    let (head, rest) = png.split_at(33);
    [head, more, rest].concat()
}

/// A chunk: length, kind, bytes, checksum (PNG, third edition, 5.3).
pub fn chunk(kind: &[u8; 4], bytes: &[u8]) -> Vec<u8> {
    let body = [kind.as_slice(), bytes].concat();
    let mut out = (bytes.len() as u32).to_be_bytes().to_vec();
    out.extend(&body);
    out.extend(crc32(&body).to_be_bytes());
    out
}

/// `bytes` as zlib has them (RFC 1950), in blocks that are not packed (RFC 1951, 3.2.4).
pub fn stored(bytes: &[u8]) -> Vec<u8> {
    let mut out = vec![0x78, 0x01];
    let mut blocks = bytes.chunks(0xffff).peekable();
    if blocks.peek().is_none() {
        out.extend([1, 0, 0, 0xff, 0xff]);
    }
    while let Some(block) = blocks.next() {
        let length = block.len() as u16;
        out.push(u8::from(blocks.peek().is_none()));
        out.extend(length.to_le_bytes());
        out.extend((!length).to_le_bytes());
        out.extend(block);
    }
    out.extend(adler32(bytes).to_be_bytes());
    out
}

/// CRC-32 of PNG (annex D).
fn crc32(bytes: &[u8]) -> u32 {
    let step = |crc: u32| {
        if crc & 1 == 1 {
            (crc >> 1) ^ 0xedb8_8320
        } else {
            crc >> 1
        }
    };
    !bytes.iter().fold(u32::MAX, |crc, &byte| {
        (0..8).fold(crc ^ u32::from(byte), |crc, _| step(crc))
    })
}

/// Adler-32 (RFC 1950, 8.2).
fn adler32(bytes: &[u8]) -> u32 {
    let (a, b) = bytes.iter().fold((1_u32, 0_u32), |(a, b), &byte| {
        let a = (a + u32::from(byte)) % 65521;
        (a, (a + b) % 65521)
    });
    b << 16 | a
}
