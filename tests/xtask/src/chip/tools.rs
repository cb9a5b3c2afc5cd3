//! What builds for the chips and what runs the images, or what to install.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::kind::CHIPS;

/// The oldest compiler the core promises to build with.
const OLDEST: &str = env!("CARGO_PKG_RUST_VERSION");

/// Where Debian puts its compiler.
pub(crate) const DEBIANS_RUSTC: &str = "/usr/bin/rustc";

/// Debian's linker, and what plays the chips.
const LINKER: &str = "ld.lld";
pub(super) const QEMU: &str = "qemu-system-arm";

/// Debian's compiler for C.
pub(super) const GCC: &str = "arm-none-eabi-gcc";

/// How to build.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Compiler {
    /// The one in use, which has the targets.
    Own,
    /// Debian's, which builds the targets' `core` from its own source.
    Debian,
}

/// What builds, and what it is.
#[derive(Clone, Debug)]
pub(crate) struct Tools {
    pub(super) compiler: Compiler,
    /// As it calls itself.
    pub(super) version: String,
}

impl Tools {
    /// # Errors
    /// Everything that is missing, with how to install it.
    pub(crate) fn find() -> Result<Self, String> {
        let mut missing = Vec::new();
        if said(QEMU, &["--version"]).is_none() {
            missing
                .push(format!("{QEMU} is missing; install QEMU (Debian: apt-get install {QEMU})"));
        }
        if said(GCC, &["--version"]).is_none() {
            missing.push(format!(
                "{GCC} is missing; install it (Debian: apt-get install gcc-arm-none-eabi)"
            ));
        }
        let own = std::env::var("RUSTC").unwrap_or_else(|_| "rustc".into());
        let compiler = if CHIPS.iter().all(|chip| has_target(&own, chip.target)) {
            Some((Compiler::Own, own))
        } else {
            let lacks = debian_lacks();
            if lacks.is_empty() {
                Some((Compiler::Debian, DEBIANS_RUSTC.into()))
            } else {
                let targets = CHIPS.map(|chip| chip.target).join(" ");
                missing.push(format!(
                    "nothing builds for the chips. Either: rustup target add {targets}\n  or Debian's \
                     compiler, where {}: apt-get install rustc-web rust-web-src lld",
                    lacks.join(" and ")
                ));
                None
            }
        };
        match compiler {
            Some((compiler, program)) if missing.is_empty() => {
                let version = said(&program, &["--version"]).unwrap_or_default();
                let version = version.split(" (").next().unwrap_or_default().trim().to_owned();
                Ok(Self { compiler, version })
            }
            _ => Err(missing.join("\n")),
        }
    }

    /// A `cargo` whose `command` builds for `target` into `folder`.
    pub(crate) fn cargo(&self, command: &[&str], target: &str, folder: &Path) -> Command {
        let mut cargo = Command::new("cargo");
        cargo.args(command).args(["--locked", "--quiet", "--target", target]);
        cargo.arg("--target-dir").arg(folder);
        if self.compiler == Compiler::Debian {
            let linker = format!("CARGO_TARGET_{}_LINKER", target.to_uppercase().replace('-', "_"));
            cargo.arg("-Zbuild-std=core").env(linker, LINKER);
            cargo.env("RUSTC", DEBIANS_RUSTC).env("RUSTC_BOOTSTRAP", "1");
        }
        cargo
    }
}

/// What a program says, if it is there and content.
pub(crate) fn said(program: &str, arguments: &[&str]) -> Option<String> {
    let output = Command::new(program).args(arguments).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).into_owned())
}

pub(crate) fn has_target(rustc: &str, target: &str) -> bool {
    let folder = said(rustc, &["--print", "target-libdir", "--target", target]);
    folder.is_some_and(|folder| Path::new(folder.trim()).is_dir())
}

/// What of Debian's is not there, each in a few words.
fn debian_lacks() -> Vec<String> {
    let Some(version) = said(DEBIANS_RUSTC, &["--version"]) else {
        return vec![format!("{DEBIANS_RUSTC} is missing")];
    };
    let mut lacks = Vec::new();
    if !new_enough(&version) {
        lacks.push(format!("{} is older than {OLDEST}", version.trim()));
    }
    let root = said(DEBIANS_RUSTC, &["--print", "sysroot"]).unwrap_or_default();
    let source: PathBuf = [root.trim(), "lib/rustlib/src/rust/library/core"].iter().collect();
    if !source.is_dir() {
        lacks.push(format!("{} is missing", source.display()));
    }
    if said(LINKER, &["--version"]).is_none() {
        lacks.push(format!("{LINKER} is missing"));
    }
    lacks
}

/// `version` as `rustc --version` says it.
fn new_enough(version: &str) -> bool {
    let numbers = |text: &str| -> Vec<u32> {
        text.split('.').map(|part| part.parse().unwrap_or_default()).collect()
    };
    let found = version.split([' ', '-']).nth(1).unwrap_or_default();
    numbers(found) >= numbers(OLDEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_compiler_is_judged_by_its_version() {
        for good in ["rustc 1.88.0 (6b00bc388 2025-06-23)", "rustc 1.96.0 (x y)", "rustc 2.0.0-x"] {
            assert!(new_enough(good), "{good}");
        }
        for bad in ["rustc 1.87.0 (x y)", "rustc 1.9.9", "", "rustc"] {
            assert!(!new_enough(bad), "{bad}");
        }
    }
}
