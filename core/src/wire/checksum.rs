//! The checksum at the end of everything that leaves the board.

use crc::{CRC_32_ISO_HDLC, Crc};

/// CRC-32/ISO-HDLC: finds every single flipped bit and every burst of up to 32 bits; of other damage
/// it misses one in 2^32.
static CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);

/// Bytes the checksum takes.
pub(crate) const CHECKSUM_BYTES: usize = 4;

/// Writes the checksum of the first `used` bytes behind them, little end first. Returns how many
/// bytes are used then; `None` when the buffer is full.
pub(crate) fn seal(buffer: &mut [u8], used: usize) -> Option<usize> {
    let (content, rest) = buffer.split_at_mut_checked(used)?;
    let (place, _) = rest.split_first_chunk_mut::<CHECKSUM_BYTES>()?;
    *place = CHECKSUM.checksum(content).to_le_bytes();
    used.checked_add(CHECKSUM_BYTES)
}

/// What stands before the checksum that ends `bytes`; `None` when the two do not agree.
pub(crate) fn unseal(bytes: &[u8]) -> Option<&[u8]> {
    let (content, sum) = bytes.split_last_chunk::<CHECKSUM_BYTES>()?;
    (CHECKSUM.checksum(content).to_le_bytes() == *sum).then_some(content)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The check value of CRC-32/ISO-HDLC over the digits 1 to 9, as Python's `zlib.crc32` gives it.
    #[test]
    fn agrees_with_the_published_check_value() {
        let mut buffer = *b"123456789....";
        assert_eq!(seal(&mut buffer, 9), Some(13));
        assert_eq!(buffer[9..], 0xcbf4_3926_u32.to_le_bytes());
        assert_eq!(unseal(&buffer), Some(&b"123456789"[..]));
        assert_eq!(seal(&mut buffer, 10), None);
        assert_eq!(unseal(&buffer[..3]), None);
    }
}
