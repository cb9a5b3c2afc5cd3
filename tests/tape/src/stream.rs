//! The line over readers and writers.

use std::io::{BufReader, BufWriter, Read, Write};

use crate::line::{Broken, Line};

/// A reader and a writer as a line.
#[derive(Debug)]
pub struct Stream<R, W: Write> {
    read: BufReader<R>,
    write: BufWriter<W>,
}

impl<R: Read, W: Write> Stream<R, W> {
    /// A line of the two.
    pub fn new(read: R, write: W) -> Self {
        Self { read: BufReader::new(read), write: BufWriter::new(write) }
    }
}

impl<R: Read, W: Write> Line for Stream<R, W> {
    fn read(&mut self, bytes: &mut [u8]) -> Result<(), Broken> {
        if self.read.buffer().len() < bytes.len() {
            self.flush()?;
        }
        self.read.read_exact(bytes).map_err(|_| Broken)
    }

    fn write(&mut self, bytes: &[u8]) -> Result<(), Broken> {
        self.write.write_all(bytes).map_err(|_| Broken)
    }

    fn flush(&mut self) -> Result<(), Broken> {
        self.write.flush().map_err(|_| Broken)
    }
}
