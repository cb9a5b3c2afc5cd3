//! C callers on a chip: the static library, linked into C programs by a compiler for C.

use std::path::{Path, PathBuf};
use std::process::Command;

use easeoff_tests::from_c::{EXAMPLE, FLAGS, SOURCES, compare};

use super::Failure;
use super::build::{PROFILE, chip_folder, top};
use super::gate::SYMBOL;
use super::kind::Chip;
use super::player::Player;
use super::size::Size;
use super::tools::{GCC, Tools};

/// As the book says.
const LIBRARY: [&str; 7] =
    ["rustc", "--package", "easeoff-c", "--profile", PROFILE, "--crate-type", "staticlib"];

/// No C library, no start-up files, and nothing in the image that nobody calls.
const BARE: [&str; 9] = [
    "-Os",
    "-ffreestanding",
    "-ffunction-sections",
    "-fdata-sections",
    "-nostdlib",
    "-Wl,--gc-sections",
    // Rust's objects do not say that they need no executable stack; a chip has no such thing.
    "-Wl,-z,noexecstack",
    "-Wl,-Ttests/c/chip.ld",
    "-Wl,--fatal-warnings",
];

/// What a program in C takes.
#[derive(Clone, Copy, Debug)]
pub(super) struct FromC {
    /// Ticks that were the core's.
    pub(super) ticks: u32,
    /// The most stack of the drive, from its blob on, and of any call \[bytes\].
    pub(super) stack: [u32; 2],
    /// The book's example: flash, and RAM without the stack.
    pub(super) example: Size,
}

/// Links a library with a panic path, which must fail; then runs the drive in C and everything that is
/// wrong, which must come out as on the host; then links the book's example.
///
/// # Errors
/// When one of them comes out otherwise.
pub(super) fn check(tools: &Tools, chip: &Chip) -> Result<FromC, Failure> {
    let of = |what: &dyn std::fmt::Display| format!("{}, from C: {what}", chip.name);
    let drive = SOURCES.into_iter().chain(["tests/c/chip.c"]);
    let wrong = library(tools, chip, &["--", "--cfg", "easeoff_unwraps"])?;
    match image(chip, &wrong, "unwraps", drive.clone().chain(["-DEASEOFF_UNWRAPS"])) {
        Ok(_) => return Err(of(&"a library that unwraps links").into()),
        Err(error) if error.to_string().contains(SYMBOL) => {}
        Err(error) => return Err(of(&error).into()),
    }
    let library = library(tools, chip, &[])?;
    let player = Player::chip(chip, &image(chip, &library, "drive", drive)?);
    let output = player.command().output()?;
    let printed = String::from_utf8_lossy(&output.stdout);
    let failed: Vec<&str> = printed.lines().filter(|line| line.starts_with("failed")).collect();
    if !output.status.success() || !failed.is_empty() {
        return Err(of(&format!("{}\n{}", output.status, failed.join("\n"))).into());
    }
    let seen = compare(&printed).map_err(|error| of(&error))?;
    let example = image(chip, &library, "smallest", [EXAMPLE, "tests/c/board.c"])?;
    let stack = seen.stack.try_into().map_err(|reported| of(&format!("stack: {reported:?}")))?;
    Ok(FromC { ticks: seen.ticks, stack, example: Size::of(&example)? })
}

/// Builds the library; where it is.
fn library(tools: &Tools, chip: &Chip, more: &[&str]) -> Result<PathBuf, Failure> {
    let folder = chip_folder(chip.target);
    let mut cargo = tools.cargo(&LIBRARY, chip.target, &folder);
    ran(cargo.args(more).current_dir(top()))?;
    Ok(folder.join(chip.target).join(PROFILE).join("libeaseoff_c.a"))
}

/// Compiles C and links it with the library; where the image is.
fn image<'s>(
    chip: &Chip,
    library: &Path,
    name: &str,
    sources: impl IntoIterator<Item = &'s str>,
) -> Result<PathBuf, Failure> {
    let image = chip_folder(chip.target).join(format!("c-{name}"));
    let mut compiler = Command::new(GCC);
    compiler.args(FLAGS).args(BARE).args(chip.compiler).args(sources);
    ran(compiler.arg(library).args(["-lgcc", "-o"]).arg(&image).current_dir(top()))?;
    Ok(image)
}

fn ran(command: &mut Command) -> Result<(), Failure> {
    let output = command.output()?;
    if output.status.success() {
        return Ok(());
    }
    Err(String::from_utf8_lossy(&output.stderr).into_owned().into())
}
