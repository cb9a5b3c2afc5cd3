//! The emulator: a program of `tests/emulator`, started anew for each story.

use std::io::{Read, Write};
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use easeoff_core::telemetry::{Frame, FrameReader};
use serde_json::Value;

use super::Failure;
use crate::chip::build::top;

/// A story that takes longer hangs.
const LONGEST: Duration = Duration::from_secs(300);

/// One millisecond of the board's pins.
#[derive(Clone, Copy, Debug)]
pub(super) struct Pins {
    /// Compare values of the bridge's two channels, and the counter's top.
    pub(super) forward: u64,
    pub(super) backward: u64,
    pub(super) top: u64,
    /// The bridge's inputs lead to the channels and its enable input is high.
    pub(super) enabled: bool,
    pub(super) status_led: bool,
}

/// What was seen of a board.
#[derive(Debug, Default)]
pub(super) struct Seen {
    /// One entry per millisecond.
    pub(super) pins: Vec<Pins>,
    /// The frames that came, all of them good, each with the millisecond of its end.
    pub(super) frames: Vec<(usize, Frame)>,
    /// How often the watchdog was fed, and how often it bit.
    pub(super) fed: u64,
    pub(super) bitten: u64,
}

/// Fetches the emulator as its lock file says, where it is not there yet.
///
/// # Errors
/// When node or npm is missing, with how to install them.
pub(super) fn install() -> Result<(), Failure> {
    install_in(&top().join("tests/emulator"), "rp2040js")
}

/// Fetches what a folder's lock file says, where `package` of it is not there yet.
///
/// # Errors
/// As [`install`].
pub(crate) fn install_in(folder: &Path, package: &str) -> Result<(), Failure> {
    if folder.join("node_modules").join(package).is_dir() {
        return Ok(());
    }
    let npm = Command::new("npm")
        .args(["ci", "--no-audit", "--no-fund", "--silent"])
        .current_dir(folder)
        .status();
    match npm {
        Ok(status) if status.success() => Ok(()),
        Ok(_) => {
            let lock = folder.join("package-lock.json");
            Err(format!("npm could not install {}", lock.display()).into())
        }
        Err(_) => {
            Err("npm is missing; install Node.js 18 or later (Debian: apt-get install nodejs npm)"
                .into())
        }
    }
}

/// Plays an image.
///
/// # Errors
/// When the emulator fails or a frame is damaged.
pub(super) fn play(image: &Path, story: &Value) -> Result<Seen, Failure> {
    let mut node = Command::new("node")
        .arg(top().join("tests/emulator/play.mjs"))
        .arg(image)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    if let Some(mut stdin) = node.stdin.take() {
        stdin.write_all(story.to_string().as_bytes())?;
    }
    let Some(mut stdout) = node.stdout.take() else { return Err("the emulator is mute".into()) };
    let reader = thread::spawn(move || {
        let mut text = String::new();
        stdout.read_to_string(&mut text).map(|_| text)
    });
    let begun = Instant::now();
    let status = loop {
        match node.try_wait()? {
            Some(status) => break status,
            None if begun.elapsed() > LONGEST => {
                node.kill()?;
                return Err("the emulator did not come to an end".into());
            }
            None => thread::sleep(Duration::from_millis(50)),
        }
    };
    let reported = reader.join().map_err(|_| "the emulator's reader broke down")??;
    if !status.success() {
        return Err("the emulator failed".into());
    }
    let mut seen = Seen::default();
    let mut reader = FrameReader::new();
    for line in reported.lines() {
        let line: Value = serde_json::from_str(line)?;
        let number = |name: &str| line[name].as_u64().unwrap_or_default();
        if line["ms"].is_null() {
            (seen.fed, seen.bitten) = (number("fed"), number("bitten"));
            continue;
        }
        let bytes = line["bytes"].as_array().cloned().unwrap_or_default();
        for byte in bytes.iter().filter_map(Value::as_u64) {
            match reader.push(byte as u8) {
                Some(Ok(frame)) => seen.frames.push((seen.pins.len(), frame)),
                Some(Err(error)) => return Err(error.into()),
                None => {}
            }
        }
        seen.pins.push(Pins {
            forward: number("forward"),
            backward: number("backward"),
            top: number("top"),
            enabled: line["enable"] == true,
            status_led: line["status_led"] == true,
        });
    }
    Ok(seen)
}
