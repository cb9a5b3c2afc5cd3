//! What an image takes of flash and RAM.

use std::fs;
use std::path::Path;

use object::LittleEndian;
use object::elf::{FileHeader32, SHF_ALLOC, SHF_WRITE, SHT_NOBITS};
use object::read::elf::{FileHeader, SectionHeader};

use super::Failure;

/// Bytes an image takes.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Size {
    pub(super) flash: u32,
    /// Without the stack.
    pub(super) ram: u32,
}

impl Size {
    /// # Errors
    /// When the file is not there or no image.
    pub(super) fn of(image: &Path) -> Result<Self, Failure> {
        let data = fs::read(image)?;
        let header: &FileHeader32<LittleEndian> = FileHeader::parse(&*data)?;
        let endian = header.endian()?;
        let mut size = Self::default();
        for section in header.sections(endian, &*data)?.iter() {
            let flags = section.sh_flags(endian);
            let bytes = section.sh_size(endian);
            if flags.contains(SHF_ALLOC) && section.sh_type(endian) != SHT_NOBITS {
                size.flash += bytes;
            }
            if flags.contains(SHF_ALLOC | SHF_WRITE) {
                size.ram += bytes;
            }
        }
        Ok(size)
    }
}
