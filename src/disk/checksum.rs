//! The checksum of what is kept: it tells what was written from what has changed since.

use crc::{CRC_32_ISCSI, Crc, Table};

/// CRC-32C (Castagnoli), as in RFC 3720, section 12.1.
const CASTAGNOLI: Crc<u32, Table<16>> = Crc::<u32, Table<16>>::new(&CRC_32_ISCSI);

/// The CRC-32C of `bytes`.
pub fn crc32c(bytes: &[u8]) -> u32 {
    crc32c_of(&[bytes])
}

/// The CRC-32C of several parts, one after the other.
pub fn crc32c_of(parts: &[&[u8]]) -> u32 {
    let mut digest = CASTAGNOLI.digest();
    for part in parts {
        digest.update(part);
    }
    digest.finalize()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 3720, appendix B.4, and the check value of the CRC catalogue.
    #[test]
    fn the_checksum_is_the_published_one() {
        let rising: Vec<u8> = (0..32).collect();
        let falling: Vec<u8> = (0..32).rev().collect();
        assert_eq!(crc32c(&[0; 32]), 0x8A91_36AA);
        assert_eq!(crc32c(&[0xFF; 32]), 0x62A8_AB43);
        assert_eq!(crc32c(&rising), 0x46DD_794E);
        assert_eq!(crc32c(&falling), 0x113F_DB5C);
        assert_eq!(crc32c(b"123456789"), 0xE306_9283);
        let parts: [&[u8]; 3] = [b"1234", b"", b"56789"];
        assert_eq!(crc32c_of(&parts), 0xE306_9283);
    }
}
