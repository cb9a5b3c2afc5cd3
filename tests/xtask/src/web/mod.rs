//! `cargo xtask web`: the window as a page, in `out/web`, to be served as plain files.
//!
//! `cargo xtask web try` also drives it in a headless Chromium.

mod tools;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use wasm_bindgen_cli_support::Bindgen;

use crate::chip::build::{target_folder, top};

type Failure = Box<dyn std::error::Error>;

const TARGET: &str = "wasm32-unknown-unknown";

/// Builds the page.
///
/// # Errors
/// Whatever is missing, with how to install it, or does not build.
pub(crate) fn build() -> Result<PathBuf, Failure> {
    let compiler = tools::compiler()?;
    let folder = target_folder().join("web");
    let mut cargo = compiler.cargo(TARGET, &folder);
    if !cargo.args(["--package", "easeoff-live"]).current_dir(top()).status()?.success() {
        return Err("the window does not build for the web".into());
    }
    let site = top().join("out/web");
    fs::create_dir_all(&site)?;
    let module = folder.join(TARGET).join("release/easeoff-live.wasm");
    Bindgen::new()
        .input_path(module)
        .web(true)?
        .typescript(false)
        .out_name("easeoff-live")
        .generate(&site)?;
    let module = site.join("easeoff-live_bg.wasm");
    fs::copy(top().join("sim/live/web/index.html"), site.join("index.html"))?;
    let size = fs::metadata(&module)?.len();
    println!(
        "{}: a page of {:.1} MB; serve it with: python3 -m http.server --directory {0}",
        relative(&site).display(),
        size as f64 / 1.0e6
    );
    Ok(site)
}

/// Builds the page and drives it.
///
/// # Errors
/// As [`build`], or what went otherwise than it should.
pub(crate) fn check() -> Result<(), Failure> {
    let site = build()?;
    let chromium = tools::chromium()?;
    let script = top().join("tests/browser");
    crate::board::emulator::install_in(&script, "playwright-core")?;
    let driven = Command::new("node")
        .arg(script.join("drive.mjs"))
        .arg(&site)
        .arg(chromium)
        .arg(site.join("driven.png"))
        .status()?;
    if driven.success() { Ok(()) } else { Err("the page does not drive as it should".into()) }
}

fn relative(path: &Path) -> PathBuf {
    path.strip_prefix(top()).unwrap_or(path).to_owned()
}
