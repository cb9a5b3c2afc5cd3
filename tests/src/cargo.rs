//! Cargo, for what tests and helper commands build of this project.

use std::env::var;
use std::process::Command;

/// The task of cargo that builds or runs something of `package`, with its default features.
///
/// Cargo chooses the features of what packages share by the packages that it is asked for; asked for others, it
/// builds the simulator again. `EASEOFF_PACKAGES`, if set, has the words that the caller's own build was asked with.
pub fn cargo(task: &str, package: &str) -> Command {
    let asked = var("EASEOFF_PACKAGES").unwrap_or_else(|_| format!("--package {package}"));
    let mut cargo = Command::new(var("CARGO").unwrap_or_else(|_| "cargo".into()));
    cargo.args([task, "--quiet", "--locked"]).args(asked.split_whitespace());
    cargo
}
