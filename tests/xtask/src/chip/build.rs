//! Builds the images for the chips, and the host's player in debug and release.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::Failure;
use super::kind::Chip;
use super::player::Player;
use super::tools::Tools;

/// The project's top folder.
pub(crate) fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).ancestors().nth(2).unwrap_or(Path::new(".")).to_owned()
}

/// Where builds go, as cargo decides it.
pub(crate) fn target_folder() -> PathBuf {
    top().join(std::env::var_os("CARGO_TARGET_DIR").unwrap_or_else(|| "target".into()))
}

/// What all images are built with: the same in all three workspaces that build for chips.
pub(crate) const PROFILE: &str = "chip";

/// Where the builds for a target go. Each has its own, so that several can be built at a time.
pub(crate) fn chip_folder(target: &str) -> PathBuf {
    target_folder().join("chip").join(target)
}

/// An image to build.
#[derive(Clone, Copy, Debug)]
pub(super) struct Image {
    pub(super) program: &'static str,
    pub(super) features: &'static str,
}

impl Image {
    /// Builds it; where it is.
    ///
    /// # Errors
    /// What compiler or linker said.
    pub(super) fn build(self, tools: &Tools, chip: &Chip) -> Result<PathBuf, Failure> {
        let folder = chip_folder(chip.target);
        let mut cargo = tools.cargo(&["build", "--profile", PROFILE], chip.target, &folder);
        cargo.args(["--bin", self.program, "--features", self.features]);
        let output = cargo.current_dir(top().join("tests/target")).output()?;
        if !output.status.success() {
            return Err(String::from_utf8_lossy(&output.stderr).into_owned().into());
        }
        let built = folder.join(chip.target).join(PROFILE).join(self.program);
        // The next build, with other features, takes its place.
        let kept = folder.join(format!("{}{}", self.program, self.features));
        std::fs::copy(built, &kept)?;
        Ok(kept)
    }
}

/// The host's player, built with `profile`.
///
/// # Errors
/// When it cannot be built.
pub(super) fn host_player(profile: &str, folder: &str) -> Result<Player, Failure> {
    let mut cargo = if profile == "dev" {
        // With the features of the caller's own build, so that the core is not built again.
        easeoff_tests::cargo::cargo("build", "xtask")
    } else {
        let mut cargo = Command::new("cargo");
        cargo.args(["build", "--quiet", "--locked", "--profile", profile]);
        cargo
    };
    let player = ["--package", "easeoff-tape", "--features", "easeoff-tape/std", "--bin", "replay"];
    cargo.args(player).current_dir(top());
    if !cargo.status()?.success() {
        return Err(format!("the host's player could not be built with profile {profile}").into());
    }
    let program = format!("replay{}", std::env::consts::EXE_SUFFIX);
    let program = target_folder().join(folder).join(program);
    Ok(Player::host(&format!("host, {folder}"), program))
}
