//! The real program, run in a folder of its own.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::LazyLock;

use easeoff_tests::cargo::cargo;
use tempfile::TempDir;

/// What cargo builds of the program's package, as these tests were built themselves; the folder it is in.
fn built(what: &[&str]) -> PathBuf {
    let folder = std::env::current_exe().unwrap().ancestors().nth(2).unwrap().to_owned();
    let mut cargo = cargo("build", "easeoff");
    cargo.args(what);
    if folder.ends_with("release") {
        cargo.arg("--release");
    }
    assert!(cargo.status().unwrap().success(), "{what:?} does not build");
    folder
}

/// The program, built once by cargo for the whole test run.
pub(crate) fn program() -> PathBuf {
    static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| built(&["--bin", "easeoff"]));
    FOLDER.join(format!("easeoff{}", std::env::consts::EXE_SUFFIX))
}

/// One of the program's examples.
pub(crate) fn example(name: &str) -> Command {
    let folder = built(&["--example", name]);
    Command::new(folder.join("examples").join(format!("{name}{}", std::env::consts::EXE_SUFFIX)))
}

/// Not started yet.
pub(crate) fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(program());
    command.current_dir(folder).args(arguments);
    command
}

pub(crate) fn easeoff(folder: &Path, arguments: &[&str]) -> Output {
    command(folder, arguments).output().unwrap()
}

pub(crate) fn good(folder: &Path, arguments: &[&str]) -> String {
    let output = easeoff(folder, arguments);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// Sends Ctrl-C's signal to a program that runs with its standard error piped: exit code 5; returns what was said.
#[cfg(unix)]
pub(crate) fn interrupted(child: std::process::Child) -> String {
    let pid = child.id().to_string();
    assert!(Command::new("kill").args(["-INT", &pid]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(5), "{said}");
    assert!(!said.contains("panicked"), "{said}");
    said
}

/// The message of a run that could not write: exit code 4, no panic, the reason and a remedy.
pub(crate) fn could_not_write(output: &Output) -> String {
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(4), "{said}");
    assert!(!said.contains("panicked"), "{said}");
    assert!(said.starts_with("error: ") && said.contains("cannot be written: "), "{said}");
    assert!(said.contains("; "), "no remedy: {said}");
    said
}

/// Runs with bad input: exit code 2, nothing written, no panic; returns what was said.
pub(crate) fn refused(folder: &Path, arguments: &[&str]) -> String {
    let output = easeoff(folder, arguments);
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(!said.contains("panicked"), "{said}");
    assert!(!folder.join("out").exists(), "something was written");
    said
}

/// A folder with the demo's files, one of them changed.
pub(crate) fn rig_folder(file: &str, from: &str, to: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    good(folder.path(), &["new", "mine"]);
    let path = folder.path().join("mine").join(file);
    let text = fs::read_to_string(&path).unwrap();
    assert!(text.contains(from), "{file} has no {from}");
    fs::write(&path, text.replacen(from, to, 1)).unwrap();
    folder
}
