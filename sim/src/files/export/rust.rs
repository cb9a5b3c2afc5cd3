//! The tune as Rust source.

use easeoff_core::Settings;
use easeoff_plant::rig::Rig;

use super::head;
use super::literal::literal;

/// How every source written here begins.
pub const BEGINNING: &str = "// easeoff tune, Rust source.";

/// A function `tune()` that makes these settings, to the bit, with the crate `easeoff_core`.
///
/// Settings are public structs, so that the compiler tells when a core has other ones than these.
pub fn source(tune: &Settings, rig: Option<&Rig>) -> String {
    let lines: String = head(tune, rig)
        .iter()
        .map(|line| format!("// {line}").trim_end().to_owned() + "\n")
        .collect();
    let body = literal(tune).replace('\n', "\n    ");
    format!(
        "{BEGINNING}\n{lines}\nuse easeoff_core::*;\n\n/// The exported tune.\npub fn tune() -> Settings {{\n    \
         {body}\n}}\n"
    )
}
