//! What is made from the board's table of statuses: the book's two tables, and the constants in `easeoff.h`.

use std::fs;
use std::path::{Path, PathBuf};

use easeoff_board::{Remedy, Rhythm, Status};

use crate::lessons::table;
use crate::stages::Failure;

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs/src/made")
}

/// Writes the book's tables.
///
/// # Errors
/// When one cannot be written.
pub(crate) fn write() -> Result<(), Failure> {
    fs::create_dir_all(folder())?;
    for (name, table) in tables() {
        fs::write(folder().join(name), table)?;
    }
    Ok(())
}

/// The book's tables, each with its file.
fn tables() -> [(&'static str, String); 2] {
    [("status-led.md", rhythms()), ("status-codes.md", codes())]
}

fn rhythms() -> String {
    let seconds = |ms: u32| format!("{:.2} s", f64::from(ms) / 1_000.0);
    let row = |remedy| {
        let Rhythm { lit_ms, dark_ms } = Rhythm::of(remedy);
        let [lit, dark] = match dark_ms {
            0 => ["always".into(), "never".into()],
            _ => [seconds(lit_ms), seconds(dark_ms)],
        };
        vec![Rhythm::words(remedy).into(), lit, dark, remedy.words().into()]
    };
    table(&["status LED", "lit", "dark", "what to do"], &Remedy::ALL.map(row))
}

fn codes() -> String {
    let rows: Vec<Vec<String>> = Remedy::ALL
        .iter()
        .flat_map(|remedy| Status::ALL.iter().filter(|status| status.remedy() == *remedy))
        .map(|status| {
            let it = status.notice();
            [it.words, &it.code.to_string(), it.remedy.words(), it.to_do].map(String::from).into()
        })
        .collect();
    table(&["status", "code", "status LED says", "what to do, at length"], &rows)
}

/// The constants for callers in C.
pub(crate) fn constants() -> String {
    let mut lines = vec![
        String::new(),
        "// What easeoff_telemetry may send as `notice`: what a board has to say about itself. The numbers".into(),
        "// are those of the project's firmware; `easeoff telemetry` prints their words.".into(),
        String::new(),
    ];
    for status in Status::ALL {
        let it = status.notice();
        lines.push(format!("// {}", it.words));
        lines.push(format!("#define EASEOFF_NOTICE_{} {}", upper(status), it.code));
    }
    lines.join("\n")
}

/// The variant's name as C writes it.
fn upper(status: &Status) -> String {
    let mut name = String::new();
    for letter in format!("{status:?}").chars() {
        if letter.is_uppercase() && !name.is_empty() {
            name.push('_');
        }
        name.push(letter.to_ascii_uppercase());
    }
    name
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_book_has_the_tables_that_are_made() {
        for (name, made) in tables() {
            let written = fs::read_to_string(folder().join(name)).unwrap();
            assert_eq!(written, made, "docs/src/made/{name}: run `cargo xtask status`");
        }
    }

    #[test]
    fn the_book_shows_both_and_every_status_is_in_one() {
        let page = fs::read_to_string(folder().join("../on-a-board.md")).unwrap();
        for (name, _) in tables() {
            assert!(page.contains(&format!("{{{{#include made/{name}}}}}")), "{name}");
        }
        for status in Status::ALL {
            let it = status.notice();
            let row = format!("| {} | {} | {} |", it.words, it.code, it.remedy.words());
            assert_eq!(codes().matches(&row).count(), 1, "{row}");
        }
    }

    #[test]
    fn c_has_a_constant_for_each_status() {
        let header = include_str!("../../../core/c/easeoff.h");
        let defined: Vec<(&str, u8)> = header
            .lines()
            .filter_map(|line| line.strip_prefix("#define EASEOFF_NOTICE_")?.split_once(' '))
            .map(|(name, code)| (name, code.parse().unwrap()))
            .collect();
        assert_eq!(defined.len(), Status::ALL.len());
        assert_eq!(defined[0], ("READY", 0));
        assert!(defined.contains(&("WAITS_FOR_NEUTRAL", Status::WaitsForNeutral.code())));
        let mut codes: Vec<u8> = defined.iter().map(|(_, code)| *code).collect();
        codes.dedup();
        assert_eq!(codes, Status::ALL.iter().map(|status| status.code()).collect::<Vec<_>>());
    }
}
