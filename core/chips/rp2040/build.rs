//! Where the RP2040 has its memory; the last 4 KiB of two MiB of flash hold the tune.

fn main() -> Result<(), String> {
    println!("cargo:rerun-if-changed=build.rs");
    easeoff_flash_tune::prepare(MEMORY, 4_096)
}

const MEMORY: &str = "\
MEMORY {
    BOOT2 : ORIGIN = 0x10000000, LENGTH = 0x100
    FLASH : ORIGIN = 0x10000100, LENGTH = 2048K - 0x100 - 4K
    TUNE  : ORIGIN = 0x101ff000, LENGTH = 4K
    RAM   : ORIGIN = 0x20000000, LENGTH = 256K
}
SECTIONS {
    .boot2 ORIGIN(BOOT2) : { KEEP(*(.boot2)); } > BOOT2
    .tune ORIGIN(TUNE) : { KEEP(*(.tune)); } > TUNE
} INSERT BEFORE .text;
";
