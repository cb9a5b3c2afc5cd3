//! The tune as a blob, for a flash page or a cable.
//!
//! ```text
//! offset   bytes
//! 0        4      magic, "eoT" and 0xe5
//! 4        2      version of the body, little end first
//! 6        2      length n of the body
//! 8        n      the settings, in postcard's format
//! 8 + n    4      CRC-32/ISO-HDLC over everything before it, little end first
//! ```
//!
//! What follows the blob, as in a flash page, is not looked at. Header and checksum stay the same in
//! all versions, so that a newer tune is told from a damaged one. Older versions are read; settings
//! they do not know take their defaults.
//!
//! A blob that reads well is still not trusted: the numbers in it go through
//! [`Settings::prepare`] like any others.
//!
//! ```
//! use easeoff_core::{Settings, blob};
//! let mut tune = Settings::default();
//! tune.drag.onset_ms = 450.0;
//! let mut page = [0xff; 1024];
//! let used = blob::write(&tune, &mut page).unwrap();
//! assert!(used <= blob::MOST_BYTES);
//! assert_eq!(blob::read(&page), Ok(tune));
//!
//! page[20] ^= 1;
//! assert_eq!(blob::read(&page), Err(blob::BlobError::Damaged));
//! ```

mod was;
mod v1;
mod v2;

use core::fmt;

use self::was::Was;
use crate::settings::Settings;
use crate::wire::checksum::{CHECKSUM_BYTES, seal, unseal};

/// A buffer of this size holds every tune.
pub const MOST_BYTES: usize = 512;

/// The version of the body that [`write()`] writes. Raise it whenever a released layout of
/// [`Settings`] changes, and keep the old layout beside `v1` and `v2`.
pub const VERSION: u16 = 3;

/// The last byte is no text, so that no file of words begins like a tune.
const MAGIC: [u8; 4] = *b"eoT\xe5";

const HEADER_BYTES: usize = 8;

/// Why there is no tune to read or no blob to write.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BlobError {
    /// Something else stands here, such as an erased page.
    NotATune,
    /// A tune of a later version than this build knows.
    Newer {
        /// The version found.
        version: u16,
    },
    /// The end is missing.
    Cut,
    /// The checksum does not agree with the content.
    Damaged,
    /// The checksum agrees, but the content is no tune of its stated version.
    Malformed,
    /// The buffer to write into is too small.
    NoRoom,
}

impl fmt::Display for BlobError {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotATune => write!(out, "there is no tune here; store one first"),
            Self::Newer { version } => write!(
                out,
                "the tune has version {version}; this build reads versions 1 to {VERSION}: update \
                 the build, or store the tune again with this one"
            ),
            Self::Cut => write!(out, "the end of the tune is missing; store it again"),
            Self::Damaged => write!(out, "the tune is damaged; store it again"),
            Self::Malformed => write!(
                out,
                "the tune is whole but not laid out as its version says; store it again with a \
                 released build"
            ),
            Self::NoRoom => {
                write!(out, "the tune does not fit; a buffer of {MOST_BYTES} bytes always does")
            }
        }
    }
}

impl core::error::Error for BlobError {}

/// Writes `settings` as a blob to the front of `buffer`; returns its length. At most
/// [`MOST_BYTES`].
///
/// # Errors
/// [`BlobError::NoRoom`].
pub fn write(settings: &Settings, buffer: &mut [u8]) -> Result<usize, BlobError> {
    let (header, rest) = buffer.split_first_chunk_mut::<HEADER_BYTES>().ok_or(BlobError::NoRoom)?;
    let body = postcard::to_slice(settings, rest).map_err(|_| BlobError::NoRoom)?.len();
    let length = u16::try_from(body).map_err(|_| BlobError::NoRoom)?;
    let ([m0, m1, m2, m3], [v0, v1], [l0, l1]) =
        (MAGIC, VERSION.to_le_bytes(), length.to_le_bytes());
    *header = [m0, m1, m2, m3, v0, v1, l0, l1];
    seal(buffer, HEADER_BYTES.saturating_add(body)).ok_or(BlobError::NoRoom)
}

/// Reads the blob at the front of `bytes`. Work bounded by its length, at most 65,547 bytes.
///
/// # Errors
/// All but [`BlobError::NoRoom`]. Nothing of a refused blob is used.
pub fn read(bytes: &[u8]) -> Result<Settings, BlobError> {
    let (magic, _) = bytes.split_first_chunk::<4>().ok_or(BlobError::Cut)?;
    if *magic != MAGIC {
        return Err(BlobError::NotATune);
    }
    let (header, _) = bytes.split_first_chunk::<HEADER_BYTES>().ok_or(BlobError::Cut)?;
    let [_, _, _, _, v0, v1, l0, l1] = *header;
    let length = usize::from(u16::from_le_bytes([l0, l1]));
    let whole = HEADER_BYTES.saturating_add(length).saturating_add(CHECKSUM_BYTES);
    let content = unseal(bytes.get(..whole).ok_or(BlobError::Cut)?).ok_or(BlobError::Damaged)?;
    let body = content.get(HEADER_BYTES..).ok_or(BlobError::Cut)?;
    match u16::from_le_bytes([v0, v1]) {
        1 => whole_body::<v1::SettingsV1>(body).map(Was::now),
        2 => whole_body::<v2::SettingsV2>(body).map(Was::now),
        VERSION => whole_body(body),
        0 => Err(BlobError::Malformed),
        version => Err(BlobError::Newer { version }),
    }
}

/// The value that `body` holds, to its last byte.
fn whole_body<'b, T: serde::Deserialize<'b>>(body: &'b [u8]) -> Result<T, BlobError> {
    match postcard::take_from_bytes(body) {
        Ok((value, [])) => Ok(value),
        _ => Err(BlobError::Malformed),
    }
}
