//! The line by which tape and answer travel.

/// The line ended or cannot be written to, or what came over it is no tape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Broken;

/// Two directions of bytes.
pub trait Line {
    /// Fills `bytes`, waiting for them.
    ///
    /// # Errors
    /// [`Broken`] when they do not come.
    fn read(&mut self, bytes: &mut [u8]) -> Result<(), Broken>;

    /// Takes `bytes`; what was taken is on its way at the latest when the next read has to wait.
    ///
    /// # Errors
    /// [`Broken`] when they cannot be taken.
    fn write(&mut self, bytes: &[u8]) -> Result<(), Broken>;

    /// Sends what was written.
    ///
    /// # Errors
    /// [`Broken`] when it cannot be sent.
    fn flush(&mut self) -> Result<(), Broken>;

    /// The next byte.
    ///
    /// # Errors
    /// [`Broken`] when none comes.
    fn byte(&mut self) -> Result<u8, Broken> {
        let mut bytes = [0];
        self.read(&mut bytes)?;
        let [byte] = bytes;
        Ok(byte)
    }

    /// The next two bytes as a number.
    ///
    /// # Errors
    /// [`Broken`] when they do not come.
    fn word(&mut self) -> Result<u16, Broken> {
        let mut bytes = [0; 2];
        self.read(&mut bytes)?;
        Ok(u16::from_le_bytes(bytes))
    }

    /// The next four bytes as a number.
    ///
    /// # Errors
    /// [`Broken`] when they do not come.
    fn long(&mut self) -> Result<u32, Broken> {
        let mut bytes = [0; 4];
        self.read(&mut bytes)?;
        Ok(u32::from_le_bytes(bytes))
    }
}
