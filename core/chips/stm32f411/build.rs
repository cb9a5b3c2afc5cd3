//! Where the STM32F411 has its memory. Its flash is erased by sectors, so the tune has one of its own:
//! the second, of 16 KiB, between the vectors and the program.

fn main() -> Result<(), String> {
    println!("cargo:rerun-if-changed=build.rs");
    easeoff_flash_tune::prepare(MEMORY, 4_096)
}

const MEMORY: &str = "\
MEMORY {
    FLASH : ORIGIN = 0x08000000, LENGTH = 512K
    RAM   : ORIGIN = 0x20000000, LENGTH = 128K
}
_stext = 0x08008000;
SECTIONS {
    .tune 0x08004000 : { KEEP(*(.tune)); } > FLASH
} INSERT AFTER .vector_table;
";
