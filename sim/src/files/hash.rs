//! SHA-256, by which runs and files are known again.

use sha2::{Digest, Sha256};

/// SHA-256 as hexadecimal digits.
pub fn sha256(content: impl AsRef<[u8]>) -> String {
    hex::encode(Sha256::digest(content))
}

#[cfg(test)]
mod tests {
    /// FIPS 180-2, appendix B.1: the hash of "abc" (from memory).
    #[test]
    fn the_standards_example() {
        let published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!(super::sha256("abc"), published);
    }
}
