//! The plant against an independent program: `tests/reference/reference.py` integrates the book's
//! equations with SciPy over the same ground, with the same commands.
//!
//! Runs with the Python named by `EASEOFF_PYTHON`, which must then have what
//! `tests/reference/requirements.txt` names; without that variable with `python3`, if that has it.
#![allow(
    clippy::arithmetic_side_effects,
    clippy::float_arithmetic,
    clippy::float_cmp,
    clippy::indexing_slicing,
    clippy::as_conversions,
    clippy::unwrap_used,
    missing_docs,
    reason = "tests compute and panic"
)]

// Its other user is `cargo xtask reference`.
#[path = "../xtask/src/reference.rs"]
mod cases;

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output};

fn python(name: &str, arguments: &[&str]) -> std::io::Result<Output> {
    // -B: no compiled copies beside the script.
    Command::new(name).arg("-B").args(arguments).output()
}

#[test]
fn an_independent_program_finds_the_same() {
    let chosen = std::env::var("EASEOFF_PYTHON").ok();
    let name = chosen.as_deref().unwrap_or("python3");
    let lacks = match python(name, &["-c", "import numpy, scipy"]) {
        Ok(done) if done.status.success() => None,
        Ok(done) => Some(String::from_utf8_lossy(&done.stderr).trim().to_owned()),
        Err(error) => Some(error.to_string()),
    };
    if let Some(why) = lacks {
        assert!(chosen.is_none(), "EASEOFF_PYTHON is {name}, which cannot do it: {why}");
        // Past the test's capture: nobody should take this for a comparison.
        let mut seen = std::io::stderr();
        writeln!(
            seen,
            "SKIPPED: the comparison with SciPy needs a Python with numpy and scipy (pip install -r \
             tests/reference/requirements.txt; EASEOFF_PYTHON names it). {name} says: {why}"
        )
        .unwrap();
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    cases::write(folder.path()).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/reference.py");
    let arguments = [script.to_str().unwrap(), folder.path().to_str().unwrap()];
    let done = python(name, &arguments).unwrap();
    println!("{}", String::from_utf8_lossy(&done.stdout));
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}
