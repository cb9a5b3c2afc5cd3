//! The plant against independent programs: each script in `tests/reference` computes with somebody
//! else's program what the simulator computed, and compares.
//!
//! Runs with the Python named by `EASEOFF_PYTHON`, which must then have what
//! `tests/reference/requirements.txt` names; without that variable with `python3`, if that has it.

// Its other user is `cargo xtask reference`.
#[path = "../../../xtask/src/reference/mod.rs"]
mod cases;

use std::path::Path;
use std::process::{Command, Output};

use easeoff_tests::skipped;

fn python(name: &str, arguments: &[&str]) -> std::io::Result<Output> {
    // -B: no compiled copies beside the script.
    Command::new(name).arg("-B").args(arguments).output()
}

/// The first of the packages that a Python cannot import, and what it says.
fn lacking(name: &str, packages: &[&str]) -> Option<String> {
    packages.iter().find_map(|package| {
        let why = match python(name, &["-c", &format!("import {package}")]) {
            Ok(done) if done.status.success() => return None,
            Ok(done) => String::from_utf8_lossy(&done.stderr).trim().to_owned(),
            Err(error) => error.to_string(),
        };
        let last = why.lines().last().unwrap_or_default();
        Some(format!("{name} has no {package} ({last})"))
    })
}

/// Lets a script compare the cases that are written for it.
fn compares(script: &str, packages: &[&str]) {
    let chosen = std::env::var("EASEOFF_PYTHON").ok();
    let name = chosen.as_deref().unwrap_or("python3");
    if let Some(lack) = lacking(name, packages) {
        assert!(chosen.is_none(), "EASEOFF_PYTHON cannot run {script}: {lack}");
        return skipped(&format!(
            "{script} compares nothing: {lack}. Remedy: pip install -r \
             tests/reference/requirements.txt, and name that Python in EASEOFF_PYTHON"
        ));
    }
    let folder = tempfile::tempdir().unwrap();
    let (_, write) = cases::PROGRAMS.iter().find(|program| program.0 == script).unwrap();
    write(folder.path()).unwrap();
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference").join(script);
    let arguments = [path.to_str().unwrap(), folder.path().to_str().unwrap()];
    let done = python(name, &arguments).unwrap();
    println!("{}", String::from_utf8_lossy(&done.stdout));
    assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
}

#[test]
fn scipy_finds_the_same_drives() {
    compares("reference.py", &["numpy", "scipy"]);
}

#[test]
fn scipy_finds_the_same_unknowns() {
    compares("fit.py", &["numpy", "scipy"]);
}

#[test]
fn python_control_finds_the_same_loop() {
    compares("loops.py", &["numpy", "scipy", "control"]);
}

#[test]
fn mujoco_finds_the_same_motors() {
    compares("motors.py", &["numpy", "mujoco"]);
}
