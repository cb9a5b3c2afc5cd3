//! A machine that goes wrong: calls that fail, processes that stop, small and closed disks.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use easeoff_tests::skipped;
use tempfile::TempDir;

use crate::runner::command;

/// The shim, compiled; `None`, and said, without a compiler.
pub(crate) fn shim(folder: &Path) -> Option<PathBuf> {
    let (source, made) =
        (concat!(env!("CARGO_MANIFEST_DIR"), "/c/faults.c"), folder.join("faults.so"));
    let flags = ["-shared", "-fPIC", "-O1", "-Wall", "-Wextra", "-Werror", "-o"];
    match Command::new("cc").args(flags).arg(&made).arg(source).arg("-ldl").output() {
        Ok(done) => {
            assert!(done.status.success(), "{}", String::from_utf8_lossy(&done.stderr));
            Some(made)
        }
        Err(error) => {
            skipped(&format!("no call is made to fail: cc: {error}. Remedy: install a C compiler"));
            None
        }
    }
}

pub(crate) fn faulty(shim: &Path, folder: &Path, arguments: &[&str], fault: &str) -> Command {
    let mut command = command(folder, arguments);
    command.env("LD_PRELOAD", shim).env("EASEOFF_FAULT", fault);
    command
}

/// How often each kind of call happens in a run without a fault.
pub(crate) fn counts(shim: &Path, folder: &Path, arguments: &[&str]) -> BTreeMap<String, usize> {
    let reported = folder.join("counts.txt");
    let done =
        faulty(shim, folder, arguments, "").env("EASEOFF_COUNTS", &reported).output().unwrap();
    assert!(done.status.success(), "{done:?}");
    let text = fs::read_to_string(&reported).unwrap();
    fs::remove_file(reported).unwrap();
    let line = |line: &str| {
        let (kind, count) = line.split_once(' ').unwrap();
        (kind.to_owned(), count.parse().unwrap())
    };
    text.lines().map(line).collect()
}

/// Until a process is stopped; it is killed when this goes out of scope.
pub(crate) struct Stopped(Child);

impl Stopped {
    pub(crate) fn new(mut command: Command) -> Self {
        let child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        let stopped = Self(child);
        let stat = format!("/proc/{}/stat", stopped.0.id());
        let begun = Instant::now();
        while !fs::read_to_string(&stat).unwrap().contains(") T ") {
            assert!(begun.elapsed() < Duration::from_secs(60), "it never came to the call");
            sleep(Duration::from_millis(5));
        }
        stopped
    }
}

impl Drop for Stopped {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// A small disk in a mount namespace of its own, seen from outside through `/proc`.
pub(crate) struct Disk {
    holder: Child,
    pub(crate) mounted: PathBuf,
    _folder: TempDir,
}

impl Disk {
    /// `None`, and said, where such a disk cannot be made.
    pub(crate) fn new(script: &str) -> Option<Self> {
        let folder = TempDir::new().unwrap();
        let place = folder.path().to_owned();
        fs::create_dir_all(place.join("disk")).unwrap();
        let script =
            format!("set -e; cd '{}'; {script}; touch up; exec sleep 600", place.display());
        let mut unshare = Command::new("unshare");
        unshare.args(["--mount", "--map-root-user", "sh", "-c", &script]);
        let mut holder = match unshare.stderr(Stdio::piped()).spawn() {
            Ok(holder) => holder,
            Err(error) => {
                skipped(&format!("no disk: unshare: {error}. Remedy: install util-linux"));
                return None;
            }
        };
        while !place.join("up").exists() {
            if holder.try_wait().unwrap().is_some() {
                let lack = String::from_utf8(holder.wait_with_output().unwrap().stderr).unwrap();
                skipped(&format!("no disk: {lack}. Remedy: run where namespaces may be made"));
                return None;
            }
            sleep(Duration::from_millis(5));
        }
        let inside = format!("/proc/{}/root{}/disk", holder.id(), place.display());
        Some(Self { holder, mounted: inside.into(), _folder: folder })
    }
}

impl Drop for Disk {
    fn drop(&mut self) {
        let _ = self.holder.kill();
        let _ = self.holder.wait();
    }
}
