//! The static library and its header, as C sees them: a drive in C gives the core's commands, and what is
//! wrong is refused. `cargo xtask chip` does the same on chips.
//!
//! Needs a C compiler: the one in `CC`, or `cc`, which Rust links with wherever there is one.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

use easeoff_core::Mode;
use easeoff_tests::from_c::{EXAMPLE, FLAGS, HEADER, SETTINGS, SOURCES, compare, top};
use easeoff_tests::skipped;

/// The compiler, if it does anything at all with such arguments; otherwise says so,
/// and fails where a compiler was named.
fn compiler(arguments: &[&str]) -> Option<Command> {
    let chosen = std::env::var("CC").ok();
    let name = chosen.as_deref().unwrap_or("cc");
    let tried = Command::new(name).args(arguments).args(["-fsyntax-only", "/dev/null"]).output();
    let lack = match tried {
        Ok(done) if done.status.success() => {
            let mut compiler = Command::new(name);
            compiler.current_dir(top()).args(arguments);
            return Some(compiler);
        }
        Ok(done) => String::from_utf8_lossy(&done.stderr).into_owned(),
        Err(error) => error.to_string(),
    };
    assert!(chosen.is_none(), "CC={name} cannot be used with {arguments:?}: {lack}");
    skipped(&format!(
        "no C is compiled: {name} {arguments:?}: {lack}. Remedy: install a C and C++ compiler \
         (Debian: apt-get install gcc g++), or name one in CC"
    ));
    None
}

#[track_caller]
fn done(command: &mut Command) -> Output {
    let output = command.output().unwrap();
    let error = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{command:?}: {error}");
    output
}

/// Built as the book says, with this cargo, beside everything else.
fn library() -> PathBuf {
    let mut cargo = Command::new(env!("CARGO"));
    cargo.args([
        "rustc",
        "--quiet",
        "--locked",
        "--package",
        "easeoff-c",
        "--crate-type",
        "staticlib",
    ]);
    done(cargo.current_dir(top()));
    let folder = std::env::var_os("CARGO_TARGET_DIR").unwrap_or_else(|| "target".into());
    top().join(folder).join("debug/libeaseoff_c.a")
}

fn built(folder: &Path, mut compiler: Command) -> PathBuf {
    let program = folder.join("from-c");
    compiler.args(FLAGS).args(SOURCES).arg("tests/c/host.c").arg(library());
    // What Rust's own library asks of the system's.
    compiler.args(["-lpthread", "-ldl", "-lm", "-o"]).arg(&program);
    done(&mut compiler);
    program
}

#[test]
fn a_drive_in_c_is_the_cores_and_what_is_wrong_is_refused() {
    let Some(compiler) = compiler(&[]) else { return };
    let folder = tempfile::tempdir().unwrap();
    let output = Command::new(built(folder.path(), compiler)).output().unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    let failed: Vec<&str> = printed.lines().filter(|line| line.starts_with("failed")).collect();
    assert!(output.status.success() && failed.is_empty(), "{}\n{failed:#?}", output.status);

    let seen = compare(&printed).unwrap();
    assert_eq!((seen.ticks, seen.frames), (12_500, 50));
    // Ready, and pack low.
    assert_eq!(seen.notices, [0, 114].into());
    let modes = [
        Mode::Disarmed,
        Mode::Neutral,
        Mode::Forward,
        Mode::Neutral,
        Mode::Lost,
        Mode::Neutral,
        Mode::Stopping,
        Mode::Reverse,
    ];
    let came = seen.modes();
    let mut rest = came.iter();
    let in_order = modes.iter().all(|mode| rest.any(|seen| seen == mode));
    assert!(in_order, "{came:?}");

    // The comparison can fail: any number that is not the core's.
    for (line, reported) in printed.lines().enumerate().filter(|(line, _)| line % 997 == 3) {
        let wrong = match reported.split_once(" | ") {
            Some((given, came)) => format!("{given} | {}", came.replacen(['0', '1', '2'], "9", 1)),
            None => continue,
        };
        let printed = printed.replacen(reported, &wrong, 1);
        assert!(compare(&printed).is_err(), "line {line}: {wrong}");
    }
}

/// Alone, for C99 and for C++, and the book's examples.
#[test]
fn the_header_compiles_everywhere() {
    for (language, standard) in [("c", "c99"), ("c", "c11"), ("c++", "c++11"), ("c++", "c++17")] {
        let standard = format!("-std={standard}");
        let arguments = ["-x", language, &standard];
        let Some(mut compiler) = compiler(&arguments) else { continue };
        let flags = ["-pedantic", "-Wall", "-Wextra", "-Werror", "-fsyntax-only"];
        done(compiler.args(flags).arg(HEADER));
    }
    if let Some(mut compiler) = compiler(&[]) {
        done(compiler.args(FLAGS).args(["-fsyntax-only", EXAMPLE, SETTINGS]));
    }
}
