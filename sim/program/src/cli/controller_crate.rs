//! A crate with a controller to begin with, for `easeoff new --controller`.

use std::fs;
use std::path::Path;

/// The files of a crate with a controller to begin with, built on the simulator in the folder `sim`;
/// `None` if that is not there. With the lock file of the checkout it needs no other packages than that.
pub(super) fn crate_files(sim: &Path) -> Option<[(&'static str, String); 4]> {
    let sim = sim.canonicalize().ok()?;
    let lock = fs::read_to_string(sim.parent()?.join("Cargo.lock")).ok()?;
    fs::metadata(sim.join("program/src/cli/controller_crate.rs")).ok()?;
    let path = toml::Value::String(sim.to_str()?.to_owned());
    let program = toml::Value::String(sim.join("program").to_str()?.to_owned());
    let manifest = format!(
        "[package]\nname = \"my-controller\"\nversion = \"0.1.0\"\nedition = \"2024\"\npublish = false\n\n\
         [dependencies]\n# In the folder sim of easeoff's checkout.\neaseoff = {{ path = {program} }}\neaseoff-sim = {{ path = {path} }}\n\n\
         # A workspace of its own, wherever the folder lies.\n[workspace]\n"
    );
    Some([
        ("Cargo.toml", manifest),
        ("Cargo.lock", lock),
        (".gitignore", "/target\n/out\n".into()),
        ("src/main.rs", include_str!("../../examples/throttle_to_duty.rs").into()),
    ])
}
