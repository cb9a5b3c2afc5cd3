//! What builds for the web and what drives it, or what to install.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::{Failure, TARGET};
use crate::chip::tools::{DEBIANS_RUSTC, has_target, said};

/// Debian's linker for WebAssembly.
const LINKER: &str = "wasm-ld";

/// How to build.
pub(super) enum Compiler {
    /// The one in use, which has the target.
    Own,
    /// Debian's, which builds the target's `std` from its own source.
    Debian,
}

impl Compiler {
    /// A `cargo build` for `target` into `folder`.
    pub(super) fn cargo(&self, target: &str, folder: &Path) -> Command {
        let mut cargo = Command::new("cargo");
        cargo.args(["build", "--release", "--locked", "--quiet", "--target", target]);
        cargo.arg("--target-dir").arg(folder);
        if let Self::Debian = self {
            let linker = format!("CARGO_TARGET_{}_LINKER", target.to_uppercase().replace('-', "_"));
            cargo.arg("-Zbuild-std=std,panic_abort").env(linker, LINKER);
            cargo.env("RUSTC", DEBIANS_RUSTC).env("RUSTC_BOOTSTRAP", "1");
        }
        cargo
    }
}

/// The compiler.
///
/// # Errors
/// When none builds for the web.
pub(super) fn compiler() -> Result<Compiler, Failure> {
    let own = std::env::var("RUSTC").unwrap_or_else(|_| "rustc".into());
    if has_target(&own, TARGET) {
        return Ok(Compiler::Own);
    }
    let root = said(DEBIANS_RUSTC, &["--print", "sysroot"]).unwrap_or_default();
    let source: PathBuf = [root.trim(), "lib/rustlib/src/rust/library/std"].iter().collect();
    if !root.is_empty() && source.is_dir() && said(LINKER, &["--version"]).is_some() {
        return Ok(Compiler::Debian);
    }
    Err(format!(
        "nothing builds for the web. Either: rustup target add {TARGET}\n  or Debian's compiler: apt-get \
         install rustc-web rust-web-src lld"
    )
    .into())
}

/// A Chromium to drive the page in: `EASEOFF_CHROMIUM`, or by its usual names.
///
/// # Errors
/// When there is none.
pub(super) fn chromium() -> Result<String, Failure> {
    if let Ok(named) = std::env::var("EASEOFF_CHROMIUM") {
        return Ok(named);
    }
    ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"]
        .into_iter()
        .find(|path| Path::new(path).is_file())
        .map(str::to_owned)
        .ok_or_else(|| {
            "no Chromium is there; install one (Debian: apt-get install chromium), or name it in \
             EASEOFF_CHROMIUM"
                .into()
        })
}
