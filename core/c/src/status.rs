//! What a call answers.

use easeoff_core::blob::BlobError;

/// What a call answers. Anything but `EASEOFF_STATUS_OK` means that nothing was done, unless the
/// function says otherwise.
#[repr(u8)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum easeoff_status {
    /// Done.
    Ok = 0,
    /// A pointer is null.
    Null,
    /// A pointer is not aligned as its type needs.
    Misaligned,
    /// The tick rate is not 100 to 8,000 Hz.
    BadTickRate,
    /// Settings are out of range or contradict each other; easeoff_mistake says which.
    BadSettings,
    /// There is no mistake of that number: all were told.
    NoMistake,
    /// The controller was not prepared, or its last preparation failed.
    NotPrepared,
    /// The state was not started.
    NotStarted,
    /// There is no tune here, as in an erased page; store one first.
    NotATune,
    /// The tune is of a later version than this library reads; update the library, or store the tune
    /// again.
    Newer,
    /// The end of the tune is missing; store it again.
    Cut,
    /// The tune is damaged; store it again.
    Damaged,
    /// The tune is whole but not laid out as its version says; store it again with a released build.
    Malformed,
    /// The buffer is too small.
    NoRoom,
}

impl From<BlobError> for easeoff_status {
    fn from(error: BlobError) -> Self {
        match error {
            BlobError::NotATune => Self::NotATune,
            BlobError::Newer { .. } => Self::Newer,
            BlobError::Cut => Self::Cut,
            BlobError::Damaged => Self::Damaged,
            BlobError::Malformed => Self::Malformed,
            BlobError::NoRoom => Self::NoRoom,
        }
    }
}

impl From<Result<(), Self>> for easeoff_status {
    fn from(result: Result<(), Self>) -> Self {
        result.err().unwrap_or(Self::Ok)
    }
}
