//! The gate that no panic path passes: it must hold, and let the sound image through.

use super::Failure;
use super::build::Image;
use super::kind::Chip;
use super::tools::Tools;

/// What the images call where they would panic, and nothing defines.
pub(super) const SYMBOL: &str = "easeoff_a_panic_path_is_left";

/// Builds that have a panic path each.
const WRONG: [&str; 2] = ["indexes", "unwraps"];

/// Builds the wrong images and sees the linker refuse them, for the right reason.
///
/// # Errors
/// When one links, or fails for another reason.
pub(super) fn check(tools: &Tools, chip: &Chip) -> Result<(), Failure> {
    for features in WRONG {
        let image = Image { program: "firmware", features };
        match image.build(tools, chip) {
            Ok(_) => return Err(format!("{}: an image that {features} links", chip.name).into()),
            Err(error) if error.to_string().contains(SYMBOL) => {}
            Err(error) => return Err(format!("{}, {features}: {error}", chip.name).into()),
        }
    }
    Ok(())
}
