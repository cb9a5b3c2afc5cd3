//! For build scripts: the flash page with the tune that is built into a firmware.

use std::path::PathBuf;
use std::{env, fs};

use easeoff_core::{Settings, blob};

/// Writes `tune.page`, `bytes` long, and `memory.x` into the build's folder, and tells cargo where
/// they are. The tune is the blob that the variable `EASEOFF_TUNE` names, or the core's defaults.
///
/// # Errors
/// A blob that cannot be read: place, what is wrong, remedy. A damaged tune does not reach a board.
pub fn prepare(memory: &str, bytes: usize) -> Result<(), String> {
    println!("cargo:rerun-if-env-changed=EASEOFF_TUNE");
    let mut page = vec![0xff; bytes];
    match env::var_os("EASEOFF_TUNE").map(PathBuf::from) {
        Some(path) => {
            println!("cargo:rerun-if-changed={}", path.display());
            let at = |what: String| format!("EASEOFF_TUNE, {}: {what}", path.display());
            let tune = fs::read(&path).map_err(|error| at(error.to_string()))?;
            blob::read(&tune).map_err(|error| at(error.to_string()))?;
            let place = page.get_mut(..tune.len()).ok_or_else(|| {
                at(format!("{} bytes; the page has room for {bytes}", tune.len()))
            })?;
            place.copy_from_slice(&tune);
        }
        None => {
            blob::write(&Settings::default(), &mut page).map_err(|error| error.to_string())?;
        }
    }
    let folder = PathBuf::from(env::var_os("OUT_DIR").ok_or("cargo names no folder")?);
    let write = |name: &str, content: &[u8]| {
        fs::write(folder.join(name), content).map_err(|error| format!("{name}: {error}"))
    };
    write("tune.page", &page)?;
    write("memory.x", memory.as_bytes())?;
    println!("cargo:rustc-link-search={}", folder.display());
    println!("cargo:rustc-link-arg-bins=-Tlink.x");
    Ok(())
}
