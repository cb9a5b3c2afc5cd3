//! `core/c/easeoff.h`, made from the source of `easeoff-c` and the board's table of statuses, and that source's
//! settings, made from the core's list.

use std::error::Error;
use std::path::{Path, PathBuf};

use cbindgen::{Builder, Config, DocumentationStyle, Language, RenameRule};

use crate::c_settings;

/// The files that declare something for C, in the header's order.
const SOURCES: [&str; 7] = [
    "status.rs",
    "stored.rs",
    "settings/made.rs",
    "settings/mod.rs",
    "prepare.rs",
    "mistake.rs",
    "wire.rs",
];

/// Apart, because it comes last.
const STEP: &str = "step.rs";

/// Its settings are made too.
const SETTINGS: &str = "src/settings/made.rs";

const HEAD: &str = "\
/* easeoff for callers in C: the controller of a small electric vehicle's throttle and drag brake.
 *
 * Made by `cargo xtask header` from core/c/src; do not edit. Header and library belong together: take both
 * from the same release. The book's page \"From C\" has an example and says how to build the library.
 *
 * First power and every new tune: wheels off the ground. */";

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../core/c")
}

/// Writes both again.
///
/// # Errors
/// When the source cannot be read or the header not written.
pub(crate) fn write() -> Result<(), Box<dyn Error>> {
    std::fs::write(folder().join(SETTINGS), c_settings::made()?)?;
    std::fs::write(folder().join("easeoff.h"), made()?)?;
    Ok(())
}

/// The header's text.
fn made() -> Result<String, Box<dyn Error>> {
    let mut config = Config {
        language: Language::C,
        cpp_compat: true,
        header: Some(HEAD.into()),
        include_guard: Some("EASEOFF_H".into()),
        no_includes: true,
        after_includes: Some(crate::status::constants()),
        sys_includes: vec!["stddef.h".into(), "stdint.h".into()],
        line_length: 100,
        tab_width: 4,
        documentation_style: DocumentationStyle::C99,
        usize_is_size_t: true,
        ..Config::default()
    };
    config.enumeration.rename_variants = RenameRule::QualifiedScreamingSnakeCase;
    // Rust has the core's enums for these.
    let target = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target");
    std::fs::create_dir_all(&target)?;
    let choices = target.join("easeoff_choices.rs");
    std::fs::write(&choices, c_settings::enumerations())?;
    let mut builder = Builder::new().with_config(config);
    // Passed as plain numbers, and so named by no declaration.
    for item in c_settings::choice_names().into_iter().chain(["easeoff_event".into()]) {
        builder = builder.include_item(item);
    }
    builder = builder.with_src(choices);
    for source in SOURCES.into_iter().chain([STEP]) {
        builder = builder.with_src(folder().join("src").join(source));
    }
    let mut text = Vec::new();
    builder.generate()?.write(&mut text);
    // Rust's heading; its text stays.
    Ok(String::from_utf8(text)?.replace("//\n// # Safety\n", ""))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cs_settings_are_those_of_the_list() {
        let written = std::fs::read_to_string(folder().join(SETTINGS)).unwrap();
        assert_eq!(
            written,
            c_settings::made().unwrap(),
            "core/c/{SETTINGS}: run `cargo xtask header`"
        );
    }

    #[test]
    fn the_header_says_what_the_source_says() {
        let written = std::fs::read_to_string(folder().join("easeoff.h")).unwrap();
        let made = made().unwrap();
        for (number, (ours, theirs)) in written.lines().zip(made.lines()).enumerate() {
            let line = number + 1;
            assert_eq!(ours, theirs, "core/c/easeoff.h, line {line}: run `cargo xtask header`");
        }
        assert_eq!(written, made, "core/c/easeoff.h: run `cargo xtask header`");
    }
}
