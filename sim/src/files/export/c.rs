//! The tune's bytes as a C header.

use easeoff_core::Settings;
use easeoff_plant::rig::Rig;

use super::head;

/// How every header written here begins.
pub const BEGINNING: &str = "/* easeoff tune, a C header.";

/// `easeoff_tune[]`, the bytes of the blob, in C99 or later, and C++.
///
/// The length is `sizeof easeoff_tune`.
pub fn header(tune: &Settings, rig: Option<&Rig>, bytes: &[u8]) -> String {
    let lines: String =
        head(tune, rig).iter().map(|line| format!(" * {line}\n").replace(" \n", "\n")).collect();
    let rows: String = bytes
        .chunks(12)
        .map(|row| {
            let cells: Vec<String> = row.iter().map(|byte| format!("0x{byte:02x}")).collect();
            format!("    {},\n", cells.join(", "))
        })
        .collect();
    format!(
        "{BEGINNING}\n{lines} *\n * The blob is {} bytes; its layout is the book's page \"Files\".\n */\n\
         #ifndef EASEOFF_TUNE_H\n#define EASEOFF_TUNE_H\n\n#include <stdint.h>\n\n\
         static const uint8_t easeoff_tune[] = {{\n{rows}}};\n\n#endif\n",
        bytes.len()
    )
}
